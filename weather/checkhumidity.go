package weather

import (
	"fmt"
	"math"
)

// humidity rejects dew points above the temperature, and humidity and dew point
// where they contradict each other: which of the two is wrong cannot be known.
func (c *checker) humidity() {
	for i := range c.s.cols[DewPoint] {
		t, dew, rh := c.s.Value(Temp, i), c.s.cols[DewPoint][i], c.s.Value(RH, i)
		if math.IsNaN(t) || math.IsNaN(dew) || !c.together(Temp, DewPoint, i) {
			continue
		}
		if lim := c.limits.DewAbove; dew > t+lim.Value {
			c.reject(DewPoint, i, FaultHumidity, fmt.Sprintf("dew point %s C above the temperature, the limit is %s (%s)", num(dew-t), num(lim.Value), lim.Source))
			continue
		}
		lim := c.limits.Humidity
		// Below freezing services mean humidity over water, RelHumidity over ice.
		if t <= 0 || math.IsNaN(rh) || !c.together(RH, DewPoint, i) {
			continue
		}
		if off := math.Abs(RelHumidity(t, math.Min(dew, t)) - rh); off > lim.Value {
			reason := fmt.Sprintf("humidity %s %% and dew point %s C at %s C disagree by %s points, the limit is %s (%s)", num(rh), num(dew), num(t), num(off), num(lim.Value), lim.Source)
			c.reject(RH, i, FaultHumidity, reason)
			c.reject(DewPoint, i, FaultHumidity, reason)
		}
	}
}

// together says whether a and b at hour i are of one source.
func (c *checker) together(a, b Var, i int) bool {
	x, y := c.s.prov[a][i], c.s.prov[b][i]
	return x != 0 && y != 0 && c.source[x-1] == c.source[y-1]
}
