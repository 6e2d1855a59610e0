package replay

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"plotwarden/civil"
	"plotwarden/risk/outlook"
	"plotwarden/weather"
)

// usualDays is how many days of the year to both sides of a day say with it what
// is usual then, and leastUsual how many values it takes.
const (
	usualDays  = 10
	leastUsual = 20
)

// usual is what other years of a record say is usual, by the day.
type usual struct {
	first    civil.Date // of the means
	temp, rh []float64
	skip     civil.Date // first day of the season that is replayed
}

// usualOf reads a whole record; the season from a day on is left out.
func usualOf(r *Record, season civil.Date) *usual {
	u := &usual{skip: season}
	if r.Hours != nil {
		u.first, _, _ = r.span()
		from := r.Hours.Index(u.first.Start(r.zone()))
		u.temp, u.rh = outlook.DailyMeans(r.Hours, weather.Temp, from), outlook.DailyMeans(r.Hours, weather.RH, from)
		return u
	}
	u.first = r.Days[0].Date
	for _, d := range r.Days {
		u.temp = append(u.temp, (d.Min+d.Max)/2)
	}
	return u
}

// at returns what is usual on the days of a forecast; empty where too few other
// years are known.
func (u *usual) at(d civil.Date, days int) outlook.Usual {
	return outlook.Usual{Temp: u.spreads(u.temp, d, days), RH: u.spreads(u.rh, d, days)}
}

func (u *usual) spreads(means []float64, d civil.Date, days int) []outlook.Spread {
	var out []outlook.Spread
	last := u.first.AddDays(len(means) - 1)
	for k := range days {
		_, month, day := d.AddDays(k).YMD()
		var all []float64
		for y := u.first.Year(); y <= last.Year(); y++ {
			middle := civil.New(y, month, day)
			for x := middle - usualDays; x <= middle+usualDays; x++ {
				i := x.Sub(u.first)
				if i < 0 || i >= len(means) || x > u.skip-60 && x < u.skip+365 || math.IsNaN(means[i]) {
					continue
				}
				all = append(all, means[i])
			}
		}
		if len(all) < leastUsual {
			return out
		}
		m, sd := stat.MeanStdDev(all, nil)
		out = append(out, outlook.Spread{Mean: m, SD: sd})
	}
	return out
}
