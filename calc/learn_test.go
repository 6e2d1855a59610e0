package calc

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/testdata"
)

var january = civil.MonthDay{Month: time.January, Day: 1}

func TestReadLog(t *testing.T) {
	l, err := ReadLog("log", strings.NewReader("year,date,none,sprayed\n2023,2023-05-20,2023-05-13,\n2024,,2024-06-01,\n2025,2025-06-10,2025-05-01,2025-05-03\n"), january)
	require.NoError(t, err)
	d := civil.New
	assert.Equal(t, []learn.Season{
		{Year: 2023, First: d(2023, 5, 20), None: d(2023, 5, 13)},
		{Year: 2024, None: d(2024, 6, 1)},
		{Year: 2025, None: d(2025, 5, 1), Sprayed: d(2025, 5, 3)}, // found after the spray: censored
	}, l.Seasons)
	l, err = ReadLog("log", strings.NewReader("date,year\n2025-02-10,2024\n"), civil.MonthDay{Month: time.July, Day: 1})
	require.NoError(t, err)
	assert.Equal(t, 2024, l.Seasons[0].Year)
}

func TestReadLogNamesFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                             "log: the file is empty; the first line names the columns: year,date",
		"year\n2020\n":                 "log:1:1: the header lacks date; it must name the columns: year,date",
		"year,date\n":                  "log:1:1: the log has no rows",
		"year,date\nxx,\n":             `log:2:1: year: "xx" is not a year`,
		"year,date\n2020,\n":           "log:2:6: season 2020 has no find that counts and no last look; give the last look without a find in a column none, or leave the season out",
		"year,date\n2020,5/20":         `log:2:6: date: "5/20" is not a date of the form YYYY-MM-DD`,
		"year,date\n2020,2021-05-01\n": "log:2:6: date 2021-05-01 is not in the season of 2020, which runs from 2020-01-01 to 2020-12-31",
		"year,date\n2020,2020-05-01\n2020,2020-05-02\n":         "log:3:1: year 2020 stands twice; give one row a season",
		"year,date,none\n2020,2020-05-01,2020-05-01\n":          "log:2:17: none 2020-05-01 is not before the find on 2020-05-01; it is the last look that found nothing before it",
		"year,date,none,sprayed\n2020,,2020-05-03,2020-05-01\n": "log:2:7: none 2020-05-03 is after the spray on 2020-05-01; give the last look before it",
		"year,date,sprayed\n2020,2020-05-03,2020-05-01\n":       "log:2:6: season 2020 has no find that counts and no last look; give the last look without a find in a column none, or leave the season out",
	} {
		_, err := ReadLog("log", strings.NewReader(text), january)
		if assert.Error(t, err, text) {
			assert.Equal(t, want, err.Error())
		}
	}
}

func FuzzReadLog(f *testing.F) {
	f.Add("year,date,none,sprayed\n2023,2023-05-20,2023-05-13,\n2024,,2024-06-01,2024-06-02\n")
	f.Add("year,date\n9998,9998-12-31\n")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ReadLog("log", strings.NewReader(text), january)
		if err != nil {
			return
		}
		seen := map[int]bool{}
		for i := range l.Seasons {
			s := &l.Seasons[i]
			if err := s.Check(); err != nil {
				t.Fatalf("an impossible season was read: %v", err)
			}
			if seen[s.Year] || !s.Found() && !s.Censored() {
				t.Fatalf("season %d stands twice or says nothing", s.Year)
			}
			seen[s.Year] = true
		}
	})
}

