package access

// Correct says whether an entry of a site's log may be corrected or taken back:
// the person's own, and all by who looks after the site. An entry without a name
// is corrected by whoever may log.
func (w Who) Correct(site, by string) bool {
	return w.Log(site) && (w.Role == Owner || w.Role == Volunteer || by == "" || by == w.Person)
}
