package service

import (
	"context"
	"fmt"
	"math"
	"slices"

	"plotwarden/garden"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// How far an answer's account of hours past may lie from the same source's earlier
// account of them. Analyses are revised by a degree or two; fifteen, in the middle of
// two days and more, is another unit or another place. common practice
const (
	leapLimit = 15.0 // C
	leapHours = 48
)

// credible says why nothing of an answer may be kept, though each of its values alone
// may be: that the checks took out most temperatures, or that its temperatures of hours
// past are not those that it gave before. got is the answer and clean what the checks
// left. Where the earlier account was the wrong one, the right one is refused until the
// hours that both tell of have gone by, some days; what is known ages meanwhile, in
// sight.
func (s *Service) credible(ctx context.Context, site *garden.Site, name string, got, clean *weather.Series, rejects []weather.Reject) error {
	if all, left := known(got), known(clean); all > 0 && left < all/2 {
		i := slices.IndexFunc(rejects, func(r weather.Reject) bool { return r.Var == weather.Temp })
		c := source.BadValue
		if rejects[i].Fault == weather.FaultUnit {
			c = source.WrongUnit
		}
		return source.Errorf(name, c, "%d of %d temperatures cannot be: %s. Nothing of the answer is used", all-left, all, rejects[i].Reason)
	}
	before, err := s.o.Store.LoadWeather(ctx, site.ID, clean.Start(), clean.End())
	if err != nil {
		return fmt.Errorf("load weather: %w", err)
	}
	var off []float64
	for i := range clean.Len() {
		o, ok := clean.OriginAt(weather.Temp, i)
		p, had := before.OriginAt(weather.Temp, i)
		if ok && had && o.Kind == weather.Analysis && p.Kind == weather.Analysis && p.Source == name {
			off = append(off, clean.Value(weather.Temp, i)-before.Value(weather.Temp, i))
		}
	}
	if len(off) < leapHours {
		return nil
	}
	slices.Sort(off)
	if m := off[len(off)/2]; math.Abs(m) > leapLimit {
		return source.Errorf(name, source.WrongUnit, "its temperatures of %d hours past lie %.0f C from those that it gave before: another unit, or another place. Nothing of the answer is used", len(off), m)
	}
	return nil
}

// known counts the hours with a temperature.
func known(s *weather.Series) int {
	n := 0
	for _, x := range s.Column(weather.Temp) {
		if !math.IsNaN(x) {
			n++
		}
	}
	return n
}
