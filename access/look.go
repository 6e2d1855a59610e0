package access

import "plotwarden/garden"

// ReadLook says whether a look at the plants may be read: the person's own, one
// that its finder shares with the ground, one in a plot that the person tends, and
// one that nobody's name stands under. Owners and volunteers read all.
func (w Who) ReadLook(s *garden.Scouting, plot string) bool {
	switch {
	case !w.See(s.Site):
		return false
	case w.Role == Owner || w.Role == Volunteer || s.Share || s.By == "":
		return true
	}
	return s.By == w.Person || plot != "" && w.tends[s.Site+"/"+plot]
}

// Correct says whether an entry of a site's log may be corrected or taken back:
// the person's own, and all by who looks after the site. An entry without a name
// is corrected by whoever may log.
func (w Who) Correct(site, by string) bool {
	return w.Log(site) && (w.Role == Owner || w.Role == Volunteer || by == "" || by == w.Person)
}
