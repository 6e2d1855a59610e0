package calendar

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/web/say"
)

// shortest is the least that is worth an entry.
const shortest = time.Hour

// dryHours has an entry for each run of good hours ahead. A run keeps its name
// while the forecast moves it within its half of the day, so that the entry moves
// too and does not leave a false one behind. Where nothing ahead is known the
// calendar says so: an empty day would read as a wet one.
func (in *Input) dryHours() []event {
	var out []event
	count := map[string]int{}
	for _, r := range in.runs() {
		local := r.From.In(in.loc())
		half := civil.Of(r.From, in.loc()).String() + " am"
		if local.Hour() >= 12 {
			half = civil.Of(r.From, in.loc()).String() + " pm"
		}
		out = append(out, event{
			UID: in.uid("dry hours", half, strconv.Itoa(count[half])), From: r.From, To: r.To,
			Summary: in.say(lang.DryHours), Description: in.about(lang.DryHoursWhy), URL: in.link("/site/" + url.PathEscape(in.Site.ID) + "/weather"), Remind: true,
		})
		count[half]++
	}
	if len(out) == 0 && !in.anyKnown() {
		out = append(out, event{
			UID: in.uid("not known", in.today().String()), Day: in.today(), Until: in.today() + 1,
			Summary: in.say(lang.NoHoursKnown), Description: in.say(lang.NoHoursWhy),
		})
	}
	return out
}

// runs joins good hours that touch and cuts what is past.
func (in *Input) runs() []plan.Hours {
	var out []plan.Hours
	for _, h := range in.Hours {
		if !h.Good || !h.To.After(in.Now) {
			continue
		}
		if h.From.Before(in.Now) {
			h.From = in.Now.Truncate(time.Second)
		}
		if n := len(out); n > 0 && out[n-1].To.Equal(h.From) {
			out[n-1].To = h.To
			continue
		}
		out = append(out, h)
	}
	long := out[:0]
	for _, h := range out {
		if h.To.Sub(h.From) >= shortest {
			long = append(long, h)
		}
	}
	return long
}

func (in *Input) anyKnown() bool {
	for _, h := range in.Hours {
		if !h.Unknown && h.To.After(in.Now) {
			return true
		}
	}
	return false
}

// about is a reason, followed by what waits to be done and the word on labels.
func (in *Input) about(why lang.Key) string {
	var b strings.Builder
	b.WriteString(in.say(why))
	first := true
	in.each(func(it item) {
		if it.Readiness > plan.Act {
			return
		}
		if first {
			fmt.Fprintf(&b, "\n\n%s", in.say(lang.ToActOn))
			first = false
		}
		fmt.Fprintf(&b, "\n- %s, %s", say.Upper(it.threat), it.bed)
	})
	fmt.Fprintf(&b, "\n\n%s", in.say(lang.LabelLaw))
	return b.String()
}
