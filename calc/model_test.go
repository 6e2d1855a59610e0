package calc

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// warmth counts a day's maximum, and records what it was run on.
type warmth struct {
	start model.Start
	needs []weather.Var
	ran   *model.Input
}

func (s *warmth) Kind() string          { return "warmth" }
func (s *warmth) Unit() string          { return "degrees" }
func (s *warmth) Stages() []model.Stage { return nil }
func (s *warmth) Start() model.Start    { return s.start }
func (s *warmth) Needs() []weather.Var  { return s.needs }
func (s *warmth) Run(in *model.Input) (*risk.Track, error) {
	s.ran = in
	days := in.Days
	if in.Weather != nil {
		days = in.Weather.Days(in.Zone)
	}
	t := &risk.Track{Unit: s.Unit(), Start: in.Start}
	p := risk.Point{}
	for d := in.Start; d <= days[len(days)-1].Date; d++ {
		p.Date, p.Value = d, 0
		v := math.NaN()
		if i := d.Sub(days[0].Date); i >= 0 {
			v = days[i].Max
		}
		if math.IsNaN(v) {
			p.UnknownHours += 24
			p.High += 24
		} else {
			p.Value = v
			p.Total, p.Low, p.High = p.Total+v, p.Low+v, p.High+v
		}
		t.Points = append(t.Points, p)
	}
	t.Events = []risk.Event{{Kind: risk.Crossing, Name: "eggs, first", Date: days[1].Date}, {Kind: risk.Reset, Date: days[1].Date}}
	return t, nil
}

var fromMarch = model.Start{Kind: model.FromCalendar, Day: civil.MonthDay{Month: time.March, Day: 1}}

func someDays(t *testing.T, from string, n int) *Days {
	t.Helper()
	first, err := civil.Parse(from)
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("date,tmin,tmax\n")
	for i := range n {
		fmt.Fprintf(&b, "%s,5,10\n", first.AddDays(i))
	}
	d, err := ReadDays("f", strings.NewReader(b.String()), degreeday.Celsius)
	require.NoError(t, err)
	return d
}

func TestModelStartsWhereTheFileAllows(t *testing.T) {
	for _, c := range []struct {
		from        string
		days        int
		start, last string
		rows        int
	}{
		{"2026-02-20", 60, "2026-03-01", "2026-04-20", 51},
		{"2026-03-01", 10, "2026-03-01", "2026-03-10", 10},
		{"2026-03-05", 10, "2026-03-01", "2026-03-14", 10},    // begins late: the start before it
		{"2026-01-01", 20, "2025-03-01", "2026-01-20", 20},    // the season before is still running
		{"2025-06-01", 365, "2026-03-01", "2026-05-31", 92},   // the first start that the file covers
		{"2024-01-01", 1000, "2024-03-01", "2025-02-28", 365}, // a year at most
	} {
		spec := &warmth{start: fromMarch}
		var out bytes.Buffer
		_, err := someDays(t, c.from, c.days).Model(&out, spec, ModelOptions{Name: "warmth", Zone: time.UTC})
		require.NoError(t, err, c.from)
		assert.Equal(t, c.start, spec.ran.Start.String(), c.from)
		rows := strings.Split(strings.TrimSpace(out.String()), "\n")
		assert.Len(t, rows[1:], c.rows, c.from)
		assert.True(t, strings.HasPrefix(rows[len(rows)-1], c.last), "%s: %s", c.from, rows[len(rows)-1])
	}
}

func TestModelOutputAndNotes(t *testing.T) {
	d, err := ReadDays("f", strings.NewReader("date,tmin,tmax\n2026-03-02,5,10.5\n2026-03-03,5,\n2026-03-04,5,12\n"), degreeday.Celsius)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := d.Model(&out, &warmth{start: fromMarch}, ModelOptions{Name: "warmth", Zone: time.UTC})
	require.NoError(t, err)
	assert.Equal(t, "date,value,total,event\n2026-03-02,10.5,10.5,\n2026-03-03,,10.5,\"eggs, first; reset\"\n2026-03-04,12,22.5,\n", out.String())
	assert.Equal(t, []string{
		"value and total are degrees from 2026-03-01 on",
		"there is no weather from 2026-03-01 to 2026-03-01; the output begins after it",
		"the total is incomplete: 48 hours are unknown; at the end it lies between 22.5 and 70.5",
	}, notes)
}

