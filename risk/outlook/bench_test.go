package outlook

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// benchSite is a made-up place with past years, and a track and versions of a
// 16-day forecast for every degree-day model of the catalogue.
type benchSite struct {
	models    []*catalog.Model
	tracks    []*risk.Track
	runs      [][]*risk.Track
	past      []*risk.Track
	histories []*History
	stages    int
}

func madeUp(first civil.Date, n int, salt float64) []weather.Day {
	days := make([]weather.Day, n)
	for i := range days {
		d := weather.NewDay(first.AddDays(i))
		x := float64(d.Date.YearDay())
		mean := 11 - 14*math.Cos(2*math.Pi*(x-20)/365.25) + 4*math.Sin(float64(d.Date)*0.37+salt) + 3*math.Sin(float64(d.Date)*1.71)
		d.Min, d.Max, d.Soil, d.Rain, d.Wind = mean-6, mean+6, mean, 2, 2
		days[i] = d
	}
	return days
}

func newBenchSite(tb testing.TB, years, members int) *benchSite {
	tb.Helper()
	cat, err := catalog.Load()
	require.NoError(tb, err)
	s := &benchSite{}
	today := civil.New(2026, 4, 20)
	now := today.Start(time.UTC)
	run := func(m *catalog.Model, days []weather.Day, start civil.Date) *risk.Track {
		t, err := m.Spec.Run(&model.Input{Days: days, Zone: time.UTC, Start: start, Now: now})
		require.NoError(tb, err, m.ID)
		return t
	}
	old := madeUp(civil.New(2026-years, 1, 1), 365*years+years/4, 0)
	season := madeUp(civil.New(2026, 1, 1), today.Sub(civil.New(2026, 1, 1))+16, 1)
	var versions [][]weather.Day
	for i := range members {
		v := madeUp(season[0].Date, len(season), 1)
		for d := len(v) - 16; d < len(v); d++ {
			v[d].Min += 3 * math.Sin(float64(i+d))
			v[d].Max += 3 * math.Sin(float64(i+d))
		}
		versions = append(versions, v)
	}
	for i := range cat.Threats {
		for j := range cat.Threats[i].Models {
			m := &cat.Threats[i].Models[j]
			if dd, ok := m.Spec.(*model.DegreeDays); !ok || cat.Threats[i].Class == catalog.Disease || dd.Method == "hourly" {
				continue
			}
			s.models = append(s.models, m)
			s.tracks = append(s.tracks, run(m, season, civil.New(2026, 1, 1)))
			var runs []*risk.Track
			for _, v := range versions {
				runs = append(runs, run(m, v, civil.New(2026, 1, 1)))
			}
			s.runs = append(s.runs, runs)
			p := run(m, old, old[0].Date)
			s.past = append(s.past, p)
			s.histories = append(s.histories, NewHistory(p))
			s.stages += len(m.Spec.Stages())
		}
	}
	return s
}

func (s *benchSite) outlooks() int {
	n := 0
	for i, m := range s.models {
		f := NewFan(s.tracks[i], s.runs[i], s.histories[i])
		for _, st := range m.Spec.Stages() {
			o := f.Outlook(Question{Event: st.Name, Today: civil.New(2026, 4, 20), Threshold: st.Value})
			if !o.P50.IsZero() {
				n++
			}
		}
	}
	return n
}

// BenchmarkSite is one morning's outlooks of one site: all degree-day models of
// insects, every stage, 50 versions of the forecast, by past years. ms/site is
// the figure that has to stay under 2; ns/stage-year that which has to stay
// level as the years grow.
func BenchmarkSite(b *testing.B) {
	for _, years := range []int{15, 30, 60, 120} {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			s := newBenchSite(b, years, 50)
			b.ReportAllocs()
			for b.Loop() {
				if s.outlooks() == 0 {
					b.Fatal("no outlook has a date")
				}
			}
			per := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			b.ReportMetric(per/1e6, "ms/site")
			b.ReportMetric(per/float64(s.stages*years), "ns/stage-year")
			b.ReportMetric(float64(len(s.models)), "models")
			b.ReportMetric(float64(s.stages), "stages")
		})
	}
}

// BenchmarkYears is how the time grows with the past years, within one run: four
// times the years should take about four times as long at most.
func BenchmarkYears(b *testing.B) {
	few, many := newBenchSite(b, 30, 50), newBenchSite(b, 120, 50)
	var short, long time.Duration
	for b.Loop() {
		began := time.Now()
		few.outlooks()
		short += time.Since(began)
		began = time.Now()
		many.outlooks()
		long += time.Since(began)
	}
	b.ReportMetric(float64(long)/float64(short), "times-for-4x-years")
}

// BenchmarkVersions is what running the rules over the 50 versions of the
// forecast takes, before the outlooks are made of them: once a round, whatever
// the years.
func BenchmarkVersions(b *testing.B) {
	s := newBenchSite(b, 1, 1)
	today := civil.New(2026, 4, 20)
	season := madeUp(civil.New(2026, 1, 1), today.Sub(civil.New(2026, 1, 1))+16, 1)
	versions := VersionsOfDays(season, today, StatedError(), 50)
	for b.Loop() {
		f, err := NewForecastDays(versions, time.UTC, today.Start(time.UTC))
		if err != nil {
			b.Fatal(err)
		}
		for _, m := range s.models {
			if _, err := f.Runs(m.Spec, model.Input{Start: civil.New(2026, 1, 1), Zone: time.UTC, Now: today.Start(time.UTC)}); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1e6, "ms/site")
}

// BenchmarkHistory is what a change of a site's past weather costs once.
func BenchmarkHistory(b *testing.B) {
	s := newBenchSite(b, 30, 1)
	for b.Loop() {
		for _, p := range s.past {
			NewHistory(p)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1e6, "ms/site")
}
