package garden

func (v *validator) person(p *Person) {
	for i := range p.Sites {
		v.siteRef(&p.Sites[i])
	}
	if len(p.Sites) > 0 && p.Email == "" && p.Webhook.URL == "" && !v.refused(&p.Email, &p.Webhook.URL) {
		v.warn(p, "person %s has sites but no email, so no digest can reach them", p.ID)
	}
	if q := &p.QuietHours; q.From == q.To && q.From != 0 && !v.refused(&q.From, &q.To) {
		v.fault(q, "quiet_hours from %s to %s is no time at all; leave it out, or write two different times", q.From, q.To)
	}
	for i := range p.Holidays {
		v.holiday(&p.Holidays[i])
	}
	for i := range p.Mute {
		v.mute(&p.Mute[i])
	}
	switch w := &p.Webhook; {
	case w.URL != "" && w.SecretFile == "":
		v.missing(w, &w.SecretFile, "webhook has no secret_file; write the file that holds the secret to sign with")
	case w.URL == "" && w.SecretFile != "":
		v.missing(w, &w.URL, "webhook has no url; write the address to post to")
	}
}

func (v *validator) holiday(h *Holiday) {
	v.date(&h.From)
	v.date(&h.To)
	switch {
	case h.From.IsZero():
		v.missing(h, &h.From, "holiday has no from; write its first day")
	case h.To.IsZero():
		v.missing(h, &h.To, "holiday has no to; write its last day")
	case h.To < h.From:
		v.fault(&h.To, "holiday ends on %s, before it begins on %s", h.To, h.From)
	}
}

func (v *validator) mute(m *Mute) {
	if m.Threat == "" {
		v.missing(m, &m.Threat, "mute has no threat; write which one")
	} else {
		v.threatRef(&m.Threat)
	}
	v.date(&m.Until)
	if m.Until.IsZero() {
		v.missing(m, &m.Until, "mute has no until; write the last day, so that it is not forgotten")
	}
}
