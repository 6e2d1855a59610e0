package weather

import (
	"math"
	"time"

	"plotwarden/civil"
)

// HoursFromDays makes hours out of daily records at lat, lon (degrees north and
// east), one local calendar day of loc after another, with o as the origin of
// every value. It is for history that exists by days only; nothing made here is
// an observation, and o should say so with Kind Modelled.
//
//   - Temperature follows the curve of Parton & Logan (1981), see diurnal.go. The
//     hours of a day keep within its extremes and reach both.
//   - Humidity and dew point hold one vapour pressure through the day, that of
//     the day's minimum, or of 2.5 C below it on a day without rain; see
//     dewPointOfDay. At the hours of a front it is wrong.
//   - Rain falls in one block, see rainHours; hours without are 0.
//   - Wind is the day's mean in every hour.
//
// A value that a day lacks is missing in its hours; so is every hour of a day
// that is not among days. Days may come in any order; of two records of one date
// the later one in the slice counts. A minimum above the maximum is no extreme.
func HoursFromDays(days []Day, lat, lon float64, loc *time.Location, o Origin) *Series {
	known := make(map[civil.Date]Day, len(days))
	var first, last civil.Date
	for i, d := range days {
		known[d.Date] = d
		if i == 0 {
			first, last = d.Date, d.Date
		}
		first, last = min(first, d.Date), max(last, d.Date)
	}
	if len(days) == 0 {
		return NewSeries(time.Unix(0, 0), 0)
	}
	start := hourAfter(first, loc)
	s := NewSeries(start, int(hourAfter(last.AddDays(1), loc).Sub(start).Hours()))
	handle, err := s.AddOrigin(o)
	if err != nil { // a new series has room
		panic(err)
	}
	for date := first; date <= last; date++ {
		if d, ok := known[date]; ok {
			from, to := s.Index(hourAfter(date, loc)), s.Index(hourAfter(date.AddDays(1), loc))
			s.fillDay(d, known, lat, lon, from, to, handle)
		}
	}
	return s
}

// hourAfter returns the first whole UTC hour of a local day.
func hourAfter(date civil.Date, loc *time.Location) time.Time {
	return date.Start(loc).Add(59*time.Minute + 59*time.Second).Truncate(time.Hour)
}

func (s *Series) fillDay(d Day, known map[civil.Date]Day, lat, lon float64, from, to int, handle uint8) {
	if to <= from {
		return
	}
	if d.hasExtremes() {
		dew := dewPointOfDay(d)
		for i, t := range temperatures(d, known, lat, lon, s.Time(from), to-from) {
			s.Set(Temp, from+i, t, handle)
			s.Set(DewPoint, from+i, dew, handle)
			s.Set(RH, from+i, math.Min(100, RelHumidity(t, dew)), handle)
		}
	}
	if d.Rain >= 0 {
		for i, r := range rainHours(d.Rain, d.Date, to-from) {
			s.Set(Rain, from+i, r, handle)
		}
	}
	for i := from; i < to; i++ {
		s.Set(Wind, i, d.Wind, handle)
	}
}
