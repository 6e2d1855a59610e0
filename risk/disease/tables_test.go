package disease

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// table reads a file of testdata: a row by column name.
func table(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 2, name)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, k := range rows[0] {
			m[k] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t testing.TB, row map[string]string, key string) float64 {
	t.Helper()
	require.Contains(t, row, key)
	v, err := strconv.ParseFloat(row[key], 64)
	require.NoError(t, err, "%s of %v", key, row)
	return v
}

// bands makes a severity table of rows with the ends of temperature, the first
// hour and the value.
func bands(t testing.TB, rows []map[string]string, low, high, hours, value string) []Band {
	var out []Band
	for _, r := range rows {
		from, to := number(t, r, low), number(t, r, high)
		if n := len(out); n == 0 || out[n-1].From != from {
			out = append(out, Band{From: from, To: to})
		}
		if v := number(t, r, value); v > 0 {
			b := &out[len(out)-1]
			b.Steps = append(b.Steps, Step{int(number(t, r, hours)), v})
		}
	}
	return out
}

func wallin(t testing.TB, fahrenheit bool) *Table {
	rows := table(t, "wallin_table.csv")
	if fahrenheit {
		return NewTable(1, true, bands(t, rows, "temp_lo_f", "temp_hi_f", "hours_lo", "severity"))
	}
	return NewTable(0.1, false, bands(t, rows, "temp_lo_c", "temp_hi_c", "hours_lo", "severity"))
}

func TestWallinBoundaries(t *testing.T) {
	tab := wallin(t, false)
	for _, r := range table(t, "wallin_boundaries.csv") {
		mean, hours := number(t, r, "mean_temp_c_during_rh90"), int(number(t, r, "hours_rh90"))
		assert.Equal(t, number(t, r, "severity"), tab.Value(mean, hours), "%g C, %d h", mean, hours)
	}
}

// The F and the C form part between 11.7 and 11.9 C and between 15.1 and 15.2 C:
// a mean of 53.4 F is still in the first band when F are rounded. At the outer
// ends the F form reaches a little further, 44.5 to 80.49 F.
func TestWallinFormsDisagree(t *testing.T) {
	c, f := wallin(t, false), wallin(t, true)
	assert.Equal(t, 1.0, c.Value(11.8, 13))
	assert.Equal(t, 0.0, f.Value(11.8, 13)) // 53.24 F
	assert.Equal(t, 2.0, c.Value(15.1, 13))
	assert.Equal(t, 1.0, f.Value(15.1, 13)) // 59.18 F
	assert.Equal(t, 0.0, c.Value(7, 24))
	assert.Equal(t, 3.0, f.Value(7, 24)) // 44.6 F
	for _, mean := range []float64{6.9, 7.2, 9, 11.5, 12, 14, 15, 15.4, 20, 26.6, 27.5} {
		for h := range 25 {
			assert.Equal(t, c.Value(mean, h), f.Value(mean, h), "%g C, %d h", mean, h)
		}
	}
}

func TestTomatoBoundaries(t *testing.T) {
	tab := NewTable(1, false, bands(t, table(t, "tomato_table.csv"), "temp_lo_c", "temp_hi_c", "wet_hours_lo", "dsv"))
	for _, r := range table(t, "tomato_boundaries.csv") {
		mean, hours := number(t, r, "mean_wet_temp_c"), int(number(t, r, "wet_hours"))
		assert.Equal(t, number(t, r, "dsv"), tab.Value(mean, hours), "%g C, %d h", mean, hours)
	}
}

// Both sides of every class of the blight units, by its hours and by its
// temperatures with the mean rounded half up to whole C.
func TestBlightUnitClasses(t *testing.T) {
	rows := table(t, "blight_units.csv")
	for _, class := range []string{"S", "MS", "MR"} {
		var mine []map[string]string
		for _, r := range rows {
			if r["resistance"] == class {
				mine = append(mine, r)
			}
		}
		// The printed order runs from warm to cold.
		var bs []Band
		for _, b := range bands(t, mine, "temp_lo_c", "temp_hi_c", "hours_lo", "blight_units") {
			bs = append([]Band{b}, bs...)
		}
		tab := NewTable(1, false, bs)
		want := func(mean float64, hours int) float64 {
			for _, r := range mine {
				if k := math.Floor(mean + 0.5); k >= number(t, r, "temp_lo_c") && k <= number(t, r, "temp_hi_c") &&
					hours >= int(number(t, r, "hours_lo")) && hours <= int(number(t, r, "hours_hi")) {
					return number(t, r, "blight_units")
				}
			}
			return 0
		}
		for _, r := range mine {
			low, high := number(t, r, "temp_lo_c"), number(t, r, "temp_hi_c")
			for _, mean := range []float64{low - 0.51, low - 0.5, low, high, high + 0.49, high + 0.5} {
				for _, h := range []int{int(number(t, r, "hours_lo")) - 1, int(number(t, r, "hours_lo")), int(number(t, r, "hours_hi")), min(24, int(number(t, r, "hours_hi"))+1)} {
					assert.Equal(t, want(mean, h), tab.Value(mean, h), "%s %g C, %d h", class, mean, h)
				}
			}
		}
	}
}

