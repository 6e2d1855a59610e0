package calc

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
)

// LearnOptions say how a log is learnt from.
type LearnOptions struct {
	Name           string // of the model
	Threat         string
	Zone           *time.Location
	Season         civil.MonthDay // on which seasons begin
	Start          civil.MonthDay // of the model's counting; zero: the model's own fixed day
	Stage          string         // name of the stage that the log is about; empty: the first
	Susceptibility garden.Susceptibility
}

// Stages returns the names of the stages that hold for a cultivar before any
// spray, in order.
func stages(spec model.Spec, c garden.Susceptibility) []model.Stage {
	var out []model.Stage
	for _, s := range spec.Stages() {
		if s.Holds(c, false) {
			out = append(out, s)
		}
	}
	return out
}

// StageOf finds a stage by the beginning of its name; without a name it is the
// first. A model without stages has none, and no error.
func StageOf(spec model.Spec, name string, c garden.Susceptibility) (model.Stage, error) {
	all := stages(spec, c)
	var names []string
	for _, s := range all {
		if strings.HasPrefix(s.Name, name) {
			return s, nil
		}
		names = append(names, strconv.Quote(s.Name))
	}
	if name == "" {
		return model.Stage{}, nil
	}
	if len(names) == 0 {
		names = []string{"none"}
	}
	return model.Stage{}, fmt.Errorf("the model has no stage that begins with %q; it has %s", name, strings.Join(names, ", "))
}

// Learn compares the ways of predicting on a log and writes a row for each. The
// notes say what is chosen and why, and what could not be used.
func Learn(w io.Writer, spec model.Spec, wx Weather, log *Log, o LearnOptions) (notes []string, err error) {
	start := o.Start
	if start.IsZero() {
		s := spec.Start()
		if s.Kind != model.FromCalendar {
			return nil, fmt.Errorf("model %s starts %s: %w; give its day of the year as --start MM-DD", o.Name, startsAt(s), ErrNoStart)
		}
		start = s.Day
	}
	stage, err := StageOf(spec, o.Stage, o.Susceptibility)
	if err != nil {
		return nil, err
	}
	curves, err := seasonCurves(spec, wx, start, o)
	if err != nil {
		return nil, err
	}
	a, err := learn.Learn(learn.Input{
		Threat: o.Threat, Model: o.Name, Unit: spec.Unit(), Seasons: log.Seasons, Curves: curves,
		Published: stage.Value, SeasonStart: o.Season,
	})
	if err != nil {
		return nil, err
	}
	notes = learnNotes(a, stage, curves, log)
	return notes, writeWays(w, a, curves)
}

// seasonCurves runs the model over each season that the weather covers from its
// start on.
func seasonCurves(spec model.Spec, wx Weather, start civil.MonthDay, o LearnOptions) (map[int]learn.Curve, error) {
	in := model.Input{Zone: o.Zone, Susceptibility: o.Susceptibility}
	first, last := wx.span(o.Zone)
	curves := map[int]learn.Curve{}
	for y := first.Year() - 1; y <= last.Year(); y++ {
		// The season's year, though the model may start to count in the next one.
		from := start.In(y)
		if season := o.Season.In(y); from < season {
			from = start.In(y + 1)
		}
		if from < first || from >= last {
			continue
		}
		run := in
		wx.cut(&run, from.AddDays(-back), min(last, from.AddDays(365)), o.Zone)
		run.Start = from
		t, err := spec.Run(&run)
		if err != nil {
			return nil, fmt.Errorf("model %s in %d: %w", o.Name, y, err)
		}
		curves[y] = learn.CurveOf(t)
	}
	return curves, nil
}

// back is how many days before its start a rule may look.
const back = 30

// span returns the first and last day of the file.
func (d *Days) span(*time.Location) (first, last civil.Date) {
	return d.List[0].Date, d.List[len(d.List)-1].Date
}

// span returns the first whole and the last day of the file.
func (h *Hours) span(loc *time.Location) (first, last civil.Date) {
	return civil.Of(h.Series.Start().Add(24*time.Hour-1), loc), civil.Of(h.Series.End().Add(-time.Hour), loc)
}

