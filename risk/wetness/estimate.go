package wetness

import (
	"fmt"
	"math"

	"plotwarden/garden"
	"plotwarden/weather"
)

// Estimate returns the state of each hour of s. irrigated lists hours, as
// indices into s in any order, in which water fell on the leaves from above;
// those outside s are ignored. The result uses out's memory where it is large
// enough. Estimate panics when the rule does not pass Validate.
func (r Rule) Estimate(s *weather.Series, cover garden.Cover, irrigated []int, out []State) []State {
	if cap(out) < s.Len() {
		out = make([]State, s.Len())
	}
	out = out[:s.Len()]
	r.estimate(s, cover, irrigated, out, 0)
	return out
}

// Update computes again the hours from index from on, after those hours of s
// changed or were added; states holds the earlier estimate of the same rule,
// cover and series, of which hours before from are kept. Its cost grows with
// the hours from there on.
func (r Rule) Update(s *weather.Series, cover garden.Cover, irrigated []int, states []State, from int) []State {
	from = max(0, min(from, len(states), s.Len()))
	for len(states) < s.Len() {
		states = append(states, Unknown)
	}
	states = states[:s.Len()]
	r.estimate(s, cover, irrigated, states, from)
	return states
}

func (r Rule) estimate(s *weather.Series, cover garden.Cover, irrigated []int, out []State, from int) {
	if err := r.Validate(); err != nil {
		panic(fmt.Sprintf("wetness: %v", err))
	}
	j := newJudge(r.Defaults(), s, cover)
	clear(out[from:])
	for _, i := range irrigated {
		if i >= from && i < len(out) {
			out[i] = Wet
		}
	}
	last := Unknown
	if from > 0 {
		last = out[from-1]
	}
	rain, trace, rained := s.Column(weather.Rain), r.Trace, cover != garden.Tunnel
	if j.kind == byHumidity && j.rh != nil && (rain != nil || !rained) {
		j.humidHours(rain, trace, rained, out, from)
		return
	}
	for i := from; i < len(out); i++ {
		if out[i] != Wet {
			mm := 0.0
			if rained {
				mm = at(rain, i)
			}
			if mm > trace {
				out[i] = Wet
			} else if st := j.hour(i, last); mm == mm || st == Wet {
				// Without its rain an hour can be shown to be wet, never to be dry.
				out[i] = st
			}
		}
		last = out[i]
	}
}

// humidHours is estimate's loop for the humidity threshold, which most models
// use and which needs no memory of the hour before.
func (j *judge) humidHours(rain []float64, trace float64, rained bool, out []State, from int) {
	limit, rh := j.r.Threshold, j.rh[from:len(out)]
	out = out[from:][:len(rh)]
	all := 0.0
	if rained {
		rain = rain[from:][:len(rh)]
		for i, h := range rh {
			mm := rain[i]
			all += h
			wet, dry := one(h >= limit)|one(mm > trace), one(h < limit)&one(mm <= trace)
			// Unknown, Dry and Wet are 0, 1 and 2; 2 stays for irrigated hours.
			out[i] = State(max(uint8(out[i]), 2*wet+dry))
		}
	} else {
		for i, h := range rh {
			all += h
			out[i] = State(max(uint8(out[i]), 2*one(h >= limit)+one(h < limit)))
		}
	}
	if all == all {
		return
	}
	for i, h := range rh {
		if h != h && out[i] == Unknown { // it may be known by the dew point
			h = j.humidity(from + i)
			switch {
			case h >= limit:
				out[i] = Wet
			case h < limit && (!rained || rain[i] <= trace):
				out[i] = Dry
			}
		}
	}
}

// one is 1 for true, without a branch.
func one(b bool) uint8 {
	var n uint8
	if b {
		n = 1
	}
	return n
}

// judge says of an hour without rain or irrigation whether leaves are wet.
type judge struct {
	kind                   kind
	r                      Rule
	temp, rh, dew, wind, w []float64 // nil when missing
	toTree                 float64   // factor from the measured wind to that at 0.3 m
	far                    float64   // dew-point depression, C, from which leaves are dry
	damp                   float64   // humidity, %, below which the depression is beyond far at any temperature from coldest up
}

// kind is a method resolved for the loop over hours.
type kind uint8

