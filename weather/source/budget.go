package source

import (
	"cmp"
	"fmt"
	"slices"
	"sync"
	"time"
)

// Window is a limit on the weight of requests in any stretch of time of length
// Per: {24h, 10000} is ten thousand a day.
type Window struct {
	Per time.Duration
	Max float64
}

// Spend is one request's weight at a time.
type Spend struct {
	At     time.Time
	Weight float64
}

// slots is into how many parts a window is cut to forget old requests. The sum
// runs over one more, so that the limit holds in every stretch, not only in
// those that begin with a slot.
const slots = 24

// Budget keeps the weight of requests below limits of our own, so that the
// service's are never met. It is safe for concurrent use.
type Budget struct {
	mu      sync.Mutex
	windows []window
	record  func([]Spend) // may be nil
}

type window struct {
	Window
	sums [slots + 1]float64
	head int64 // number of the newest slot since the epoch
}

// NewBudget returns a budget over the windows; past is what was spent before,
// so that a restart does not begin a new day.
func NewBudget(windows []Window, past []Spend) *Budget {
	b := &Budget{windows: make([]window, len(windows))}
	for i, w := range windows {
		b.windows[i].Window = w
	}
	for _, s := range past {
		for i := range b.windows {
			b.windows[i].turn(s.At)
			b.windows[i].add(b.windows[i].slot(s.At), s.Weight)
		}
	}
	return b
}

// Take spends weight at now, or, when a window has no room, spends nothing and
// returns how long until it may have.
func (b *Budget) Take(now time.Time, weight float64) (wait time.Duration, err error) {
	return b.TakeLeaving(now, weight, 0)
}

// TakeLeaving is Take that leaves a share of each window of an hour or more, 0 to
// 1, to others. Shorter windows are soon free again.
func (b *Budget) TakeLeaving(now time.Time, weight, share float64) (wait time.Duration, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range b.windows {
		w := &b.windows[i]
		w.turn(now)
		limit := w.Max
		if w.Per >= time.Hour {
			limit *= 1 - share
		}
		if weight > limit {
			return 0, fmt.Errorf("one request weighs %.1f, more than the whole limit of %g in %s: ask for less at once", weight, limit, w.Per)
		}
		if spent := w.spent(); spent+weight > limit {
			return w.wait(now, weight, limit), fmt.Errorf("%.1f of %g spent in %s, %.1f more wanted", spent, limit, w.Per, weight)
		}
	}
	for i := range b.windows {
		w := &b.windows[i]
		w.add(max(w.slot(now), w.head), weight) // a clock set back spends in the newest slot
	}
	if b.record != nil {
		b.record(b.spends(now))
	}
	return 0, nil
}

// Record has record called before each request with what was spent in the longest
// window, for NewBudget after a restart.
func (b *Budget) Record(record func([]Spend)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.record = record
}

// spends tells of the longest window, slot by slot. What is in the newest is told as
// spent now, so that the shorter windows do not begin anew either.
func (b *Budget) spends(now time.Time) []Spend {
	var out []Spend
	long := slices.MaxFunc(b.windows, func(x, y window) int { return cmp.Compare(x.Per, y.Per) })
	for n := max(0, long.head-slots); n <= long.head; n++ {
		if spent := long.sums[n%(slots+1)]; spent > 0 {
			at := time.Unix(0, n*(int64(long.Per)/slots))
			if n == long.slot(now) {
				at = now
			}
			out = append(out, Spend{At: at.UTC(), Weight: spent})
		}
	}
	return out
}

// Left returns the weight left in the window of length per, and false when
// there is no such window.
func (b *Budget) Left(now time.Time, per time.Duration) (float64, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range b.windows {
		if w := &b.windows[i]; w.Per == per {
			w.turn(now)
			return w.Max - w.spent(), true
		}
	}
	return 0, false
}

func (w *window) slot(t time.Time) int64 { return t.UnixNano() / (int64(w.Per) / slots) }

// turn forgets the slots that have gone out of the window. A clock that goes
// back leaves the newest slot in place.
func (w *window) turn(now time.Time) {
	to := w.slot(now)
	for n := 0; w.head < to && n <= slots; n++ {
		w.head++
		w.sums[w.head%(slots+1)] = 0
	}
	w.head = max(w.head, to)
}

func (w *window) add(slot int64, weight float64) {
	if slot >= w.head-slots {
		w.sums[slot%(slots+1)] += weight
	}
}

func (w *window) spent() float64 {
	var sum float64
	for _, s := range w.sums {
		sum += s
	}
	return sum
}

// wait returns how long until enough slots have gone to make room.
func (w *window) wait(now time.Time, weight, limit float64) time.Duration {
	left := w.spent()
	for n := w.head - slots; n <= w.head; n++ {
		if n >= 0 {
			left -= w.sums[n%(slots+1)]
		}
		if left+weight <= limit {
			gone := time.Unix(0, (n+slots+1)*(int64(w.Per)/slots))
			return max(gone.Sub(now), time.Second)
		}
	}
	return w.Per
}
