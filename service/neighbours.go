package service

import (
	"context"
	"log/slog"
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/learn"
)

// neighbour is another ground of the region with what its growers share.
type neighbour struct {
	site *garden.Site
	seen []garden.Scouting // shared looks alone
	done []garden.Treatment
}

// regionLog is what the grounds of one region share, as it was last read.
type regionLog struct {
	read time.Time
	list []neighbour
}

// neighbours returns the other grounds of a site's region that share looks, and
// the region's id. A region's log is read once a round and not for each of its
// sites. What cannot be read is logged and left out.
func (s *Service) neighbours(ctx context.Context, log *slog.Logger, site *garden.Site) (region string, out []neighbour) {
	g := s.o.Garden()
	r := regionOf(g, site.ID)
	if r == nil || len(r.Sites) < 2 {
		return "", nil
	}
	now := s.o.Now()
	s.mu.Lock()
	kept, ok := s.shared[r.ID]
	s.mu.Unlock()
	if !ok || now.Sub(kept.read) >= s.o.FetchEvery || now.Before(kept.read) {
		kept = regionLog{now, s.readShared(ctx, log, g, r)}
		s.mu.Lock()
		s.shared[r.ID] = kept
		s.mu.Unlock()
	}
	for _, n := range kept.list {
		if n.site.ID != site.ID {
			out = append(out, n)
		}
	}
	return r.ID, out
}

func (s *Service) readShared(ctx context.Context, log *slog.Logger, g *garden.Garden, r *garden.Region) []neighbour {
	var out []neighbour
	for i := range g.Sites {
		n := neighbour{site: &g.Sites[i]}
		if !slices.Contains(r.Sites, n.site.ID) {
			continue
		}
		seen, err := s.o.Store.Scoutings(ctx, n.site.ID)
		if err == nil {
			n.seen = slices.DeleteFunc(garden.Looks(seen), func(x garden.Scouting) bool { return !x.Share })
		}
		if err == nil && len(n.seen) > 0 {
			n.done, err = s.o.Store.Treatments(ctx, n.site.ID)
		}
		if err != nil {
			log.Error("a neighbour's log cannot be read", "neighbour", n.site.ID, "error", err)
			continue
		}
		if len(n.seen) > 0 {
			out = append(out, n)
		}
	}
	return out
}

// pool adds what neighbours share: the other plots of the ground, then the other
// grounds of the region, each by its own weather where that is known.
func (v *siteView) pool(c *plan.Case, in *learn.Input, own func(*learn.Season) bool, start civil.MonthDay) {
	for _, s := range learn.Seasons(c.Threat.ID, learn.Where{Site: v.site, Region: v.region, Before: seasonStart(v.site, v.today), SharedOnly: true}, v.seen, v.done) {
		if !own(&s) {
			in.Neighbours = append(in.Neighbours, s)
		}
	}
	for _, n := range v.neighbours {
		if n.site.Season() != v.site.Season() {
			continue // its seasons begin on another day of the year
		}
		seasons := learn.Seasons(c.Threat.ID, learn.Where{Site: n.site, Region: v.region, Before: seasonStart(n.site, v.today), SharedOnly: true}, n.seen, n.done)
		if len(seasons) == 0 {
			continue
		}
		in.Neighbours = append(in.Neighbours, seasons...)
		if c.Model == nil || v.pastsOf == nil {
			continue
		}
		if t := v.pastsOf(n.site.ID).any(c.Model.ID); t != nil {
			if in.NeighbourCurves == nil {
				in.NeighbourCurves = map[string]map[int]learn.Curve{}
			}
			in.NeighbourCurves[n.site.ID] = learn.CurvesOf(t, start)
		}
	}
}

// any returns a model's run over the past years that was made for some planting;
// nil when none was yet.
func (p *pastTracks) any(model string) *risk.Track {
	p.mu.Lock()
	defer p.mu.Unlock()
	for k, r := range p.byKey {
		if strings.HasPrefix(k, model+" ") && r.track != nil {
			return r.track
		}
	}
	return nil
}
