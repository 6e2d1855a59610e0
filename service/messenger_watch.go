package service

import (
	"context"
	"fmt"
	"net/mail"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/heartbeat"
	"plotwarden/alerts/push"
	"plotwarden/alerts/webhook"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/store"
)

// note is a short text about the service itself.
type note struct {
	key           string // makes it unique; the channel is added
	subject, text string
}

// toOperator encodes a note for the operator's channels, one apart.
func (m *messenger) toOperator(n note, at time.Time, except string) ([]store.Message, error) {
	var out []store.Message
	o := &m.cfg.Operator
	if o.Email != "" && m.mails() && except != email.Channel {
		msg, err := email.Plain("operator/"+n.key+"/email", mail.Address{Address: o.Email}, m.cfg.Mail.From, n.subject, n.text, at)
		if err != nil {
			return nil, err
		}
		out = append(out, msg)
	}
	if o.Webhook.URL != "" && except != webhook.Channel {
		msg, err := webhook.NoteMessage("operator/"+n.key+"/webhook", "", ownTarget, webhook.Note{Subject: n.subject, Text: n.text}, at)
		if err != nil {
			return nil, err
		}
		out = append(out, msg)
	}
	return out, nil
}

// toPerson encodes a note for a person's channels, one apart.
func (m *messenger) toPerson(ctx context.Context, p *garden.Person, n note, at time.Time, except string) ([]store.Message, error) {
	var out []store.Message
	add := func(msg store.Message, err error) error {
		msg.Person = p.ID
		out = append(out, msg)
		return err
	}
	if p.Email != "" && m.mails() && except != email.Channel {
		if err := add(email.Plain("note/"+n.key+"/email", mail.Address{Name: p.Name, Address: p.Email}, m.cfg.Mail.From, n.subject, n.text, at)); err != nil {
			return nil, err
		}
	}
	if p.Webhook.URL != "" && except != webhook.Channel {
		if err := add(webhook.NoteMessage("note/"+n.key+"/webhook", p.ID, ownTarget, webhook.Note{Subject: n.subject, Text: n.text}, at)); err != nil {
			return nil, err
		}
	}
	if except == push.Channel || m.worker.Senders[push.Channel] == nil {
		return out, nil
	}
	subs, err := m.store.Subscriptions(ctx, p.ID)
	if err != nil {
		return nil, err
	}
	for _, s := range subs {
		d := alerts.Digest{SiteID: "note/" + n.key, PersonID: p.ID, Subject: n.subject, Lead: n.text, Slot: at, Told: &alerts.Told{}}
		msg, err := push.Message(&d, s.ID)
		msg.Key, msg.Site, msg.Told = "note/"+n.key+"/push:"+s.ID, "", nil
		if err := add(msg, err); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// downInARow is after how many failures in a row a source counts as down.
const downInARow = 3

// watchWeather tells the operator, once a day, that the weather of a site is too
// old or that all its sources are down.
func (m *messenger) watchWeather(ctx context.Context, site *garden.Site, now time.Time, r *store.Round) ([]store.Message, error) {
	sources, err := m.store.Sources(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load how the sources are doing: %w", err)
	}
	today := civil.Of(now, time.UTC)
	var out []store.Message
	v := m.operator()
	note := func(key, subject, text string) ([]store.Message, error) {
		return m.toOperator(note{key + "/" + site.ID + "/" + today.String(), subject, text}, now, "")
	}
	tell := func(key, subject, text string) error {
		msgs, err := note(key, subject, text)
		out = append(out, msgs...)
		return err
	}
	var down []string
	live := 0
	for _, s := range sources {
		if strings.HasSuffix(s.Source, " history") || strings.HasSuffix(s.Source, ensembleSuffix) { // neither tells of now
			continue
		}
		live++
		if s.Consecutive >= downInARow {
			good := v.T("never")
			if !s.LastGood.IsZero() {
				good = v.Ago(s.LastGood, now)
			}
			down = append(down, v.T("%s: %d failures in a row, last good %s (%s).", s.Source, s.Consecutive, good, s.Cause))
		}
	}
	if live > 0 && len(down) == live {
		if err := tell("sources-down", v.T("All weather sources of %s are down", site.Name), strings.Join(down, "\n")); err != nil {
			return nil, err
		}
	}
	var until time.Time
	for i := range r.Assessments {
		if t := r.Assessments[i].WeatherUntil; t.After(until) {
			until = t
		}
	}
	if limit := m.cfg.Weather.StaleAfter.Std(); len(r.Assessments) > 0 && now.Sub(until) > limit {
		text := v.T("No measured hour has ever arrived.")
		if !until.IsZero() {
			text = v.T("The newest measured hour is of %s, %s.", until.UTC().Format("2006-01-02 15:04 UTC"), v.Ago(until, now))
		}
		if err := tell("weather-old", v.T("The weather of %s is too old", site.Name), text+" "+v.T("The growers are told that the service is blind there.")); err != nil {
			return nil, err
		}
	}
	return m.watchApart(ctx, site, out, note)
}

// watchApart tells the operator, once a day, of sources that lie widely apart.
func (m *messenger) watchApart(ctx context.Context, site *garden.Site, out []store.Message, tell func(key, subject, text string) ([]store.Message, error)) ([]store.Message, error) {
	apart, err := m.apartAt(ctx, site.ID)
	if err != nil || len(apart) == 0 {
		return out, err
	}
	v := m.operator()
	var lines []string
	for _, d := range apart {
		lines = append(lines, alerts.Disagree(v, d))
	}
	lines = append(lines, v.T("The growers are told of it. Look at the page of the weather which of them is wrong, and take it out of the configuration."))
	msgs, err := tell("sources-apart", v.T("The weather sources of %s disagree widely", site.Name), strings.Join(lines, "\n"))
	return append(out, msgs...), err
}

// operator is the voice in which the operator is told.
func (m *messenger) operator() lang.Voice { return lang.New(m.cfg.Operator.Language, "") }

// lookBack is how far back failed messages are looked at for telling of them.
const lookBack = 3 * 24 * time.Hour

// maxFailed bounds the failed messages looked at in one pass.
const maxFailed = 500

// watchChannels tells people, by another of their channels, that one no longer
// works: once a week and channel. Where there is no other the operator is told.
// It looks at what the store has, so that a restart forgets nothing.
func (m *messenger) watchChannels(ctx context.Context, now time.Time) error {
	failed, err := m.store.Failed(ctx, now.Add(-lookBack), maxFailed)
	if err != nil {
		return err
	}
	var out []store.Message
	seen := map[string]bool{}
	for _, d := range failed {
		p := m.person(d.Person)
		week := civil.Of(d.Slot, time.UTC)
		week -= civil.Date(week.Weekday())
		key := fmt.Sprintf("dead/%s/%s/%s", d.Person, d.Channel, week)
		if d.Site == "" || p == nil || seen[key] {
			continue
		}
		seen[key] = true
		msgs, err := m.tellOfDead(ctx, p, d, key, now)
		if err != nil {
			return err
		}
		out = append(out, msgs...)
	}
	if m.failing.Load() {
		n := note{"mail-failing/" + civil.Of(now, time.UTC).String(), m.operator().T("Mails keep failing"), m.operator().T("Mails have failed for a quarter of an hour or more; they stay in the outbox and are tried again. Look at the log for the cause.")}
		msgs, err := m.toOperator(n, now, email.Channel)
		if err != nil {
			return err
		}
		out = append(out, msgs...)
	}
	return m.store.AddMessages(ctx, out)
}

// What a person is told of a channel that failed, by channel.
var (
	deadSubject = map[string]string{
		email.Channel: "A message did not reach you by mail", webhook.Channel: "A message did not reach you over your webhook",
		push.Channel: "A message did not reach you as a note on a phone or browser",
	}
	deadText = map[string]string{
		email.Channel:   "The morning message of %s could not be delivered by mail: %s.",
		webhook.Channel: "The morning message of %s could not be delivered over your webhook: %s.",
		push.Channel:    "The morning message of %s could not be delivered as a note on a phone or browser: %s.",
	}
)

func (m *messenger) tellOfDead(ctx context.Context, p *garden.Person, d store.Delivery, key string, now time.Time) ([]store.Message, error) {
	if deadSubject[d.Channel] == "" {
		return nil, nil
	}
	words := func(v lang.Voice) (subject, text string) {
		return v.T(deadSubject[d.Channel]), v.T(deadText[d.Channel], v.FullDate(civil.Of(d.Slot, time.UTC)), strings.TrimSuffix(d.LastErr, "."))
	}
	n := note{key: key}
	n.subject, n.text = words(lang.New(p.Language, p.Units))
	msgs, err := m.toPerson(ctx, p, n, now, d.Channel)
	if err != nil || len(msgs) > 0 {
		return msgs, err
	}
	v := m.operator()
	_, text := words(v)
	n.subject, n.text = v.T("Messages do not reach %s", p.ID), v.T("%s has no other channel.", p.ID)+" "+text
	return m.toOperator(n, now, "")
}

// well says whether nothing stands against telling the watchdog that all is
// well.
func (m *messenger) well() bool { return !m.failing.Load() }

// openBeat makes the heartbeat, if one is configured.
func (m *messenger) openBeat(agent string) error {
	if m.cfg.Operator.Heartbeat == "" {
		return nil
	}
	var err error
	m.beat, err = heartbeat.New(heartbeat.Options{URL: m.cfg.Operator.Heartbeat, UserAgent: agent, Now: m.now})
	return err
}

// good tells the watchdog of a good round, unless mails keep failing: then its
// alarm is what reaches the operator. That it is not reached stops nothing.
func (m *messenger) good(ctx context.Context) {
	if m.beat == nil || !m.well() {
		return
	}
	if err := m.beat.Good(ctx); err != nil && ctx.Err() == nil {
		m.log.Warn("the watchdog was not reached", "error", err)
	}
}
