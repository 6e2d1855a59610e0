package service

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/alerts/letter"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
)

// Letter drafts the newsletter of a region from the latest rounds.
func (h *Host) Letter(ctx context.Context, region string) (letter.Letter, error) {
	m := h.live.Load().messenger
	in := letter.Input{Threats: h.o.Catalogue, Credits: m.credits}
	var known []string
	for _, r := range h.garden().Regions {
		known = append(known, r.ID)
		if r.ID == region {
			in.Region = r
		}
	}
	if in.Region.ID == "" {
		return letter.Letter{}, fmt.Errorf("region %q is not known; known are: %s", region, strings.Join(known, ", "))
	}
	zone := time.UTC
	for _, id := range in.Region.Sites {
		site := m.site(id)
		if site == nil {
			continue // a checked configuration names none that is not there
		}
		zone = site.Location()
		g, err := h.letterGround(ctx, site)
		if err != nil {
			return letter.Letter{}, err
		}
		in.Grounds = append(in.Grounds, g)
	}
	in.Today = civil.Of(h.o.Now(), zone)
	if len(in.Region.Volunteers) > 0 {
		if p := m.person(in.Region.Volunteers[0]); p != nil {
			in.Units, in.Language = p.Units, p.Language
		}
	}
	return letter.Compose(in), nil
}

func (h *Host) letterGround(ctx context.Context, site *garden.Site) (letter.Ground, error) {
	out := letter.Ground{Site: site}
	r, err := h.store.LatestRound(ctx, site.ID)
	switch {
	case err == nil:
		out.Round = &r
	case !errors.Is(err, store.ErrNotFound):
		return out, err
	}
	seen, err := h.store.Scoutings(ctx, site.ID)
	out.Seen = garden.Looks(seen)
	return out, err
}
