package model

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Every rule says what its day is, which hours and whose temperature count, how
// it rounds and what its total is.
func TestEveryRuleSaysHowItReadsTheWeather(t *testing.T) {
	for _, s := range examples(t) {
		r := Describe(s)
		for part, text := range map[string]string{"day": r.Day, "rounding": r.Rounding, "total": r.Total, "missing": r.Missing} {
			assert.True(t, strings.HasSuffix(text, "."), "%s %s: %q", s.Kind(), part, text)
		}
		assert.True(t, r.Hours+r.Temperature != "", s.Kind())
	}
	assert.Equal(t, Reading{
		Day:         "The day runs from noon to noon, dated on the day it ends, by the site's clock.",
		Hours:       "Hours with relative humidity of 90 % or more: each unbroken run of the day is scored on its own and the values are added.",
		Temperature: "The mean of the hours of the run.",
		Rounding:    "The mean is rounded half up to 1 C, then both ends of a band are included. Hours are whole.",
		Total:       "The sum of the days since the start. A spray puts it to 0; counting goes on with the day after the spray.",
		Missing:     "Hours that are unknown count neither as wet nor as dry; the lower and upper total say what they may have been.",
	}, Describe(decode(t, "severity-table", blightUnits)))
	assert.Equal(t, Reading{}, Describe(nil))
}
