package draw

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
)

// percentages reads a drawing as XML and returns every x, width, x1 and x2 that
// is a percentage; it fails on a drawing that is not well formed.
func percentages(t *rapid.T, svg string) (ends []float64) {
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return ends
		}
		if err != nil {
			t.Fatalf("not well formed: %v\n%s", err, svg)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		x, width := 0.0, 0.0
		for _, a := range e.Attr {
			v, isPct := strings.CutSuffix(a.Value, "%")
			if !isPct {
				continue
			}
			f, err := strconv.ParseFloat(v, 64)
			if err != nil {
				t.Fatalf("%s=%q: %v", a.Name.Local, a.Value, err)
			}
			switch a.Name.Local {
			case "x", "x1", "x2":
				x = f
			case "width":
				width = f
			}
			ends = append(ends, f, x+width)
		}
	}
}

// Whatever the dates, a lane stays on its axis and says no day twice as long.
func TestLaneStaysOnAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := func(name string) civil.Date {
			if rapid.Bool().Draw(t, name+" set") {
				return day(6, 10).AddDays(rapid.IntRange(-400, 400).Draw(t, name))
			}
			return 0
		}
		l := Lane{ID: "x", Title: rapid.String().Draw(t, "title"), Readiness: plan.Readiness(rapid.IntRange(1, 6).Draw(t, "readiness")),
			P10: d("p10"), P50: d("p50"), P90: d("p90"), Reached: d("reached"), WorkFrom: d("from"), WorkBy: d("by"), Infections: []civil.Date{d("i")}}
		a := Axis{From: day(6, 10), Days: rapid.SampledFrom([]int{14, 28}).Draw(t, "days"), Loc: time.UTC}
		l.Title = strings.Map(keepXML, l.Title)
		for _, x := range percentages(t, string(DrawLane(a, l))) {
			if x < 0 || x > 100.011 {
				t.Fatalf("%g %% for %+v", x, l)
			}
		}
	})
}

// keepXML drops what XML 1.0 cannot hold; HTML has no such limit.
func keepXML(r rune) rune {
	if r < 0x20 || r == 0xFFFE || r == 0xFFFF || (r >= 0xD800 && r <= 0xDFFF) {
		return -1
	}
	return r
}

func TestChartStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ch := Chart{ID: "c", Today: day(6, 10).AddDays(rapid.IntRange(-30, 30).Draw(t, "today"))}
		n := rapid.IntRange(1, 300).Draw(t, "n")
		total := 0.0
		for i := range n {
			v := rapid.SampledFrom([]float64{0, 1, 7.3, math.NaN()}).Draw(t, "v")
			if !math.IsNaN(v) {
				total += v
			}
			ch.Points = append(ch.Points, risk.Point{Date: day(4, 1).AddDays(i), Value: v, Total: total, Low: total,
				High: total + rapid.SampledFrom([]float64{0, 30, math.Inf(1), math.NaN()}).Draw(t, "more"), Forecast: i > n-5})
		}
		for i := range rapid.IntRange(0, 3).Draw(t, "levels") {
			ch.Levels = append(ch.Levels, Level{"l", float64(100 * (i + 1))})
		}
		svg := string(DrawChart(ch))
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Fatal(svg)
		}
		for _, x := range percentages(t, svg) {
			if x < -0.01 || x > 100.011 {
				t.Fatalf("%g %%", x)
			}
		}
	})
}

func TestHoursStayInside(t *testing.T) {
	loc, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		a := Axis{From: day(10, 25), Days: 14, Loc: loc} // over the end of summer time
		at := a.From.Slot(0, 0, loc)
		h := Hours{ID: "h", Now: at.Add(time.Duration(rapid.IntRange(-5, 30).Draw(t, "now")) * time.Hour)}
		for range rapid.IntRange(0, 40).Draw(t, "runs") {
			end := at.Add(time.Duration(rapid.IntRange(1, 30).Draw(t, "long")) * time.Hour)
			h.Runs = append(h.Runs, plan.Hours{From: at, To: end, Good: rapid.Bool().Draw(t, "good"), Unknown: rapid.Bool().Draw(t, "unknown")})
			at = end
		}
		for _, x := range percentages(t, string(DrawHours(a, h))) {
			if x < 0 || x > 100.011 {
				t.Fatalf("%g %%", x)
			}
		}
	})
}
