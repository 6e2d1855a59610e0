package service

import (
	"fmt"
	"sync"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
)

// pastTracks keeps a site's runs over its past years. They change only with the
// past weather, so that they are computed once for each set of it.
type pastTracks struct {
	mu    sync.Mutex
	stamp string
	byKey map[string]pastRun
}

// pastRun is one model's run over all past years.
type pastRun struct {
	track   *risk.Track      // nil when there is none
	history *outlook.History // nil when there is none
}

func (p *pastTracks) get(v *siteView, c *plan.Case) pastRun {
	if v.past == nil || v.past.Len() == 0 {
		return pastRun{}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	stamp := fmt.Sprint(v.past.Start(), v.past.Len(), v.stamp)
	if p.stamp != stamp {
		p.stamp, p.byKey = stamp, map[string]pastRun{}
	}
	key := fmt.Sprintf("%s %s %s", c.Model.ID, c.Planting.Susceptibility, c.Planting.Cover)
	if h, ok := p.byKey[key]; ok {
		return h
	}
	var h pastRun
	t, err := c.Model.Spec.Run(&model.Input{
		Weather: v.past, Zone: v.zone, Start: civil.Of(v.past.Start(), v.zone).AddDays(1), Now: v.past.End(),
		Susceptibility: c.Planting.Susceptibility, Cover: c.Planting.Cover,
	})
	if err != nil {
		v.failed(c.Model.ID)
		v.log.Warn("model did not run over past years", "site", v.site.ID, "model", c.Model.ID, "error", err)
	} else {
		h = pastRun{t, outlook.NewHistory(t)}
	}
	p.byKey[key] = h
	return h
}
