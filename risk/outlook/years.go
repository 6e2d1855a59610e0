package outlook

import (
	"strconv"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Years makes a member of each past track: what the rule did, from the same day
// of the year on as the one after the current track's end. The past tracks are
// runs of the same rule on past weather, from a start early enough to have that
// day and long enough to go on from it. Tracks that do not hold the day are left
// out; 29 February takes the place of 1 March.
func Years(current *risk.Track, past []*risk.Track) []Member {
	if len(current.Points) == 0 {
		return nil
	}
	next := current.Points[len(current.Points)-1].Date.AddDays(1)
	var out []Member
	for _, t := range past {
		if len(t.Points) == 0 {
			continue
		}
		_, m, d := next.YMD()
		for year := t.Start.Year(); year <= t.Points[len(t.Points)-1].Date.Year(); year++ {
			at := civil.New(year, m, d)
			if at >= next.AddDays(-330) {
				continue // this season is not its own past
			}
			if mem, ok := from(t, at); ok {
				mem.Name = strconv.Itoa(year)
				out = append(out, mem)
			}
		}
	}
	return out
}

// minDays is how far past weather must go on to say anything.
const minDays = 28

func from(t *risk.Track, at civil.Date) (Member, bool) {
	i := at.Sub(t.Start)
	if i < 0 || i+minDays > len(t.Points) {
		return Member{}, false
	}
	points := t.Points[i:]
	if len(points) > Horizon {
		points = points[:Horizon]
	}
	m := Member{Values: make([]float64, len(points)), Infections: make([]bool, len(points))}
	for j, p := range points {
		m.Values[j] = p.Value
	}
	for _, e := range t.Events {
		if e.Kind != risk.Infection {
			continue
		}
		if j := e.Date.Sub(at); j >= 0 && j < len(points) {
			m.Infections[j] = true
		}
	}
	return m, true
}