// A mean between whole degrees, such as the 12.5 and 22.5 C that one script left
// without a score, is rounded half up; 11.65 at a step of 0.1 goes up although
// its binary form lies below.
func TestRounding(t *testing.T) {
	tab := NewTable(1, false, []Band{{8, 12, []Step{{1, 1}}}, {13, 22, []Step{{1, 2}}}, {23, 27, []Step{{1, 3}}}})
	assert.Equal(t, 2.0, tab.Value(12.5, 1))
	assert.Equal(t, 1.0, tab.Value(12.49, 1))
	assert.Equal(t, 3.0, tab.Value(22.5, 1))
	assert.Equal(t, 0.0, tab.Value(7.49, 1))
	assert.Equal(t, 0.0, tab.Value(27.5, 1))
	assert.Equal(t, 0.0, tab.Value(math.NaN(), 24))
	assert.Equal(t, 0.0, tab.Value(math.Inf(-1), 24))
	assert.Equal(t, 0.0, tab.Value(math.Inf(1), 24))
	tenths := NewTable(0.1, false, []Band{{7.2, 11.6, []Step{{1, 1}}}, {11.7, 15, []Step{{1, 2}}}})
	assert.Equal(t, 2.0, tenths.Value(11.65, 1))
	assert.Equal(t, 1.0, tenths.Value(11.6499, 1))
	negative := NewTable(1, false, []Band{{-3, -1, []Step{{1, 1}}}})
	assert.Equal(t, 1.0, negative.Value(-3.5, 1))
	assert.Equal(t, 0.0, negative.Value(-3.51, 1))
	assert.Equal(t, 0.0, negative.Value(-0.5, 1))
}

func TestScabHours(t *testing.T) {
	var rows []HoursRow
	for _, r := range table(t, "scab_hours.csv") {
		c := func(key string) float64 { return math.Round((number(t, r, key) - 32) / 1.8) }
		rows = append(rows, HoursRow{c("temp_lo_f"), c("temp_hi_f"), number(t, r, "min_wet_hours")})
	}
	h := NewHoursNeeded(rows, Interpolate, 1, false)
	for _, r := range rows {
		for _, mean := range []float64{r.From, r.To, r.From - 0.5, r.To + 0.49} {
			assert.Equal(t, r.Hours, h.At(mean), "%g C", mean)
			assert.True(t, h.Met(int(r.Hours), mean), "%g C", mean)
			assert.False(t, h.Met(int(r.Hours)-1, mean), "%g C", mean)
		}
	}
	assert.True(t, math.IsInf(h.At(0.49), 1))
	assert.True(t, math.IsInf(h.At(26.5), 1))
	assert.False(t, h.Met(1000, 0.4))
	assert.Equal(t, 6, h.Least())
	// Cross-check: the generic model with the parameters of the same fungus gives
	// 21.6, 9.3 and 6.6 h at 5, 10 and 15 C.
	for temp, want := range map[float64]float64{5: 21, 10: 11, 15: 7} {
		assert.Equal(t, want, h.At(temp))
		assert.InDelta(t, want, Generic{1, 20, 35, 6, 40.5}.At(temp), 2)
	}
}

func TestMillsHoursRiseWithSeverity(t *testing.T) {
	for _, r := range table(t, "mills_hours.csv") {
		light, moderate, heavy := number(t, r, "light_h"), number(t, r, "moderate_h"), number(t, r, "heavy_h")
		assert.True(t, light < moderate && moderate < heavy, "%v", r)
	}
}

func TestBlackRotHours(t *testing.T) {
	var rows []HoursRow
	for _, r := range table(t, "black_rot_hours.csv") {
		f := number(t, r, "temp_f")
		rows = append(rows, HoursRow{f, f, number(t, r, "wet_hours")})
	}
	line, longer, shorter := NewHoursNeeded(rows, Interpolate, 0, true), NewHoursNeeded(rows, Longer, 0, true), NewHoursNeeded(rows, Shorter, 0, true)
	c := func(f float64) float64 { return (f - 32) / 1.8 }
	for i, r := range rows {
		for _, h := range []*HoursNeeded{line, longer, shorter} {
			assert.Equal(t, r.Hours, h.At(c(r.From)), "%g F", r.From)
		}
		if i > 0 {
			p := rows[i-1]
			mid := c((p.From + r.From) / 2)
			assert.InDelta(t, (p.Hours+r.Hours)/2, line.At(mid), 1e-9)
			assert.Equal(t, max(p.Hours, r.Hours), longer.At(mid))
			assert.Equal(t, min(p.Hours, r.Hours), shorter.At(mid))
		}
	}
	assert.True(t, math.IsInf(line.At(c(49.9)), 1))
	assert.True(t, math.IsInf(line.At(c(90.1)), 1))
	// End points of the abstract of Spotts 1977.
	assert.Equal(t, 24.0, line.At(10))
	assert.InDelta(t, 6.0, line.At(26.5), 0.3)
	assert.InDelta(t, 12.0, line.At(32), 0.5)
}
