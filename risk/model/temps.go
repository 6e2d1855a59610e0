package model

import (
	"math"

	"plotwarden/weather"
)

// days are the daily extremes of the calendar days, in air or soil. Min and Max
// are NaN when fewer than weather.MinHours hours are known.
type days struct {
	marks
	d       []weather.Day
	missing []uint8 // hours of the day that are unknown; hours beyond the end of the series are not
}

func (sn *Season) daysOf(m Medium) *days {
	c := &sn.days[one(m == Soil)]
	from := sn.firstDay(Calendar, c.take(sn))
	if from == fresh {
		return c
	}
	n := sn.count(Calendar)
	c.d, c.missing = grow(c.d, n), grow(c.missing, n)
	if sn.w == nil {
		c.copyDays(sn.src, m, from)
		return c
	}
	v := weather.Temp
	if m == Soil {
		v = weather.Soil
	}
	col := sn.w.Column(v)
	ws := sn.window(Calendar)
	for i := from; i < n; i++ {
		a, z, before := inside(ws[i], sn.w.Len())
		d := weather.Day{Date: ws[i].Date, Min: math.NaN(), Max: math.NaN(), Rain: math.NaN(), Soil: math.NaN()}
		if col != nil {
			lo, hi, known := extremes(col[a:z])
			if d.Hours = known; known >= weather.MinHours {
				d.Min, d.Max = lo, hi
			}
		}
		c.d[i] = d
		c.missing[i] = uint8(z - a + before - d.Hours)
	}
	return c
}

// whole says whether all hours of a day of an hourly season are in it and known.
func (c *days) whole(i int) bool { return c.missing[i] == 0 && c.d[i].Hours >= 23 }

func extremes(xs []float64) (low, high float64, known int) {
	lo, hi, all := math.Inf(1), math.Inf(-1), 0.0
	for _, x := range xs {
		all += x
		if x < lo {
			lo = x
		}
		if x > hi {
			hi = x
		}
	}
	if all == all { // none is NaN; one that is compares false
		return lo, hi, len(xs)
	}
	_, known = sumKnown(xs)
	return lo, hi, known
}

func sumKnown(xs []float64) (sum float64, known int) {
	for _, x := range xs {
		sum += x
	}
	if sum == sum {
		return sum, len(xs)
	}
	sum = 0
	for _, x := range xs {
		if x == x {
			sum += x
			known++
		}
	}
	return sum, known
}

// copyDays takes daily records as they are. Of the soil they have only the mean,
// which stands for both extremes.
func (c *days) copyDays(src []weather.Day, m Medium, from int) {
	for i := from; i < len(src); i++ {
		d := src[i]
		if m == Soil {
			d.Min, d.Max = d.Soil, d.Soil
		}
		c.missing[i] = 0
		if span := d.Max - d.Min; span != span {
			d.Min, d.Max = math.NaN(), math.NaN()
			c.missing[i] = 24
		}
		c.d[i] = d
	}
}

// rains are the rain sums of the calendar days, mm, NaN when fewer than
// weather.MinHours hours are known.
type rains struct {
	marks
	mm      []float64
	missing []uint8 // as of days
}

func (sn *Season) rain() *rains {
	c := &sn.rains
	from := sn.firstDay(Calendar, c.take(sn))
	if from == fresh {
		return c
	}
	n := sn.count(Calendar)
	c.mm, c.missing = grow(c.mm, n), grow(c.missing, n)
	if sn.w == nil {
		for i := from; i < n; i++ {
			c.mm[i], c.missing[i] = sn.src[i].Rain, 24*one(math.IsNaN(sn.src[i].Rain))
		}
		return c
	}
	col, ws := sn.w.Column(weather.Rain), sn.window(Calendar)
	for i := from; i < n; i++ {
		a, z, before := inside(ws[i], sn.w.Len())
		known := 0
		if c.mm[i] = math.NaN(); col != nil {
			var sum float64
			if sum, known = sumKnown(col[a:z]); known >= weather.MinHours {
				c.mm[i] = sum
			}
		}
		c.missing[i] = uint8(z - a + before - known)
	}
	return c
}
