package config

import (
	"fmt"
	"os"
	"strings"

	"plotwarden/alerts/guard"
	"plotwarden/garden"
)

// Operator is whoever runs the service: told when it falls silent.
type Operator struct {
	Email   string         `yaml:"email"`
	Webhook garden.Webhook `yaml:"webhook"` // the way when mail itself fails
	// Language is in which the operator is told: en or es.
	Language garden.Language `yaml:"language"`
	// Heartbeat is fetched after every round that went well, so that a watchdog
	// outside tells when the service is gone.
	Heartbeat string `yaml:"heartbeat"`
	// OwnHosts are hosts of the operator's own network that webhooks, push and
	// heartbeat may reach; all others must lie in the open internet.
	OwnHosts []string `yaml:"own_hosts"`
}

// Links is how signed links are made.
type Links struct {
	// SecretFile holds the secret that signs links. Empty: one is drawn at the
	// first start and kept in the store.
	SecretFile string `yaml:"secret_file"`
}

// minLinkSecret is the least length of a secret that was written by hand,
// characters: 128 bits as hexadecimal digits.
const minLinkSecret = 32

// Secret reads the configured secret; empty when none is.
func (l *Links) Secret() (string, error) {
	s, err := secret(l.SecretFile)
	if err == nil && s != "" && len(s) < minLinkSecret {
		err = fmt.Errorf("%s holds %d characters; a secret for links needs %d or more", l.SecretFile, len(s), minLinkSecret)
	}
	return s, err
}

// SecretOf reads the secret of a webhook.
func SecretOf(w garden.Webhook) (string, error) { return secret(w.SecretFile) }

// secretPaths are the files of secrets besides those of mail and sources.
func (c *Config) secretPaths() []*string {
	out := []*string{&c.Operator.Webhook.SecretFile, &c.Links.SecretFile, &c.Mail.DKIM.KeyFile, &c.Access.MetricsTokenFile}
	for i := range c.People {
		out = append(out, &c.People[i].Webhook.SecretFile)
	}
	return out
}

func (c *checker) operator() {
	c.quietHours()
	o := &c.cfg.Operator
	if o.Email != "" {
		if err := CheckAddress(o.Email); err != nil {
			c.fault(&o.Email, "%v", err)
		} else if !c.where.Has(&c.cfg.Mail) {
			c.warn(&o.Email, "there is no mail section, so no message reaches the operator by mail")
		}
	}
	allow, err := guard.ParseAllow(o.OwnHosts)
	if err != nil {
		c.fault(&o.OwnHosts, "%v", err)
		return
	}
	c.target(&o.Heartbeat, "heartbeat", allow)
	c.target(&o.Webhook.URL, "webhook", allow)
	switch w := &o.Webhook; {
	case w.URL != "" && w.SecretFile == "":
		c.missing(w, &w.SecretFile, "webhook has no secret_file; write the file that holds the secret to sign with")
	case w.URL == "" && w.SecretFile != "":
		c.missing(w, &w.URL, "webhook has no url; write the address to post to")
	}
	for i := range c.cfg.People {
		c.target(&c.cfg.People[i].Webhook.URL, "webhook", allow)
	}
}

// quietHours wants both ends written: one alone would be taken to midnight.
func (c *checker) quietHours() {
	for i := range c.cfg.People {
		q := &c.cfg.People[i].QuietHours
		switch from, to := c.where.Has(&q.From), c.where.Has(&q.To); {
		case from && !to:
			c.missing(q, &q.To, "quiet_hours from %s has no to; write when they end: to: \"07:00\"", q.From)
		case to && !from:
			c.missing(q, &q.From, "quiet_hours to %s has no from; write when they begin: from: \"22:00\"", q.To)
		}
	}
}

// target checks an address to which something is sent.
func (c *checker) target(at *string, what string, allow *guard.Allow) {
	if *at == "" {
		return
	}
	if err := guard.Check(*at, allow); err != nil {
		c.fault(at, "%s: %v", what, err)
	}
}

// templates looks at the folder of the operator's own templates. What is wrong
// inside one is found when it is loaded: it must not stop the service.
func (c *checker) templates() {
	at := &c.cfg.Digest.Templates
	if *at == "" {
		return
	}
	if info, err := os.Stat(*at); err != nil {
		c.fault(at, "%s", plainPathError(err))
	} else if !info.IsDir() {
		c.fault(at, "%s is not a folder", strings.TrimSpace(*at))
	}
}
