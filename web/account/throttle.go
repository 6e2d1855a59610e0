package account

import (
	"net/netip"
	"sync"
	"time"
)

// How often somebody may guess. The first tries are free; after them each one
// doubles the wait.
const (
	freeByLogin   = 5
	freeByAddress = 20 // a ground's growers may share one
	firstWait     = time.Second
	longestWait   = 5 * time.Minute
	forgetAfter   = time.Hour
	keptTries     = 20_000 // keys at most: a few MB
)

// throttle counts tries in memory. A restart forgets them, which costs whoever
// guesses more time than it gives.
type throttle struct {
	mu   sync.Mutex
	keys map[string]*tries
}

type tries struct {
	n    int
	last time.Time
	next time.Time // not before
}

func newThrottle() *throttle { return &throttle{keys: map[string]*tries{}} }

// limit is how many tries a key has for nothing.
type limit struct {
	key  string
	free int
}

// take counts a try with each of the keys, before it is known how it ends, so that
// many at once count too. It returns how long to wait when one of the keys has to;
// the try then does not count and must not be made.
func (t *throttle) take(now time.Time, limits ...limit) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	var wait time.Duration
	for _, l := range limits {
		if x := t.keys[l.key]; x != nil {
			if now.Sub(x.last) > forgetAfter {
				delete(t.keys, l.key)
			} else {
				wait = max(wait, x.next.Sub(now))
			}
		}
	}
	if wait > 0 {
		return wait
	}
	for _, l := range limits {
		x := t.keys[l.key]
		if x == nil {
			t.room(now)
			x = &tries{}
			t.keys[l.key] = x
		}
		x.n, x.last = x.n+1, now
		if over := x.n - l.free; over >= 0 {
			d := longestWait
			if over < 20 {
				d = min(firstWait<<over, longestWait)
			}
			x.next = now.Add(d)
		}
	}
	return 0
}

// pass forgets the tries of a key: it was the right person.
func (t *throttle) pass(key string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.keys, key)
}

// back takes one try back: it was right, but says nothing of the others.
func (t *throttle) back(key string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if x := t.keys[key]; x != nil {
		x.n--
		x.next = time.Time{}
	}
}

// room makes place for one more key: what is forgotten goes first, then what has
// the fewest tries, so that a flood of new keys does not free one that is held back.
func (t *throttle) room(now time.Time) {
	if len(t.keys) < keptTries {
		return
	}
	least := ""
	for k, x := range t.keys {
		if now.Sub(x.last) > forgetAfter {
			delete(t.keys, k)
		} else if least == "" || x.n < t.keys[least].n {
			least = k
		}
	}
	if len(t.keys) >= keptTries {
		delete(t.keys, least)
	}
}

// addressKey is a network address as a key: an IPv6 host has a whole /64 to itself.
func addressKey(address string) string {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return "address " + address
	}
	if ip = ip.Unmap(); ip.Is6() {
		p, err := ip.Prefix(64)
		if err == nil {
			return "address " + p.String()
		}
	}
	return "address " + ip.String()
}
