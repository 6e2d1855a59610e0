package alerts

import (
	"slices"
	"strings"

	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/draw"
)

// LaneDays is how many days the lead line of a message shows.
const LaneDays = 14

// Axis is the time axis of the digest's lanes.
func (d *Digest) Axis() draw.Axis { return d.axis }

// Lanes are the notices as the pages draw them, the pressing ones first, each under
// its threat and first bed.
func (d *Digest) Lanes() []draw.Lane {
	var out []draw.Lane
	for _, n := range slices.Concat(d.New, d.Open) {
		out = append(out, n.lane)
	}
	return out
}

// Alt says what a picture of the first lanes shows.
func (d *Digest) Alt(most int) string {
	var parts []string
	for i, n := range slices.Concat(d.New, d.Open) {
		if i == most {
			break
		}
		parts = append(parts, n.lane.Title+", "+n.lane.Desc)
	}
	return d.voice().T("The next %d days as bars: %s.", d.axis.Days, strings.Join(parts, "; "))
}

func (in *Input) axis() draw.Axis {
	return draw.Axis{From: in.today(), Days: LaneDays, Loc: in.loc()}
}

func (in *Input) lane(it item) draw.Lane {
	l := draw.Lane{Title: in.threatName(it) + ", " + in.bedName(it), Readiness: it.Readiness, Desc: in.voice().Ready(it.Readiness)}
	if o := it.Outlook; o != nil && it.Readiness != plan.Present {
		l.P10, l.P50, l.P90, l.Reached = o.P10, o.P50, o.P90, o.Reached
		l.Desc += ", " + in.voice().Brief(o, in.today())
	}
	if t := it.Track; t != nil {
		for _, e := range t.Events {
			if e.Kind == risk.Infection && in.axis().Has(e.Date) && !slices.Contains(l.Infections, e.Date) {
				l.Infections = append(l.Infections, e.Date)
			}
		}
	}
	if by := deadline(it.Steps); !by.IsZero() {
		l.WorkFrom, l.WorkBy = it.Steps[0].From, by
		l.Desc += ", " + in.voice().T("work by %s", in.voice().By(by, in.today()))
	}
	return l
}
