package garden

import (
	"time"

	"plotwarden/civil"
)

// Fill completes a record from the planting, the site and the grower's material
// where the record itself says nothing, and works out its clocks. It adds no
// label value that the material does not have. m may be nil.
func (r *Record) Fill(site *Site, m *Material) {
	r.Site = site.ID
	if plot, p := site.Find(r.Planting); p != nil {
		fill(&r.Plot, plot.ID)
		fill(&r.Crop, p.Crop)
		fill(&r.Cultivar, p.Cultivar)
	}
	if c, ok := CropByID(r.Crop); ok {
		fill(&r.EPPO, c.EPPO)
	}
	if m != nil {
		r.fillMaterial(m)
	}
	r.clocks(site.Location())
}

func (r *Record) fillMaterial(m *Material) {
	fill(&r.Material, m.ID)
	fill(&r.Product, m.Label())
	fill(&r.Ingredient, m.Ingredient)
	fill(&r.Kind, m.Kind)
	fill(&r.Registered, m.Registered)
	l := &r.Label
	fill(&l.Date, m.LabelDate)
	fill(&l.IntervalDays, m.IntervalDays)
	fill(&l.SeasonMax, m.SeasonMax)
	fill(&l.PreHarvestDays, m.PreHarvestDays)
	if l.ReEntryHours == nil && !l.ReEntryDry {
		l.ReEntryHours, l.ReEntryDry = m.ReEntryHours, m.ReEntryDry
	}
}

// clocks counts re-entry from the end of the work, and harvest in days from its
// local date: with 3 days before harvest, work on the 10th allows harvest on the
// 13th (common practice; the label's own words come first).
func (r *Record) clocks(loc *time.Location) {
	end := r.Finished()
	if h := r.Label.ReEntryHours; h != nil {
		r.ReEntry = end.Add(time.Duration(*h) * time.Hour)
	}
	if d := r.Label.PreHarvestDays; d != nil {
		r.HarvestFrom = civil.Of(end, loc).AddDays(*d)
	}
}

// Finished returns when the work ended, or else when it began.
func (r *Record) Finished() time.Time {
	if r.End.After(r.Start) {
		return r.End
	}
	return r.Start
}

// Sprayed says whether something was put on the plants, and not only work done:
// a clean-up has neither product nor ingredient.
func (r *Record) Sprayed() bool { return r.Material != "" || r.Product != "" || r.Ingredient != "" }

// Treatment returns the record as the models and decisions take it.
func (r *Record) Treatment() Treatment {
	t := Treatment{
		ID: r.ID, Site: r.Site, Planting: r.Planting, Threats: r.Threats, At: r.Start,
		Material: r.Material, Ingredient: r.Ingredient, Note: r.Note, By: r.By, IntervalDays: r.Label.IntervalDays,
	}
	if t.Material == "" {
		t.Material = r.Product
	}
	if d := r.Label.PreHarvestDays; d != nil {
		t.PreHarvestDays = *d
	}
	if h := r.Label.ReEntryHours; h != nil {
		t.ReEntryHours = *h
	}
	return t
}

// RecordOf lifts a treatment that was logged with fewer fields. Its label values
// of 0 are not said.
func RecordOf(t Treatment, site *Site, list []Material) Record {
	r := Record{
		ID: t.ID, Planting: t.Planting, Threats: t.Threats, Start: t.At, By: t.By, Note: t.Note,
		Product: t.Material, Ingredient: t.Ingredient, Label: LabelValues{IntervalDays: t.IntervalDays},
	}
	if t.PreHarvestDays > 0 {
		r.Label.PreHarvestDays = &t.PreHarvestDays
	}
	if t.ReEntryHours > 0 {
		r.Label.ReEntryHours = &t.ReEntryHours
	}
	m := MaterialByID(list, t.Material)
	if m != nil {
		r.Product = m.Label()
	}
	r.Fill(site, m)
	return r
}

// Find returns a planting of the site with its plot; both are nil when the site
// has none of that id.
func (s *Site) Find(planting string) (*Plot, *Planting) {
	for i := range s.Plots {
		for j := range s.Plots[i].Plantings {
			if p := &s.Plots[i].Plantings[j]; p.ID == planting {
				return &s.Plots[i], p
			}
		}
	}
	return nil, nil
}

func fill[T comparable](at *T, with T) {
	var zero T
	if *at == zero {
		*at = with
	}
}

// RecordsOf makes a record of each treatment, as RecordOf does.
func RecordsOf(ts []Treatment, site *Site, list []Material) []Record {
	out := make([]Record, len(ts))
	for i := range ts {
		out[i] = RecordOf(ts[i], site, list)
	}
	return out
}

// TreatmentsOf returns the records that stand, as the models and decisions take
// them, in order of time. A test on a few leaves protects no planting and is left
// out.
func TreatmentsOf(records []Record) []Treatment {
	var out []Treatment
	for _, r := range Current(records) {
		if !r.Test {
			out = append(out, r.Treatment())
		}
	}
	return out
}
