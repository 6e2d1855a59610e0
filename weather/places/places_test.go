package places

import (
	"bufio"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestTheBuiltInDataAreWhole(t *testing.T) {
	d := load()
	assert.Len(t, d.places, 112320, "as SOURCE.txt states")
	zones := map[string]bool{}
	for _, p := range d.places {
		if !zones[p.Zone] {
			_, err := time.LoadLocation(p.Zone)
			require.NoError(t, err, "%s: %s", p, p.Zone)
			zones[p.Zone] = true
		}
		if math.Abs(p.Lat) > 90 || math.Abs(p.Lon) > 180 || p.Population < 1000 || p.Name == "" || len(p.Country) != 2 {
			t.Fatalf("%+v", p)
		}
		if d.countries[p.Country] == "" && p.Country != "XK" {
			t.Fatalf("no name of country %s", p.Country)
		}
	}
	assert.Len(t, zones, 276)
}

func TestFind(t *testing.T) {
	for query, want := range map[string]string{
		"Burlington, VT":          "Burlington, VT, United States",
		"burlington vt":           "",
		"burlington, canada":      "Burlington, Canada",
		"york, united kingdom":    "York, ENG, Britain (UK)",
		"York, GB":                "York, ENG, Britain (UK)",
		"zurich":                  "Zürich, ZH, Switzerland",
		"ZÜRICH":                  "Zürich, ZH, Switzerland",
		"malmo":                   "Malmö, Sweden",
		"saint-etienne":           "Saint-Étienne, France",
		"st johns, fl":            "St. Johns, FL, United States",
		"new york city":           "New York City, NY, United States",
		"Ithca, NY":               "Ithaca, NY, United States",
		"itahca, ny, usa":         "Ithaca, NY, United States",
		"  portland ,  me ":       "Portland, ME, United States",
		"xqzzy":                   "",
		"":                        "",
		",":                       "",
		"Burlington, VT, Austria": "",
	} {
		got := Find(query, 5)
		if want == "" {
			assert.Empty(t, got, query)
			continue
		}
		if assert.NotEmpty(t, got, query) {
			assert.Equal(t, want, got[0].String(), query)
		}
	}
	// The largest of one name first; the whole name before longer ones.
	ps := Find("burling", 50)
	require.NotEmpty(t, ps)
	for i, p := range ps {
		assert.Contains(t, fold(p.Name), "burling")
		if i > 0 && strings.HasPrefix(fold(ps[i-1].Name), "burling") == strings.HasPrefix(fold(p.Name), "burling") {
			assert.LessOrEqual(t, p.Population, ps[i-1].Population)
		}
	}
	assert.Len(t, Find("san", 7), 7)
	assert.Empty(t, Find("san", 0))
}

// Coordinates of the US Board on Geographic Names, from memory, to 5 km.
func TestCoordinates(t *testing.T) {
	for query, want := range map[string][2]float64{
		"Burlington, VT": {44.476, -73.212}, "Ithaca, NY": {42.441, -76.497}, "Cleveland, OH": {41.499, -81.695}, "Madison, WI": {43.073, -89.401},
	} {
		p := Find(query, 1)[0]
		near, km := Nearest(want[0], want[1])
		assert.InDelta(t, want[0], p.Lat, 0.045, query)
		assert.InDelta(t, want[1], p.Lon, 0.06, query)
		assert.Equal(t, p, near, query)
		assert.Less(t, km, 5.0)
	}
}

// The IANA database gives a place for each zone. Where a town lies within FarKm
// of it, the clock there must be the zone's. "+404251-0740023" is degrees,
// minutes and seconds.
func TestZonesOfTheIANATable(t *testing.T) {
	f, err := os.Open("testdata/zone1970.tab")
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	var same, other, far int
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		if strings.HasPrefix(sc.Text(), "#") {
			continue
		}
		col := strings.Split(sc.Text(), "\t")
		lat, lon := degrees(t, col[1])
		zone, near, ok := Zone(lat, lon)
		switch {
		case !ok:
			far++
		case clock(t, zone) == clock(t, col[2]):
			same++
		default:
			other++
			t.Logf("%s: %s by %s", col[2], zone, near)
		}
	}
	require.NoError(t, sc.Err())
	t.Logf("%d zones have the clock of the nearest town, %d have not, %d have no town near", same, other, far)
	assert.Zero(t, other)
	assert.Greater(t, same, 270)
}

var iso6709 = regexp.MustCompile(`^([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?$`)

