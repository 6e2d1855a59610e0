package alerts

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestLinksToActStandAtEachNotice(t *testing.T) {
	in := scenarios()["acts"]
	d, _ := Compose(in)
	for _, n := range append(d.New, d.Open...) {
		assert.Len(t, n.Acts, 4, n.Threat)
		if n.Threat == "Late blight" {
			assert.Equal(t, Act{"Done", "https://beds.example/act/done.tom,tom2.late-blight"}, n.Acts[0], "one link for all beds of a notice")
		}
	}
}

func TestSubjectsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z0-9][a-z0-9-]{0,6}`), 1, 4, rapid.ID).Draw(t, "plantings")
		threat := rapid.StringMatching(`[a-z][a-z-]{0,8}`).Draw(t, "threat")
		got, of, ok := ParseSubject(Subject(ids, threat))
		if !ok || of != threat || len(got) != len(ids) || Subject(got, of) != Subject(ids, threat) {
			t.Fatalf("%v %s", got, of)
		}
	})
	for _, bad := range []string{"", "/", "a/", "/b", "a,/b", "a/b/c", "a/b,c", "ab"} {
		_, _, ok := ParseSubject(bad)
		assert.False(t, ok, bad)
	}
}
