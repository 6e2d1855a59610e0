package alerts

import (
	"encoding/json"
	"fmt"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
)

// Chosen is what one person chose about one site's messages: acknowledgements,
// mutes and stops.
type Chosen []Choice

// Choice is one of them.
type Choice struct {
	Kind     string     // one of the store's kinds
	Planting string     // empty: every one
	Threat   string     // empty: every one
	Channel  string     // of a stop
	Until    civil.Date // the last day on which it holds; 0 has no end
	Seen     *Entry     // what had been said of it; nil when that is not known
}

// ChosenBy picks a person's choices out of those of a site.
func ChosenBy(person string, all []store.Choice) (Chosen, error) {
	var out Chosen
	for _, c := range all {
		if c.Person != person {
			continue
		}
		x := Choice{Kind: c.Kind, Planting: c.Planting, Threat: c.Threat, Channel: c.Channel, Until: c.Until}
		if len(c.Seen) > 0 {
			x.Seen = new(Entry)
			if err := json.Unmarshal(c.Seen, x.Seen); err != nil {
				return nil, fmt.Errorf("read what %s had seen when choosing: %w", person, err)
			}
		}
		out = append(out, x)
	}
	return out, nil
}

// SeenOf encodes what a person was told of a planting and threat, for the choice
// that they make now; nil when nothing was.
func (t *Told) SeenOf(planting, threat string) []byte {
	if t == nil {
		return nil
	}
	e, ok := t.Entries[planting+"/"+threat]
	if !ok {
		return nil
	}
	b, err := json.Marshal(e)
	if err != nil {
		return nil // not reached: an entry holds plain values
	}
	return b
}

// Stopped says whether the person wants no messages of the site over a channel.
func (c Chosen) Stopped(channel string) bool {
	return slices.ContainsFunc(c, func(x Choice) bool {
		return x.Kind == store.ChoseStop && (x.Channel == channel || x.Channel == "")
	})
}

// Rests says whether a person gets no message on a local date: in a holiday, or
// on another day than the one of the week that they chose.
func Rests(p *garden.Person, day civil.Date) bool { return p.Away(day) || !p.Weekly.Falls(day) }

// hush says what keeps an item out of the message, as a reason for the line that
// counts what is left out; empty when nothing does.
func (in *Input) hush(it *item) string {
	if until := in.Person.MutedUntil(it.Threat, in.today()); until != 0 {
		return in.muted(it, until)
	}
	for _, c := range in.Chosen {
		if c.Planting != "" && c.Planting != it.Planting || c.Threat != "" && c.Threat != it.Threat {
			continue
		}
		held := c.Until == 0 || in.today() <= c.Until
		switch {
		case c.Kind == store.ChoseNotMine && held:
			return in.voice().T("not your crop")
		case c.Kind == store.ChoseMute && held:
			return in.muted(it, c.Until)
		case it.Readiness > plan.Approaching:
			// Blindness is told whatever was acknowledged, the rest asks for nothing.
		case c.Kind == store.ChoseDone && held && c.Seen != nil && in.since(&it.Assessment, *c.Seen) == "":
			return in.voice().T("done by you")
		case c.Kind == store.ChoseNotNow && held && (c.Seen == nil || it.Readiness >= c.Seen.Readiness):
			return in.voice().T("put off until %s", in.voice().Date(c.Until.AddDays(1), in.today()))
		}
	}
	return ""
}

func (in *Input) muted(it *item, until civil.Date) string {
	if until == 0 {
		return in.voice().T("muted: %s", in.voice().Term(it.threat.Name))
	}
	return in.voice().T("muted: %s up to %s", in.voice().Term(it.threat.Name), in.voice().Date(until, in.today()))
}

// hushed parts the items into those to tell of and a sentence about the others,
// so that a reader knows that the message does not say all.
func (in *Input) hushed(items []item) (tell []item, left string) {
	count := map[string]int{}
	var order []string
	for i := range items {
		why := in.hush(&items[i])
		if why == "" {
			tell = append(tell, items[i])
			continue
		}
		if count[why] == 0 {
			order = append(order, why)
		}
		count[why]++
	}
	if len(order) == 0 {
		return tell, ""
	}
	slices.Sort(order)
	for i, why := range order {
		order[i] = fmt.Sprintf("%d %s", count[why], why)
	}
	return tell, in.voice().T("Left out by your choice: %s.", in.voice().List(order))
}
