package disease

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

var leaves = map[rune]Leaf{'W': LeafWet, '.': LeafDry, '?': LeafUnknown, '~': LeafDamp, '-': LeafDryOrDamp}

// hours feeds a line of hours, each at 15 C, and returns the wet hours of the
// periods that ended, and the period at the end of the line.
func hours(line string, gap int) (ended []int, p Period) {
	for _, c := range line {
		if p.Hour(leaves[c], 15, gap, false) {
			ended = append(ended, p.Wet)
		}
	}
	return ended, p
}

func TestPeriodJoinsOverShortGaps(t *testing.T) {
	for _, c := range []struct {
		line  string
		gap   int
		ended []int
		wet   int
		open  bool
	}{
		{"WWW", 1, nil, 3, true},
		{"WWW.", 1, []int{3}, 3, false},
		{"WWW.WW", 1, []int{3}, 2, true},
		{"WWW.WW", 2, nil, 5, true},
		{"WWW..WW", 2, []int{3}, 2, true},                         // a gap of D50 parts: D50 itself is not defined by the authors
		{"WWW.......W", 8, nil, 4, true},                          // 7 dry hours join
		{"WWW........W", 8, []int{3}, 1, true},                    // 8 part (West Virginia)
		{"WW~~~~~~W", 2, nil, 3, true},                            // dry but above 95 %: no gap (Magarey et al. 2005)
		{"WW.~.W", 2, []int{2}, 1, true},                          // its dry hours add up across damp ones
		{"WW.W.W.W", 2, nil, 5, true},                             // a wet hour begins the gap anew
		{strings.Repeat("W", 60) + "..", 2, []int{60}, 60, false}, // over midnight
	} {
		ended, p := hours(c.line, c.gap)
		assert.Equal(t, c.ended, ended, c.line)
		assert.Equal(t, c.wet, p.Wet, c.line)
		assert.Equal(t, c.open, p.Open, c.line)
		assert.False(t, p.Doubt, c.line)
	}
}

// An unknown hour is neither wet nor dry: it casts doubt until enough dry hours
// that surely count have followed.
func TestPeriodDoubt(t *testing.T) {
	for _, c := range []struct {
		line   string
		doubt  bool
		spoilt bool
		wet    int
	}{
		{"W?", true, true, 1},
		{"?", true, true, 0},
		{"?.", true, true, 0},
		{"?..", false, true, 0},
		{"?.W", true, true, 1},
		{"?..W", false, false, 1},
		{"W.?.", true, true, 1},
		{"W.-", true, true, 1},
		{"..-", false, false, 0},
		{"?.~.", false, true, 0},
	} {
		_, p := hours(c.line, 2)
		assert.Equal(t, c.doubt, p.Doubt, c.line)
		assert.Equal(t, c.wet, p.Wet, c.line)
		if p.Open {
			assert.Equal(t, c.spoilt, p.Spoilt, c.line)
		}
	}
	var p Period
	p.Hour(LeafWet, math.NaN(), 2, false)
	p.Hour(LeafWet, 12, 2, false)
	assert.True(t, p.Doubt, "a wet hour of unknown temperature")
	assert.Equal(t, 12.0, p.Mean())
	assert.Equal(t, 2, p.Wet)
}

// A period that begins by night counts from the first hour of the day; one that
// began by day goes on counting through the night.
func TestPeriodWaitsForDay(t *testing.T) {
	var p Period
	for range 5 {
		p.Hour(LeafWet, 10, 3, true)
	}
	assert.True(t, p.Waiting)
	assert.Equal(t, 0, p.Wet)
	p.Hour(LeafWet, 14, 3, false)
	assert.Equal(t, 1, p.Wet)
	assert.Equal(t, 14.0, p.Mean(), "night hours are not in the mean")
	for range 5 {
		p.Hour(LeafWet, 14, 3, true)
	}
	assert.Equal(t, 6, p.Wet)

	p = Period{}
	p.Hour(LeafWet, 10, 2, true)
	p.Hour(LeafDry, 10, 2, true)
	assert.False(t, p.Hour(LeafDry, 10, 2, true), "it never counted an hour")
	assert.False(t, p.Open)
}

func TestDryHoursAtOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := rapid.StringOfN(rapid.RuneFrom([]rune("W.?~-")), 0, 30, -1).Draw(t, "line")
		gap, n := rapid.IntRange(1, 6).Draw(t, "gap"), rapid.IntRange(1, 10).Draw(t, "dry")
		_, one := hours(line, gap)
		many, ended := one, false
		for range n {
			ended = many.Hour(LeafDry, 0, gap, false) || ended
		}
		if got := one.DryHours(n, gap); got != ended || one.Open != many.Open || one.Doubt != many.Doubt || one.Wet != many.Wet {
			t.Fatalf("%q then %d dry, gap %d: %+v ended %v, one by one %+v ended %v", line, n, gap, one, got, many, ended)
		}
	})
}
