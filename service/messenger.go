package service

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/feed"
	"plotwarden/alerts/heartbeat"
	"plotwarden/alerts/outbox"
	"plotwarden/alerts/push"
	"plotwarden/alerts/signed"
	"plotwarden/alerts/webhook"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/engine"
)

// messenger composes the morning digests and delivers them over each person's
// channels.
type messenger struct {
	cfg       *config.Config
	garden    func() *garden.Garden
	catalogue alerts.Catalogue
	store     engine.Store
	worker    outbox.Worker
	pushes    *push.Sender // nil without push
	metrics   *Metrics
	log       *slog.Logger
	now       func() time.Time
	credits   []string
	demo      string // where the demonstration's weather is from; empty outside it
	links     *signed.Links
	templates *alerts.Templates
	broken    []string        // what is wrong with the operator's templates
	beat      *heartbeat.Beat // nil without one
	failing   atomic.Bool     // mails have failed for long
}

// newMessenger makes one of a configuration, with the settings laid over it.
func newMessenger(ctx context.Context, h *Host, cfg *config.Config, m *Metrics, credits []string) (*messenger, error) {
	out := &messenger{
		cfg: cfg, garden: h.garden, catalogue: h.o.Catalogue, store: h.store, metrics: m, log: h.o.Log, now: h.o.Now, credits: credits,
	}
	if out.now == nil {
		out.now = time.Now
	}
	if h.o.Demo != nil {
		out.demo = strings.Join(h.o.Demo.Lines[1:], " ")
	}
	agent := "plotwarden/" + h.o.Version
	if err := errors.Join(out.open(ctx, agent), out.openBeat(agent), out.openTemplates()); err != nil {
		return nil, err
	}
	return out, nil
}

// Compose returns today's digests of a site once its local hour has come, over
// each channel of each person. The store keeps the first of each key, so that
// later rounds of the day change nothing, and a service that was down at the
// hour sends when it is back.
func (m *messenger) Compose(ctx context.Context, site *garden.Site, now time.Time, r *store.Round) ([]store.Message, error) {
	out, err := m.watchWeather(ctx, site, now, r)
	if err != nil {
		return nil, err
	}
	msgs, err := m.tellOfTemplates(now)
	if err != nil {
		return nil, err
	}
	out = append(out, msgs...)
	zone := site.Location()
	mornings := map[config.Clock]*morning{}
	people := m.garden().People
	for i := range people {
		p := &people[i]
		if !gets(p, site.ID) {
			continue
		}
		at, own := m.hour(p, site.ID)
		slot, due := slotOf(now, at.Hour, at.Minute, zone)
		if !due {
			continue
		}
		morning := mornings[at]
		if morning == nil {
			if morning, err = m.morning(ctx, site, slot, now, r); err != nil {
				return nil, err
			}
			mornings[at] = morning
		}
		if own {
			had, err := m.hadOn(ctx, site, p, civil.Of(slot, zone))
			if err != nil {
				return nil, err
			}
			if had {
				continue
			}
		}
		if morning.addressed[p.ID] || alerts.Rests(p, civil.Of(slot, zone)) || p.QuietHours.Holds(now, zone) {
			continue
		}
		msgs, err := morning.of(ctx, p)
		if err != nil {
			return nil, err
		}
		out = append(out, msgs...)
	}
	return out, nil
}

// overMidnight is for how long a slot of the day before is still due: rounds come
// some time apart, and one just before midnight would else be lost.
const overMidnight = 6 * time.Hour

// slotOf is the newest slot that has come: that of the local date that now lies on,
// when its clock first shows or passes the time of day, or for some hours that of
// the day before. due is false where neither is.
func slotOf(now time.Time, hour, minute int, zone *time.Location) (slot time.Time, due bool) {
	today := civil.Of(now, zone)
	if slot = today.Slot(hour, minute, zone); !now.Before(slot) {
		return slot, true
	}
	slot = (today - 1).Slot(hour, minute, zone)
	// A date that a zone left out has none: its slot would be one of today.
	return slot, civil.Of(slot, zone) < today && now.Sub(slot) < overMidnight
}

// morning is what the digests of one site and slot share.
type morning struct {
	*messenger
	site      *garden.Site
	slot, now time.Time
	round     *store.Round
	sources   []store.SourceStatus
	choices   []store.Choice
	addressed map[string]bool // who has a message of this slot already
	near      []alerts.Near
	drawn     map[string]alerts.Picture // by what is in it: many people read the same lanes
	apart     []store.Disagreement
	loaded    bool // near and apart
}

