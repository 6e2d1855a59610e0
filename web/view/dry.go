package view

import (
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/web/say"
)

// DayHours is one day's dry working hours in words.
type DayHours struct {
	Day   string // "Today", "Fri 12 Jun"
	Hours string // "08:00 to 12:00 and 15:00 to 19:00"; empty when there are none
	Why   string // what stands against it when there are none: "rain within 6 hours"
}

// run is a good stretch on one local day.
type run struct {
	day      civil.Date
	from, to time.Time
}

// good returns the good hours from now on, cut at midnights.
func (in *In) good() []run {
	if in.Round == nil {
		return nil
	}
	var out []run
	for _, h := range in.Round.Hours {
		from := h.From
		if from.Before(in.Now) {
			from = in.Now
		}
		for h.Good && from.Before(h.To) {
			d := civil.Of(from, in.loc())
			to := d.AddDays(1).Start(in.loc())
			if to.After(h.To) {
				to = h.To
			}
			// Less than half an hour is no time to work in.
			if to.Sub(from) >= 30*time.Minute {
				out = append(out, run{d, from, to})
			}
			from = to
		}
	}
	return out
}

// DryDays says the dry working hours of n days from today on.
func (in *In) DryDays(n int) []DayHours {
	runs := in.good()
	out := make([]DayHours, 0, n)
	for i := range n {
		d := in.today().AddDays(i)
		dh := DayHours{Day: say.Upper(in.Style.Day(d, in.today())), Hours: in.join(runs, d)}
		if dh.Hours == "" {
			dh.Why = in.against(d)
		}
		out = append(out, dh)
	}
	return out
}

func (in *In) join(runs []run, d civil.Date) string {
	var parts []string
	for _, r := range runs {
		if r.day == d {
			parts = append(parts, in.Style.Hours(in.roundUp(r.from), r.to, in.loc()))
		}
	}
	return say.List(parts)
}

// roundUp writes the present moment as the next quarter, so that hours that
// have begun don't read 09:07.
func (in *In) roundUp(t time.Time) time.Time {
	if t.Equal(in.Now) {
		return t.Add(15*time.Minute - time.Nanosecond).Truncate(15 * time.Minute)
	}
	return t
}

// against says what keeps a day without dry hours: the reasons of its hours
// that are not only dark, each once, the most lasting first.
func (in *In) against(d civil.Date) string {
	from, to := d.Start(in.loc()), d.AddDays(1).Start(in.loc())
	if from.Before(in.Now) {
		from = in.Now
	}
	lasting := map[string]time.Duration{}
	var names []string
	var unknown, known time.Duration
	for _, h := range in.hours() {
		a, b := h.From, h.To
		if a.Before(from) {
			a = from
		}
		if b.After(to) {
			b = to
		}
		if !a.Before(b) {
			continue
		}
		if h.Unknown {
			unknown += b.Sub(a)
		} else {
			known += b.Sub(a)
		}
		if slices.Contains(h.Why, "dark") {
			continue
		}
		for _, w := range h.Why {
			if _, ok := lasting[w]; !ok {
				names = append(names, w)
			}
			lasting[w] += b.Sub(a)
		}
	}
	switch {
	case known+unknown == 0:
		return "not known yet"
	case len(names) == 0:
		return "too little daylight left"
	}
	slices.SortStableFunc(names, func(a, b string) int { return int(lasting[b] - lasting[a]) })
	if len(names) > 3 {
		names = names[:3]
	}
	return say.List(names)
}

func (in *In) hours() []plan.Hours {
	if in.Round == nil {
		return nil
	}
	return in.Round.Hours
}

// dryUntil says in which hours work can be done up to a last day, naming at most
// two days; a zero last day looks three days ahead. When none is left it
// names the first after it.
func (in *In) dryUntil(last civil.Date) string {
	if last < in.today() {
		last = in.today().AddDays(2)
	}
	runs := in.good()
	var parts []string
	for d := in.today(); d <= last && len(parts) < 2; d++ {
		if h := in.join(runs, d); h != "" {
			parts = append(parts, in.Style.Day(d, in.today())+" "+h)
		}
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, "; ")
	case len(in.hours()) == 0 || !in.hours()[len(in.hours())-1].To.After(in.Now):
		return "not known: there is no forecast to judge them from"
	}
	when := "none by " + in.Style.Day(last, in.today())
	for _, r := range runs {
		if r.day > last {
			return when + "; the first after it is " + in.Style.Day(r.day, in.today()) + " " + in.join(runs, r.day)
		}
	}
	return when + " (" + in.against(in.today()) + ")"
}
