package alerts

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
)

// DryDay is the dry working hours of one day.
type DryDay struct {
	Day   string // "today", "Fri 12 Jun"
	Hours string // "06:00 to 09:00, 17:00 to 19:00"; or why there are none
	Good  bool   // there are some
}

// shownDays is how many days of dry hours a digest lists.
const shownDays = 4

// dryDays lists the coming days.
func (in *Input) dryDays() []DryDay {
	if len(in.Hours) == 0 {
		return nil
	}
	var out []DryDay
	for d := in.today(); d < in.today()+shownDays; d++ {
		day := DryDay{Day: in.voice().Day(d, in.today())}
		if runs := in.goodOn(d); len(runs) > 0 {
			day.Hours, day.Good = strings.Join(runs, ", "), true
		} else {
			day.Hours = in.against(d)
			if in.knows(d) {
				day.Hours = in.voice().T("none: %s", day.Hours)
			}
		}
		out = append(out, day)
	}
	return out
}

// dryBy writes the first dry hours up to a last day, which is at least the day
// after tomorrow when none is set.
func (in *Input) dryBy(last civil.Date) string {
	today := in.today()
	if last < today {
		last = today + 2
	}
	var parts []string
	for d := today; d <= last && len(parts) < 3; d++ {
		if runs := in.goodOn(d); len(runs) > 0 {
			parts = append(parts, in.voice().Day(d, today)+" "+strings.Join(runs, ", "))
		}
	}
	end := in.end()
	switch {
	case len(parts) > 0:
		return strings.Join(parts, "; ")
	case !end.After(in.now()), !in.knows(today):
		return in.voice().T(notKnown)
	}
	known := min(last, civil.Of(end.Add(-time.Second), in.loc()))
	if known < last {
		return in.voice().T("none up to %s, as far as the forecast for them reaches", in.voice().Day(known, today))
	}
	for d := last + 1; d <= civil.Of(end, in.loc()); d++ {
		if runs := in.goodOn(d); len(runs) > 0 {
			return in.voice().T("none by %s (%s); the first after it is %s %s", in.voice().Day(last, today), in.against(today), in.voice().Day(d, today), strings.Join(runs, ", "))
		}
	}
	return in.voice().T("none by %s (%s)", in.voice().Day(last, today), in.against(today))
}

// end is the end of the last judged hour.
func (in *Input) end() time.Time {
	var end time.Time
	for _, h := range in.Hours {
		if h.To.After(end) {
			end = h.To
		}
	}
	return end
}

// goodOn writes the good hours of a local day that are still ahead, joined
// where they touch.
func (in *Input) goodOn(d civil.Date) []string {
	var out []string
	var from, to time.Time
	flush := func() {
		if !from.IsZero() {
			out = append(out, in.voice().Hours(from, to, in.loc()))
		}
		from, to = time.Time{}, time.Time{}
	}
	for _, h := range in.Hours {
		if !h.Good {
			continue
		}
		a, b := in.clip(d, h)
		if b.Sub(a) < time.Hour {
			continue
		}
		if !a.Equal(to) {
			flush()
			from = a
		}
		to = b
	}
	flush()
	return out
}

// clip cuts hours to the part of the local day that is still ahead.
func (in *Input) clip(d civil.Date, h plan.Hours) (from, to time.Time) {
	from, to = h.From, h.To
	for _, t := range []time.Time{d.Start(in.loc()), quarter(in.now())} {
		if from.Before(t) {
			from = t
		}
	}
	if end := (d + 1).Start(in.loc()); to.After(end) {
		to = end
	}
	return from, to
}

// quarter is the next full quarter of an hour: nobody plans by the minute.
func quarter(t time.Time) time.Time {
	if down := t.Truncate(15 * time.Minute); !down.Equal(t) {
		return down.Add(15 * time.Minute)
	}
	return t
}

// notKnown is said of a day whose weather is missing.
const notKnown = "not known: the weather ahead is missing"

// knows says whether what is left of a day could be judged for the most part.
func (in *Input) knows(d civil.Date) bool {
	var known, left time.Duration
	for _, h := range in.Hours {
		if from, to := in.clip(d, h); to.After(from) {
			left += to.Sub(from)
			if !h.Unknown {
				known += to.Sub(from)
			}
		}
	}
	return left > 0 && 2*known >= left
}

// against says what stands against work on a day without good hours: the two
// reasons that hold longest, darkness apart.
func (in *Input) against(d civil.Date) string {
	if !in.knows(d) {
		return in.voice().T(notKnown)
	}
	lasting := map[string]time.Duration{}
	var order []string
	for _, h := range in.Hours {
		from, to := in.clip(d, h)
		if !to.After(from) {
			continue
		}
		for _, why := range h.Why {
			if why == "dark" || why == "weather missing" {
				continue
			}
			if lasting[why] == 0 {
				order = append(order, why)
			}
			lasting[why] += to.Sub(from)
		}
	}
	if len(order) == 0 {
		return in.voice().T("no daylight left")
	}
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(lasting[b], lasting[a]) })
	return in.voice().List(in.reasons(order[:min(2, len(order))]))
}

// reasons says why hours are not good. The usual reasons have their words in
// every language; others are English.
func (in *Input) reasons(list []string) []string {
	out := make([]string, len(list))
	for i, why := range list {
		out[i] = in.voice().Foreign(why)
	}
	return out
}
