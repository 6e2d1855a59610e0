package calendar

import (
	"fmt"
	"net/url"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/web/say"
)

// item is one assessment with what it is about.
type item struct {
	*plan.Assessment
	threat, bed string
}

// each calls f for the assessments that concern the person, one for a planting
// and threat: the most pressing where several models judge the same.
func (in *Input) each(f func(item)) {
	at := map[string]int{}
	var all []item
	for i := range in.Assessments {
		a := &in.Assessments[i]
		plot, planting := in.Site.Find(a.Planting)
		if planting == nil || !in.concerns(plot) || in.Now.Sub(a.Round) > 24*time.Hour {
			continue // what is a day old no longer stands; the message says so
		}
		it := item{a, in.threat(a.Threat), bed(plot, planting)}
		pair := a.Planting + "/" + a.Threat
		if j, ok := at[pair]; ok {
			if a.Readiness < all[j].Readiness {
				all[j] = it
			}
			continue
		}
		at[pair] = len(all)
		all = append(all, it)
	}
	for _, it := range all {
		f(it)
	}
}

// walk enters the looks at the plants on the next weekday for it, all in one
// entry. Steps begin today in every round; a fixed weekday keeps the entry from
// moving along with them.
func (in *Input) walk() []event {
	day := in.today()
	for day.Weekday() != in.WalkOn {
		day++
	}
	var b strings.Builder
	in.each(func(it item) {
		for _, s := range it.Steps {
			if s.Kind == plan.Scout && (s.From.IsZero() || s.From <= day) && (s.By.IsZero() || s.By >= day) {
				fmt.Fprintf(&b, "%s, %s: %s\n\n", it.bed, it.threat, say.Sentence(s.Text))
			}
		}
	})
	if b.Len() == 0 {
		return nil
	}
	b.WriteString(in.say(lang.LookLog))
	return []event{{
		UID: in.uid("walk", day.String()), Day: day, Until: day + 1,
		Summary: in.say(lang.LookAtPlants), Description: b.String(), URL: in.link("/site/" + url.PathEscape(in.Site.ID)),
	}}
}

// lastDays enters the day by which preventive work should be done: one entry for
// a planting and threat, which moves with the outlook.
func (in *Input) lastDays() []event {
	var out []event
	in.each(func(it item) {
		var by civil.Date
		for _, s := range it.Steps {
			if prevents(s) && s.By >= in.today() && (by.IsZero() || s.By < by) {
				by = s.By
			}
		}
		if by.IsZero() {
			return
		}
		var b strings.Builder
		b.WriteString(in.say(lang.LastDayWhy))
		for _, s := range it.Steps {
			if !prevents(s) || s.By != by {
				continue
			}
			fmt.Fprintf(&b, "\n- %s", say.Sentence(s.Text))
		}
		fmt.Fprintf(&b, "\n\n%s", say.Sentence(it.Reason.Text))
		out = append(out, event{
			UID: in.uid("last day", it.Planting, it.Threat), Day: by, Until: by + 1,
			Summary:     in.say(lang.LastDay, it.threat, it.bed),
			Description: b.String(),
			URL:         in.link("/site/" + url.PathEscape(in.Site.ID) + "/planting/" + url.PathEscape(it.Planting) + "/threat/" + url.PathEscape(it.Threat)),
		})
	})
	return out
}

func prevents(s plan.Step) bool {
	return s.Kind != plan.Scout && s.Kind != plan.Harvest && s.Kind != plan.Wait && !s.By.IsZero()
}

// link returns an address of the pages; empty without pages.
func (in *Input) link(path string) string {
	if !strings.HasPrefix(in.Home, "http://") && !strings.HasPrefix(in.Home, "https://") {
		return ""
	}
	return strings.TrimRight(in.Home, "/") + path
}
