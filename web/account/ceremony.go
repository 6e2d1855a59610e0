package account

import (
	"sync"
	"time"

	"github.com/go-webauthn/webauthn/webauthn"
)

// How long a ceremony with a passkey may take, and how many may be under way: the
// oldest goes when more begin.
const (
	ceremonyLife = 5 * time.Minute
	ceremonyMax  = 1024
)

// ceremonies hold what the server must remember between asking for a passkey and
// seeing it. Each is used once.
type ceremonies struct {
	mu   sync.Mutex
	open map[string]ceremony
}

type ceremony struct {
	session *webauthn.SessionData
	person  string // who began it; empty in a sign-in
	began   time.Time
}

func newCeremonies() *ceremonies { return &ceremonies{open: map[string]ceremony{}} }

func (c *ceremonies) keep(now time.Time, s *webauthn.SessionData, person string) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	oldest := ""
	for id, x := range c.open {
		if now.Sub(x.began) > ceremonyLife {
			delete(c.open, id)
		} else if oldest == "" || x.began.Before(c.open[oldest].began) {
			oldest = id
		}
	}
	if len(c.open) >= ceremonyMax {
		delete(c.open, oldest)
	}
	id := newSecret()
	c.open[id] = ceremony{s, person, now}
	return id
}

// take returns a ceremony that somebody began, and forgets it.
func (c *ceremonies) take(now time.Time, id, person string) (*webauthn.SessionData, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	x, ok := c.open[id]
	delete(c.open, id)
	return x.session, ok && x.person == person && now.Sub(x.began) <= ceremonyLife
}
