package calc

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/model"
	"plotwarden/strict"
	"plotwarden/weather"
)

// ModelOptions say how a model is to run. The zero value starts it by its own
// rule, on a cultivar of which nothing is said.
type ModelOptions struct {
	Name           string // of the model, in messages
	Zone           *time.Location
	Start          civil.Date // zero: the model's fixed day of the year
	Susceptibility garden.Susceptibility
	Sprays         []civil.Date // on which sums that start again go back to 0
}

// ErrNoStart is returned for a model that starts at an event when no date of it
// is given.
var ErrNoStart = errors.New("no start")

// Weather is what a file held: Days or Hours.
type Weather interface {
	// Model writes date,value,total,event for every day of the file from the
	// model's start, for a year at most. value is empty on an unknown day. The
	// notes say from when the model counts and what is missing.
	Model(w io.Writer, spec model.Spec, o ModelOptions) (notes []string, err error)

	// span returns the first and last day; cut gives a run those between two.
	span(loc *time.Location) (first, last civil.Date)
	cut(in *model.Input, from, to civil.Date, loc *time.Location)
}

// ReadFor reads a file of days or of hours, as its header says, with the columns
// that a model cannot do without. The error is strict.Faults.
func ReadFor(spec model.Spec, name string, r io.Reader, loc *time.Location, unit degreeday.Unit) (Weather, error) {
	columns, r := headerOf(r)
	if slices.Contains(columns, "time") || !slices.Contains(columns, "date") {
		return ReadHours(name, r, loc, spec.Needs())
	}
	var need []weather.Var
	for _, v := range spec.Needs() {
		switch v {
		case weather.Temp: // the extremes
		case weather.Rain, weather.Wind, weather.Soil:
			need = append(need, v)
		default:
			return nil, strict.Faults{{File: name, Line: 1, Column: 1, Message: fmt.Sprintf("the model needs %s by the hour; give it a file of hours: %s", v, hoursHeader(spec))}}
		}
	}
	return ReadDays(name, r, unit, need...)
}

// hoursHeader is the least header of a file of hours for a model.
func hoursHeader(spec model.Spec) string {
	h := "time"
	for _, v := range spec.Needs() {
		h += "," + ColumnOf(v)
	}
	return h
}

// Model runs a model on the days; see Weather.
func (d *Days) Model(w io.Writer, spec model.Spec, o ModelOptions) (notes []string, err error) {
	days := d.List
	start, end, err := season(spec.Start(), o, days[0].Date, days[len(days)-1].Date)
	if err != nil {
		return nil, err
	}
	if last := days[len(days)-1].Date; end <= last {
		notes = append(notes, endsNote(end, last))
		days = days[:end.Sub(days[0].Date)]
	}
	return runModel(w, spec, o, &model.Input{Days: days, Zone: o.Zone, Start: start}, append(notes, gapNotes(d.Gaps)...))
}

// Model runs a model on the hours; see Weather.
func (h *Hours) Model(w io.Writer, spec model.Spec, o ModelOptions) (notes []string, err error) {
	s := h.Series
	first, last := civil.Of(s.Start(), o.Zone), civil.Of(s.End().Add(-time.Second), o.Zone)
	start, end, err := season(spec.Start(), o, first, last)
	if err != nil {
		return nil, err
	}
	if end <= last {
		notes = append(notes, endsNote(end, last))
		s = s.Slice(0, s.Index(end.Start(o.Zone).Add(59*time.Minute)))
	}
	return runModel(w, spec, o, &model.Input{Weather: s, Zone: o.Zone, Start: start}, append(notes, gapNotes(h.Gaps)...))
}

func endsNote(end, last civil.Date) string {
	return fmt.Sprintf("the season ends before %s; rows up to %s are left out, give --start for another year", end, last)
}

// season returns the day from which a model counts and the day a year later. A
// fixed day is the first that the file covers, or else the last before it.
func season(s model.Start, o ModelOptions, first, last civil.Date) (start, end civil.Date, err error) {
	start = o.Start
	if start.IsZero() {
		if s.Kind != model.FromCalendar {
			return 0, 0, fmt.Errorf("model %s starts %s: %w; give its date as --start YYYY-MM-DD", o.Name, startsAt(s), ErrNoStart)
		}
		start = s.Day.OnOrBefore(first)
		if next := s.Day.In(start.Year() + 1); start < first && next <= last {
			start = next
		}
	}
	if start > last {
		return 0, 0, fmt.Errorf("model %s starts on %s and the weather ends on %s", o.Name, start, last)
	}
	y, m, d := start.YMD()
	if end = civil.New(y+1, m, d); end <= first {
		return 0, 0, fmt.Errorf("model %s starts on %s and the weather only on %s, a year later or more", o.Name, start, first)
	}
	return start, end, nil
}

func startsAt(s model.Start) string {
	if s.Kind == model.FromInGround {
		return "when the crop goes into the ground"
	}
	if s.Event != "" {
		return "with " + s.Event
	}
	return "with a first catch"
}

func runModel(w io.Writer, spec model.Spec, o ModelOptions, in *model.Input, notes []string) ([]string, error) {
	in.Susceptibility, in.Resets = o.Susceptibility, o.Sprays
	track, err := spec.Run(in)
	if err != nil {
		return nil, fmt.Errorf("model %s: %w", o.Name, err)
	}
	first := firstDay(in)
	notes = append(notes, fmt.Sprintf("value and total are %s from %s on", track.Unit, track.Start))
	if track.Start < first {
		notes = append(notes, fmt.Sprintf("there is no weather from %s to %s; the output begins after it", track.Start, first-1))
	}
	return append(notes, trackNotes(track)...), writeTrack(w, track, first)
}

func firstDay(in *model.Input) civil.Date {
	if in.Weather != nil {
		return civil.Of(in.Weather.Start(), in.Zone)
	}
	return in.Days[0].Date
}

func trackNotes(t *risk.Track) []string {
	var notes []string
	if n := len(t.Points); n > 0 {
		last := t.Points[n-1]
		if last.UnknownHours > 0 {
			notes = append(notes, fmt.Sprintf("the total is incomplete: %s unknown; at the end it lies between %s and %s", plural(last.UnknownHours, "hour is", "hours are"), format(last.Low), format(last.High)))
		}
		if last.Provisional {
			notes = append(notes, fmt.Sprintf("the value of %s is provisional: it needs the day after it", last.Date))
		}
	}
	return notes
}

// writeTrack leaves out the days before the first of the file.
func writeTrack(w io.Writer, t *risk.Track, first civil.Date) error {
	events := map[civil.Date][]string{}
	for _, e := range t.Events {
		name := e.Name
		if name == "" {
			name = string(e.Kind)
		}
		events[e.Date] = append(events[e.Date], name)
	}
	c := csv.NewWriter(w)
	_ = c.Write([]string{"date", "value", "total", "event"}) // Flush keeps the error
	before := 0
	for _, p := range t.Points {
		value := p.Value
		if p.UnknownHours > before && value == 0 {
			value = math.NaN() // not known to be nothing
		}
		before = p.UnknownHours
		if p.Date < first {
			continue
		}
		_ = c.Write([]string{p.Date.String(), format(value), format(p.Total), strings.Join(events[p.Date], "; ")})
	}
	c.Flush()
	return written(c.Error())
}
