package season

import (
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
)

// The last sowing is the first frost less the days to maturity less one to two
// weeks for short days: frost and maturity confirmed, the slack from memory.
const (
	leastSlack = 7
	mostSlack  = 14
)

var lastSowSource = risk.Source{Text: "first frost less days to maturity (the seed packet's), less one to two weeks for short days (the weeks from memory)", Standing: risk.FromMemory}

// LastSowing returns the last safe day of sowing and the last one of all, from
// the first frost of autumn and the days to maturity on the grower's own seed
// packet. Both are zero when maturity is not said or frost is not known.
func LastSowing(firstFrost civil.Date, maturity int) (safe, last civil.Date, source risk.Source) {
	if firstFrost.IsZero() || maturity <= 0 {
		return 0, 0, lastSowSource
	}
	return firstFrost.AddDays(-maturity - mostSlack), firstFrost.AddDays(-maturity - leastSlack), lastSowSource
}

// successions is after how many days a crop is sown again for a steady harvest:
// corn and beans 2 weeks, cucumber and squash 3, carrots 4 (mid-Atlantic,
// confirmed).
var successions = []struct {
	crops []string
	days  int
}{
	{[]string{"sweet corn", "snap bean"}, 14},
	{[]string{"cucumber", "summer squash", "zucchini"}, 21},
	{[]string{"carrot"}, 28},
}

var successionSource = risk.Source{Text: "mid-Atlantic extension: corn and beans every 2 weeks, cucumber and squash 3, carrots 4", Standing: risk.Confirmed}

// SuccessionDays returns after how many days a crop is sown again; false when no
// source gives it.
func SuccessionDays(crop string) (int, risk.Source, bool) {
	for _, s := range successions {
		if slices.Contains(s.crops, crop) {
			return s.days, successionSource, true
		}
	}
	return 0, risk.Source{}, false
}

// NextSowings returns the days of the sowings that follow one on a date, up to
// the last day; without a last day it is the next one alone.
func NextSowings(crop string, sown, last civil.Date) []civil.Date {
	n, _, ok := SuccessionDays(crop)
	if !ok || sown.IsZero() {
		return nil
	}
	if last.IsZero() {
		return []civil.Date{sown.AddDays(n)}
	}
	var out []civil.Date
	for d := sown.AddDays(n); d <= last && len(out) < 20; d = d.AddDays(n) {
		out = append(out, d)
	}
	return out
}
