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

	gomail "github.com/wneessen/go-mail"

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
	HTML    string    `json:"html"`
}

// Message encodes a digest to a person as a message for the outbox. from is the
// configured sender; its domain becomes that of the Message-ID. Key, Message-ID
// and date follow from site, person and slot alone, so that encoding the same
// morning again gives the same message.
func Message(d *alerts.Digest, to garden.Person, from string) (store.Message, error) {
	key := d.Key(Channel)
	fail := func(err error) (store.Message, error) {
		return store.Message{}, fmt.Errorf("encode mail %s: %w", key, err)
	}
	sender, err := mail.ParseAddress(from)
	if err != nil {
		return fail(fmt.Errorf("sender %q: %w", from, err))
	}
	rcpt, err := mail.ParseAddress(to.Email)
	if err != nil {
		return fail(fmt.Errorf("address %q of %s: %w", to.Email, to.ID, err))
	}
	rcpt.Name = to.Name
	html, err := d.HTML()
	if err != nil {
		return fail(err)
	}
	told, err := d.Told.Encode()
	if err != nil {
		return fail(err)
	}
	body, err := json.Marshal(Mail{
		ID: messageID(key, sender.Address), To: rcpt.String(), Subject: oneLine(d.Subject), Date: d.Slot.UTC(),
		Text: d.Text(), HTML: html,
	})
	if err != nil {
		return fail(err)
	}
	return store.Message{Key: key, Person: to.ID, Channel: Channel, Site: d.SiteID, Slot: d.Slot, Body: body, Told: told}, nil
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

// build makes the mail itself. The same mail gives the same bytes.
func (m *Mail) build(from string) (*gomail.Msg, error) {
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := msg.From(from); err != nil {
		return nil, err
	}
	if err := msg.To(m.To); err != nil {
		return nil, err
	}
	msg.SetMessageIDWithValue(m.ID)
	msg.SetDateWithValue(m.Date)
	msg.Subject(m.Subject)
	// Says to other programs that nobody typed it, so that none answers it
	// (RFC 3834, section 5).
	msg.SetGenHeader("Auto-Submitted", "auto-generated")
	stem, _, _ := strings.Cut(m.ID, "@")
	msg.SetBoundary("part-" + stem)
	msg.SetBodyString(gomail.TypeTextPlain, m.Text)
	msg.AddAlternativeString(gomail.TypeTextHTML, m.HTML)
	return msg, nil
}
