package learn

import (
	"fmt"
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/outlook"
)

// Running is the season that an outlook is asked for.
type Running struct {
	Today  civil.Date
	Season civil.Date // first day of the season
	// None is the season's last look that found nothing; zero when nobody looked.
	// Without one the arrival may lie behind us, and the outlook says so.
	None civil.Date
	// Track and Fan are the model's; both may be nil where the calendar is used.
	Track *risk.Track
	Fan   *outlook.Fan
}

// parts is into how many equally likely values an estimate is cut.
const parts = 25

// Outlook says when the threat comes this season, by the chosen way, or by the
// calendar where that needs a track and there is none. It is rough with fewer
// than FewSeasons finds.
func (a *Arrival) Outlook(r Running) (risk.Outlook, error) {
	w := a.Best()
	if w.Name != Calendar && r.Fan == nil {
		if w = a.Way(Calendar); !w.Usable {
			return risk.Outlook{}, fmt.Errorf("outlook on %s from the log: its %s needs the model's track, and the calendar has no find", a.Threat, a.Chosen)
		}
	}
	event := "first find, going by the log"
	if w.Name == Calendar {
		o := calendarOutlook(w, r)
		o.Model, o.Event, o.Rough = a.Model, event, a.Finds+a.Neighbours < FewSeasons
		o.Basis = fmt.Sprintf("the dates of %s of the log alone", plural(a.Finds+a.Censored, "season"))
		if a.Neighbours > 0 {
			o.Basis = fmt.Sprintf("the dates of %s of the log and of %s that neighbours share", plural(a.Finds+a.Censored, "season"), plural(a.Neighbours, "season"))
		}
		return o, nil
	}
	above := math.Inf(-1)
	if p, ok := pointAt(r.Track, r.None); ok {
		above = math.Log(p.Total)
	}
	values := w.belief.quantiles(parts, above)
	for i, v := range values {
		values[i] = math.Exp(v)
	}
	o := r.Fan.Outlook(outlook.Question{Event: event, Today: r.Today, Thresholds: values})
	o.Basis = fmt.Sprintf("%s, %s to %s %s, from %s; %s", w.Name, number(w.Low), number(w.High), a.Unit, a.sources(w), o.Basis)
	o.Rough = o.Rough || a.Finds+a.Neighbours < FewSeasons
	return o, nil
}

func pointAt(t *risk.Track, d civil.Date) (risk.Point, bool) {
	if t == nil || d.IsZero() {
		return risk.Point{}, false
	}
	return t.At(d)
}

func calendarOutlook(w *Way, r Running) risk.Outlook {
	o := risk.Outlook{Issued: r.Today, Members: parts}
	above := math.Inf(-1)
	if !r.None.IsZero() {
		above = float64(r.None.Sub(r.Season))
	}
	// The ends are taken to the nearest change of day, as those of other outlooks.
	date := func(q, round float64) civil.Date {
		return r.Season.AddDays(int(math.Ceil(w.belief.quantile(q, above) + round)))
	}
	o.P50 = date(0.5, 0)
	o.P10, o.P90 = min(o.P50, date(0.1, 0.5)), max(o.P50, date(0.9, -0.5))
	below := w.belief.cdf(above)
	if below < 1 {
		at := func(d civil.Date) float64 { return w.belief.cdf(float64(d.Sub(r.Season))) }
		o.Inside = (at(o.P90) - max(below, at(o.P10-1))) / (1 - below)
	}
	for i, h := range risk.Horizons {
		by := w.belief.cdf(float64(r.Today.AddDays(h).Sub(r.Season)) + 0.5)
		o.Chance[i] = 1
		if below < 1 {
			o.Chance[i] = max(0, (by-below)/(1-below))
		}
	}
	return o
}

// sources says what an estimate rests on.
func (a *Arrival) sources(w *Way) string {
	log := fmt.Sprintf("%s of the log", plural(a.Finds+a.Censored, "season"))
	if a.Finds+a.Censored == 0 {
		log = "no season of the log yet"
	}
	if w.Name == Published {
		return "the publication alone"
	}
	if w.Name == Blend {
		log += " and the published threshold"
		if a.Neighbours > 0 {
			log += ", with " + plural(a.Neighbours, "season") + " that neighbours share"
		}
	}
	return log
}

// Usual is between which days of a season the arrival falls.
type Usual struct{ Low, Median, High int } // days after the season's start

// Usual returns where a way puts the arrival in a season of which nothing is
// known yet: 10, 50 and 90 % over the seasons of the curves and all that the way
// holds possible. ok is false when most never reach it.
func (a *Arrival) Usual(w *Way, curves map[int]Curve) (u Usual, ok bool) {
	var days []int
	if w.Name == Calendar {
		for _, v := range w.belief.quantiles(parts, math.Inf(-1)) {
			days = append(days, int(math.Round(v)))
		}
	} else {
		for _, v := range w.belief.quantiles(parts, math.Inf(-1)) {
			for year, c := range curves {
				if len(c.Totals) < 360 {
					continue // a season that is not over
				}
				d, ok := c.Date(math.Exp(v))
				if !ok {
					d = d.AddDays(366)
				}
				days = append(days, d.Sub(a.start.In(year)))
			}
		}
	}
	if len(days) == 0 {
		return u, false
	}
	slices.Sort(days)
	at := func(q float64) int { return days[int(q*float64(len(days)-1)+0.5)] }
	u = Usual{at(0.1), at(0.5), at(0.9)}
	return u, u.Median < 366
}

func number(x float64) string { return fmt.Sprintf("%.4g", x) }
