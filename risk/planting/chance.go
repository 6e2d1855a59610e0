package planting

import (
	"slices"

	"plotwarden/civil"
)

// Half is the half of a season that chances are asked for.
type Half uint8

// The halves.
const (
	LastOfSpring Half = iota
	FirstOfAutumn
)

// Chances is when the last frost of spring, or the first of autumn, came in past
// seasons. Shares are of the seasons themselves, without smoothing: with few of
// them they are coarse, and Seasons says how few.
type Chances struct {
	Half    Half
	Seasons int // seasons known well enough to count
	NoFrost int // of them, those without a frost in this half
	start   civil.MonthDay
	on      []int // days from the season's start of those with one, sorted
}

// FewSeasons is the number of seasons below which shares are called rough.
const FewSeasons = 10

// Rough says that fewer than FewSeasons seasons stand behind the shares.
func (c Chances) Rough() bool { return c.Seasons < FewSeasons }

// FrostChances gathers one half of past seasons, leaving out those of which too
// many days are missing. Days are compared by month and day, so a leap year
// shifts nothing; 29 February counts as 1 March.
func FrostChances(seasons []Season, half Half, latitude float64) Chances {
	c := Chances{Half: half, start: seasonStart(latitude)}
	for _, s := range seasons {
		known, date := s.Spring, s.LastSpring
		if half == FirstOfAutumn {
			known, date = s.Autumn, s.FirstAutumn
		}
		switch {
		case !known:
		case date.IsZero():
			c.Seasons++
			c.NoFrost++
		default:
			c.Seasons++
			_, m, d := date.YMD()
			c.on = append(c.on, c.dayOf(civil.MonthDay{Month: m, Day: d}))
		}
	}
	slices.Sort(c.on)
	return c
}

// referenceYear and the year after it have no 29 February.
const referenceYear = 2001

func (c Chances) dayOf(m civil.MonthDay) int {
	start := c.start.In(referenceYear)
	d := m.In(referenceYear)
	if d < start {
		d = m.In(referenceYear + 1)
	}
	return d.Sub(start)
}

func (c Chances) monthDay(day int) civil.MonthDay {
	_, m, d := c.start.In(referenceYear).AddDays(day).YMD()
	return civil.MonthDay{Month: m, Day: d}
}

// By returns the first day by which the frost had come in at least share, 0 to
// 1, of the seasons: for the last of spring the day after which the rest of them
// is the risk, for the first of autumn the day by which that many had frost. It
// is false when no season counts, and when seasons without frost settle it: in
// spring so many had none that no day is needed, in autumn too few had any.
func (c Chances) By(share float64) (civil.MonthDay, bool) {
	before := 0
	if c.Half == LastOfSpring {
		before = c.NoFrost
	}
	for i, day := range c.on {
		// The slack keeps 0.9 of 10 seasons at 9 and not 10.
		if float64(before+i+1) >= share*float64(c.Seasons)-1e-9 && float64(before) < share*float64(c.Seasons)-1e-9 {
			return c.monthDay(day), true
		}
	}
	return civil.MonthDay{}, false
}

// Risk returns the share of seasons, 0 to 1, in which a plant set out on a day
// met a frost still to come that spring (the day's own night included), or in
// which frost had come by the day in autumn. It is false when no season counts.
func (c Chances) Risk(on civil.MonthDay) (float64, bool) {
	if c.Seasons == 0 {
		return 0, false
	}
	day, n := c.dayOf(on), 0
	for _, d := range c.on {
		if c.Half == LastOfSpring && d >= day || c.Half == FirstOfAutumn && d <= day {
			n++
		}
	}
	return float64(n) / float64(c.Seasons), true
}
