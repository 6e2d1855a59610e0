package garden

import (
	"cmp"
	"slices"
)

// Looks returns the looks that stand, by date and id: those that no correction
// replaces and that were not withdrawn. Every reader of a log goes through it.
func Looks(all []Scouting) []Scouting {
	out := standing(all, lookLink)
	slices.SortStableFunc(out, func(a, b Scouting) int { return cmp.Or(int(a.Date-b.Date), cmp.Compare(a.ID, b.ID)) })
	return out
}

// LookTrail returns a look with all that it corrects and that corrects it, the
// first entry first. It is empty when there is no look of that id.
func LookTrail(all []Scouting, id string) []Scouting { return trailOf(all, lookLink, id) }

// LookInstead returns the id of the look that stands in the place of another;
// empty when it stands itself or is not known.
func LookInstead(all []Scouting, id string) string { return superseded(all, lookLink, id) }

func lookLink(s *Scouting) link { return link{s.ID, s.Replaces, s.Entered, s.Withdrawn} }
