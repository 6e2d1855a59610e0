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
	t := newTrail(records)
	var out []Record
	for i := range records {
		r := &records[i]
		if last := t.last(r.ID); t.first(r) && last != nil && !last.Withdrawn {
			out = append(out, *last)
		}
	}
	slices.SortStableFunc(out, func(a, b Record) int { return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.ID, b.ID)) })
	return out
}

// Trail returns a record with everything that it corrects and that corrects it,
// the first entry first. It is empty when there is no record of that id.
func Trail(records []Record, id string) []Record {
	t := newTrail(records)
	root := t.root(id)
	if root == "" {
		return nil
	}
	var out []Record
	for i := range records {
		if t.root(records[i].ID) == root {
			out = append(out, records[i])
		}
	}
	slices.SortStableFunc(out, func(a, b Record) int {
		return cmp.Or(cmp.Compare(boolInt(a.ID != root), boolInt(b.ID != root)), a.Entered.Compare(b.Entered), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// SupersededBy returns the id of the record that stands in the place of another;
// empty when it stands itself or is not known.
func SupersededBy(records []Record, id string) string {
	t := newTrail(records)
	last := t.last(t.root(id))
	if last == nil || last.ID == id {
		return ""
	}
	return last.ID
}

// CheckRecords returns what is wrong with the trail: ids that are missing or
// taken twice, a replaced record that is not there, corrections in a ring or
// without a reason.
func CheckRecords(records []Record) []Problem {
	v := &validator{}
	t := newTrail(records)
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
		case t.byID[r.Replaces] == nil:
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

type trail struct {
	byID map[string]*Record
	next map[string]*Record // the correction of a record that stands
}

func newTrail(records []Record) trail {
	t := trail{map[string]*Record{}, map[string]*Record{}}
	for i := range records {
		r := &records[i]
		t.byID[r.ID] = r
		if r.Replaces == "" {
			continue
		}
		was := t.next[r.Replaces]
		if was == nil || r.Entered.After(was.Entered) || r.Entered.Equal(was.Entered) && r.ID > was.ID {
			t.next[r.Replaces] = r
		}
	}
	return t
}

// first says whether a trail begins with the record: it corrects none, or one
// that is lost, which must not lose what corrects it.
func (t trail) first(r *Record) bool { return r.Replaces == "" || t.byID[r.Replaces] == nil }

// root follows corrections back to the first entry. It is empty for an unknown
// record and for one in a ring.
func (t trail) root(id string) string {
	for range len(t.byID) + 1 {
		r := t.byID[id]
		if r == nil {
			return ""
		}
		if t.first(r) {
			return id
		}
		id = r.Replaces
	}
	return ""
}

func (t trail) last(id string) *Record {
	r := t.byID[id]
	for range t.byID {
		n := t.next[id]
		if n == nil {
			break
		}
		r, id = n, n.ID
	}
	return r
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
