// Package webhook is the channel that posts a digest as signed JSON to a target
// of the person's or operator's choice: a push relay, a home automation, a chat.
// PAYLOAD.md describes what a target gets.
package webhook

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/plan"
	"plotwarden/store"
)

// Channel is the channel's name in records.
const Channel = "webhook"

// DigestType is the type of the payload of a digest.
const DigestType = "digest.morning"

// Payload is the JSON that a target gets. Fields are only ever added.
type Payload struct {
	Type      string    `json:"type"`      // DigestType
	Timestamp time.Time `json:"timestamp"` // when the digest was due, UTC; not when it was sent
	Data      Digest    `json:"data"`
}

// Digest is one person's morning of one site. Texts are ready to show. Lists are
// never null.
type Digest struct {
	Site    Name     `json:"site"`
	Person  Name     `json:"person"`
	Day     string   `json:"day"` // the local day, "Thu 4 Jun"
	Subject string   `json:"subject"`
	Lead    string   `json:"lead"`
	Demo    string   `json:"demo,omitempty"`
	Notices []Notice `json:"notices"` // new ones first
	Gone    []string `json:"gone"`    // no longer expected
	Blind   []Blind  `json:"blind"`
	Dry     []Dry    `json:"dry"`
	Rest    string   `json:"rest,omitempty"`
	Link    string   `json:"link,omitempty"`
	Credits []string `json:"credits"`
}

// Name is an id with what people call it.
type Name struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// Notice is one thing told.
type Notice struct {
	New       bool           `json:"new"`       // told in full for the first time, or changed
	Readiness plan.Readiness `json:"readiness"` // "present", "act", "approaching"
	Threat    string         `json:"threat"`
	Beds      []Bed          `json:"beds"`
	Change    string         `json:"change,omitempty"`
	When      string         `json:"when"`
	Sure      string         `json:"sure,omitempty"`
	Why       string         `json:"why"`
	First     []Step         `json:"first"`
	More      int            `json:"more"` // further steps, which the page has
	Dry       string         `json:"dry,omitempty"`
	Caution   string         `json:"caution,omitempty"`
	Numbers   []string       `json:"numbers"`
	Model     string         `json:"model,omitempty"`
	Link      string         `json:"link,omitempty"`
}

// Bed is one planting.
type Bed struct {
	Name string `json:"name"`
	Link string `json:"link,omitempty"`
}

// Step is one piece of work.
type Step struct {
	Text string `json:"text"`
	By   string `json:"by,omitempty"`
}

// Blind is what cannot be judged, and since when.
type Blind struct {
	Since string   `json:"since"`
	What  []string `json:"what"`
}

// Dry is the dry working hours of one day.
type Dry struct {
	Day   string `json:"day"`
	Hours string `json:"hours"`
	Good  bool   `json:"good"`
}

// PayloadOf turns a digest into its JSON form.
func PayloadOf(d *alerts.Digest) Payload {
	out := Payload{Type: DigestType, Timestamp: d.Slot.UTC(), Data: Digest{
		Site: Name{d.SiteID, d.Site}, Person: Name{d.PersonID, d.Person},
		Day: d.Day, Subject: d.Subject, Lead: d.Lead, Demo: d.Demo, Rest: d.Rest, Link: d.Link,
		Notices: []Notice{}, Gone: append([]string{}, d.Gone...), Blind: []Blind{}, Dry: []Dry{}, Credits: append([]string{}, d.Credits...),
	}}
	for _, n := range d.New {
		out.Data.Notices = append(out.Data.Notices, noticeOf(n, true))
	}
	for _, n := range d.Open {
		out.Data.Notices = append(out.Data.Notices, noticeOf(n, false))
	}
	for _, b := range d.Blind {
		out.Data.Blind = append(out.Data.Blind, Blind{Since: b.Since, What: append([]string{}, b.What...)})
	}
	for _, day := range d.Dry {
		out.Data.Dry = append(out.Data.Dry, Dry{day.Day, day.Hours, day.Good})
	}
	return out
}

func noticeOf(n alerts.Notice, isNew bool) Notice {
	out := Notice{
		New: isNew, Readiness: n.Readiness, Threat: n.Threat, Beds: []Bed{}, Change: n.Change, When: n.When, Sure: n.Sure, Why: n.Why,
		First: []Step{}, More: n.More, Dry: n.Dry, Caution: n.Caution, Numbers: append([]string{}, n.Numbers...), Model: n.Model, Link: n.Link,
	}
	for _, b := range n.Beds {
		out.Beds = append(out.Beds, Bed{b.Name, b.Link})
	}
	for _, s := range n.First {
		out.First = append(out.First, Step{s.Text, s.By})
	}
	return out
}

// body is what the outbox keeps: all that does not depend on the target's
// address and secret, which may change while the message waits.
type body struct {
	ID      string          `json:"id"`     // the same for every attempt
	Target  string          `json:"target"` // names the target in Targets
	Payload json.RawMessage `json:"payload"`
}

// Message encodes a digest to one target as a message for the outbox. target is
// the id under which Targets knows it; a person may have several.
func Message(d *alerts.Digest, target string) (store.Message, error) {
	key := d.Key(Channel + ":" + target)
	fail := func(err error) (store.Message, error) {
		return store.Message{}, fmt.Errorf("encode webhook %s: %w", key, err)
	}
	payload, err := json.Marshal(PayloadOf(d))
	if err != nil {
		return fail(err)
	}
	told, err := d.Told.Encode()
	if err != nil {
		return fail(err)
	}
	b, err := json.Marshal(body{ID: messageID(key), Target: target, Payload: payload})
	if err != nil {
		return fail(err)
	}
	return store.Message{Key: key, Person: d.PersonID, Channel: Channel, Site: d.SiteID, Slot: d.Slot, Body: b, Told: told}, nil
}

// messageID derives the id from the key. It has no full stop, which the
// signature uses to part the fields.
func messageID(key string) string {
	sum := sha256.Sum256([]byte(key))
	return "msg_" + strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:20]))
}

func parse(b []byte) (body, error) {
	var m body
	if err := json.Unmarshal(b, &m); err != nil {
		return m, fmt.Errorf("read webhook: %w", err)
	}
	if m.ID == "" || strings.ContainsAny(m.ID, ". \r\n") || m.Target == "" || len(m.Payload) == 0 {
		return m, errors.New("read webhook: it has no id, target or payload")
	}
	return m, nil
}