func degrees(t *testing.T, s string) (lat, lon float64) {
	m := iso6709.FindStringSubmatch(s)
	require.NotNil(t, m, s)
	read := func(sign string, parts ...string) float64 {
		x := 0.0
		for i, p := range parts {
			n, _ := strconv.Atoi(p) // "" is 0
			x += float64(n) / math.Pow(60, float64(i))
		}
		if sign == "-" {
			return -x
		}
		return x
	}
	return read(m[1], m[2], m[3], m[4]), read(m[5], m[6], m[7], m[8])
}

// clock is a zone's offsets in winter and summer of 2026.
func clock(t *testing.T, zone string) [2]int {
	if c, ok := clocks[zone]; ok {
		return c
	}
	loc, err := time.LoadLocation(zone)
	require.NoError(t, err)
	_, a := time.Date(2026, 1, 15, 12, 0, 0, 0, loc).Zone()
	_, b := time.Date(2026, 7, 15, 12, 0, 0, 0, loc).Zone()
	clocks[zone] = [2]int{a, b}
	return clocks[zone]
}

var clocks = map[string][2]int{}

// Of places taken at even steps, the share whose nearest neighbour has another
// clock. Zone's comment states what a thousand of them gave.
func TestTheClockOfTheNearestNeighbour(t *testing.T) {
	d := load()
	n, other := 0, 0
	for i := 0; i < len(d.places); i += len(d.places) / 300 {
		p := d.places[i]
		best, at := math.Inf(1), -1
		narrow := math.Cos(p.Lat * math.Pi / 180)
		for j := range d.places {
			q := &d.places[j]
			dy, dx := q.Lat-p.Lat, (q.Lon-p.Lon)*narrow
			if r := dx*dx + dy*dy; j != i && r < best {
				best, at = r, j
			}
		}
		n++
		if clock(t, d.places[at].Zone) != clock(t, p.Zone) {
			other++
		}
	}
	t.Logf("%d of %d places have a neighbour with another clock", other, n)
	assert.Less(t, float64(other)/float64(n), 0.015)
}

func TestFarFromAnyTown(t *testing.T) {
	_, _, ok := Zone(-40, -120)
	assert.False(t, ok, "the South Pacific")
}

func TestNearestIsTheNearest(t *testing.T) {
	d := load()
	rapid.Check(t, func(t *rapid.T) {
		lat := rapid.Float64Range(-89, 89).Draw(t, "lat")
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		_, km := Nearest(lat, lon)
		if i := rapid.IntRange(0, len(d.places)-1).Draw(t, "other"); true {
			x, y, z := onSphere(lat, lon)
			a, b, c := onSphere(d.places[i].Lat, d.places[i].Lon)
			if other := 6371 * math.Acos(math.Max(-1, math.Min(1, x*a+y*b+z*c))); other < km-1e-3 {
				t.Fatalf("%s is %.3f km away, the nearest %.3f", d.places[i], other, km)
			}
		}
	})
}

// oneOff agrees with the edit distance with transpositions, by brute force.
func TestOneOff(t *testing.T) {
	letters := "abc"
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[abc]{1,6}`)
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		want := false
		try := func(s string) { want = want || s == b }
		for i := 0; i <= len(a); i++ {
			for _, l := range letters {
				try(a[:i] + string(l) + a[i:])
				if i < len(a) && a[i] != byte(l) {
					try(a[:i] + string(l) + a[i+1:])
				}
			}
			if i < len(a) {
				try(a[:i] + a[i+1:])
			}
			if i+1 < len(a) && a[i] != a[i+1] {
				try(a[:i] + a[i+1:i+2] + a[i:i+1] + a[i+2:])
			}
		}
		if got := oneOff(a, b); a != b && got != want {
			t.Fatalf("%q %q: %v", a, b, got)
		}
	})
}

func TestReadRefusesABrokenFile(t *testing.T) {
	for _, bad := range []string{"a\tb\n", "Town\t1\t2\t3\n", "=\tUS\tVT\tAmerica/New_York\nTown\tx\t2\t3\n"} {
		_, err := read(strings.NewReader(bad))
		assert.ErrorContains(t, err, "line")
	}
}

func BenchmarkFind(b *testing.B) {
	load()
	for b.Loop() {
		Find("burlington, vt", 5)
	}
}

func BenchmarkNearest(b *testing.B) {
	load()
	for b.Loop() {
		Nearest(44.4, -73.2)
	}
}
