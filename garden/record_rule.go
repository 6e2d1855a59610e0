package garden

import "time"

// RecordRule is a set of fields that someone asks for.
type RecordRule struct {
	Name     string
	Source   string
	Standing string   // in the words of the catalogue
	Keys     []string // of RecordColumns
}

// RecordRules returns the rules that are known. They are for farms and for those
// who spray for hire; a home grower is bound by the label alone. None is legal
// advice: states and countries add to them.
func RecordRules() []RecordRule {
	return []RecordRule{
		{
			"United States, restricted-use products, within 14 days, kept 2 years",
			"federal rule as given by extension of Idaho, Minnesota and Maryland/Florida: product, registration number, total amount of product, area, crop, place, date, applicator, certificate", "confirmed",
			[]string{"product", "registration", "amount", "amount_unit", "area", "area_unit", "crop", "plot", "date", "person", "certificate"},
		},
		{
			"European Union, professional users",
			"Regulation (EU) 2023/564: product and authorisation number, date, dose, treated area and place, crop by EPPO code; start time and growth stage where the authorisation limits them", "confirmed",
			[]string{"product", "registration", "date", "start", "amount", "amount_unit", "area", "area_unit", "place", "crop_eppo", "bbch"},
		},
		{
			"one farm-assurance checklist",
			"asks for active ingredient and pre-harvest interval beside each record", "confirmed",
			[]string{"ingredient", "label_pre_harvest_days"},
		},
	}
}

// Gaps lists the titles of the fields that a rule asks for and the record lacks.
func (r *Record) Gaps(rule RecordRule) []string {
	var out []string
	for _, k := range rule.Keys {
		for _, c := range recordColumns {
			if c.Key == k && c.Value(r, time.UTC) == "" {
				out = append(out, c.Title)
			}
		}
	}
	return out
}
