package alerts

import (
	"cmp"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/web/say"
)

// nearDays is for how long a neighbour's find is news (common practice: one look a
// week).
const nearDays = 7

// Near is one ground with the looks that its growers let others see.
type Near struct {
	Site *garden.Site
	Seen []garden.Scouting
}

// found is what a neighbour found, ready to show, with what it is about.
type found struct {
	text string
	id   string
	date civil.Date
}

// near tells of neighbours' finds that the person was not told of: somebody's own
// eyes, and no model. Only those that the finder shares are told, without the
// finder, of threats to what the person has in the ground, and never one of the
// person's own beds: that one is told as present.
func (in *Input) near(items []item) []found {
	watched, mine := map[string]bool{}, map[string]bool{}
	for i := range items {
		watched[items[i].Threat] = true
		mine[items[i].Planting] = true
	}
	var out []found
	for _, g := range in.Near {
		for _, s := range garden.Looks(g.Seen) {
			age := in.today().Sub(s.Date)
			if s.Finding != garden.Found || !s.Share || !watched[s.Threat] || age < 0 || age >= nearDays || in.Told.knows(s.ID) ||
				s.By == in.Person.ID || g.Site.ID == in.Site.ID && (mine[s.Planting] || in.tends(s.Plot)) {
				continue
			}
			out = append(out, found{in.foundText(g.Site, s), s.ID, s.Date})
		}
	}
	slices.SortStableFunc(out, func(a, b found) int { return cmp.Or(cmp.Compare(b.date, a.date), strings.Compare(a.text, b.text)) })
	return out
}

func (in *Input) tends(plot string) bool {
	for i := range in.Site.Plots {
		if p := &in.Site.Plots[i]; p.ID == plot && plot != "" {
			return p.Grower == in.Person.ID
		}
	}
	return false
}

func (in *Input) foundText(site *garden.Site, s garden.Scouting) string {
	v := in.voice()
	what := say.Upper(v.Term(in.threat(s.Threat).Name))
	if s.Stage != "" {
		what += " (" + v.Term(s.Stage) + ")"
	}
	where := cmp.Or(site.Name, site.ID)
	if plot, p := site.Find(s.Planting); p != nil && site.ID == in.Site.ID {
		where = bedName(v, plot, p)
	}
	return v.T("%s: found at %s on %s.", what, where, v.Date(s.Date, in.today()))
}

// knows says whether a find was told before.
func (t *Told) knows(id string) bool { return t != nil && slices.Contains(t.Finds, id) }

// finds are the ids to remember: those of now, and older ones of the same days.
func (t *Told) finds(now []found) []string {
	var out []string
	if t != nil {
		out = append(out, t.Finds...)
	}
	for _, f := range now {
		out = append(out, f.id)
	}
	return out[max(0, len(out)-maxFinds):]
}

// maxFinds bounds what is remembered of finds; a week has not as many.
const maxFinds = 200
