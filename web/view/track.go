package view

import (
	"fmt"
	"html/template"
	"slices"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// TrackView is a track as a drawing and as a table.
type TrackView struct {
	Unit    string
	Daily   bool // drawn as each day's own value, for rules without a total
	Start   string
	Drawing template.HTML
	Ahead   bool   // part of it rests on the forecast
	Gaps    string // how many hours are unknown and what they leave open; empty when none
	Rows    []TrackRow
}

// TrackRow is one day of a track.
type TrackRow struct {
	Date, Value, Total, Range, Unknown, Kind, Event string
}

// StageRow is one threshold of a model.
type StageRow struct {
	Name, Value, Note string
	Reached           string // "3 Jun"; empty when not yet
	Ahead             bool   // the date rests on the forecast
	Source

	value float64
	holds bool // for this cultivar, at this time
}

// stages lists the thresholds of a model with what the track reached.
func (in *In) stages(it item, m *catalog.Model) []StageRow {
	if m.Spec == nil {
		return nil
	}
	var out []StageRow
	for _, s := range m.Spec.Stages() {
		row := stage(s, m)
		row.holds = s.Holds(it.planting.Susceptibility, wasReset(it.Track))
		if p, ok := crossing(it.Track, s.Value); ok {
			row.Reached, row.Ahead = in.Style.Date(p.Date, in.today()), p.Forecast
		}
		out = append(out, row)
	}
	return out
}

// stage shows a threshold.
func stage(s model.Stage, m *catalog.Model) StageRow {
	row := StageRow{Name: say.Upper(s.Name), Value: say.Number(s.Value), Note: say.Sentence(s.Note), Source: stageSource(s, m), value: s.Value}
	if s.Through != 0 {
		row.Value += " to " + say.Number(s.Through)
	}
	row.Value += " " + m.Spec.Unit()
	if s.Cultivar != "" {
		row.Name += ", " + string(s.Cultivar) + " cultivars"
	}
	switch s.Spray {
	case model.FirstSpray:
		row.Name += ", before the first spray"
	case model.NextSpray:
		row.Name += ", after a spray"
	}
	return row
}

// stageSource returns the source of a threshold: its own, else its model's.
func stageSource(s model.Stage, m *catalog.Model) Source {
	if s.From.Text == "" {
		own := source(m.Source)
		if s.From.Standing != risk.Unstated {
			own.Standing = s.From.Standing.String()
		}
		return own
	}
	return source(s.From)
}

// crossing finds the day on which the running sum reached a threshold; what was
// reached before the last reset is over.
func crossing(t *risk.Track, value float64) (risk.Point, bool) {
	if t == nil {
		return risk.Point{}, false
	}
	from := t.Start
	for _, e := range t.Events {
		if e.Kind == risk.Reset {
			from = e.Date
		}
	}
	for _, p := range t.Points {
		if p.Date >= from && p.Total >= value {
			return p, true
		}
	}
	return risk.Point{}, false
}

// wasReset says whether a spray has put the sum back to zero this season.
func wasReset(t *risk.Track) bool {
	return t != nil && slices.ContainsFunc(t.Events, func(e risk.Event) bool { return e.Kind == risk.Reset })
}

func (in *In) track(it item, stages []StageRow) *TrackView {
	t := it.Track
	if t == nil || len(t.Points) == 0 {
		return nil
	}
	v := &TrackView{Unit: t.Unit, Start: in.Style.Date(t.Start, in.today())}
	ch := draw.Chart{
		ID: "track", Title: "Running total of " + t.Unit + " since " + v.Start, Points: t.Points, Events: t.Events,
		Today: in.today(), Style: in.Style,
	}
	for _, s := range stages {
		if !s.holds {
			continue // the table has it; the drawing is of this planting
		}
		ch.Levels = append(ch.Levels, draw.Level{Name: s.Name, Value: s.value})
	}
	if len(ch.Levels) == 0 {
		v.Daily = true
		ch.Title = "Each day's " + t.Unit + " since " + v.Start
	}
	events := map[string]string{}
	for _, e := range t.Events {
		name := string(e.Kind)
		if e.Name != "" {
			name = e.Name
		}
		if d := e.Date.String(); events[d] != "" {
			events[d] += ", " + name
		} else {
			events[d] = name
		}
	}
	for _, p := range t.Points {
		row := TrackRow{Date: in.Style.Date(p.Date, in.today()), Value: say.Number(p.Value), Total: say.Number(p.Total), Kind: "measured", Event: events[p.Date.String()]}
		if p.Low != p.High {
			row.Range = say.Number(p.Low) + " to " + say.Number(p.High)
		}
		if p.UnknownHours > 0 {
			row.Unknown = fmt.Sprint(p.UnknownHours)
		}
		switch {
		case p.Forecast:
			row.Kind, v.Ahead = "forecast", true
		case p.Provisional:
			row.Kind = "measured, may change"
		}
		v.Rows = append(v.Rows, row)
	}
	last := t.Points[len(t.Points)-1]
	if p, ok := t.At(in.today().AddDays(-1)); ok {
		last = p
	}
	ch.Desc = fmt.Sprintf("%s %s by %s.", say.Number(last.Total), t.Unit, in.Style.Date(last.Date, in.today()))
	if last.UnknownHours > 0 {
		v.Gaps = fmt.Sprintf("%s of weather are missing since the start. The total lies between %s and %s.",
			say.Count(last.UnknownHours, "hour"), say.Number(last.Low), say.Number(last.High))
		ch.Desc += " " + v.Gaps
	}
	v.Drawing = draw.DrawChart(ch)
	return v
}
