package weather

import (
	"math"
	"time"

	"plotwarden/civil"
)

const (
	brightDay  = 0.5 // of the brightest day of the stretch
	brightDays = 8   // needed in a stretch
)

// clockAgainstSun finds stretches in which the middle of the day's radiation
// lies off solar noon. On bright days morning and afternoon weigh alike within
// half an hour, so an hour off is sure.
func clockAgainstSun(s *Series, lat, lon float64) []Doubt {
	if s.Column(Solar) == nil {
		return nil
	}
	cuts := stretches(s.Len())
	keys := make([]int, len(cuts))
	for k, c := range cuts {
		off := median(radiationOffsets(s, lat, lon, s.Time(c[0]), s.Time(c[1])))
		if math.Abs(off) >= leastLag {
			keys[k] = int(math.Round(off))
		}
	}
	var out []Doubt
	runs(keys, func(first, last, lag int) {
		out = append(out, Doubt{
			Fault: FaultClock, Vars: everyVar, Late: time.Duration(lag) * time.Hour, Sure: true,
			From: s.Time(cuts[first][0]), To: s.Time(cuts[last][1]),
			Reason: "the day's radiation peaks " + lateness(float64(lag)) + " than the sun stands highest; check the clock and the zone of the station",
		})
	})
	return out
}

// radiationOffsets returns, for the bright days between two times, by how many
// hours the middle of the radiation lies past solar noon; nothing when the
// bright days are few. The middle is that of a circle of 24 hours, so that a
// large error does not cut the day in two.
func radiationOffsets(s *Series, lat, lon float64, from, to time.Time) []float64 {
	type day struct{ total, off float64 }
	var days []day
	brightest := 0.0
	for date := civil.Of(from, time.UTC); date <= civil.Of(to, time.UTC); date++ {
		sun := Sun(date, lat, lon)
		first := s.Index(sun.Noon) - 11
		if s.Time(first).Before(from) || s.Time(first+24).After(to) || sun.PolarNight {
			continue
		}
		var total, sin, cos float64
		for i := first; i < first+24; i++ {
			angle := s.Time(i).Add(30*time.Minute).Sub(sun.Noon).Hours() / 24 * 2 * math.Pi
			x := math.Max(0, s.Value(Solar, i)) // NaN stays
			total, sin, cos = total+x, sin+x*math.Sin(angle), cos+x*math.Cos(angle)
		}
		if total > 0 {
			days = append(days, day{total, math.Atan2(sin, cos) / (2 * math.Pi) * 24})
			brightest = math.Max(brightest, total)
		}
	}
	var out []float64
	for _, d := range days {
		if d.total >= brightDay*brightest {
			out = append(out, d.off)
		}
	}
	if len(out) < brightDays {
		return nil
	}
	return out
}
