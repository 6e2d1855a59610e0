package garden

import (
	"cmp"
	"fmt"
	"slices"
)

// Current returns the records that stand: those that no correction replaces and
// that were not withdrawn, in order of start and id. When two corrections replace
// the same record the one entered last stands (of two entered at once, the one
// whose id sorts last), and Trail shows both.
func Current(records []Record) []Record {
	out := standing(records, recordLink)
	slices.SortStableFunc(out, func(a, b Record) int { return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.ID, b.ID)) })
	return out
}

// Trail returns a record with everything that it corrects and that corrects it,
// the first entry first. It is empty when there is no record of that id.
func Trail(records []Record, id string) []Record {
	return trailOf(records, recordLink, id)
}

// SupersededBy returns the id of the record that stands in the place of another;
// empty when it stands itself or is not known.
func SupersededBy(records []Record, id string) string {
	return superseded(records, recordLink, id)
}

// CheckRecords returns what is wrong with the trail: ids that are missing or
// taken twice, a replaced record that is not there, corrections in a ring or
// without a reason.
func CheckRecords(records []Record) []Problem {
	v := &validator{}
	t := newTrail(records, recordLink)
	seen := ids{what: "record"}
	for i := range records {
		r := &records[i]
		v.id(&r.ID, r, &seen)
		if r.BBCH != nil && (*r.BBCH < 0 || *r.BBCH > 99) {
			v.fault(r.BBCH, "bbch %d is outside 0 to 99", *r.BBCH)
		}
		if r.Start.IsZero() {
			v.missing(r, &r.Start, "record has no start; write the time at which the work began")
		} else if !r.End.IsZero() && r.End.Before(r.Start) {
			v.fault(&r.End, "the work ends before it starts")
		}
		if r.Replaces == "" {
			continue
		}
		switch {
		case !t.has(r.Replaces):
			v.fault(&r.Replaces, "record %q replaces %q, which is not in the log", r.ID, r.Replaces)
		case t.root(r.ID) == "":
			v.fault(&r.Replaces, "record %q replaces itself by way of others", r.ID)
		}
		if r.Why == "" {
			v.missing(r, &r.Why, fmt.Sprintf("record %q corrects %q without saying why", r.ID, r.Replaces))
		}
	}
	return v.problems
}

func recordLink(r *Record) link { return link{r.ID, r.Replaces, r.Entered, r.Withdrawn} }
