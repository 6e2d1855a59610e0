package service

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"net/mail"
	"os"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/guard"
	"plotwarden/alerts/outbox"
	"plotwarden/alerts/push"
	"plotwarden/alerts/webhook"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/service/config"
	"plotwarden/store"
)

const (
	feedChannel = "feed" // entries that wait to be fetched
	ownTarget   = "own"  // the one webhook of a person or of the operator
)

// open makes the senders.
func (m *messenger) open(ctx context.Context, agent string) error {
	m.worker = outbox.Worker{Store: m.store, Senders: map[string]outbox.Sender{feedChannel: kept{}}, Hooks: m.hooks()}
	allow, err := guard.ParseAllow(m.cfg.Operator.OwnHosts)
	if err != nil {
		return fmt.Errorf("operator: %w", err)
	}
	g := guard.Options{Allow: allow}
	if err := m.openMail(); err != nil {
		return err
	}
	hook, err := webhook.New(webhook.Options{Targets: targets{m}, Guard: g, UserAgent: agent, Now: m.now})
	if err != nil {
		return err
	}
	m.worker.Senders[webhook.Channel] = quietly{hook, m}
	if err := m.openLinks(ctx); err != nil {
		return err
	}
	return m.openPush(ctx, g)
}

func (m *messenger) openMail() error {
	c := &m.cfg.Mail
	if !c.On() {
		m.log.Warn("no mail server is configured: nobody gets a digest by mail")
		return nil
	}
	password, err := c.Password()
	if err != nil {
		return fmt.Errorf("mail: %w", err)
	}
	sign, err := dkimOf(&c.DKIM)
	if err != nil {
		return err
	}
	sender, err := email.NewSender(email.Config{Host: c.Host, Port: c.Port, TLS: c.TLS, Username: c.Username, Password: password, From: c.From, DKIM: sign})
	if err != nil {
		return err
	}
	m.worker.Senders[email.Channel] = quietly{sender, m}
	return nil
}

// dkimOf reads the key that mails are signed with; nil: they are not signed here.
func dkimOf(c *config.DKIM) (*email.DKIM, error) {
	if !c.On() {
		return nil, nil
	}
	b, err := os.ReadFile(c.KeyFile)
	if err != nil {
		return nil, fmt.Errorf("mail: dkim: %w", err)
	}
	key, err := email.ParseKey(b)
	if err != nil {
		return nil, fmt.Errorf("mail: dkim: %s: %w", c.KeyFile, err)
	}
	return &email.DKIM{Domain: c.Domain, Selector: c.Selector, Key: key}, nil
}

func (m *messenger) mails() bool { return m.worker.Senders[email.Channel] != nil }

// openPush draws the keys of push at the first start. Push services want to know
// whom to ask when something goes wrong; without an address there is no push.
func (m *messenger) openPush(ctx context.Context, g guard.Options) error {
	contact := m.cfg.Operator.Email
	if from, err := mail.ParseAddress(m.cfg.Mail.From); contact == "" && err == nil {
		contact = from.Address
	}
	if contact == "" {
		return nil
	}
	fresh, err := push.GenerateVAPID(rand.Reader, contact)
	if err != nil {
		return err
	}
	private, err := m.store.KeepFirst(ctx, "push key", []byte(fresh.Private))
	if err != nil {
		return err
	}
	keys, err := push.NewVAPID(string(private), contact)
	if err != nil {
		return err
	}
	sender, err := push.New(push.Options{VAPID: keys, Subscriptions: browsers{m}, Guard: g, Now: m.now})
	if err != nil {
		return err
	}
	m.worker.Senders[push.Channel], m.pushes = quietly{sender, m}, sender
	return nil
}

// kept is the channel whose messages wait to be fetched.
type kept struct{}

// Send has nothing to do.
func (kept) Send(context.Context, store.Delivery) error { return nil }

// quietly holds messages back in the quiet hours of whom they are for: one that
// waits after a failed attempt must not come at night.
type quietly struct {
	outbox.Sender
	m *messenger
}

// quiet is the cause of what waits for the end of quiet hours.
const quiet = "quiet-hours"

// Send sends, or fails until the quiet hours are over.
func (q quietly) Send(ctx context.Context, d store.Delivery) error {
	p, site := q.m.person(d.Person), q.m.site(d.Site)
	if p != nil && site != nil && p.QuietHours.Holds(q.m.now(), site.Location()) {
		return &alerts.SendError{Cause: quiet, Err: fmt.Errorf("%s wants nothing before %s", p.ID, p.QuietHours.To)}
	}
	return q.Sender.Send(ctx, d)
}

func (m *messenger) person(id string) *garden.Person {
	people := m.garden().People
	for i := range people {
		if people[i].ID == id {
			return &people[i]
		}
	}
	return nil
}

func (m *messenger) site(id string) *garden.Site {
	sites := m.garden().Sites
	for i := range sites {
		if sites[i].ID == id {
			return &sites[i]
		}
	}
	return nil
}

// targets finds the webhooks of people; that of the person without an id is the
// operator's.
type targets struct{ m *messenger }

// Target returns one.
func (t targets) Target(ctx context.Context, person, id string) (webhook.Target, error) {
	w := garden.Webhook{}
	if person == "" {
		w = t.m.cfg.Operator.Webhook
	}
	if p := t.m.person(person); p != nil {
		w = p.Webhook
	}
	if w.URL == "" || id != ownTarget {
		return webhook.Target{}, store.ErrNotFound
	}
	written, err := t.secret(ctx, person, w)
	if err != nil {
		return webhook.Target{}, err
	}
	secret, err := webhook.ParseSecret(written)
	if err != nil {
		return webhook.Target{}, fmt.Errorf("%s: %w", w.SecretFile, err)
	}
	return webhook.Target{URL: w.URL, Secrets: []webhook.Secret{secret}}, nil
}

// secret reads what a webhook is signed with: from the file that the configuration
// names, or from the store.
func (t targets) secret(ctx context.Context, person string, w garden.Webhook) (string, error) {
	if w.SecretFile != ground.KeptSecret {
		return config.SecretOf(w)
	}
	kept, err := t.m.store.Kept(ctx, ground.WebhookSecret+person)
	return string(kept), err
}

// browsers are the push subscriptions in the store.
type browsers struct{ m *messenger }

// Subscription returns one.
func (b browsers) Subscription(ctx context.Context, person, id string) (push.Subscription, error) {
	all, err := b.m.store.Subscriptions(ctx, person)
	if err != nil {
		return push.Subscription{}, err
	}
	for _, s := range all {
		if s.ID == id && s.Person == person {
			var out push.Subscription
			if err := json.Unmarshal(s.Body, &out); err != nil {
				return out, fmt.Errorf("read subscription %s of %s: %w", id, person, err)
			}
			return out, nil
		}
	}
	return push.Subscription{}, store.ErrNotFound
}

// Drop removes one that has ended.
func (b browsers) Drop(ctx context.Context, person, id string) error {
	b.m.log.Info("push subscription has ended and is removed", "person", person, "subscription", id)
	return b.m.store.Unsubscribe(ctx, person, id)
}

// Subscribe keeps a person's browser for push.
func (m *messenger) Subscribe(ctx context.Context, person string, s push.Subscription, at time.Time) error {
	if m.person(person) == nil {
		return fmt.Errorf("person %q: %w", person, store.ErrNotFound)
	}
	body, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("encode subscription: %w", err)
	}
	return m.store.Subscribe(ctx, store.Subscription{Person: person, ID: s.ID(), Body: body, Added: at})
}