// cut gives a run the days from one date to before another.
func (d *Days) cut(in *model.Input, from, to civil.Date, _ *time.Location) {
	first := d.List[0].Date
	in.Days = d.List[max(0, from.Sub(first)):max(0, min(len(d.List), to.Sub(first)+1))]
}

func (h *Hours) cut(in *model.Input, from, to civil.Date, loc *time.Location) {
	s := h.Series
	in.Weather = s.Slice(s.Index(from.Start(loc)), s.Index(to.AddDays(1).Start(loc).Add(59*time.Minute)))
}

func learnNotes(a *learn.Arrival, stage model.Stage, curves map[int]learn.Curve, log *Log) []string {
	notes := []string{fmt.Sprintf("%s with a find; %s without, known only to be later than the last look", plural(a.Finds, "season", "seasons"), plural(a.Censored, "season", "seasons"))}
	if stage.Name != "" {
		notes = append(notes, fmt.Sprintf("the published threshold is %s %s: %s", format(stage.Value), a.Unit, stage.Name))
	}
	lacking := 0
	for _, s := range log.Seasons {
		if _, ok := curves[s.Year]; !ok {
			lacking++
		}
	}
	if lacking > 0 {
		notes = append(notes, fmt.Sprintf("%s of the log %s no weather from the model's start on and %s for dates alone", plural(lacking, "season", "seasons"), has(lacking), counts(lacking)))
	}
	for i := range a.Ways {
		if w := &a.Ways[i]; !w.Usable {
			notes = append(notes, fmt.Sprintf("%s: not usable, %s", w.Name, w.Why))
		}
	}
	best := a.Best()
	notes = append(notes, fmt.Sprintf("chosen: %s; %s", a.Chosen, a.Why))
	if u, ok := a.Usual(best, curves); ok {
		notes = append(notes, fmt.Sprintf("in four seasons of five the first find comes from %s to %s, by the %s; its interval held %d of %s predicted from the others",
			dayName(a, u.Low), dayName(a, u.High), best.Name, best.Covered(), plural(len(best.Tries), "season", "seasons")))
	}
	return append(notes, "errors are the mean miss in days, each season predicted from the others with its own weather known; a forecast adds its own")
}

func has(n int) string {
	if n == 1 {
		return "has"
	}
	return "have"
}

func counts(n int) string {
	if n == 1 {
		return "counts"
	}
	return "count"
}

// dayName writes a day of the season as one of the year.
func dayName(a *learn.Arrival, day int) string {
	return a.SeasonStart().In(2026).AddDays(day).Format("2 January")
}

// writeWays writes a row for each way. The dates are those between which the
// first find comes in a season of which nothing is known yet.
func writeWays(w io.Writer, a *learn.Arrival, curves map[int]learn.Curve) error {
	c := csv.NewWriter(w)
	_ = c.Write([]string{"way", "error_days", "scored", "inside_80", "estimate", "p10", "p90", "unit", "date10", "date50", "date90", "chosen"}) // Flush keeps the error
	for i := range a.Ways {
		x := &a.Ways[i]
		row := []string{string(x.Name), "", "0", "", "", "", "", "", "", "", "", "no"}
		if x.Usable {
			unit := a.Unit
			if x.Name == learn.Calendar {
				unit = "days from " + a.SeasonStart().String()
			}
			row = []string{string(x.Name), tenths(x.Error), strconv.Itoa(len(x.Tries)), strconv.Itoa(x.Covered()), tenths(x.Median), tenths(x.Low), tenths(x.High), unit, "", "", "", "no"}
			if u, ok := a.Usual(x, curves); ok {
				for k, d := range []int{u.Low, u.Median, u.High} {
					row[8+k] = a.SeasonStart().In(2026).AddDays(d).Format("01-02")
				}
			}
		}
		if x.Name == a.Chosen {
			row[len(row)-1] = "yes"
		}
		_ = c.Write(row)
	}
	c.Flush()
	return written(c.Error())
}

func tenths(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}