// newYork is the embedded record as a file of days.
func newYork4(t *testing.T) *Days {
	t.Helper()
	f, err := testdata.Daily.Open("daily/weather.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("date,tmin,tmax\n")
	for _, r := range rows[1:] {
		if r[0] == "New York" {
			fmt.Fprintf(&b, "%s,%s,%s\n", r[1], r[4], r[3])
		}
	}
	d, err := ReadDays("days", strings.NewReader(b.String()), degreeday.Celsius)
	require.NoError(t, err)
	return d
}

// The errors that the command prints, held against the same worked out by hand:
// the calendar mean of the other years, and the day on which the published total
// is passed.
func TestLearnPrintsTheErrors(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	m, ok := cat.Model("imported-cabbageworm/delahaut-2015")
	require.True(t, ok)
	days := newYork4(t)
	found := map[int]civil.Date{2012: civil.New(2012, 4, 10), 2013: civil.New(2013, 5, 6), 2014: civil.New(2014, 5, 12), 2015: civil.New(2015, 5, 8)}
	text, published, calendar := "year,date\n", 0.0, 0.0
	for y := 2012; y <= 2015; y++ {
		text += fmt.Sprintf("%d,%s\n", y, found[y])
		total := 0.0
		for _, d := range days.List[civil.New(y, 1, 1).Sub(days.List[0].Date):] {
			if total += max(0, (d.Min+d.Max)/2*1.8+32-50); total >= 150 {
				published += float64(max(d.Date.Sub(found[y]), found[y].Sub(d.Date))) / 4
				break
			}
		}
		mean := 0.0
		for o, d := range found {
			if o != y {
				mean += float64(d.Sub(civil.New(o, 1, 1))) / 3
			}
		}
		off := mean - float64(found[y].Sub(civil.New(y, 1, 1)))
		calendar += max(off, -off) / 4
	}
	log, err := ReadLog("log", strings.NewReader(text), january)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := Learn(&out, m.Spec, days, log, LearnOptions{Name: m.ID, Threat: m.Threat, Zone: time.UTC, Season: january})
	require.NoError(t, err)
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	got := map[string][]string{}
	for _, r := range rows[1:] {
		got[r[0]] = r
	}
	num := func(way string, column int) float64 {
		v, err := strconv.ParseFloat(got[way][column], 64)
		require.NoError(t, err, way)
		return v
	}
	assert.InDelta(t, published, num("published threshold", 1), 0.051)
	assert.InDelta(t, calendar, num("calendar mean", 1), 1.0, "medians of a belief and means of dates differ by a little")
	assert.Equal(t, 150.0, num("published threshold", 4))
	for _, n := range learn.Names() {
		assert.Equal(t, "4", got[string(n)][2])
		assert.Less(t, num(string(n), 5), num(string(n), 4))
		assert.Less(t, num(string(n), 4), num(string(n), 6))
		assert.Less(t, got[string(n)][8], got[string(n)][10])
	}
	chosen := 0
	for _, r := range got {
		if r[11] == "yes" {
			chosen++
			assert.Equal(t, "blend", r[0])
		}
	}
	assert.Equal(t, 1, chosen)
	assert.Contains(t, strings.Join(notes, "\n"), "chosen: blend; with 4 finds there is too little to choose by")
}

func TestLearnSaysWhatItCannotUse(t *testing.T) {
	log, err := ReadLog("log", strings.NewReader("year,date\n1999,1999-05-01\n2013,2013-05-06\n"), january)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := Learn(&out, &warmth{start: fromMarch}, newYork4(t), log, LearnOptions{Name: "warmth", Zone: time.UTC, Season: january})
	require.NoError(t, err)
	all := strings.Join(notes, "\n")
	assert.Contains(t, all, "1 season of the log has no weather from the model's start on and counts for dates alone")
	assert.Contains(t, all, "published threshold: not usable, no model has a threshold for this")
	assert.Contains(t, all, "chosen: calendar mean")
	_, err = Learn(&out, &warmth{start: model.Start{Kind: model.FromInGround}}, newYork4(t), log, LearnOptions{Name: "warmth", Zone: time.UTC, Season: january})
	assert.ErrorIs(t, err, ErrNoStart)
	_, err = Learn(&out, &warmth{start: fromMarch}, newYork4(t), log, LearnOptions{Name: "warmth", Zone: time.UTC, Season: january, Stage: "eggs"})
	assert.EqualError(t, err, `the model has no stage that begins with "eggs"; it has none`)
}
