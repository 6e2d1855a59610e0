package ground

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store"
)

// many is a store with so many sites of 12 plantings.
func many(b testing.TB, n int) *memory {
	st := newMemory()
	for i := range n {
		s := site(fmt.Sprintf("Ground %d", i))
		s.ID = fmt.Sprintf("ground-%05d", i)
		for j := range 12 {
			p := s.Plots[0].Plantings[0]
			p.ID, p.Removed = fmt.Sprintf("kale-%d", j), p.Sown+1
			s.Plots = append(s.Plots, garden.Plot{ID: fmt.Sprintf("bed-%d", j), Plantings: []garden.Planting{p}})
		}
		body, err := json.Marshal(s)
		require.NoError(b, err)
		_, err = st.PutThing(b.Context(), store.Thing{Kind: store.SiteThing, ID: s.ID, Body: body}, 0)
		require.NoError(b, err)
	}
	return st
}

// BenchmarkChange makes one change among 10,000 sites and, in turn, among 10, and
// prints how much dearer it is, and what part of copying the whole garden.
func BenchmarkChange(b *testing.B) {
	few, _ := open(b, many(b, 10), nil)
	all, _ := open(b, many(b, 10_000), nil)
	start := time.Now()
	_, err := clone(all.Garden())
	require.NoError(b, err)
	whole := time.Since(start)
	var small, large time.Duration
	n := 0
	for b.Loop() {
		n++
		change := func(g *Ground, id string) time.Duration {
			start := time.Now()
			require.NoError(b, g.Sites.Change(b.Context(), wren, id, func(s *garden.Site) error { s.Name = fmt.Sprint("Ground ", n); return nil }))
			return time.Since(start)
		}
		small += change(few, "ground-00003")
		large += change(all, "ground-05000")
	}
	b.ReportMetric(float64(large)/float64(small), "times-ten-sites")
	b.ReportMetric(float64(whole)*float64(b.N)/float64(large), "changes-a-whole-copy")
}
