package garden

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestDoneJoinsTreatmentsAndRecords(t *testing.T) {
	at := time.Date(2026, 6, 10, 20, 0, 0, 0, time.UTC)
	hour := func(n int) time.Time { return at.Add(time.Duration(n) * time.Hour) }
	treatments := []Treatment{
		{ID: "t1", Site: "s", At: hour(1), Material: "soap", Note: "kept whole"},
		{ID: "t2", Site: "s", At: hour(2), Material: "copper"},
		{ID: "t3", Site: "s", At: hour(3), Material: "copper"},
		{ID: "t4", Site: "s", At: hour(4), Material: "copper"},
		{ID: "t5", Site: "s", At: hour(5), Material: "copper"},
	}
	records := []Record{
		{ID: "r1", Site: "s", Start: hour(0), Product: "sulfur"},
		{ID: "r2", Site: "s", Start: hour(2), Replaces: "t2", Why: "it was sulfur", Entered: hour(9), Product: "sulfur"},
		{ID: "r2b", Site: "s", Start: hour(2), Replaces: "t2", Why: "no, soap", Entered: hour(10), Product: "soap"},
		{ID: "r3", Site: "s", Start: hour(3), Replaces: "t3", Why: "not done", Entered: hour(9), Withdrawn: true},
		{ID: "t4", Site: "s", Start: hour(8), Product: "oil"},
		{ID: "r5", Site: "s", Start: hour(5), Replaces: "t5", Why: "a few leaves", Entered: hour(9), Product: "copper", Test: true},
	}
	type line struct{ ID, Material string }
	var got []line
	done := Done(treatments, records)
	for _, x := range done {
		got = append(got, line{x.ID, x.Material})
	}
	assert.Equal(t, []line{{"r1", "sulfur"}, {"t1", "soap"}, {"r2b", "soap"}, {"t4", "oil"}}, got)
	assert.Equal(t, treatments[0], done[1])
	assert.Equal(t, treatments, Done(treatments, nil))
	assert.Equal(t, TreatmentsOf(records[:1]), Done(nil, records[:1]))
	assert.Empty(t, Done(nil, nil))
}
