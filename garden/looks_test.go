package garden

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"plotwarden/civil"
)

func look(id, replaces string, entered int, f Finding) Scouting {
	return Scouting{ID: id, Replaces: replaces, Why: "slip", Entered: time.Unix(int64(entered), 0), Date: civil.New(2026, 6, 1), Finding: f}
}

func ids2(ss []Scouting) (out []string) {
	for _, s := range ss {
		out = append(out, s.ID)
	}
	return out
}

func TestLooksThatStand(t *testing.T) {
	back := look("c", "b", 3, Found)
	back.Withdrawn = true
	for name, c := range map[string]struct {
		in    []Scouting
		stand []string
	}{
		"alone":                       {[]Scouting{look("a", "", 0, None), look("b", "", 0, Found)}, []string{"a", "b"}},
		"corrected":                   {[]Scouting{look("a", "", 0, None), look("b", "a", 1, Found)}, []string{"b"}},
		"corrected twice apart":       {[]Scouting{look("a", "", 0, None), look("b", "a", 1, Found), look("c", "a", 2, Unsure)}, []string{"c"}},
		"entered late, arrived first": {[]Scouting{look("c", "a", 2, Unsure), look("b", "a", 1, Found), look("a", "", 0, None)}, []string{"c"}},
		"taken back":                  {[]Scouting{look("a", "", 0, None), look("b", "a", 1, Found), back}, nil},
		"the first is lost":           {[]Scouting{look("b", "a", 1, Found)}, []string{"b"}},
		"a ring":                      {[]Scouting{look("a", "b", 0, None), look("b", "a", 1, Found)}, nil},
	} {
		assert.Equal(t, c.stand, ids2(Looks(c.in)), name)
	}
	all := []Scouting{look("c", "a", 2, Unsure), look("b", "a", 1, Found), look("a", "", 0, None), look("x", "", 0, None)}
	assert.Equal(t, []string{"a", "b", "c"}, ids2(LookTrail(all, "b")), "the first entry first, both corrections shown")
	assert.Equal(t, "c", LookInstead(all, "a"))
	assert.Empty(t, LookInstead(all, "c"))
	assert.Empty(t, LookTrail(all, "none"))
}

// Whatever order entries come in, the same ones stand, no two of one trail.
func TestLooksDoNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		all := make([]Scouting, n)
		for i := range all {
			all[i] = look(string(rune('a'+i)), "", rapid.IntRange(0, 5).Draw(t, "entered"), Found)
			if i > 0 && rapid.Bool().Draw(t, "corrects") {
				all[i].Replaces = all[rapid.IntRange(0, i-1).Draw(t, "which")].ID
			}
			all[i].Withdrawn = rapid.IntRange(0, 4).Draw(t, "withdrawn") == 0
		}
		want := ids2(Looks(all))
		mixed := rapid.Permutation(all).Draw(t, "order")
		if got := ids2(Looks(mixed)); !assert.ObjectsAreEqual(want, got) {
			t.Fatalf("%v and %v", want, got)
		}
		roots := map[string]bool{}
		for _, id := range want {
			root := LookTrail(all, id)[0].ID
			if roots[root] {
				t.Fatalf("two of the trail of %s stand: %v", root, want)
			}
			roots[root] = true
		}
	})
}

func TestCorrectionsInAFileAreChecked(t *testing.T) {
	g := &Garden{Scoutings: []Scouting{look("a", "", 0, None), look("b", "nowhere", 1, Found), look("c", "a", 1, Found)}}
	g.Scoutings[2].Why = ""
	problems, _ := g.Validate(Known{})
	var all string
	for _, p := range problems {
		all += p.Message + "; "
	}
	assert.Contains(t, all, `scouting "b" replaces "nowhere"`)
	assert.Contains(t, all, "scouting c corrects a without saying why")
}
