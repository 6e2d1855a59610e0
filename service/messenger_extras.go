package service

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"

	"plotwarden/alerts"
	"plotwarden/alerts/calendar"
	"plotwarden/alerts/picture"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/store"
)

// nearOf loads what a site's growers and those of its region's other grounds let
// others see of their looks.
func (m *messenger) nearOf(ctx context.Context, site *garden.Site) ([]alerts.Near, error) {
	g := m.garden()
	ids := []string{site.ID}
	for i := range g.Regions {
		if slices.Contains(g.Regions[i].Sites, site.ID) {
			ids = append(ids, g.Regions[i].Sites...)
		}
	}
	slices.Sort(ids)
	var out []alerts.Near
	for _, id := range slices.Compact(ids) {
		other := m.site(id)
		if other == nil {
			continue
		}
		seen, err := m.store.Scoutings(ctx, id)
		if err != nil {
			return nil, fmt.Errorf("load the looks of %s: %w", id, err)
		}
		// The composer asks for the finder's consent again.
		out = append(out, alerts.Near{Site: other, Seen: seen})
	}
	return out, nil
}

// load reads what only a message needs: on most rounds nobody gets one.
func (o *morning) load(ctx context.Context) error {
	if o.loaded {
		return nil
	}
	var err error
	if o.near, err = o.nearOf(ctx, o.site); err != nil {
		return err
	}
	o.apart, err = o.apartAt(ctx, o.site.ID)
	o.loaded = err == nil
	return err
}

// lineOf draws the lead line of a digest. A mail without one says the same.
func (o *morning) lineOf(d *alerts.Digest, v lang.Voice) {
	lanes := d.Lanes()
	same := fmt.Sprint(v.Tag(), v.US, lanes)
	if p, ok := o.drawn[same]; ok {
		d.Picture = p
		return
	}
	b, size, err := picture.Draw(d.Axis(), lanes, v)
	if err != nil {
		o.log.Error("no picture in a mail", "digest", d.Key("email"), "error", err)
		return
	}
	if len(b) == 0 {
		return
	}
	sum := sha256.Sum256(b)
	d.Picture = alerts.Picture{PNG: b, CID: "line." + hex.EncodeToString(sum[:10]) + "@plotwarden", Alt: d.Alt(picture.MaxRows), Width: size.X, Height: size.Y}
	if o.drawn == nil {
		o.drawn = map[string]alerts.Picture{}
	}
	o.drawn[same] = d.Picture
}

// attached is the calendar that goes with a mail; nil for who wants none.
func (o *morning) attached(ctx context.Context, p *garden.Person) ([]byte, error) {
	if !p.Calendar {
		return nil, nil
	}
	return o.calendarOf(ctx, p, o.site, o.round, calendar.Publish)
}

// records are the treatments that stand, with what the growers typed from their own
// labels.
func (m *messenger) records(ctx context.Context, site *garden.Site) ([]garden.Record, error) {
	full, err := m.store.Records(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load records: %w", err)
	}
	plain, err := m.store.Treatments(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load treatments: %w", err)
	}
	g := m.garden()
	return garden.Current(garden.OnRecord(site, full, g.Materials, plain, g.Treatments)), nil
}

// apartAt are the sources of a site that disagree now.
func (m *messenger) apartAt(ctx context.Context, site string) ([]store.Disagreement, error) {
	q, err := m.store.Quality(ctx, site)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, fmt.Errorf("load the quality of the weather: %w", err)
	}
	return q.Disagreements, nil
}
