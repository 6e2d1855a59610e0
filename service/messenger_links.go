package service

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/signed"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/store"
	"plotwarden/web/say"
)

// openLinks takes the configured secret, or draws one at the first start. There
// are no links without an address at which readers reach the pages.
func (m *messenger) openLinks(ctx context.Context) error {
	if m.base() == "" {
		return nil
	}
	written, err := m.cfg.Links.Secret()
	if err != nil {
		return fmt.Errorf("links: %w", err)
	}
	key := []byte(written)
	if len(key) == 0 {
		fresh := make([]byte, 32)
		_, _ = rand.Read(fresh) // never fails since Go 1.24
		if key, err = m.store.KeepFirst(ctx, "link key", fresh); err != nil {
			return err
		}
	}
	keys, err := signed.NewKeys(key)
	if err != nil {
		return err
	}
	m.links = &signed.Links{Keys: keys, Base: m.base()}
	return nil
}

func (m *messenger) base() string { return strings.TrimSuffix(m.cfg.Mail.Link, "/") }

// actions are the choices that a message offers, by their kind in the store.
var actions = map[string]signed.Action{
	store.ChoseDone: signed.Done, store.ChoseNotNow: signed.NotNow, store.ChoseNotMine: signed.NotMine, store.ChoseMute: signed.Mute,
}

// actLink makes the links of a person's message. A link that cannot be made is
// left out and logged: the message matters more.
func (o *morning) actLink(p *garden.Person) alerts.ActLink {
	if o.links == nil {
		return nil
	}
	return func(kind string, plantings []string, threat string) string {
		return o.link(signed.Claim{
			Person: p.ID, Site: o.site.ID, Action: actions[kind], Key: alerts.Subject(plantings, threat), Expires: o.slot.Add(signed.AckLife),
		})
	}
}

func (m *messenger) link(c signed.Claim) string {
	link, err := m.links.Link(c)
	if err != nil {
		m.log.Error("no link in a message", "action", c.Action, "error", err)
		return ""
	}
	return link
}

// mail makes the mail of a digest, with the link that ends the mails.
func (o *morning) mail(ctx context.Context, d *alerts.Digest, p *garden.Person) (store.Message, error) {
	var x email.Extras
	if o.links != nil {
		d.Stop = o.link(signed.Claim{Person: p.ID, Site: o.site.ID, Action: signed.Unsubscribe, Key: email.Channel, Expires: o.slot.Add(signed.StopLife)})
		d.Subscribe = o.subscribe(p)
		if strings.HasPrefix(d.Stop, "https://") { // RFC 8058, section 3.1
			x.Unsubscribe = d.Stop
		}
	}
	o.lineOf(d, lang.New(p.Language, p.Units))
	var err error
	if x.Calendar, err = o.attached(ctx, p); err != nil {
		return store.Message{}, err
	}
	var faults []error
	x.Text, x.HTML, faults = o.templates.Render(d)
	for _, err := range faults {
		o.templateFault(err)
	}
	return email.Message(d, *p, o.cfg.Mail.From, x)
}

// subscribe are the addresses of the person's calendar and feed. They never end:
// programs fetch them for years.
func (o *morning) subscribe(p *garden.Person) []alerts.Act {
	var out []alerts.Act
	for _, x := range []struct {
		action      signed.Action
		path, label string
	}{{signed.Calendar, calendarPath, alerts.CalendarLabel}, {signed.Feed, feedPath, alerts.FeedLabel}} {
		token, err := o.links.Keys.Sign(signed.Claim{Person: p.ID, Site: o.site.ID, Action: x.action})
		if err != nil {
			o.log.Error("no link in a message", "action", x.action, "error", err)
			continue
		}
		out = append(out, alerts.Act{Label: x.label, Link: o.links.Base + x.path + token})
	}
	return out
}

// acts carries out what people choose by signed links.
type acts struct{ m *messenger }

