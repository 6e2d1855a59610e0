package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
)

func TestTheTunedNumberStandsBesideThePublishedOne(t *testing.T) {
	c := baseCase()
	c.Stages[0].Value = 180
	book := risk.Source{Text: "A 2015", Standing: risk.Confirmed}
	c.Tuned = []Tuned{
		{What: "first adults", Stage: "first adults", Value: "180", Published: "150", By: "Wren", On: civil.New(2026, 3, 2), Why: "six seasons of finds.", From: book},
		{What: "the day from which it counts", Value: "03-01", Published: "01-01", By: "Wren", On: civil.New(2026, 3, 2), Why: "the ground is frozen before", From: book},
		{What: "the humidity from which an hour counts", Value: "93", Published: "90", By: "Wren", On: civil.New(2026, 3, 2), Why: "the sensor", From: book},
	}
	a := Assess(c, DefaultRules())
	assert.Contains(t, a.Reason.Text, "So far 120 of 180 degree-days F.")
	assert.Contains(t, a.Reason.Text, "180 degree-days F is this region's number, tuned by Wren on 2 Mar; published: 150 degree-days F.")
	at := map[string]Number{}
	for _, n := range a.Reason.Numbers {
		at[n.Name] = n
	}
	tuned := at["threshold tuned for this region: first adults"]
	assert.Equal(t, 180.0, tuned.Value)
	assert.Equal(t, "tuned by Wren on 2026-03-02, because six seasons of finds; published: 150", tuned.Source.Text)
	assert.Equal(t, risk.Derived, tuned.Source.Standing)
	published := at["published threshold: first adults"]
	assert.Equal(t, 150.0, published.Value)
	assert.Equal(t, book, published.Source)
	assert.Equal(t, 60.0, at["the day from which it counts, tuned for this region"].Value)
	assert.Equal(t, 1.0, at["the day from which it counts, published"].Value)
	assert.Equal(t, 93.0, at["the humidity from which an hour counts, tuned for this region"].Value)
	assert.Equal(t, "%", at["the humidity from which an hour counts, published"].Unit)

	// An untuned rule has the published number alone.
	c = baseCase()
	a = Assess(c, DefaultRules())
	require.NotEmpty(t, a.Reason.Numbers)
	assert.Equal(t, "published threshold: first adults", a.Reason.Numbers[0].Name)
	assert.Equal(t, 150.0, a.Reason.Numbers[0].Value)
	assert.NotContains(t, a.Reason.Text, "tuned")
}
