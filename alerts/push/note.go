// Package push is the channel to browsers over Web Push (RFC 8030, RFC 8291,
// RFC 8292): a short line that a phone shows, with a link to the whole.
package push

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	webpush "github.com/SherClockHolmes/webpush-go"

	"plotwarden/alerts"
	"plotwarden/lang"
	"plotwarden/store"
)

// Channel is the channel's name in records.
const Channel = "push"

// Note is what a browser's service worker gets, as JSON.
type Note struct {
	Title string `json:"title"`
	Line  string `json:"line"`
	Link  string `json:"link,omitempty"` // the page to open; empty without pages
	// Tag is the same for every morning of a site and person: a newer note takes
	// the place of one that is still shown or waiting.
	Tag string `json:"tag"`
}

// The most characters of a note. Phones show about 50 of a title and 150 of a
// line (common practice), and no push service need take more than 4096 bytes of
// a body (RFC 8030, section 7.2), of which encryption takes 103.
const (
	maxTitle = 80
	maxLine  = 240
	maxLink  = 1024
	maxBytes = 3992 // and one that marks the end
)

// NoteOf makes the note of a digest: the most pressing thing in one line.
func NoteOf(d *alerts.Digest) Note {
	n := Note{Title: d.Subject, Line: d.Lead, Link: d.Link, Tag: tag("digest", d.SiteID, d.PersonID)}
	v := lang.New(d.Language, "")
	all := append(append([]alerts.Notice{}, d.New...), d.Open...)
	switch {
	case len(all) > 0:
		first := all[0]
		bed := ""
		if len(first.Beds) > 0 {
			bed = ", " + first.Beds[0].Name
		}
		if more := len(first.Beds) - 1; more > 0 {
			bed += v.T(" and %d more", more)
		}
		n.Line = v.T("%s: %s%s, %s.", v.Ready(first.Readiness), first.Threat, bed, first.When)
		if first.Next != "" {
			next, _ := lang.Unmark(first.Next)
			n.Line += " " + next
		}
		if first.Link != "" {
			n.Link = first.Link
		}
		if len(all) > 1 && d.Link != "" {
			n.Link = d.Link
		}
	case len(d.Near) > 0:
		n.Line = d.Near[0]
	case len(d.Blind) > 0:
		n.Line = d.Blind[0].Since
	}
	if d.Demo != "" {
		n.Title = v.T("Demonstration.") + " " + n.Title
	}
	n.Title, n.Line = cut(n.Title, maxTitle), cut(n.Line, maxLine)
	// Our own addresses are escaped ASCII; a service worker opens what it is given.
	if len(n.Link) > maxLink || strings.ContainsFunc(n.Link, func(r rune) bool { return r <= ' ' || r > '~' || r == '"' || r == '\\' }) {
		n.Link = ""
	}
	return n
}

// encode writes the note as the browser gets it.
func (n Note) encode() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false) // three to six bytes for one, and no HTML reads it
	if err := e.Encode(n); err != nil {
		return nil, fmt.Errorf("encode note: %w", err)
	}
	out := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	if len(out) > maxBytes {
		return nil, fmt.Errorf("the note has %d bytes; %d are the most", len(out), maxBytes)
	}
	return out, nil
}

// cut shortens a text at a blank, and says that it did.
func cut(s string, most int) string {
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }), " ")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	s = string([]rune(s)[:most-1])
	if i := strings.LastIndexByte(s, ' '); i > len(s)/2 {
		s = s[:i]
	}
	return strings.TrimRight(s, " ,;:.") + "…"
}

// tag is also the Topic: at most 32 characters of base64url (RFC 8030, section
// 5.4).
func tag(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return encode(sum[:24])
}

// body is what the outbox keeps: all that does not depend on the browser's keys.
type body struct {
	Subscription string          `json:"subscription"` // its ID
	Urgency      webpush.Urgency `json:"urgency"`
	Note         Note            `json:"note"`
}

// Message encodes a digest to one subscription as a message for the outbox. A
// person has one subscription for each browser.
func Message(d *alerts.Digest, subscription string) (store.Message, error) {
	key := d.Key(Channel + ":" + subscription)
	fail := func(err error) (store.Message, error) {
		return store.Message{}, fmt.Errorf("encode push %s: %w", key, err)
	}
	told, err := d.Told.Encode()
	if err != nil {
		return fail(err)
	}
	// A phone that saves its battery may wait with what is not new.
	urgency := webpush.UrgencyLow
	if len(d.New) > 0 {
		urgency = webpush.UrgencyNormal
	}
	b, err := json.Marshal(body{Subscription: subscription, Urgency: urgency, Note: NoteOf(d)})
	if err != nil {
		return fail(err)
	}
	return store.Message{Key: key, Person: d.PersonID, Channel: Channel, Site: d.SiteID, Slot: d.Slot, Body: b, Told: told}, nil
}

func parse(b []byte) (body, error) {
	var m body
	if err := json.Unmarshal(b, &m); err != nil {
		return m, fmt.Errorf("read push: %w", err)
	}
	if m.Subscription == "" || m.Note.Title == "" || m.Note.Tag == "" {
		return m, errors.New("read push: it has no subscription, title or tag")
	}
	return m, nil
}