// Describe says in words what a claim is about.
func (a acts) Describe(_ context.Context, c signed.Claim) (signed.Subject, error) {
	p, site := a.m.person(c.Person), a.m.site(c.Site)
	if p == nil || site == nil {
		return signed.Subject{}, fmt.Errorf("person %s or site %s: %w", c.Person, c.Site, store.ErrNotFound)
	}
	out := signed.Subject{Person: p.Name, Site: site.Name, Lang: lang.New(p.Language, p.Units), Loc: site.Location(), Page: a.m.base() + "/site/" + site.ID}
	if c.Action == signed.Unsubscribe {
		return out, nil
	}
	plantings, threat, ok := alerts.ParseSubject(c.Key)
	if !ok {
		return out, fmt.Errorf("subject %q: %w", c.Key, store.ErrNotFound)
	}
	name := threat
	if t, known := a.m.catalogue.ByID(threat); known {
		name = out.Lang.Term(t.Name)
	}
	beds := alerts.BedNames(out.Lang, site, plantings)
	switch {
	case c.Action == signed.Mute:
		out.What = say.Upper(name)
	case len(beds) == 0:
		return out, fmt.Errorf("plantings of %q: %w", c.Key, store.ErrNotFound)
	case c.Action == signed.NotMine:
		out.What = strings.Join(beds, "; ")
	default:
		out.What = say.Upper(name) + ", " + strings.Join(beds, "; ")
	}
	return out, nil
}

// choices are the records that a claim stands for.
func (a acts) choices(c signed.Claim, at time.Time) ([]store.Choice, error) {
	x := store.Choice{Person: c.Person, Site: c.Site, At: at}
	if c.Action == signed.Unsubscribe {
		x.Kind, x.Channel = store.ChoseStop, c.Key
		return []store.Choice{x}, nil
	}
	plantings, threat, ok := alerts.ParseSubject(c.Key)
	if !ok {
		return nil, fmt.Errorf("subject %q: %w", c.Key, store.ErrNotFound)
	}
	for kind, action := range actions {
		if action == c.Action {
			x.Kind = kind
		}
	}
	switch c.Action {
	case signed.Mute:
		x.Threat, x.Until = threat, c.Until
		return []store.Choice{x}, nil
	case signed.NotNow:
		x.Threat, x.Until = threat, c.Until.AddDays(-1) // told again on that day
	case signed.Done:
		x.Threat = threat
	case signed.NotMine: // the crop, whatever comes to it
	default:
		return nil, fmt.Errorf("action %q: %w", c.Action, store.ErrNotFound)
	}
	var out []store.Choice
	for _, p := range plantings {
		x.Planting = p
		out = append(out, x)
	}
	return out, nil
}

// Act records what a claim stands for.
func (a acts) Act(ctx context.Context, c signed.Claim, at time.Time) error {
	if _, err := a.Describe(ctx, c); err != nil {
		return err
	}
	list, err := a.choices(c, at)
	if err != nil {
		return err
	}
	told, err := a.m.told(ctx, c.Site, c.Person)
	if err != nil {
		return err
	}
	var errs []error
	for _, x := range list {
		if x.Planting != "" && x.Threat != "" {
			x.Seen = told.SeenOf(x.Planting, x.Threat)
		}
		errs = append(errs, a.m.store.Choose(ctx, x))
	}
	a.m.log.Info("choice by link", "person", c.Person, "site", c.Site, "action", c.Action, "subject", c.Key, "until", untilText(c.Until))
	return errors.Join(errs...)
}

// Undo takes it back.
func (a acts) Undo(ctx context.Context, c signed.Claim, at time.Time) error {
	list, err := a.choices(c, at)
	if err != nil {
		return err
	}
	var errs []error
	for _, x := range list {
		errs = append(errs, a.m.store.TakeBack(ctx, x))
	}
	a.m.log.Info("choice taken back by link", "person", c.Person, "site", c.Site, "action", c.Action, "subject", c.Key)
	return errors.Join(errs...)
}

func untilText(d civil.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}
