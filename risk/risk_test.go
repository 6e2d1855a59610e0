package risk

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

func TestStandingRoundTrip(t *testing.T) {
	for s := Confirmed; s <= CommonPractice; s++ {
		var back Standing
		require.NoError(t, back.UnmarshalText([]byte(s.String())))
		assert.Equal(t, s, back)
	}
	for s := Unstated; s <= CommonPractice; s++ {
		b, err := json.Marshal(Source{Text: "x", Standing: s})
		require.NoError(t, err)
		var back Source
		require.NoError(t, json.Unmarshal(b, &back))
		assert.Equal(t, s, back.Standing)
	}
	var s Standing
	assert.ErrorContains(t, s.UnmarshalText([]byte("unstated")), "not one of")
}

func TestTrackAt(t *testing.T) {
	d := civil.New(2026, 5, 1)
	tr := Track{Start: d, Points: []Point{{Date: d, Total: 1}, {Date: d + 1, Total: 3, UnknownHours: 2}}}
	p, ok := tr.At(d + 1)
	assert.True(t, ok)
	assert.Equal(t, 3.0, p.Total)
	assert.False(t, tr.Complete())
	_, ok = tr.At(d + 2)
	assert.False(t, ok)
	_, ok = tr.At(d - 1)
	assert.False(t, ok)
}

func TestOutlookLead(t *testing.T) {
	o := Outlook{Issued: civil.New(2026, 5, 1), P50: civil.New(2026, 5, 20)}
	n, ok := o.Lead()
	assert.True(t, ok)
	assert.Equal(t, 19, n)
	_, ok = (&Outlook{}).Lead()
	assert.False(t, ok)
}