func TestModelStartErrors(t *testing.T) {
	d := someDays(t, "2026-05-01", 10)
	run := func(s model.Start, start civil.Date) error {
		_, err := d.Model(&bytes.Buffer{}, &warmth{start: s}, ModelOptions{Name: "m", Zone: time.UTC, Start: start})
		return err
	}
	err := run(model.Start{Kind: model.FromCatch, Event: "the first moth in a trap"}, 0)
	assert.EqualError(t, err, "model m starts with the first moth in a trap: no start; give its date as --start YYYY-MM-DD")
	assert.ErrorIs(t, err, ErrNoStart)
	assert.ErrorIs(t, run(model.Start{Kind: model.FromInGround}, 0), ErrNoStart)
	assert.NoError(t, run(model.Start{Kind: model.FromInGround}, civil.New(2026, 5, 3)))
	assert.EqualError(t, run(fromMarch, civil.New(2026, 6, 3)), "model m starts on 2026-06-03 and the weather ends on 2026-05-10")
	assert.EqualError(t, run(fromMarch, civil.New(2024, 6, 3)), "model m starts on 2024-06-03 and the weather only on 2026-05-01, a year later or more")
}

func TestModelOptionsReachTheModel(t *testing.T) {
	spec := &warmth{start: fromMarch}
	sprays := []civil.Date{civil.New(2026, 3, 4)}
	_, err := someDays(t, "2026-03-01", 5).Model(&bytes.Buffer{}, spec, ModelOptions{Name: "m", Zone: time.UTC, Sprays: sprays, Susceptibility: garden.Resistant})
	require.NoError(t, err)
	assert.Equal(t, sprays, spec.ran.Resets)
	assert.Equal(t, garden.Resistant, spec.ran.Susceptibility)
}

func TestReadForTakesWhatTheHeaderSays(t *testing.T) {
	rain := &warmth{needs: []weather.Var{weather.Temp, weather.Rain}}
	humid := &warmth{needs: []weather.Var{weather.Temp, weather.RH}}
	read := func(s *warmth, text string) (Weather, error) {
		return ReadFor(s, "f", strings.NewReader(text), time.UTC, degreeday.Celsius)
	}
	w, err := read(rain, "date,tmin,tmax,rain_mm\n2026-05-01,1,2,3\n")
	require.NoError(t, err)
	assert.IsType(t, &Days{}, w)
	w, err = read(humid, "time,temp_c,rh_pct\n2026-05-01T00:00Z,1,2\n")
	require.NoError(t, err)
	assert.IsType(t, &Hours{}, w)
	_, err = read(rain, "date,tmin,tmax\n2026-05-01,1,2\n")
	assert.EqualError(t, err, "f:1:1: the header lacks rain_mm; it must name the columns: date,tmin,tmax,rain_mm")
	_, err = read(humid, "date,tmin,tmax\n2026-05-01,1,2\n")
	assert.EqualError(t, err, "f:1:1: the model needs humidity by the hour; give it a file of hours: time,temp_c,rh_pct")
	_, err = read(humid, "time,temp_c\n2026-05-01T00:00Z,1\n")
	assert.EqualError(t, err, "f:1:1: the header lacks rh_pct; it must name the columns: time,temp_c,rh_pct")
}

func TestHoursModelStopsAtTheLocalEndOfItsYear(t *testing.T) {
	loc := newYork(t)
	var b strings.Builder
	b.WriteString("time,temp_c\n")
	for i := range 24 * 400 {
		fmt.Fprintf(&b, "%s,10\n", time.Date(2025, 3, 1, i, 0, 0, 0, time.UTC).Format("2006-01-02T15:04Z"))
	}
	h, err := ReadHours("f", strings.NewReader(b.String()), loc, nil)
	require.NoError(t, err)
	spec := &warmth{start: fromMarch}
	notes, err := h.Model(&bytes.Buffer{}, spec, ModelOptions{Name: "m", Zone: loc})
	require.NoError(t, err)
	assert.Equal(t, "2026-03-01T05:00:00Z", spec.ran.Weather.End().Format(time.RFC3339))
	assert.Equal(t, "the season ends before 2026-03-01; rows up to 2026-04-04 are left out, give --start for another year", notes[0])
}

