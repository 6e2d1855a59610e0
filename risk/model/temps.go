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
	mean    []float64 // of the known hours; NaN when too few
	missing []uint8   // hours of the day that are unknown; hours beyond the end of the series are not
}

func (sn *Season) daysOf(m Medium) *days {
	c := part(sn, sn.days, m, func() *days { return &days{} })
	from := sn.firstDay(Calendar, c.take(sn))
	if from == fresh {
		return c
	}
	n := sn.count(Calendar)
	c.d, c.mean, c.missing = grow(c.d, n), grow(c.mean, n), grow(c.missing, n)
	if sn.w == nil {
		c.copyDays(sn.src, m, from)
		return c
	}
	v := weather.Temp
	if m == Soil {
		v = weather.Soil
	}
	col, rain := sn.w.Column(v), sn.w.Column(weather.Rain)
	ws := sn.window(Calendar)
	for i := from; i < n; i++ {
		a, z, before := inside(ws[i], sn.w.Len())
		d := weather.Day{Date: ws[i].Date, Min: math.NaN(), Max: math.NaN(), Rain: math.NaN(), Soil: math.NaN()}
		c.mean[i] = math.NaN()
		if col != nil {
			lo, hi, sum, known := extremes(col[a:z])
			if d.Hours = known; known >= weather.MinHours {
				d.Min, d.Max, c.mean[i] = lo, hi, sum/float64(known)
			}
		}
		if rain != nil && m != Soil {
			if sum, known := sumKnown(rain[a:z]); known >= weather.MinHours {
				d.Rain = sum
			}
		}
		c.d[i] = d
		c.missing[i] = uint8(z - a + before - d.Hours)
	}
	return c
}

func extremes(xs []float64) (lo, hi, sum float64, known int) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, x := range xs {
		if x != x {
			continue
		}
		if x < lo {
			lo = x
		}
		if x > hi {
			hi = x
		}
		sum += x
		known++
	}
	return lo, hi, sum, known
}

func sumKnown(xs []float64) (sum float64, known int) {
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
		c.mean[i], c.missing[i] = (d.Min+d.Max)/2, 0
		if c.mean[i] != c.mean[i] {
			d.Min, d.Max = math.NaN(), math.NaN()
			c.missing[i] = 24
		}
		c.d[i] = d
	}
}

// tail says whether the series ends within day i, so that the day is not over.
func (sn *Season) tail(kind DayKind, i int) bool {
	if sn.w == nil {
		return false
	}
	return sn.window(kind)[i].To > sn.w.Len()
}
