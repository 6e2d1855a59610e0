package service

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"plotwarden/alerts/calendar"
	"plotwarden/alerts/feed"
	"plotwarden/alerts/signed"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/store"
)

// Where people's own calendars and feeds are, each behind a signed token.
const (
	calendarPath = "/calendar/"
	feedPath     = "/feed/"
)

// mount puts the signed addresses before the dashboard's pages.
func (m *messenger) mount(pages http.Handler) http.Handler {
	if m.links == nil {
		return pages
	}
	mux := http.NewServeMux()
	mux.Handle(signed.Path, signed.Handler(signed.Options{
		Keys: m.links.Keys, Store: acts{m}, Now: m.now,
		Failed: func(_ context.Context, err error) { m.log.Error("a choice by link failed", "error", err) },
	}))
	mux.HandleFunc("GET "+calendarPath+"{token}", m.serve(signed.Calendar, calendar.ContentType, calendar.ETag, m.calendarFeed))
	mux.HandleFunc("GET "+feedPath+"{token}", m.serve(signed.Feed, feed.ContentType, feed.ETag, m.feedOf))
	mux.Handle("/", pages)
	return mux
}

type maker func(ctx context.Context, p *garden.Person, site *garden.Site) ([]byte, error)

// serve answers with what a token entitles to, and with nothing else where it
// does not: who guesses learns nothing.
func (m *messenger) serve(action signed.Action, contentType string, etag func([]byte) string, of maker) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		c, err := m.links.Keys.Open(r.PathValue("token"), m.now())
		p, site := m.person(c.Person), m.site(c.Site)
		if err != nil || c.Action != action || p == nil || site == nil || !gets(p, site.ID) {
			http.Error(w, "There is nothing here.", http.StatusNotFound)
			return
		}
		body, err := of(r.Context(), p, site)
		switch {
		case errors.Is(err, store.ErrNotFound):
			h.Set("Retry-After", "600")
			http.Error(w, "The first round has not run yet.", http.StatusServiceUnavailable)
			return
		case err != nil:
			m.log.Error("calendar or feed could not be made", "action", action, "error", err)
			http.Error(w, "It could not be made. Try again later.", http.StatusInternalServerError)
			return
		}
		h.Set("Content-Type", contentType)
		h.Set("Cache-Control", "private, no-cache")
		h.Set("ETag", etag(body))
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
	}
}

// calendarFeed is the calendar as programs fetch it.
func (m *messenger) calendarFeed(ctx context.Context, p *garden.Person, site *garden.Site) ([]byte, error) {
	r, err := m.store.LatestRound(ctx, site.ID)
	if err != nil {
		return nil, err
	}
	return m.calendarOf(ctx, p, site, &r, "")
}

func (m *messenger) calendarOf(ctx context.Context, p *garden.Person, site *garden.Site, r *store.Round, method string) ([]byte, error) {
	records, err := m.records(ctx, site)
	if err != nil {
		return nil, err
	}
	name := fmt.Sprintf("calendar/%s/%s", site.ID, p.ID)
	raw, err := m.store.Kept(ctx, name)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	book, err := calendar.ParseBook(raw)
	if err != nil {
		return nil, err
	}
	ics, next, err := calendar.Make(calendar.Input{
		Site: site, Person: *p, Lang: lang.New(p.Language, p.Units), Home: m.base(), Now: r.At,
		Hours: r.Hours, Assessments: r.Assessments, Records: records, Threats: m.catalogue, Method: method,
	}, book)
	if err != nil {
		return nil, err
	}
	again, err := json.Marshal(next)
	if err != nil {
		return nil, fmt.Errorf("encode the calendar's book: %w", err)
	}
	// An attachment goes by the same book, so that its events and the feed's are one.
	if !bytes.Equal(raw, again) {
		if err := m.store.Keep(ctx, name, again); err != nil {
			return nil, err
		}
	}
	return ics, nil
}

func (m *messenger) feedOf(ctx context.Context, p *garden.Person, site *garden.Site) ([]byte, error) {
	list, err := m.store.Newest(ctx, site.ID, p.ID, feedChannel, feed.Most)
	if err != nil {
		return nil, err
	}
	f := feed.Feed{
		SiteID: site.ID, Site: site.Name, PersonID: p.ID, Lang: lang.New(p.Language, p.Units), Home: m.base(), Page: m.base() + "/site/" + site.ID,
	}
	if f.Self, err = m.feedAddress(p, site); err != nil {
		return nil, err
	}
	for _, d := range list {
		f.Since = d.Slot
		if len(d.Body) == 0 {
			continue // pruned
		}
		var e feed.Entry
		if err := json.Unmarshal(d.Body, &e); err != nil {
			return nil, fmt.Errorf("read feed entry %s: %w", d.Key, err)
		}
		f.Entries = append(f.Entries, e)
	}
	if f.Since.IsZero() {
		r, err := m.store.LatestRound(ctx, site.ID)
		if err != nil {
			return nil, err
		}
		f.Since = r.At
	}
	return feed.Write(f)
}

func (m *messenger) feedAddress(p *garden.Person, site *garden.Site) (string, error) {
	token, err := m.links.Keys.Sign(signed.Claim{Person: p.ID, Site: site.ID, Action: signed.Feed})
	return m.links.Base + feedPath + token, err
}