// A published model over real days, against the sum worked out here by hand:
// the average of the extremes above 50 F, from 1 January, butterflies at 150.
func TestCabbageworm2014AgainstTheFormula(t *testing.T) {
	f, err := os.Open("../testdata/daily/weather.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("date,tmin,tmax\n")
	total, reached, n := 0.0, "", 0
	for _, r := range rows[1:] {
		if r[0] != "New York" || !strings.HasPrefix(r[1], "2014-") {
			continue
		}
		low, err := strconv.ParseFloat(r[4], 64)
		require.NoError(t, err)
		high, err := strconv.ParseFloat(r[3], 64)
		require.NoError(t, err)
		fmt.Fprintf(&b, "%s,%s,%s\n", r[1], r[4], r[3])
		total += math.Max(0, (low+high)/2*1.8+32-50)
		if total >= 150 && reached == "" {
			reached = r[1]
		}
		n++
	}
	require.Equal(t, 365, n)
	cat, err := catalog.Load()
	require.NoError(t, err)
	m, ok := cat.Model("imported-cabbageworm/delahaut-2015")
	require.True(t, ok)
	w, err := ReadFor(m.Spec, "f", strings.NewReader(b.String()), time.UTC, degreeday.Celsius)
	require.NoError(t, err)
	var out bytes.Buffer
	_, err = w.Model(&out, m.Spec, ModelOptions{Name: m.ID, Zone: time.UTC})
	require.NoError(t, err)
	got, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, got, 366)
	sum, err := strconv.ParseFloat(got[365][2], 64)
	require.NoError(t, err)
	assert.InDelta(t, total, sum, 1e-5)
	for _, r := range got[1:] {
		if r[3] != "" {
			assert.Equal(t, reached, r[0])
			break
		}
	}
	assert.NotEmpty(t, reached)
}

// Every model of the catalogue runs from a file that has what it says it needs,
// and its track is what the file's days make it.
func TestEveryModelRunsFromAFile(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	for _, id := range cat.ModelIDs() {
		m, _ := cat.Model(id)
		var b strings.Builder
		b.WriteString("time")
		for _, v := range m.Spec.Needs() {
			b.WriteString("," + ColumnOf(v))
		}
		b.WriteString("\n")
		for i := range 24 * 120 {
			at := time.Date(2026, 1, 1, i, 0, 0, 0, time.UTC)
			warm := 16 + 8*math.Sin(float64(at.Hour()-9)/12*math.Pi)
			value := map[weather.Var]float64{weather.Temp: warm, weather.RH: 75 + 20*math.Cos(float64(at.Hour()-5)/12*math.Pi), weather.Rain: float64(i % 40 / 38), weather.Wind: 2, weather.Soil: 15, weather.DewPoint: 12}
			b.WriteString(at.Format("2006-01-02T15:04Z"))
			for _, v := range m.Spec.Needs() {
				fmt.Fprintf(&b, ",%.2f", value[v])
			}
			b.WriteString("\n")
		}
		w, err := ReadFor(m.Spec, "f", strings.NewReader(b.String()), time.UTC, degreeday.Celsius)
		require.NoError(t, err, id)
		var out bytes.Buffer
		notes, err := w.Model(&out, m.Spec, ModelOptions{Name: id, Zone: time.UTC, Start: civil.New(2026, 1, 2)})
		require.NoError(t, err, id)
		assert.Contains(t, notes[0], m.Spec.Unit(), id)
		rows, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err, id)
		assert.GreaterOrEqual(t, len(rows), 118, id)
		known := 0
		for _, r := range rows[1:] {
			if r[1] != "" {
				known++
			}
		}
		assert.Greater(t, known, 100, "%s: days with a value", id)
	}
}
