package storetest

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/store"
)

func assessment(planting string, at time.Time, r plan.Readiness) plan.Assessment {
	return plan.Assessment{
		Site: "north", Plot: "bed 3", Planting: planting, Threat: "some-threat", Model: "some-threat/author-2001",
		Round: at, WeatherUntil: at.Add(-time.Hour), Readiness: r,
		Reason:  plan.Reason{Code: "early-date-near", Text: "It may come on 12 Jun.", Numbers: []plan.Number{{Name: "total", Value: 312.5, Unit: "degree-days F", Source: risk.Source{Text: "Author 2001", Standing: risk.FromMemory}}}},
		Outlook: &risk.Outlook{Model: "some-threat/author-2001", Issued: civil.New(2026, 6, 4), P50: civil.New(2026, 6, 17), Chance: [4]float64{0.1, 0.5, 0.9, 1}},
		Track:   &risk.Track{Unit: "degree-days F", Start: civil.New(2026, 1, 1), Points: []risk.Point{{Date: civil.New(2026, 1, 1), Value: 1, Total: 1}}},
		Steps:   []plan.Step{{Kind: plan.Scout, Text: "Look under the leaves.", By: civil.New(2026, 6, 8)}},
	}
}

func message(key string, slot time.Time) store.Message {
	return store.Message{Key: key, Person: "ada", Channel: "email", Site: "north", Slot: slot, Body: []byte("body of " + key), Told: []byte("told by " + key)}
}

func testRounds(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.LatestRound(ctx, "north")
	assert.ErrorIs(t, err, store.ErrNotFound)

	r := store.Round{
		Site: "north", At: t0, Day: civil.New(2026, 6, 4),
		Assessments: []plan.Assessment{assessment("tom", t0, plan.Act), assessment("kale", t0, plan.Quiet)},
		Hours:       []plan.Hours{{From: t0, To: t0.Add(3 * time.Hour), Good: true}, {From: t0.Add(3 * time.Hour), To: t0.Add(9 * time.Hour), Why: []string{"wet leaves"}}},
		Messages:    []store.Message{message("k1", t0)},
	}
	require.NoError(t, s.SaveRound(ctx, r))
	want := r
	want.Messages = nil
	got, err := s.LatestRound(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, want, got)

	again := r
	again.Messages = []store.Message{message("k1", t0), message("k2", t0)}
	again.Messages[0].Body = []byte("changed")
	require.NoError(t, s.SaveRound(ctx, again))
	first, err := s.Delivery(ctx, "k1")
	require.NoError(t, err)
	assert.Equal(t, "body of k1", string(first.Body), "the same key twice keeps the first")
	list, err := s.Deliveries(ctx, "north", 10)
	require.NoError(t, err)
	assert.Len(t, list, 2)

	late := store.Round{Site: "north", At: t0.Add(-time.Hour), Messages: []store.Message{message("k3", t0)}}
	require.NoError(t, s.SaveRound(ctx, late))
	got, err = s.LatestRound(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, t0, got.At, "an older round does not become the latest")
	_, err = s.Delivery(ctx, "k3")
	assert.NoError(t, err)
}

func testRoundIsWhole(t *testing.T, s Store) {
	ctx := t.Context()
	bad := assessment("tom", t0, plan.Act)
	bad.Reason.Numbers[0].Value = math.NaN()
	err := s.SaveRound(ctx, store.Round{Site: "north", At: t0, Assessments: []plan.Assessment{assessment("kale", t0, plan.Act), bad}, Messages: []store.Message{message("k1", t0)}})
	assert.ErrorContains(t, err, bad.Key(), "the error names what could not be kept")
	err = s.SaveRound(ctx, store.Round{Site: "north", At: t0, Assessments: []plan.Assessment{assessment("kale", t0, plan.Act)}, Messages: []store.Message{message("k1", t0), {}}})
	assert.ErrorContains(t, err, "without a key")
	err = s.SaveRound(ctx, store.Round{Site: "south", At: t0, Assessments: []plan.Assessment{assessment("kale", t0, plan.Act)}})
	assert.ErrorContains(t, err, "another site")
	err = s.SaveRound(ctx, store.Round{Site: "north", At: t0, Assessments: []plan.Assessment{assessment("kale", t0, 0)}})
	assert.ErrorContains(t, err, "no readiness")

	_, err = s.LatestRound(ctx, "north")
	assert.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.Delivery(ctx, "k1")
	assert.ErrorIs(t, err, store.ErrNotFound)
	past, err := s.AssessmentHistory(ctx, "north", "", 0, 0)
	require.NoError(t, err)
	assert.Empty(t, past)
}

func testHistory(t *testing.T, s Store) {
	ctx := t.Context()
	day := civil.New(2026, 6, 4)
	save := func(at time.Time, d civil.Date, list ...plan.Assessment) {
		require.NoError(t, s.SaveRound(ctx, store.Round{Site: "north", At: at, Day: d, Assessments: list}))
	}
	save(t0, day, assessment("tom", t0, plan.Quiet), assessment("kale", t0, plan.Quiet))
	save(t0.Add(2*time.Hour), day, assessment("tom", t0.Add(2*time.Hour), plan.Act))
	save(t0.Add(time.Hour), day, assessment("tom", t0.Add(time.Hour), plan.Approaching)) // comes late
	save(t0.Add(24*time.Hour), day+1, assessment("tom", t0.Add(24*time.Hour), plan.Protected))

	tom := assessment("tom", t0, plan.Quiet)
	got, err := s.AssessmentHistory(ctx, "north", tom.Key(), 0, 0)
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, []plan.Readiness{plan.Act, plan.Protected}, []plan.Readiness{got[0].Readiness, got[1].Readiness})
	assert.Nil(t, got[0].Track)
	assert.Equal(t, tom.Outlook, got[0].Outlook)
	all, err := s.AssessmentHistory(ctx, "north", "", day, day)
	require.NoError(t, err)
	assert.Len(t, all, 2, "a key that the day's last round lacks stays")
	none, err := s.AssessmentHistory(ctx, "north", tom.Key(), day+2, 0)
	require.NoError(t, err)
	assert.Empty(t, none)
}

// What a clock that ran days ahead wrote does not stand in the way when it has been
// put right.
func testClockPutBack(t *testing.T, s Store) {
	ctx := t.Context()
	save := func(at time.Time) {
		require.NoError(t, s.SaveRound(ctx, store.Round{Site: "north", At: at, Assessments: []plan.Assessment{assessment("tom", at, plan.Act)}}))
	}
	save(t0)
	save(t0.Add(400 * 24 * time.Hour))
	save(t0.Add(time.Hour))
	r, err := s.LatestRound(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, t0.Add(time.Hour), r.At)
	save(t0)
	r, err = s.LatestRound(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, t0.Add(time.Hour), r.At, "one that is late by an hour is late")
}
