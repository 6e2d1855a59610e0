package push

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestATrialArrivesAtOnce(t *testing.T) {
	s := start(t, created)
	b := newBrowser(t)
	sub := b.subscription(s.URL + "/send/x")
	d, err := Trial("wren", sub.ID(), Note{Title: "A test", Line: "It works.", Link: "/you/push"}, due(t, digest(), sub.ID()).Slot)
	require.NoError(t, err)
	d.Person = due(t, digest(), sub.ID()).Person
	require.NoError(t, sender(t, s, shelve(sub), nil).Send(t.Context(), d))
	got := s.all()
	require.Len(t, got, 1)
	assert.Equal(t, "high", got[0].header.Get("Urgency"))
	plain, err := decrypt(got[0].body, b.private, b.auth)
	require.NoError(t, err)
	var n Note
	require.NoError(t, json.Unmarshal(plain, &n))
	assert.Equal(t, "It works.", n.Line)
	assert.NotEqual(t, NoteOf(digest()).Tag, n.Tag, "it does not take the place of the morning's")
}
