// Package feed writes a person's mornings of a site as an Atom feed (RFC 4287).
// It is pure.
package feed

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"plotwarden/lang"
)

// ContentType is the type of what Write makes (RFC 4287, section 7).
const ContentType = "application/atom+xml; charset=utf-8"

// Most is how many entries a feed holds; older ones are left out.
const Most = 60

// Feed is one reader's feed of one site.
type Feed struct {
	SiteID, Site string
	PersonID     string
	Lang         lang.Voice
	// Home tells this installation from others in the ids: the address of its
	// pages, or else any text that stays the same.
	Home string
	Self string // address of the feed; may be empty
	Page string // address of the site's page; may be empty
	// Since is when the feed began: its time of change while it has no entry.
	Since   time.Time
	Entries []Entry
}

// Entry is one thing told.
type Entry struct {
	Key        string    // stays the same; makes the id
	Title      string    // plain text
	Published  time.Time //
	Updated    time.Time // zero: as published
	HTML       string    // a fragment
	Link       string    // may be empty
	Categories []string  // readinesses in it
}

// space is where the ids of feeds and entries live (RFC 9562, section 6.5);
// drawn once.
var space = uuid.MustParse("b1c7e0f2-5d0e-4b8e-9d53-0d2f6f6f5b11")

func id(parts ...string) string {
	return uuid.NewSHA1(space, []byte(strings.Join(parts, "\x00"))).URN()
}

type xmlFeed struct {
	XMLName   xml.Name   `xml:"http://www.w3.org/2005/Atom feed"`
	Lang      string     `xml:"xml:lang,attr"`
	ID        string     `xml:"id"`
	Title     string     `xml:"title"`
	Subtitle  string     `xml:"subtitle"`
	Updated   string     `xml:"updated"`
	Author    xmlPerson  `xml:"author"`
	Links     []xmlLink  `xml:"link"`
	Generator string     `xml:"generator"`
	Entries   []xmlEntry `xml:"entry"`
}

type xmlPerson struct {
	Name string `xml:"name"`
}

type xmlLink struct {
	Rel  string `xml:"rel,attr"`
	Type string `xml:"type,attr"`
	Href string `xml:"href,attr"`
}

type xmlEntry struct {
	ID         string        `xml:"id"`
	Title      string        `xml:"title"`
	Published  string        `xml:"published"`
	Updated    string        `xml:"updated"`
	Links      []xmlLink     `xml:"link"`
	Categories []xmlCategory `xml:"category"`
	Content    xmlContent    `xml:"content"`
}

type xmlCategory struct {
	Term string `xml:"term,attr"`
}

type xmlContent struct {
	Type string `xml:"type,attr"`
	Body string `xml:",chardata"`
}

// Write makes the feed, the newest entry first. Of entries with the same key the
// one updated last stands. The same feed gives the same bytes.
func Write(f Feed) ([]byte, error) {
	out := xmlFeed{
		Lang: f.Lang.Tag(), ID: id("feed", f.Home, f.SiteID, f.PersonID), Title: oneLine(f.Lang.Say(lang.FeedTitle, f.Site)),
		Subtitle: f.Lang.Say(lang.FeedAbout), Updated: stamp(f.Since), Author: xmlPerson{oneLine(cmp.Or(f.Site, f.SiteID))}, Generator: "plotwarden",
	}
	if f.Self != "" {
		out.Links = append(out.Links, xmlLink{"self", "application/atom+xml", f.Self})
	}
	if f.Page != "" {
		out.Links = append(out.Links, xmlLink{"alternate", "text/html", f.Page})
	}
	for i, e := range newest(f.Entries) {
		if e.Key == "" || e.Published.IsZero() {
			return nil, errors.New("write feed: an entry has no key or no time")
		}
		x := xmlEntry{
			ID: id("entry", f.Home, e.Key), Title: oneLine(e.Title), Published: stamp(e.Published), Updated: stamp(e.updated()),
			Content: xmlContent{"html", e.HTML},
		}
		if e.Link != "" {
			x.Links = []xmlLink{{"alternate", "text/html", e.Link}}
		}
		for _, c := range e.Categories {
			x.Categories = append(x.Categories, xmlCategory{c})
		}
		if i == 0 {
			out.Updated = x.Updated
		}
		out.Entries = append(out.Entries, x)
	}
	b, err := xml.MarshalIndent(out, "", " ")
	if err != nil {
		return nil, fmt.Errorf("write feed of %s: %w", f.SiteID, err)
	}
	return append([]byte(xml.Header), append(b, '\n')...), nil
}

func (e *Entry) updated() time.Time {
	if e.Updated.After(e.Published) {
		return e.Updated
	}
	return e.Published
}

func newest(in []Entry) []Entry {
	all := slices.Clone(in)
	slices.SortStableFunc(all, func(a, b Entry) int { return cmp.Or(b.updated().Compare(a.updated()), cmp.Compare(a.Key, b.Key)) })
	seen := map[string]bool{}
	all = slices.DeleteFunc(all, func(e Entry) bool {
		again := seen[e.Key]
		seen[e.Key] = true
		return again
	})
	return all[:min(len(all), Most)]
}

func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// ETag names a version of the feed for conditional requests.
func ETag(b []byte) string {
	sum := sha256.Sum256(bytes.TrimSpace(b))
	return `"` + base64.RawURLEncoding.EncodeToString(sum[:18]) + `"`
}
