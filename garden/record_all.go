package garden

import "slices"

// OnRecord returns every record of a site, with each treatment that was logged with
// fewer fields lifted to one, in order of start. plain are treatments from the store
// and the file, of this site or another; one that stands in both is taken once.
func OnRecord(site *Site, records []Record, list []Material, plain ...[]Treatment) []Record {
	out := slices.Clone(records)
	have := make(map[string]bool, len(out))
	for i := range out {
		have[out[i].ID] = true
	}
	for _, ts := range plain {
		for _, t := range ts {
			if t.Site == site.ID && !(t.ID != "" && have[t.ID]) {
				have[t.ID] = true
				out = append(out, RecordOf(t, site, list))
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Record) int { return a.Start.Compare(b.Start) })
	return out
}
