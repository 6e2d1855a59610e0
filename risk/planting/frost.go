package planting

import (
	"math"

	"plotwarden/civil"
	"plotwarden/weather"
)

// Frost is the air temperature, C, at or below which a night counts as frost
// unless the caller says otherwise. Air at 2 m: on a clear calm night the ground
// is colder, so tender plants can be hurt with 2 C on the record (common
// practice). 28 F, -2.2 C, is the usual limit of a killing frost (from memory).
const Frost = 0.0

// MaxMissing is how many days of a half-season may be missing before what it
// says of frost no longer counts: any of them could have hidden the frost.
const MaxMissing = 5

// halfSeason is the day of the season, from 0, on which its autumn begins: 19
// or 20 July in the north. Frosts before it belong to spring.
const halfSeason = 200

// Season is the frosts of one season, which runs from 1 January in the north
// and from 1 July in the south.
type Season struct {
	Start civil.Date
	// LastSpring and FirstAutumn are zero when there was no frost.
	LastSpring  civil.Date
	FirstAutumn civil.Date
	// Spring and Autumn say whether that half of the season is known well
	// enough to count.
	Spring, Autumn bool
}

func seasonStart(latitude float64) civil.MonthDay {
	if latitude < 0 {
		return civil.MonthDay{Month: 7, Day: 1}
	}
	return civil.MonthDay{Month: 1, Day: 1}
}

// Seasons finds the frosts of each season that days touch. days must be in
// order of date; limit is the temperature, C, at or below which a minimum is
// frost.
func Seasons(days []weather.Day, limit, latitude float64) []Season {
	if len(days) == 0 {
		return nil
	}
	md := seasonStart(latitude)
	var out []Season
	i := 0
	for start := md.OnOrBefore(days[0].Date); start <= days[len(days)-1].Date; {
		end := md.In(start.Year() + 1)
		s := Season{Start: start}
		known := [2]int{}
		for ; i < len(days) && days[i].Date < end; i++ {
			d := &days[i]
			if math.IsNaN(d.Min) {
				continue
			}
			if d.Date < start+halfSeason {
				known[0]++
				if d.Min <= limit {
					s.LastSpring = d.Date
				}
				continue
			}
			known[1]++
			if d.Min <= limit && s.FirstAutumn.IsZero() {
				s.FirstAutumn = d.Date
			}
		}
		s.Spring = halfSeason-known[0] <= MaxMissing
		s.Autumn = end.Sub(start)-halfSeason-known[1] <= MaxMissing
		out = append(out, s)
		start = end
	}
	return out
}

// ColdNights returns the days from from on whose minimum is at or below limit.
func ColdNights(days []weather.Day, from civil.Date, limit float64) []civil.Date {
	var out []civil.Date
	for _, d := range days {
		if d.Date >= from && d.Min <= limit {
			out = append(out, d.Date)
		}
	}
	return out
}
