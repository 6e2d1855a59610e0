package config

import (
	"fmt"
	"net"
	"net/mail"
	"regexp"
	"slices"
	"strings"

	"plotwarden/strict"
)

// Mail is the server that takes the messages. Without a host none are sent.
type Mail struct {
	Host         string `yaml:"host"`
	Port         int    `yaml:"port"` // when not written 587, 465 or 25, by TLS
	TLS          string `yaml:"tls"`  // StartTLS, TLS or NoTLS
	Username     string `yaml:"username"`
	PasswordFile string `yaml:"password_file"` // file that holds nothing but the password
	From         string `yaml:"from"`          // "bed@example.org" or "The beds <bed@example.org>"
	Link         string `yaml:"link"`          // address of the dashboard as readers reach it; empty: no links
	DKIM         DKIM   `yaml:"dkim"`          // signs mails here; leave it out where the mail server signs

	secret string // a password that is in no file
}

// DKIM is how mails are signed (RFC 6376). All of it is set, or nothing.
type DKIM struct {
	Domain   string `yaml:"domain"`   // of the sender's address, or above it
	Selector string `yaml:"selector"` // the key record is at <selector>._domainkey.<domain>
	KeyFile  string `yaml:"key_file"` // private key in PEM, RSA or Ed25519
}

// On says whether mails are signed.
func (d *DKIM) On() bool { return d.KeyFile != "" }

// The ways to protect the connection to the mail server.
const (
	StartTLS = "starttls" // plain at first, then TLS or nothing
	TLS      = "tls"      // TLS from the first byte
	NoTLS    = "none"     // for a server on this machine
)

var tlsWays = []string{StartTLS, TLS, NoTLS}

// On says whether mail is configured.
func (m *Mail) On() bool { return m.Host != "" }

// Password reads the password, or returns an empty one when none is configured.
func (m *Mail) Password() (string, error) {
	if m.secret != "" {
		return m.secret, nil
	}
	return secret(m.PasswordFile)
}

// CheckAddress says what is wrong with a person's e-mail address: it must be
// the bare address, without a name.
func CheckAddress(s string) error {
	a, err := mail.ParseAddress(s)
	if err != nil || a.Name != "" || a.Address != s {
		return fmt.Errorf("%q is not an e-mail address of the form name@example.org", s)
	}
	return nil
}

func (c *checker) mail() {
	m := &c.cfg.Mail
	if !c.where.Has(m) {
		for i := range c.cfg.People {
			if c.cfg.People[i].Email != "" {
				c.warn(&c.cfg, "there is no mail section, so nobody gets a digest")
				break
			}
		}
		return
	}
	if m.Host == "" {
		c.missing(m, &m.Host, "mail has no host; write the name of the mail server, or leave the section out")
	} else if strings.ContainsAny(m.Host, ":/ @") && net.ParseIP(m.Host) == nil {
		c.fault(&m.Host, "host %q: write the bare name of the server; the port has its own key", m.Host)
	}
	if !slices.Contains(tlsWays, m.TLS) {
		c.fault(&m.TLS, "%s", strict.Unknown("tls", m.TLS, tlsWays))
	}
	c.in(&m.Port, "port", 1, 65535)
	if m.From == "" {
		c.missing(m, &m.From, "mail has no from; write the address that messages come from")
	} else if _, err := mail.ParseAddress(m.From); err != nil {
		c.fault(&m.From, "from %q is not an e-mail address; write name@example.org or Name <name@example.org>", m.From)
	}
	if u, ok := c.address(&m.Link); ok && u.RawQuery != "" {
		c.fault(&m.Link, "link %q: leave out the part from ? on", m.Link)
	}
	c.login(m)
	c.dkim(m)
}

// label is one name between the dots of a domain or selector.
var label = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_-]*[A-Za-z0-9_])?$`)

func (c *checker) dkim(m *Mail) {
	d := &m.DKIM
	if *d == (DKIM{}) {
		return
	}
	for _, f := range []struct {
		at         *string
		name, what string
	}{{&d.Domain, "domain", "that of the address in from"}, {&d.Selector, "selector", "the name of the key record before ._domainkey"}, {&d.KeyFile, "key_file", "the file that holds the private key"}} {
		if *f.at == "" {
			c.missing(d, f.at, "dkim has no %s; write %s", f.name, f.what)
		} else if f.name != "key_file" && slices.ContainsFunc(strings.Split(*f.at, "."), func(l string) bool { return !label.MatchString(l) }) {
			c.fault(f.at, "dkim %s %q is not a name of the form a.b", f.name, *f.at)
		}
	}
	from, err := mail.ParseAddress(m.From)
	if err != nil || d.Domain == "" {
		return
	}
	_, of, _ := strings.Cut(from.Address, "@")
	if !strings.EqualFold(of, d.Domain) && !strings.HasSuffix(strings.ToLower(of), "."+strings.ToLower(d.Domain)) {
		c.fault(&d.Domain, "dkim domain %s does not cover the sender %s, so that the signature would count for nothing", d.Domain, from.Address)
	}
}

func (c *checker) login(m *Mail) {
	switch {
	case m.Username != "" && m.PasswordFile == "":
		c.missing(&m.Username, &m.PasswordFile, "username without password_file; write the file that holds the password")
	case m.Username == "" && m.PasswordFile != "":
		c.missing(&m.PasswordFile, &m.Username, "password_file without username")
	case m.Username != "" && m.TLS == NoTLS && !loopback(m.Host):
		c.fault(&m.TLS, "tls none would send the password to %s in the clear; use starttls or tls", m.Host)
	}
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return strings.EqualFold(host, "localhost") || ip != nil && ip.IsLoopback()
}

func (c *checker) emails() {
	seen := map[string]string{}
	for i := range c.cfg.People {
		p := &c.cfg.People[i]
		if p.Email == "" {
			continue
		}
		if err := CheckAddress(p.Email); err != nil {
			c.fault(&p.Email, "%v", err)
		}
		if first, ok := seen[strings.ToLower(p.Email)]; ok {
			c.warn(&p.Email, "person %s has the address of person %s and will get both digests there", p.ID, first)
		}
		seen[strings.ToLower(p.Email)] = p.ID
	}
}
