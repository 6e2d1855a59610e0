package report

import (
	"cmp"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
)

// Outcome is how a warning and what was seen stand to each other.
type Outcome string

// The outcomes.
const (
	FoundWarned        Outcome = "found, and warned of before"
	FoundUnwarned      Outcome = "found without a warning before"
	WarnedNotFound     Outcome = "warned of, not found"
	WarnedNobodyLooked Outcome = "warned of, nobody looked"
	QuietNotFound      Outcome = "looked for, neither warned of nor found"
)

// Threat is one threat to one planting over the season.
type Threat struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Outcome Outcome `json:"outcome"`
	Looks   int     `json:"looks"`
	// It came after NotBefore, the last look that found none, and by Found, the
	// first find; either is zero when there was no such look.
	NotBefore civil.Date `json:"notBefore,omitempty"`
	Found     civil.Date `json:"found,omitempty"`
	// Treated is the first treatment against it before it was found: what came
	// later may have come later because of it.
	Treated civil.Date `json:"treated,omitempty"`
	// Warned is the first day of the last unbroken warning before the find, or of
	// the first warning where there was none; WarnDays the days from it to the
	// find.
	Warned    civil.Date `json:"warned,omitempty"`
	WarnDays  int        `json:"warnDays,omitempty"`
	BlindDays int        `json:"blindDays,omitempty"` // days on which nothing could be said
	Forecasts []Forecast `json:"forecasts,omitempty"`
}

// Forecast is what was told so many days before the find.
type Forecast struct {
	Lead   int        `json:"lead"` // days before the find
	Issued civil.Date `json:"issued"`
	P10    civil.Date `json:"p10"`
	P50    civil.Date `json:"p50"`
	P90    civil.Date `json:"p90"`
	// Off is by how many days the median missed the days in which it came: below
	// 0 too early, 0 within them; nil when that cannot be said.
	Off *int `json:"off"`
	// Within says whether the stretch from P10 to P90 touches those days.
	Within bool `json:"within"`
}

// leads are the days before a find at which forecasts are held against it.
var leads = [4]int{28, 21, 14, 7}

// warnBack is how many days before a find a warning counts (four weeks).
const warnBack = 28

type roundKey struct{ planting, threat string }

// rounds has the assessments of a planting and threat by local day.
type rounds map[roundKey]map[civil.Date]*plan.Assessment

func indexRounds(in *Input) rounds {
	out := rounds{}
	zone := in.Site.Location()
	for i := range in.Assessments {
		a := &in.Assessments[i]
		k := roundKey{a.Planting, a.Threat}
		if out[k] == nil {
			out[k] = map[civil.Date]*plan.Assessment{}
		}
		d := civil.Of(a.Round, zone)
		if was := out[k][d]; was == nil || worse(a, was) {
			out[k][d] = a
		}
	}
	return out
}

// worse says which of two models of a day is the one that a grower saw first.
func worse(a, b *plan.Assessment) bool {
	if a.Round.Equal(b.Round) {
		return a.Readiness < b.Readiness
	}
	return a.Round.After(b.Round)
}

