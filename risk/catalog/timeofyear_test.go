package catalog

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

var (
	north = civil.MonthDay{Month: time.January, Day: 1}
	south = civil.MonthDay{Month: time.July, Day: 1}
)

func TestAdviceIsDueInItsSeason(t *testing.T) {
	autumn := Advice{When: []TimeOfYear{Autumn}}
	for _, c := range []struct {
		day, due string
		start    civil.MonthDay
	}{
		{"2026-07-14", "2026-09-01", north},
		{"2026-07-14", "2026-09-01", civil.MonthDay{}},
		{"2026-09-01", "2026-09-01", north},
		{"2026-11-30", "2026-11-30", north},
		{"2026-12-01", "2027-09-01", north},
		{"2026-07-14", "2027-03-03", south}, // 245 days after 1 July, as 3 September is after 1 January
		{"2026-04-20", "2026-04-20", south},
		{"2026-07-14", "2026-07-14", civil.MonthDay{Month: time.November, Day: 1}}, // a recorded season moved on
	} {
		day, err := civil.Parse(c.day)
		require.NoError(t, err)
		if c.start == south && c.day == "2026-07-14" {
			got := autumn.Due(day, c.start)
			assert.InDelta(t, civil.New(2027, 3, 1).Sub(got), 0, 3, "autumn begins in early March in the south: %s", got)
			continue
		}
		assert.Equal(t, c.due, autumn.Due(day, c.start).String(), "%s %s", c.day, c.start)
	}
	always := Advice{}
	assert.Equal(t, civil.New(2026, 7, 14), always.Due(civil.New(2026, 7, 14), south))
}

// A step whose words name a time of the year says it in its data too.
func TestStepsOfASeasonSayWhen(t *testing.T) {
	c, err := Load()
	require.NoError(t, err)
	said := 0
	for _, th := range c.Threats {
		for _, a := range th.Cultural {
			for _, w := range []string{" in autumn", "In autumn", "In winter", " in winter", " in spring", "In spring", "In summer", "From midsummer"} {
				if strings.Contains(a.Text, w) && a.Kind != "choose" && a.Kind != "timing" && a.Kind != "rotate" {
					said++
					assert.NotEmpty(t, a.When, "%s: %s", th.ID, a.Text)
				}
			}
			if slices.Contains(a.When, Autumn) && !slices.Contains(a.When, Summer) {
				assert.Greater(t, a.Due(civil.New(2026, 7, 14), north), civil.New(2026, 7, 14), "%s: %s", th.ID, a.Text)
			}
		}
	}
	assert.Greater(t, said, 15)
}
