package learn

import (
	"cmp"
	"maps"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
)

// Where says from whose log seasons are taken.
type Where struct {
	Site   *garden.Site
	Region string // id of the site's region; may be empty
	// Before leaves out seasons that begin on this day or later: the running one,
	// whose end is not known. Zero takes all.
	Before civil.Date
	// SharedOnly takes only looks that their finders share: for other people's
	// plots.
	SharedOnly bool
}

// Seasons makes the seasons of one threat, by plot and year, from looks and
// treatments, in any order. A look without a plot belongs to that of its
// planting; one without either is of a plot without a name. Unsure looks say
// nothing.
func Seasons(threat string, w Where, seen []garden.Scouting, done []garden.Treatment) []Season {
	type key struct {
		plot string
		year int
	}
	looks := map[key][]garden.Scouting{}
	season := w.Site.Season()
	for _, s := range seen {
		first := season.OnOrBefore(s.Date)
		if s.Threat != threat || s.Site != w.Site.ID || w.SharedOnly && !s.Share || s.Finding == garden.Unsure || !w.Before.IsZero() && first >= w.Before {
			continue
		}
		k := key{plotOf(w.Site, s.Plot, s.Planting), first.Year()}
		looks[k] = append(looks[k], s)
	}
	sprays := map[key]civil.Date{}
	zone := w.Site.Location()
	for _, t := range done {
		if t.Site != w.Site.ID || !slices.Contains(t.Threats, threat) {
			continue
		}
		d := civil.Of(t.At, zone)
		k := key{plotOf(w.Site, "", t.Planting), season.OnOrBefore(d).Year()}
		if was, ok := sprays[k]; !ok || d < was {
			sprays[k] = d
		}
	}
	var out []Season
	for k, ls := range looks {
		out = append(out, bracket(k.year, ls, sprays[k], Place{w.Region, w.Site.ID, k.plot}))
	}
	slices.SortFunc(out, func(a, b Season) int {
		return cmp.Or(cmp.Compare(a.Place.Plot, b.Place.Plot), cmp.Compare(a.Year, b.Year))
	})
	return out
}

func plotOf(site *garden.Site, plot, planting string) string {
	if plot != "" || planting == "" {
		return plot
	}
	for i := range site.Plots {
		for j := range site.Plots[i].Plantings {
			if site.Plots[i].Plantings[j].ID == planting {
				return site.Plots[i].ID
			}
		}
	}
	return ""
}

// bracket reads one season's looks. Those after the first spray say nothing of
// when the pest would have come.
func bracket(year int, looks []garden.Scouting, sprayed civil.Date, at Place) Season {
	s := Season{Year: year, Place: at}
	for _, l := range looks {
		if l.Finding == garden.Found && (s.First.IsZero() || l.Date < s.First) {
			s.First = l.Date
		}
	}
	end := s.First
	if !sprayed.IsZero() && (s.First.IsZero() || sprayed < s.First) {
		s.Sprayed, s.First, end = sprayed, 0, sprayed.AddDays(1)
	}
	for _, l := range looks {
		if l.Finding == garden.None && (end.IsZero() || l.Date < end) && l.Date > s.None {
			s.None = l.Date
		}
	}
	return s
}

// Earliest takes the seasons of one place and returns, for each year in order,
// the one that says most of when the threat first came there: that with the
// earliest find of any plot, or else with the latest look without one. Years that
// say nothing are left out.
func Earliest(all []Season) []*Season {
	best := map[int]*Season{}
	for i := range all {
		s := &all[i]
		was := best[s.Year]
		switch {
		case !s.Found() && !s.Censored():
		case was == nil, s.Found() && (!was.Found() || s.First < was.First), !s.Found() && !was.Found() && s.None > was.None:
			best[s.Year] = s
		}
	}
	out := make([]*Season, 0, len(best))
	for _, y := range slices.Sorted(maps.Keys(best)) {
		out = append(out, best[y])
	}
	return out
}
