package weather

import "fmt"

const (
	humidityRoundOff = 104 // %
	radiationOffset  = -20 // W/m2
)

// ranges rejects what lies outside its range.
func (c *checker) ranges() {
	for v := range NumVars {
		lim := c.limits.Range[v]
		for i, x := range c.s.cols[v] {
			if c.s.prov[v][i] == 0 || x >= lim.Low && x <= lim.High {
				continue
			}
			if v == RH && x > 100 && x <= humidityRoundOff {
				c.s.cols[v][i] = 100
				continue
			}
			if v == Solar && x < 0 && x >= radiationOffset {
				c.s.cols[v][i] = 0
				continue
			}
			reason := fmt.Sprintf("outside %s to %s %s (%s)", num(lim.Low), num(lim.High), v.Unit(), lim.Source)
			if (v == Temp || v == DewPoint) && x > kelvin-90 && x < kelvin+60 {
				reason += "; reads like kelvin"
			}
			c.reject(v, i, FaultRange, reason)
		}
	}
}

// hotDays rejects all temperatures of a source that stays, twice for 24 hours
// running, above the warmest day on record: Fahrenheit read as Celsius. The cool
// half of such a year looks possible, so the whole source goes.
func (c *checker) hotDays() {
	lim := c.limits.HotDays
	col := c.s.cols[Temp]
	if col == nil || lim.Value <= 0 {
		return
	}
	var days [MaxOrigins + 1]int
	hot, last := 0, -1
	for i, x := range col {
		p := c.s.prov[Temp][i]
		if p == 0 || !(x > lim.Value) || x > kelvin-90 {
			hot = 0
			continue
		}
		if hot > 0 && !c.sameSource(Temp, last, i) {
			hot = 0
		}
		hot, last = hot+1, i
		if hot%24 == 0 {
			days[c.source[p-1]]++
		}
	}
	reason := fmt.Sprintf("reads like Fahrenheit taken as Celsius: this source stays above %s C day and night (%s)", num(lim.Value), lim.Source)
	for _, v := range []Var{Temp, DewPoint, Soil} {
		for i, p := range c.s.prov[v] {
			if p != 0 && days[c.source[p-1]] >= 2 {
				c.reject(v, i, FaultUnit, reason)
			}
		}
	}
}
