package view

import (
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/web/say"
)

// ModelView is a published rule as the pages show it.
type ModelView struct {
	ID, Title string
	Source
	Weakest   string // the lowest standing among its numbers
	Validated string
	Start     string
	Unit      string
	Notes     []string
	Added     string
	Default   bool
	Stages    []StageRow
}

// Model shows a model.
func Model(m *catalog.Model) ModelView {
	v := ModelView{ID: m.ID, Title: m.Title, Source: source(m.Source), Weakest: m.Weakest().String(),
		Validated: m.Validated, Notes: m.Notes, Added: m.Added, Default: m.Default}
	if v.Validated == "" {
		v.Validated = "not stated"
	}
	if m.Spec == nil {
		return v
	}
	v.Unit, v.Start = m.Spec.Unit(), startWords(m.Spec.Start())
	for _, s := range m.Spec.Stages() {
		v.Stages = append(v.Stages, stage(s, m))
	}
	return v
}

func startWords(s model.Start) string {
	out := ""
	switch s.Kind {
	case model.FromCalendar:
		out = "Counts from " + s.Day.In(2000).Format("2 January") + " of the northern calendar"
	case model.FromInGround:
		out = "Counts from the day the planting goes into the ground"
	case model.FromCatch:
		out = "Counts from what you log: " + s.Event
	default:
		return ""
	}
	if s.Exclusive {
		out += ", beginning on the day after"
	}
	if s.Standing != risk.Unstated {
		out += " (" + s.Standing.String() + ")"
	}
	return out + "."
}

// ThresholdRow is a published number of animals or plants at which acting pays.
type ThresholdRow struct {
	Crop, Stage, Measure, Small string
	Source
}

// Thresholds shows action thresholds.
func Thresholds(ts []catalog.ActionThreshold) []ThresholdRow {
	out := make([]ThresholdRow, len(ts))
	for i, t := range ts {
		out[i] = ThresholdRow{say.Upper(t.Crop), t.Stage, t.Value + " " + t.Measure, t.Small, source(t.Source)}
	}
	return out
}