const (
	byHumidity kind = iota
	byDepression
	byExtended
	byTree
	bySensor
)

var kinds = map[Method]kind{Humidity: byHumidity, DewPointDepression: byDepression, ExtendedHumidity: byExtended, Tree: byTree, Measured: bySensor}

const coldest = -60.0 // C

func newJudge(r Rule, s *weather.Series, cover garden.Cover) judge {
	j := judge{
		r: r, kind: kinds[r.Method],
		temp: s.Column(weather.Temp), rh: s.Column(weather.RH), dew: s.Column(weather.DewPoint),
		wind: s.Column(weather.Wind), w: s.Column(weather.Wetness),
		toTree: WindAt(1, r.WindHeight, TreeWindHeight),
	}
	if j.kind == byTree && (cover == garden.Tunnel || cover == garden.RowCover) {
		j.kind = byHumidity
	}
	j.far = r.DryOff
	if j.kind == byTree {
		j.far = treeDry
	}
	// The ratio of saturation pressures a fixed distance apart rises with
	// temperature, so the coldest gives a bound for all.
	j.damp = 100 * weather.SatVapourPressure(coldest-j.far) / weather.SatVapourPressure(coldest)
	return j
}

func at(col []float64, i int) float64 {
	if col == nil {
		return math.NaN()
	}
	return col[i]
}

// humidity returns the hour's relative humidity, from the dew point if need be.
func (j *judge) humidity(i int) float64 {
	if h := at(j.rh, i); h == h || j.dew == nil || j.temp == nil {
		return h
	}
	return weather.RelHumidity(j.temp[i], j.dew[i])
}

// depression returns the hour's dew-point depression, from the humidity where
// the dew point is missing or impossible, and NaN when unknown. Where it is surely j.far or more it may return any
// such value.
func (j *judge) depression(i int) float64 {
	t := at(j.temp, i)
	if d := t - at(j.dew, i); d >= -weather.DewSlack {
		return d
	}
	h := at(j.rh, i)
	if h < j.damp && t >= coldest {
		return math.Inf(1)
	}
	return dewDistance(t, h)
}

// dewDistance returns t minus the dew point, C, of air at t degrees Celsius and
// a relative humidity of h per cent. Where the dew point is above freezing it
// uses the Magnus form with the constants of Alduchov & Eskridge 1996 (from
// memory), many times faster than weather.DewPointFromRH and, up to 45 C and for
// the depressions below 5 C that decide here, within 0.02 C of it. Elsewhere it
// is that function.
func dewDistance(t, h float64) float64 {
	const a, b = 17.625, 243.04
	if h > 0 && h <= 100 && t > 0 && t <= 45 {
		g := math.Log(h/100) + a*t/(b+t)
		if dew := b * g / (a - g); dew > 0.01 {
			return t - dew
		}
	}
	return t - weather.DewPointFromRH(t, h)
}

func (j *judge) hour(i int, last State) State {
	switch j.kind {
	case byHumidity:
		return atLeast(j.humidity(i), j.r.Threshold)
	case bySensor:
		return atLeast(at(j.w, i), j.r.Share)
	case byTree:
		t := at(j.temp, i)
		if t < 0 {
			return Dry // whatever the rest is: see treeState
		}
		dpd := j.depression(i)
		if dpd >= treeDry {
			return Dry
		}
		return treeState(t, dpd, j.humidity(i), at(j.wind, i)*j.toTree)
	case byDepression:
		switch d := j.depression(i); {
		case d < j.r.Onset:
			return Wet
		case d > j.r.DryOff:
			return Dry
		case d == d:
			return last
		}
	case byExtended:
		return j.extended(i, last)
	}
	return Unknown
}

func (j *judge) extended(i int, last State) State {
	h := j.humidity(i)
	switch {
	case h >= j.r.WetFrom:
		return Wet
	case h < j.r.DryBelow:
		return Dry
	case h != h || i == 0:
		return Unknown
	}
	switch change := h - j.humidity(i-1); {
	case change > j.r.Rise:
		return Wet
	case -change > j.r.Fall:
		return Dry
	case change == change:
		return last
	}
	return Unknown
}

func atLeast(v, limit float64) State {
	switch {
	case v >= limit:
		return Wet
	case v < limit:
		return Dry
	}
	return Unknown
}
