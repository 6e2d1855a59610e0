package service

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/outbox"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

// messenger composes the morning digests and delivers them by mail.
type messenger struct {
	cfg       *config.Config
	catalogue alerts.Catalogue
	store     *sqlite.Store
	worker    outbox.Worker
	metrics   *Metrics
	credits   []string
	demo      string // where the demonstration's weather is from; empty outside it
	on        bool
}

func newMessenger(h *Host, m *Metrics, credits []string) (Messenger, error) {
	out := &messenger{cfg: h.o.Config, catalogue: h.o.Catalogue, store: h.store, metrics: m, credits: credits}
	if h.o.Demo != nil {
		out.demo = strings.Join(h.o.Demo.Lines[1:], " ")
	}
	mail := &h.o.Config.Mail
	out.worker = outbox.Worker{Store: h.store, Senders: map[string]outbox.Sender{}, Hooks: deliveryHooks(m, h.o.Log)}
	if !mail.On() {
		h.o.Log.Warn("no mail server is configured: nobody gets a digest")
		return out, nil
	}
	password, err := mail.Password()
	if err != nil {
		return nil, fmt.Errorf("mail: %w", err)
	}
	sender, err := email.NewSender(email.Config{Host: mail.Host, Port: mail.Port, TLS: mail.TLS, Username: mail.Username, Password: password, From: mail.From})
	if err != nil {
		return nil, err
	}
	out.worker.Senders[email.Channel] = sender
	out.on = true
	return out, nil
}

func deliveryHooks(m *Metrics, log *slog.Logger) outbox.Hooks {
	return outbox.Hooks{
		Sent: func(d store.Delivery) {
			m.Deliveries.WithLabelValues(d.Channel, "sent").Inc()
			log.Info("message sent", "key", d.Key, "attempt", d.Attempts)
		},
		Retried: func(d store.Delivery, next time.Time, cause error) {
			m.Deliveries.WithLabelValues(d.Channel, "retry").Inc()
			log.Warn("message not sent, will try again", "key", d.Key, "attempt", d.Attempts, "next", next, "error", cause)
		},
		Failed: func(d store.Delivery, cause error) {
			m.Deliveries.WithLabelValues(d.Channel, "failed").Inc()
			log.Error("message given up", "key", d.Key, "attempt", d.Attempts, "error", cause)
		},
	}
}

// Compose returns today's digests of a site once its local hour has come. The
// store keeps the first of each key, so that later rounds of the day change
// nothing, and a service that was down at the hour sends when it is back.
func (m *messenger) Compose(ctx context.Context, site *garden.Site, now time.Time, r *store.Round) ([]store.Message, error) {
	at := m.cfg.Digest.AtSite(site.ID)
	zone := site.Location()
	slot := civil.Of(now, zone).Slot(at.Hour, at.Minute, zone)
	if !m.on || now.Before(slot) {
		return nil, nil
	}
	sources, err := m.store.Sources(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load how the sources are doing: %w", err)
	}
	var out []store.Message
	for _, p := range m.cfg.People {
		if p.Email == "" || !gets(&p, site.ID) {
			continue
		}
		raw, err := m.store.LastTold(ctx, site.ID, p.ID)
		if err != nil {
			return nil, fmt.Errorf("load what %s was told: %w", p.ID, err)
		}
		told, err := alerts.ParseTold(raw)
		if err != nil {
			return nil, err
		}
		d, send := alerts.Compose(alerts.Input{
			Person: p, Site: site, Slot: slot, Now: now, Assessments: r.Assessments, Hours: r.Hours, Told: told,
			Catalogue: m.catalogue, Sources: sources, BaseURL: strings.TrimSuffix(m.cfg.Mail.Link, "/"), Credits: m.credits,
			Demo: m.demo != "", DemoWeather: m.demo,
		})
		if !send {
			continue
		}
		msg, err := email.Message(&d, p, m.cfg.Mail.From, email.Extras{})
		if err != nil {
			return nil, err
		}
		out = append(out, msg)
	}
	return out, nil
}

func gets(p *garden.Person, site string) bool {
	for _, s := range p.Sites {
		if s == site {
			return true
		}
	}
	return false
}

// Deliver sends what is due and refreshes the outbox's figures.
func (m *messenger) Deliver(ctx context.Context, now time.Time) error {
	err := m.worker.Deliver(ctx, now)
	st, serr := m.store.OutboxStats(ctx)
	if serr != nil {
		return serr
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