func (m *messenger) morning(ctx context.Context, site *garden.Site, slot, now time.Time, r *store.Round) (*morning, error) {
	out := &morning{messenger: m, site: site, slot: slot, now: now, round: r}
	var err error
	if out.sources, err = m.store.Sources(ctx, site.ID); err != nil {
		return nil, fmt.Errorf("load how the sources are doing: %w", err)
	}
	if out.choices, err = m.store.Choices(ctx, site.ID); err != nil {
		return nil, err
	}
	if out.addressed, err = m.store.Addressed(ctx, site.ID, slot); err != nil {
		return nil, err
	}
	return out, nil
}

// of makes a person's messages of the morning: one digest, in the form of each
// channel that they have and did not stop.
func (o *morning) of(ctx context.Context, p *garden.Person) ([]store.Message, error) {
	chosen, err := alerts.ChosenBy(p.ID, o.choices)
	if err != nil {
		return nil, err
	}
	ways, err := o.ways(ctx, p, chosen)
	if err != nil || len(ways) == 0 {
		return nil, err
	}
	if err := o.load(ctx); err != nil {
		return nil, err
	}
	told, err := o.told(ctx, o.site.ID, p.ID)
	if err != nil {
		return nil, err
	}
	d, send := alerts.Compose(alerts.Input{
		Person: *p, Site: o.site, Slot: o.slot, Now: o.now, Assessments: o.round.Assessments, Hours: o.round.Hours, Reminders: o.round.Reminders, Told: told,
		Near: o.near, Disagreements: o.apart,
		Chosen: chosen, ActLink: o.actLink(p), Catalogue: o.catalogue, Sources: o.sources, BaseURL: o.base(), Credits: o.credits,
		Demo: o.demo != "", DemoWeather: o.demo,
	})
	if !send {
		return nil, nil
	}
	var out []store.Message
	for _, way := range ways {
		msg, err := way(d)
		if err != nil {
			return nil, err
		}
		out = append(out, msg)
	}
	return out, nil
}

// way encodes a digest for one channel. It gets a copy.
type way func(d alerts.Digest) (store.Message, error)

// ways are the channels by which a person is reached. Nothing is composed for
// one who has none.
func (o *morning) ways(ctx context.Context, p *garden.Person, chosen alerts.Chosen) ([]way, error) {
	var out []way
	if o.mails() && p.Email != "" && !chosen.Stopped(email.Channel) {
		out = append(out, func(d alerts.Digest) (store.Message, error) { return o.mail(ctx, &d, p) })
	}
	if p.Webhook.URL != "" && !chosen.Stopped(webhook.Channel) {
		out = append(out, func(d alerts.Digest) (store.Message, error) { return webhook.Message(&d, ownTarget) })
	}
	if !chosen.Stopped(push.Channel) && o.worker.Senders[push.Channel] != nil {
		subs, err := o.store.Subscriptions(ctx, p.ID)
		if err != nil {
			return nil, err
		}
		for _, s := range subs {
			out = append(out, func(d alerts.Digest) (store.Message, error) { return push.Message(&d, s.ID) })
		}
	}
	if len(out) > 0 && o.links != nil {
		out = append(out, o.feedEntry)
	}
	return out, nil
}

// feedEntry keeps the morning for the person's feed. It tells nobody by itself,
// so it carries nothing as told.
func (o *morning) feedEntry(d alerts.Digest) (store.Message, error) {
	e, err := feed.EntryOf(&d)
	if err != nil {
		return store.Message{}, err
	}
	body, err := json.Marshal(e)
	if err != nil {
		return store.Message{}, fmt.Errorf("encode feed entry %s: %w", e.Key, err)
	}
	return store.Message{Key: e.Key, Person: d.PersonID, Channel: feedChannel, Site: d.SiteID, Slot: d.Slot, Body: body}, nil
}

func (m *messenger) told(ctx context.Context, site, person string) (*alerts.Told, error) {
	raw, err := m.store.LastTold(ctx, site, person)
	if err != nil {
		return nil, fmt.Errorf("load what %s was told: %w", person, err)
	}
	return alerts.ParseTold(raw)
}

func gets(p *garden.Person, site string) bool {
	for _, s := range p.Sites {
		if s == site {
			return true
		}
	}
	return false
}

// Deliver sends what is due, tells of channels that no longer work, and
// refreshes the outbox's figures.
func (m *messenger) Deliver(ctx context.Context, now time.Time) error {
	err := errors.Join(m.worker.Deliver(ctx, now), m.watchChannels(ctx, now))
	st, serr := m.store.OutboxStats(ctx)
	if serr != nil {
		return errors.Join(err, serr)
	}
	for state, n := range map[string]int{store.Pending: st.Pending, store.Sending: st.Sending, store.Sent: st.Sent, store.Failed: st.Failed} {
		m.metrics.Outbox.WithLabelValues(state).Set(float64(n))
	}
	age := 0.0
	if !st.Oldest.IsZero() && now.After(st.Oldest) {
		age = now.Sub(st.Oldest).Seconds()
	}
	m.metrics.OutboxAge.Set(age)
	return err
}