func (in *Input) threats(index rounds, p *garden.Planting, from, to civil.Date) []Threat {
	ids := map[string]bool{}
	for k := range index {
		if k.planting == p.ID {
			ids[k.threat] = true
		}
	}
	for _, s := range in.Seen {
		if s.Planting == p.ID && s.Date >= from && s.Date <= to {
			ids[s.Threat] = true
		}
	}
	var out []Threat
	for id := range ids {
		if t := in.threat(index[roundKey{p.ID, id}], p, id, from, to); t.Outcome != "" {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, func(a, b Threat) int {
		return cmp.Or(cmp.Compare(outcomeRank(a.Outcome), outcomeRank(b.Outcome)), cmp.Compare(a.Found, b.Found), cmp.Compare(a.Name, b.Name))
	})
	return out
}

func outcomeRank(o Outcome) int {
	return slices.Index([]Outcome{FoundWarned, FoundUnwarned, WarnedNotFound, WarnedNobodyLooked, QuietNotFound}, o)
}

func (in *Input) threat(days map[civil.Date]*plan.Assessment, p *garden.Planting, id string, from, to civil.Date) Threat {
	t := Threat{ID: id, Name: in.name(id)}
	in.looks(&t, p, from, to)
	for d := from; d <= to; d++ {
		if a := days[d]; a != nil && a.Readiness == plan.Blind {
			t.BlindDays++
		}
	}
	for i := range in.Records {
		r := &in.Records[i]
		if on := in.local(r); r.Planting == p.ID && slices.Contains(r.Threats, id) && !r.Test && on >= from && (t.Found.IsZero() || on < t.Found) && (t.Treated.IsZero() || on < t.Treated) {
			t.Treated = on
		}
	}
	warning(&t, days, from, to)
	switch {
	case !t.Found.IsZero() && !t.Warned.IsZero():
		t.Outcome = FoundWarned
	case !t.Found.IsZero():
		t.Outcome = FoundUnwarned
	case !t.Warned.IsZero() && t.Looks > 0:
		t.Outcome = WarnedNotFound
	case !t.Warned.IsZero():
		t.Outcome = WarnedNobodyLooked
	case t.Looks > 0:
		t.Outcome = QuietNotFound
	}
	if !t.Found.IsZero() {
		for _, lead := range leads {
			if f, ok := forecast(days[t.Found.AddDays(-lead)], &t, lead); ok {
				t.Forecasts = append(t.Forecasts, f)
			}
		}
	}
	return t
}

func (in *Input) looks(t *Threat, p *garden.Planting, from, to civil.Date) {
	for _, s := range in.Seen {
		if s.Planting != p.ID || s.Threat != t.ID || s.Date < from || s.Date > to {
			continue
		}
		t.Looks++
		if s.Finding == garden.Found && (t.Found.IsZero() || s.Date < t.Found) {
			t.Found = s.Date
		}
	}
	for _, s := range in.Seen {
		if s.Planting == p.ID && s.Threat == t.ID && s.Finding == garden.None && s.Date >= from && s.Date <= to && (t.Found.IsZero() || s.Date < t.Found) {
			t.NotBefore = max(t.NotBefore, s.Date)
		}
	}
}

// warning finds the warning that stood before the find, or the first of a season
// without one. A planting that was protected had been warned.
func warning(t *Threat, days map[civil.Date]*plan.Assessment, from, to civil.Date) {
	warned := func(d civil.Date) bool {
		a := days[d]
		return a != nil && (a.Readiness == plan.Act || a.Readiness == plan.Approaching || a.Readiness == plan.Protected)
	}
	if t.Found.IsZero() {
		for d := from; d <= to; d++ {
			if warned(d) {
				t.Warned = d
				return
			}
		}
		return
	}
	for d := t.Found - 1; d >= from-warnBack; d-- {
		if t.Warned.IsZero() && d < t.Found-warnBack {
			return // too long ago to be a warning of this find
		}
		if warned(d) {
			t.Warned, t.WarnDays = d, t.Found.Sub(d)
		} else if !t.Warned.IsZero() && days[d] != nil && days[d].Readiness != plan.Blind {
			return // the warning had not begun
		}
	}
}

// forecast holds the outlook of a day against the days in which it came.
func forecast(a *plan.Assessment, t *Threat, lead int) (Forecast, bool) {
	if a == nil || a.Outlook == nil {
		return Forecast{}, false
	}
	o := a.Outlook
	f := Forecast{Lead: lead, Issued: t.Found.AddDays(-lead), P10: o.P10, P50: o.P50, P90: o.P90}
	if !o.Reached.IsZero() {
		f.P10, f.P50, f.P90 = o.Reached, o.Reached, o.Reached
	}
	if f.P50.IsZero() {
		return f, true
	}
	late := f.P90
	if late.IsZero() {
		late = f.P50
	}
	f.Within = f.P10 <= t.Found && late > t.NotBefore
	switch {
	case f.P50 > t.Found:
		f.Off = days(f.P50.Sub(t.Found))
	case t.NotBefore.IsZero(): // it came by Found, and nobody knows since when
	case f.P50 <= t.NotBefore:
		f.Off = days(f.P50.Sub(t.NotBefore + 1))
	default:
		f.Off = days(0)
	}
	return f, true
}

func days(n int) *int { return &n }
