// Package email is the channel over SMTP.
package email

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"fmt"
	"net/mail"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/garden"
	"plotwarden/store"
)

// Channel is the channel's name in keys and records.
const Channel = "email"

// Mail is what the outbox keeps of one message: all that does not depend on the
// server.
type Mail struct {
	ID      string    `json:"id"` // Message-ID without its angle brackets
	To      string    `json:"to"` // RFC 5322 address
	Subject string    `json:"subject"`
	Date    time.Time `json:"date"`
	Text    string    `json:"text"`
	HTML    string    `json:"html,omitempty"` // empty: plain text only
	// Unsubscribe is an https address that ends these mails at one POST without a
	// login (RFC 8058); empty: none.
	Unsubscribe string `json:"unsubscribe,omitempty"`
	List        string `json:"list,omitempty"`     // value of List-Id (RFC 2919)
	Calendar    []byte `json:"calendar,omitempty"` // iCalendar to attach
	// Picture is a PNG that the HTML shows as cid:CID (RFC 2392).
	Picture []byte `json:"picture,omitempty"`
	CID     string `json:"cid,omitempty"`
}

// Extras are the parts of a digest's mail beside the digest; any may be empty.
type Extras struct {
	Text, HTML  string // in place of the built-in forms
	Unsubscribe string
	Calendar    []byte
}

// Message encodes a digest to a person as a message for the outbox. from is the
// configured sender; its domain becomes that of the Message-ID. Key, Message-ID
// and date follow from site, person and slot alone, so that encoding the same
// morning again gives the same message.
func Message(d *alerts.Digest, to garden.Person, from string, x Extras) (store.Message, error) {
	key := d.Key(Channel)
	fail := func(err error) (store.Message, error) {
		return store.Message{}, fmt.Errorf("encode mail %s: %w", key, err)
	}
	if x.HTML == "" {
		html, err := d.HTML()
		if err != nil {
			return fail(err)
		}
		x.HTML = html
	}
	if x.Text == "" {
		x.Text = d.Text()
	}
	told, err := d.Told.Encode()
	if err != nil {
		return fail(err)
	}
	msg, err := encode(key, mail.Address{Name: to.Name, Address: to.Email}, from, Mail{
		Subject: d.Subject, Date: d.Slot, Text: x.Text, HTML: x.HTML, Unsubscribe: x.Unsubscribe, Calendar: x.Calendar, Picture: d.Picture.PNG, CID: d.Picture.CID,
	}, d.Site, d.SiteID)
	if err != nil {
		return fail(err)
	}
	msg.Person, msg.Site, msg.Slot, msg.Told = to.ID, d.SiteID, d.Slot, told
	return msg, nil
}

// Plain encodes a short text as a message for the outbox. Person and site are
// left to the caller.
func Plain(key string, to mail.Address, from, subject, text string, at time.Time) (store.Message, error) {
	msg, err := encode(key, to, from, Mail{Subject: subject, Date: at, Text: text}, "", "")
	if err != nil {
		return store.Message{}, fmt.Errorf("encode mail %s: %w", key, err)
	}
	msg.Slot = at
	return msg, nil
}

func encode(key string, to mail.Address, from string, m Mail, listName, list string) (store.Message, error) {
	sender, err := mail.ParseAddress(from)
	if err != nil {
		return store.Message{}, fmt.Errorf("sender %q: %w", from, err)
	}
	rcpt, err := mail.ParseAddress(to.Address)
	if err != nil {
		return store.Message{}, fmt.Errorf("address %q: %w", to.Address, err)
	}
	rcpt.Name = to.Name
	m.ID, m.To, m.Subject, m.Date = messageID(key, sender.Address), rcpt.String(), oneLine(m.Subject), m.Date.UTC()
	if list != "" {
		m.List = listID(listName, list, sender.Address)
	}
	body, err := json.Marshal(m)
	if err != nil {
		return store.Message{}, err
	}
	return store.Message{Key: key, Channel: Channel, Body: body}, nil
}

// listID names the digests of a site, for filters of mail programs (RFC 2919):
// a phrase and a name below the sender's domain. Ids of sites are plain ASCII.
func listID(name, site, sender string) string {
	_, domain, _ := strings.Cut(sender, "@")
	phrase := strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || strings.ContainsRune("\"\\<>", r) {
			return -1
		}
		return r
	}, name)
	id := "<" + site + ".digest." + domain + ">"
	if phrase = oneLine(phrase); phrase == "" {
		return id
	}
	return "\"" + phrase + "\" " + id
}

// messageID derives the Message-ID from the key: a mail that is sent again
// after a crash is known to be the same by every receiver.
func messageID(key, sender string) string {
	sum := sha256.Sum256([]byte(key))
	_, domain, _ := strings.Cut(sender, "@")
	return strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:20])) + "@" + domain
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// Parse reads the body of an outbox message.
func Parse(body []byte) (Mail, error) {
	var m Mail
	if err := json.Unmarshal(body, &m); err != nil {
		return m, fmt.Errorf("read mail: %w", err)
	}
	if m.ID == "" || m.To == "" {
		return m, fmt.Errorf("read mail: it has no id or no recipient")
	}
	return m, nil
}
