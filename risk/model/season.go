package model

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// Season is the weather of one site with everything that its rules have in
// common worked out once: days, wet hours, counts by day. Each part is computed
// when a rule first asks for it and, after Update, again from the first changed
// hour on. A Season is for one goroutine at a time.
type Season struct {
	w    *weather.Series // nil when made from days
	src  []weather.Day   // when made from days
	zone *time.Location
	now  time.Time

	gen    int // counts updates
	caches []cache
	always int // so many of them, the first, are never forgotten

	windows [4]windows
	firsts  [4]dayOfHour // by kind of day
	clocks  [2]clocks
	days    [2]days
	rains   rains
	flags   map[flagKey]*dayFlags
	states  map[stateKey]*states
	tallies map[tallyKey]*tallies
	spells  map[spellKey]*spells
	columns map[any]*column
	watered [][]int // distinct lists of irrigated hours, by number

	once Runner // of Run
}

// cache is a part of a Season that can be out of date from some hour on.
type cache interface{ mark() *marks }

// marks is the bookkeeping of a cache.
type marks struct {
	stale int  // first hour (or day, in a season of days) that changed since it was computed
	used  int  // the season's gen when it was last asked for
	gone  bool // the season has forgotten it
}

func (m *marks) mark() *marks { return m }

// fresh is the stale of a cache in which nothing has changed.
const fresh = math.MaxInt

// take returns from where a cache has to be computed again, and marks it done.
func (m *marks) take(sn *Season) int {
	from := m.stale
	m.stale, m.used = fresh, sn.gen
	return from
}

// NewSeason shares the hours of one site. Days are those of zone; nil is UTC.
// Hours from now on count as forecast; a zero now leaves that to their origins.
func NewSeason(w *weather.Series, zone *time.Location, now time.Time) *Season {
	sn := &Season{w: w}
	sn.begin(zone, now)
	return sn
}

// NewDaySeason shares daily records. It fails when the days are not consecutive
// or a minimum exceeds its maximum, and names the day.
func NewDaySeason(days []weather.Day, zone *time.Location, now time.Time) (*Season, error) {
	sn := &Season{}
	sn.begin(zone, now)
	return sn, sn.setDays(days, 0)
}

func (sn *Season) init() {
	for i := range sn.windows {
		sn.caches = append(sn.caches, &sn.windows[i])
	}
	for i := range sn.clocks {
		sn.caches = append(sn.caches, &sn.clocks[i], &sn.days[i])
	}
	sn.caches = append(sn.caches, &sn.rains)
	sn.always = len(sn.caches)
	sn.flags = map[flagKey]*dayFlags{}
	sn.states = map[stateKey]*states{}
	sn.tallies = map[tallyKey]*tallies{}
	sn.spells = map[spellKey]*spells{}
	sn.columns = map[any]*column{}
}

// Update takes new weather of which the hours before from, an index, are as they
// were. The series may have grown; it must begin at the same hour. It is also
// how hours pass from forecast to past: give the new now.
func (sn *Season) Update(w *weather.Series, now time.Time, from int) error {
	if sn.w == nil {
		return fmt.Errorf("update a season of daily records with hours")
	}
	if !w.Start().Equal(sn.w.Start()) {
		return fmt.Errorf("update a season that begins at %s with hours that begin at %s", sn.w.Start().Format(time.RFC3339), w.Start().Format(time.RFC3339))
	}
	if !now.Equal(sn.now) {
		from = min(from, sn.hourOf(sn.now), w.Index(now))
	}
	sn.w, sn.now = w, now
	sn.outdate(max(0, min(from, w.Len())))
	return nil
}

// hourOf returns the index of an instant, or the first hour for the zero one.
func (sn *Season) hourOf(t time.Time) int {
	if t.IsZero() {
		return 0
	}
	return sn.w.Index(t)
}

// UpdateDays is Update for a season of daily records; from is the index of the
// first changed day.
func (sn *Season) UpdateDays(days []weather.Day, now time.Time, from int) error {
	if sn.w != nil {
		return fmt.Errorf("update a season of hours with daily records")
	}
	if len(days) > 0 && len(sn.src) > 0 && days[0].Date != sn.src[0].Date {
		return fmt.Errorf("update a season that begins on %s with days that begin on %s", sn.src[0].Date, days[0].Date)
	}
	from = max(0, min(from, len(days)))
	if !now.Equal(sn.now) {
		from = 0
	}
	sn.now = now
	if err := sn.setDays(days, from); err != nil {
		return err
	}
	sn.outdate(from)
	return nil
}

func (sn *Season) setDays(days []weather.Day, from int) error {
	for i := from; i < len(days); i++ {
		d := &days[i]
		if i > 0 && d.Date != days[i-1].Date+1 {
			return fmt.Errorf("daily records jump from %s to %s; give missing days as days with no values", days[i-1].Date, d.Date)
		}
		if d.Min > d.Max {
			return fmt.Errorf("%s: minimum %g above maximum %g", d.Date, d.Min, d.Max)
		}
	}
	sn.src = days
	return nil
}

// outdate marks every part as changed from an hour on and forgets those that
// the last few updates had no use for: of an earlier irrigation list, say.
func (sn *Season) outdate(from int) {
	const keep = 3
	sn.gen++
	forgot := false
	for i, c := range sn.caches {
		m := c.mark()
		m.stale = min(m.stale, from)
		if i >= sn.always && sn.gen-m.used > keep {
			m.gone, forgot = true, true
		}
	}
	if !forgot {
		return
	}
	sn.caches = slices.DeleteFunc(sn.caches, func(c cache) bool { return c.mark().gone })
	forget(sn.flags)
	forget(sn.states)
	forget(sn.tallies)
	forget(sn.spells)
	forget(sn.columns)
}

func forget[K comparable, C cache](m map[K]C) {
	for k, c := range m {
		if c.mark().gone {
			delete(m, k)
		}
	}
}

// part returns the cache of a key, making it when it is new.
func part[K comparable, C cache](sn *Season, m map[K]C, k K, mk func() C) C {
	c, ok := m[k]
	if !ok {
		c = mk()
		m[k] = c
		sn.caches = append(sn.caches, c)
	}
	return c
}

// water numbers a list of irrigated hours, so that it can be part of a key.
func (sn *Season) water(hours []int) int {
	if len(hours) == 0 {
		return -1
	}
	for i, have := range sn.watered {
		if slices.Equal(have, hours) {
			return i
		}
	}
	own := slices.Clone(hours)
	sort.Ints(own)
	sn.watered = append(sn.watered, own)
	return len(sn.watered) - 1
}

// bed is what sets one planting's hours apart from its neighbour's.
type bed struct {
	cover garden.Cover
	water int // number of the list of irrigated hours, -1 for none
}

// grow returns s with n elements, of which those it had are kept.
func grow[T any](s []T, n int) []T {
	if n <= cap(s) {
		return s[:n]
	}
	room := n
	if len(s) > 0 {
		room += n/8 + 4 // it has grown once and will again
	}
	out := make([]T, n, room)
	copy(out, s)
	return out
}

// wetRule is wetness.Rule as part of a key; the zero one is none.
type wetRule = wetness.Rule
