package garden

import (
	"cmp"
	"slices"
)

// Done returns everything that was done on a site, as the models and decisions
// take it, in order of time and id: the treatments that were logged with few
// fields, and those that follow from the records that stand (TreatmentsOf). A
// record may correct or withdraw such a treatment by its id, as it may another
// record; where both have one id the record holds.
func Done(treatments []Treatment, records []Record) []Treatment {
	taken := make(map[string]bool, len(records))
	for i := range records {
		taken[records[i].ID] = true
	}
	all := slices.Clone(records)
	plain := map[string]*Treatment{}
	for i := range treatments {
		if t := &treatments[i]; !taken[t.ID] {
			plain[t.ID] = t
			all = append(all, Record{ID: t.ID, Start: t.At})
		}
	}
	var out []Treatment
	for _, r := range Current(all) {
		switch t := plain[r.ID]; {
		case t != nil:
			out = append(out, *t)
		case !r.Test:
			out = append(out, r.Treatment())
		}
	}
	slices.SortStableFunc(out, func(a, b Treatment) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	return out
}
