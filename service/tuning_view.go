package service

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/risk/tuning"
)

// tunedCatalogues keeps the catalogue of each region, with the region's changes
// in it. It is built anew when the region's entries change.
type tunedCatalogues struct {
	tunings *Tunings // nil where the store keeps none

	mu   sync.Mutex
	byID map[string]regionCatalogue
}

type regionCatalogue struct {
	stamp string
	view  *tuning.View
}

// regionOf returns the first region that a site belongs to; nil when none.
func regionOf(g *garden.Garden, site string) *garden.Region {
	for i := range g.Regions {
		if slices.Contains(g.Regions[i].Sites, site) {
			return &g.Regions[i]
		}
	}
	return nil
}

// of returns the catalogue by which a site is judged, nil where it is the
// published one, and a stamp that changes with it. notes are what is not in
// force; they are given once, until they change. With an error the catalogue is
// the one before, if there was one.
func (c *tunedCatalogues) of(ctx context.Context, g *garden.Garden, cat *catalog.Catalogue, site string) (view *tuning.View, stamp string, notes []string, err error) {
	r := regionOf(g, site)
	if r == nil || c.tunings == nil {
		return nil, "", nil, nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	entries, err := c.tunings.List(ctx, r.ID)
	if err != nil {
		was := c.byID[r.ID]
		return was.view, was.stamp, nil, err
	}
	var ids strings.Builder
	for i := range entries {
		ids.WriteString(entries[i].ID + entries[i].Fault + " ")
	}
	stamp = ids.String()
	if was, ok := c.byID[r.ID]; ok && was.stamp == stamp && (was.view == nil || was.view.Published == cat) {
		return was.view, stamp, nil, nil
	}
	if len(entries) > 0 {
		all, faults := changesOf(entries)
		view = tuning.Apply(cat, regionName(r), all)
		notes = append(faults, view.Notes...)
	}
	c.byID[r.ID] = regionCatalogue{stamp, view}
	return view, stamp, notes, nil
}

func regionName(r *garden.Region) string {
	if r.Name != "" {
		return r.Name
	}
	return r.ID
}

// tunedIn writes a model's changes in force for a decision.
func tunedIn(v *tuning.View, model string) []plan.Tuned {
	if v == nil {
		return nil
	}
	var out []plan.Tuned
	published, ok := v.Published.Model(model)
	if !ok {
		return nil
	}
	for _, t := range v.Of(model) {
		x := plan.Tuned{What: t.Subject(), Stage: t.Stage, Value: t.Tuned, Published: t.Published, By: t.Who, On: t.When, Why: t.Why, From: published.Source}
		for _, s := range published.Spec.Stages() {
			if s.Name == t.Stage && strings.TrimSpace(s.From.Text) != "" {
				x.From = s.From
			}
		}
		out = append(out, x)
	}
	return out
}

// CatalogueOf returns the catalogue by which a site is judged: that of its
// region, whose Published is the one without changes, or nil where nothing is
// changed.
func (s *Service) CatalogueOf(ctx context.Context, site string) (*tuning.View, error) {
	v, _, _, err := s.tuned.of(ctx, s.o.Garden(), s.o.Catalogue, site)
	if err != nil {
		return v, fmt.Errorf("catalogue of site %s: %w", site, err)
	}
	return v, nil
}

// catalogueOf is the same for a round: what is not in force is logged, and a
// store that cannot be read leaves the catalogue of the round before.
func (s *Service) catalogueOf(ctx context.Context, log *slog.Logger, site string) (*catalog.Catalogue, *tuning.View, string) {
	v, stamp, notes, err := s.tuned.of(ctx, s.o.Garden(), s.o.Catalogue, site)
	if err != nil {
		log.Error("the region's tunings cannot be read; those of the round before hold", "error", err)
	}
	for _, n := range notes {
		log.Warn("tuning not in force", "why", n)
	}
	if v == nil {
		return s.o.Catalogue, nil, stamp
	}
	return v.Catalogue, v, stamp
}
