package garden

import (
	"math"
	"slices"
)

// CheckMaterials returns what is wrong with a list of materials, each problem
// with a pointer to the field. It refuses nothing that a label could say.
func CheckMaterials(list []Material) []Problem {
	v := &validator{}
	taken := ids{what: "material"}
	for i := range list {
		m := &list[i]
		v.id(&m.ID, m, &taken)
		v.material(m)
	}
	return v.problems
}

func (v *validator) material(m *Material) {
	if m.Ingredient == "" && m.Kind != KindHomeMix {
		v.missing(m, &m.Ingredient, "material has no ingredient; write the active ingredient as the label prints it")
	}
	for i := range m.Crops {
		if _, ok := CropByID(m.Crops[i]); !ok {
			v.fault(&m.Crops[i], "%s", unknownCrop(m.Crops[i]))
		}
	}
	v.date(&m.LabelDate)
	for _, n := range []struct {
		at   *int
		name string
	}{
		{&m.IntervalDays, "interval_days"}, {&m.SeasonMax, "season_max"}, {m.PreHarvestDays, "pre_harvest_days"},
		{m.ReEntryHours, "re_entry_hours"}, {&m.ApartDays, "apart_days"},
	} {
		if n.at != nil && *n.at < 0 {
			v.fault(n.at, "%s %d is below 0", n.name, *n.at)
		}
	}
	for _, n := range []struct {
		at   *float64
		name string
	}{{&m.DryingHours, "drying_hours"}, {&m.AfterSunrise, "after_sunrise_hours"}, {&m.BeforeSunset, "before_sunset_hours"}} {
		if !(*n.at >= 0) || math.IsInf(*n.at, 0) {
			v.fault(n.at, "%s %g is below 0 or no number", n.name, *n.at)
		}
	}
	if m.MinTemp != nil && m.MaxTemp != nil && *m.MinTemp > *m.MaxTemp {
		v.fault(m.MinTemp, "min_temp %.1f C is above max_temp %.1f C", float64(*m.MinTemp), float64(*m.MaxTemp))
	}
	if slices.Contains(m.DoNotMix, m.ID) && m.ID != "" {
		v.fault(&m.DoNotMix, "do_not_mix names the material itself")
	}
	if f := m.FollowUp; f != nil {
		switch {
		case f.Text == "":
			v.missing(f, &f.Text, "follow_up has no text; write what has to be done")
		case f.AfterHours < 0:
			v.fault(&f.AfterHours, "after_hours %d is below 0", f.AfterHours)
		case f.At == "" && f.AfterHours == 0:
			v.fault(f, "follow_up has no time; write at: \"07:00\" or after_hours: 12")
		case f.At != "" && f.AfterHours != 0:
			v.fault(f, "follow_up has two times; write either at or after_hours")
		}
	}
}
