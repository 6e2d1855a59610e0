package garden

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/strict"

	"strings"
)

func TestQuietHours(t *testing.T) {
	at := func(h, m int) time.Time { return time.Date(2026, 6, 4, h, m, 0, 0, time.UTC) }
	night := QuietHours{From: 22 * 60, To: 7 * 60}
	for _, c := range []struct {
		h, m int
		want bool
	}{{21, 59, false}, {22, 0, true}, {0, 0, true}, {6, 59, true}, {7, 0, false}} {
		assert.Equal(t, c.want, night.Holds(at(c.h, c.m), time.UTC), "%02d:%02d", c.h, c.m)
	}
	assert.False(t, QuietHours{}.Holds(at(0, 0), time.UTC))
	noon := QuietHours{From: 12 * 60, To: 13 * 60}
	assert.True(t, noon.Holds(at(16, 30), time.FixedZone("x", -4*3600)), "in the zone of the site")
}

// Every setting is read, and every slip is named at its line.
func TestPersonSettings(t *testing.T) {
	const good = `
people:
  - id: wren
    email: wren@plot.example
    language: es
    quiet_hours: {from: "22:00", to: "07:00"}
    holidays: [{from: 2026-07-01, to: 2026-07-14}]
    weekly: monday
    mute: [{threat: late-blight, until: 2026-06-30}]
    webhook: {url: "https://relay.example/in", secret_file: relay.secret}
`
	read := func(text string) (Garden, []string) {
		var g Garden
		where, faults := strict.Decode("x.yaml", strings.NewReader(text), &g)
		var out []string
		for _, f := range faults {
			out = append(out, f.Message)
		}
		problems, _ := g.Validate(Known{Threats: []string{"late-blight"}})
		for _, p := range problems {
			assert.NotZero(t, where.Fault(p.At, "").Line, p.Message)
			out = append(out, p.Message)
		}
		return g, out
	}
	g, faults := read(good)
	require.Empty(t, faults)
	p := g.People[0]
	assert.Equal(t, Spanish, p.Language)
	assert.Equal(t, QuietHours{22 * 60, 7 * 60}, p.QuietHours)
	assert.True(t, p.Away(civil.New(2026, 7, 14)))
	assert.False(t, p.Away(civil.New(2026, 7, 15)))
	assert.True(t, p.Weekly.Falls(civil.New(2026, 6, 1)), "a Monday")
	assert.False(t, p.Weekly.Falls(civil.New(2026, 6, 2)))
	assert.Equal(t, civil.New(2026, 6, 30), p.MutedUntil("late-blight", civil.New(2026, 6, 30)))
	assert.Zero(t, p.MutedUntil("late-blight", civil.New(2026, 7, 1)))

	for old, c := range map[string]struct{ now, want string }{
		"language: es":                   {"language: xx", "not one of: en, es"},
		`to: "07:00"`:                    {`to: "22:00"`, "no time at all"},
		`from: "22:00"`:                  {`from: "25:00"`, "not a time of day"},
		"to: 2026-07-14":                 {"to: 2026-06-14", "before it begins"},
		"weekly: monday":                 {"weekly: mon", "not a day of the week"},
		"threat: late":                   {"threat: lote", "late-blight"},
		", until: 2026-06-30":            {"", "mute has no until"},
		", secret_file: relay.secret":    {"", "webhook has no secret_file"},
		"holidays: [{from: 2026-07-01, ": {"holidays: [{", "holiday has no from"},
	} {
		_, faults := read(strings.Replace(good, old, c.now, 1))
		assert.Contains(t, strings.Join(faults, "\n"), c.want, old)
	}
}
