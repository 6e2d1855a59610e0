package calendar

import (
	"cmp"
	"fmt"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
)

// askFor is for how many days after a treatment the calendar reminds of label
// values that were never typed.
const askFor = 1

// clocks enters the waiting times of treatments, as the grower typed them from
// the label: hours before re-entry, days before harvest. What was not typed is
// not taken as free: an entry on the day of the work says what to look up.
func (in *Input) clocks() []event {
	var out []event
	for i := range in.Records {
		r := &in.Records[i]
		plot, planting := in.Site.Find(r.Planting)
		if planting == nil || !r.Sprayed() || !in.concerns(plot) {
			continue
		}
		where := bed(plot, planting)
		what := cmp.Or(r.Product, r.Material, r.Ingredient)
		end := r.Finished()
		day := civil.Of(end, in.loc())
		if h := r.Label.ReEntryHours; h != nil && r.ReEntry.After(in.Now) && r.ReEntry.After(r.Start) {
			out = append(out, event{
				UID: in.uid("keep out", r.ID), From: r.Start, To: r.ReEntry,
				Summary:     in.say(lang.KeepOut, where),
				Description: in.treated(what, in.say(lang.KeepOutUntil, *h, in.moment(r))),
			})
		}
		if d := r.Label.PreHarvestDays; d != nil && r.HarvestFrom > in.today() && r.HarvestFrom > day {
			out = append(out, event{
				UID: in.uid("no harvest", r.ID), Day: day, Until: r.HarvestFrom,
				Summary:     in.say(lang.NoHarvest, where),
				Description: in.treated(what, in.say(lang.NoHarvestUntil, *d, in.Lang.FullDate(day), in.Lang.FullDate(r.HarvestFrom))),
			})
		}
		if ask := in.unsaid(r, what); ask != "" && day+askFor > in.today() {
			out = append(out, event{
				UID: in.uid("label", r.ID), Day: day, Until: day + askFor,
				Summary: in.say(lang.AskLabel, where), Description: ask,
			})
		}
	}
	return out
}

func (in *Input) treated(what, clock string) string {
	return what + "\n\n" + clock + "\n\n" + in.say(lang.LabelLaw)
}

func (in *Input) moment(r *garden.Record) string {
	end := r.Finished()
	return in.Lang.FullDate(civil.Of(end, in.loc())) + ", " + in.style().Clock(end, in.loc())
}

// unsaid says which waiting times the log does not have; empty when it has all.
// A home mix has no label.
func (in *Input) unsaid(r *garden.Record, what string) string {
	if r.Kind == garden.KindHomeMix {
		return ""
	}
	var b strings.Builder
	if r.Label.PreHarvestDays == nil {
		fmt.Fprintf(&b, "%s\n", in.say(lang.AskLabelHarvest, what))
	}
	switch {
	case r.Label.ReEntryHours != nil:
	case r.Label.ReEntryDry:
		fmt.Fprintf(&b, "%s\n", in.say(lang.AskLabelDry, what))
	default:
		fmt.Fprintf(&b, "%s\n", in.say(lang.AskLabelEntry, what))
	}
	if b.Len() == 0 {
		return ""
	}
	return b.String() + in.say(lang.AskLabelWhy)
}
