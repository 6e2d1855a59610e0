package entry

import (
	"context"
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/store"
)

// pushes is a channel to browsers that keeps what it is told.
type pushes struct {
	subs map[string][]store.Subscription
	sent []string
	fail error
}

func (p *pushes) PublicKey() string { return "BPublicKey" }

func (p *pushes) Subscribe(_ context.Context, person string, raw []byte) (string, error) {
	if string(raw) == "{}" {
		return "", ErrSubscription
	}
	p.subs[person] = append(p.subs[person], store.Subscription{Person: person, ID: "abc", Body: raw, Added: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)})
	return "abc", p.fail
}

func (p *pushes) Unsubscribe(_ context.Context, person, id string) error {
	delete(p.subs, person)
	return nil
}

func (p *pushes) Subscriptions(_ context.Context, person string) ([]store.Subscription, error) {
	return p.subs[person], nil
}

func (p *pushes) Try(_ context.Context, person, id string) error {
	if p.fail == nil {
		p.sent = append(p.sent, person+"/"+id)
	}
	return p.fail
}

// A person's browser is kept, tested and ended; nobody else's, and nothing for who
// is no person or only reads.
func TestABrowserGetsMessages(t *testing.T) {
	p := &pushes{subs: map[string][]store.Subscription{}}
	g := newGroundWith(t, func(d *Deps) { d.Push = p })
	assert.Contains(t, g.get("/you/push").Body.String(), `data-key="BPublicKey"`)
	assert.Equal(t, http.StatusUnprocessableEntity, g.sendJSON("/you/push", "{}").Code)
	w := g.sendJSON("/you/push", `{"endpoint":"https://push.example/x"}`)
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	assert.JSONEq(t, `{"id":"abc"}`, w.Body.String())
	assert.Contains(t, squeezed(g.get("/you/push")), "Since 1 Jun 2026")
	require.Equal(t, http.StatusSeeOther, g.send("/you/push/abc/try", nil).Code)
	assert.Equal(t, []string{"ash/abc"}, p.sent)
	assert.Contains(t, squeezed(g.get("/you/push?done=sent")), "on its way")
	p.fail = errors.New("410 gone")
	w = g.send("/you/push/abc/try", nil)
	assert.Equal(t, http.StatusBadGateway, w.Code)
	assert.Contains(t, squeezed(w), "did not take the message")
	assert.NotContains(t, w.Body.String(), "410 gone", "the fault's inside stays in the log")
	p.fail = nil

	g.as("elm", access.Grower)
	assert.NotContains(t, g.get("/you/push").Body.String(), "Since 1 Jun", "another's browsers are not shown")
	g.who = access.Open(false)
	g.who.Check = "the secret"
	assert.Contains(t, squeezed(g.get("/you/push")), "Sign in as a person")
	assert.Equal(t, http.StatusForbidden, g.sendJSON("/you/push", `{"endpoint":"x"}`).Code)
	g.as("ash", access.Grower)
	assert.Equal(t, http.StatusRequestEntityTooLarge, g.sendJSON("/you/push", string(make([]byte, mostSubscription+1))).Code)
	require.Equal(t, http.StatusSeeOther, g.send("/you/push/abc/end", nil).Code)
	assert.Empty(t, p.subs["ash"])
}
