package plan

import (
	"fmt"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

type sprayJudge struct {
	q        *SprayQuery
	l        SprayLimits
	u        useLimits
	zone     *time.Location
	pressure float64
	suns     map[civil.Date]weather.Daylight
}

func newSprayJudge(q *SprayQuery) *sprayJudge {
	l := q.Limits
	if l == (SprayLimits{}) {
		l = DefaultSprayLimits()
	}
	p := weather.Pressure(float64(q.Site.Elevation))
	if math.IsNaN(p) {
		p = weather.Pressure(0)
	}
	return &sprayJudge{q: q, l: l, u: limitsOf(q.Material, q.Crop, l), zone: q.Site.Location(), pressure: p, suns: map[civil.Date]weather.Daylight{}}
}

// hour judges the hour that begins at t.
func (j *sprayJudge) hour(t time.Time) SprayHour {
	h := SprayHour{From: t.UTC(), To: t.Add(time.Hour).UTC()}
	i := j.q.Series.Index(t)
	j.light(&h)
	j.people(&h)
	j.air(&h, i)
	j.temperature(&h, i)
	j.leaf(&h, i)
	j.rain(&h, i)
	j.drying(&h, i)
	j.bees(&h)
	h.Good = len(h.Why) == 0
	return h
}

func (h *SprayHour) no(o Objection)   { h.Why = append(h.Why, o) }
func (h *SprayHour) warn(o Objection) { h.Warn = append(h.Warn, o) }

func (h *SprayHour) missing(what string) {
	h.Unknown = true
	h.no(Objection{Code: "missing", Text: "not known: " + what, Source: missingSource})
}

func (h *SprayHour) middle() time.Time { return h.From.Add(30 * time.Minute) }

func (j *sprayJudge) sun(t time.Time) weather.Daylight {
	d := civil.Of(t, j.zone)
	s, ok := j.suns[d]
	if !ok {
		s = weather.Sun(d, j.q.Site.Latitude, j.q.Site.Longitude)
		j.suns[d] = s
	}
	return s
}

// light refuses the dark, and the hours that the grower's label keeps clear of
// sunrise and sunset.
func (j *sprayJudge) light(h *SprayHour) {
	s, mid := j.sun(h.From), h.middle()
	if s.PolarNight || !s.Rise.IsZero() && mid.Before(s.Rise) || !s.Set.IsZero() && mid.After(s.Set) {
		h.no(Objection{Code: "dark", Text: "dark", Source: daylightSource})
		return
	}
	h.Evening = !s.Set.IsZero() && !mid.Before(s.Set.Add(-time.Hour))
	m := j.q.Material
	if m == nil {
		return
	}
	if m.AfterSunrise > 0 && !s.Rise.IsZero() && h.From.Before(s.Rise.Add(hoursOf(m.AfterSunrise))) {
		h.no(Objection{Code: "label hours", Text: fmt.Sprintf("your label: not before %s h after sunrise", number(m.AfterSunrise)), Source: labelSource})
	}
	if m.BeforeSunset > 0 && !s.Set.IsZero() && h.To.After(s.Set.Add(-hoursOf(m.BeforeSunset))) {
		h.no(Objection{Code: "label hours", Text: fmt.Sprintf("your label: not later than %s h before sunset", number(m.BeforeSunset)), Source: labelSource})
	}
}

func hoursOf(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

func (j *sprayJudge) people(h *SprayHour) {
	for i := range j.q.People {
		if p := &j.q.People[i]; p.covers(h.From, h.To, j.zone) {
			text := "people are about"
			if p.Why != "" {
				text += ": " + p.Why
			}
			h.no(Objection{Code: "people", Text: text, Source: peopleSource})
			return
		}
	}
}

// air judges wind and, from wind, cloud and the sun's height, whether cool air
// lies still over the ground so that fine drops hang in it and travel.
func (j *sprayJudge) air(h *SprayHour, i int) {
	wind := j.q.Series.Value(weather.Wind, i)
	if math.IsNaN(wind) {
		h.missing("wind")
		return
	}
	o := Objection{Code: "wind", Value: wind, Limit: j.u.maxWind.at, Unit: "m/s", Source: j.u.maxWind.source}
	switch {
	case wind > j.u.maxWind.at:
		o.Text = fmt.Sprintf("wind %s, more than %s", kmh(wind), kmh(j.u.maxWind.at))
		h.no(o)
		return
	case wind > j.l.BestWind:
		o.Text, o.Limit, o.Source = fmt.Sprintf("wind %s, more than the %s that is best", kmh(wind), kmh(j.l.BestWind)), j.l.BestWind, windSource
		h.warn(o)
	}
	cloud := j.q.Series.Value(weather.Cloud, i)
	sun := weather.SunElevation(h.middle(), j.q.Site.Latitude, j.q.Site.Longitude)
	open, low := !(cloud >= j.l.Clear), sun < j.l.LowSun // an unknown sky may be clear
	calm := windAt2(wind) < j.l.CalmWind
	switch {
	case calm && low && open && math.IsNaN(cloud):
		h.no(Objection{Code: "inversion", Text: "calm with the sun low, and the cloud not known: an inversion cannot be ruled out", Value: wind, Unit: "m/s", Source: lowSunSource})
	case calm && low && open:
		h.no(Objection{Code: "inversion", Text: "calm and clear with the sun low: an inversion is likely, and drops hang and drift", Value: wind, Unit: "m/s", Source: lowSunSource})
	case calm:
		h.warn(Objection{Code: "calm", Text: "hardly any wind: a warning, not permission. Watch smoke or dust; if it lies flat, stop", Value: wind, Unit: "m/s", Source: windSource})
	case low && open:
		h.warn(Objection{Code: "stop when calm", Text: "clear with the sun low: stop as soon as the wind drops", Value: wind, Unit: "m/s", Source: strictSource})
	}
}

func (j *sprayJudge) temperature(h *SprayHour, i int) {
	temp := j.q.Series.Value(weather.Temp, i)
	switch {
	case math.IsNaN(temp):
		h.missing("temperature")
		return
	case temp < j.u.minTemp.at:
		h.no(Objection{"cold", fmt.Sprintf("too cold: %s C, less than %s", number(temp), number(j.u.minTemp.at)), temp, j.u.minTemp.at, "C", j.u.minTemp.source})
	case temp > j.u.maxTemp.at:
		h.no(Objection{"hot", fmt.Sprintf("too hot: %s C, more than %s", number(temp), number(j.u.maxTemp.at)), temp, j.u.maxTemp.at, "C", j.u.maxTemp.source})
	case temp > j.u.kindMax.at:
		h.warn(Objection{"hot", fmt.Sprintf("your label allows %s C, but %s burns leaves above %s C", number(temp), j.u.kind, number(j.u.kindMax.at)), temp, j.u.kindMax.at, "C", j.u.kindMax.source})
	case (j.u.kind == garden.KindOil || j.u.kind == garden.KindSulfur) && j.hotSoon(i):
		h.warn(Objection{"hot later", fmt.Sprintf("%s C or more is forecast within 24 hours: leaves can still burn", number(j.u.kindMax.at)), temp, j.u.kindMax.at, "C", j.u.kindMax.source})
	}
}

func (j *sprayJudge) hotSoon(i int) bool {
	for k := i; k < i+24; k++ {
		if j.q.Series.Value(weather.Temp, k) >= j.u.kindMax.at {
			return true
		}
	}
	return false
}

func (j *sprayJudge) state(i int) wetness.State {
	if i < 0 || i >= len(j.q.Wet) {
		return wetness.Unknown
	}
	return j.q.Wet[i]
}

func (j *sprayJudge) leaf(h *SprayHour, i int) {
	switch j.state(i) {
	case wetness.Wet:
		h.no(Objection{Code: "wet leaves", Text: "leaves are wet", Source: wetSource})
		return
	case wetness.Unknown:
		h.missing("whether leaves are wet")
		return
	}
	for k := i + 1; k <= i+j.u.dry; k++ {
		if j.state(k) == wetness.Wet && j.q.Series.Value(weather.Rain, k) == 0 {
			h.warn(Objection{Code: "dew", Text: fmt.Sprintf("dew is expected %s later, within the time to dry", count(k-i, "hour", "hours")), Source: wetSource})
			return
		}
	}
}

func (j *sprayJudge) rain(h *SprayHour, i int) {
	chance, at := 0.0, 0
	for k := i; k <= i+j.u.dry; k++ {
		r := j.q.Series.Value(weather.Rain, k)
		if math.IsNaN(r) {
			h.missing("rain")
			return
		}
		if r > 0 {
			when := fmt.Sprintf("rain %s later", count(k-i, "hour", "hours"))
			if k == i {
				when = "rain in this hour"
			}
			h.no(Objection{"rain", fmt.Sprintf("%s, and it needs %d to dry", when, j.u.dry), float64(k - i), float64(j.u.dry), "hours", j.u.drySrc})
			return
		}
		if p := j.q.Series.Value(weather.RainChance, k); p > chance {
			chance, at = p, k-i
		}
	}
	if chance >= j.l.MaybeRain {
		h.warn(Objection{"maybe rain", fmt.Sprintf("%s in 100 that it rains %s later", number(chance), count(at, "hour", "hours")), chance, j.l.MaybeRain, "%", j.u.drySrc})
	}
}

// drying judges how fast drops dry, by delta-T: air temperature less wet bulb.
func (j *sprayJudge) drying(h *SprayHour, i int) {
	temp, rh := j.q.Series.Value(weather.Temp, i), j.q.Series.Value(weather.RH, i)
	d := weather.DeltaT(temp, rh, j.pressure)
	if math.IsNaN(d) {
		if !math.IsNaN(temp) {
			h.missing("humidity")
		}
		return
	}
	if j.u.kind == garden.KindOil && rh > 90 {
		h.no(Objection{"damp", fmt.Sprintf("too damp for an oil: %s %% humidity, more than 90", number(rh)), rh, 90, "%", oilDampSource})
	}
	o := Objection{Code: "delta-T", Value: d, Unit: "C", Source: deltaTSource}
	switch {
	case d > j.l.MaxDeltaT:
		o.Limit, o.Text = j.l.MaxDeltaT, fmt.Sprintf("delta-T %s C, more than %s: drops dry before they land", number(d), number(j.l.MaxDeltaT))
		h.no(o)
	case d > j.l.HighDeltaT:
		o.Limit, o.Text = j.l.HighDeltaT, fmt.Sprintf("delta-T %s C: drops dry fast, use coarser ones", number(d))
		h.warn(o)
	case d < j.l.LowDeltaT && j.u.kind == garden.KindCopper:
		o.Limit, o.Text, o.Source = j.l.LowDeltaT, fmt.Sprintf("delta-T %s C: it dries too slowly for copper, which then burns", number(d)), copperSource
		h.no(o)
	case d < j.l.LowDeltaT:
		o.Limit, o.Text = j.l.LowDeltaT, fmt.Sprintf("delta-T %s C: it dries slowly", number(d))
		h.warn(o)
	}
}

// bees keeps the day to them while anything blooms. The label's own words come
// first.
func (j *sprayJudge) bees(h *SprayHour) {
	if j.q.Bloom != garden.OpenBloom {
		return
	}
	rule := garden.BeeRule("")
	if j.q.Material != nil {
		rule = j.q.Material.Bees
	}
	switch {
	case rule == garden.BeesNotBloom:
		h.no(Objection{Code: "bees", Text: "flowers are open, and your label forbids it: wait until bloom is over or take another material", Source: labelSource})
	case !h.Evening:
		h.no(Objection{Code: "bees", Text: "flowers are open and bees at work", Source: beeSource})
	default:
		h.warn(Objection{Code: "bees", Text: "flowers are open: keep off them, start no earlier than 1 hour before sunset", Source: beeSource})
	}
}

// kmh writes a wind for a grower; the number in m/s stands beside it.
func kmh(ms float64) string { return number(math.Round(ms*3.6)) + " km/h" }
