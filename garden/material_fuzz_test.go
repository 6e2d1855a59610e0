package garden

import (
	"math"
	"testing"
)

// What is read is finite, and what is written reads back to the same value.
func FuzzLabelMeasures(f *testing.F) {
	for _, s := range []string{"32 C", "90F", "-4 °C", "10 mph", "16 km/h", "4.5m/s", "1e400 C", "07:00", "", "nan F"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var d Degrees
		if d.UnmarshalText([]byte(s)) == nil {
			again(t, float64(d), func(b []byte) (float64, error) { var x Degrees; err := x.UnmarshalText(b); return float64(x), err }, d.MarshalText)
		}
		var v Speed
		if v.UnmarshalText([]byte(s)) == nil {
			again(t, float64(v), func(b []byte) (float64, error) { var x Speed; err := x.UnmarshalText(b); return float64(x), err }, v.MarshalText)
		}
		var c ClockTime
		if c.UnmarshalText([]byte(s)) == nil && c != "" && len(c) != 5 {
			t.Fatalf("%q gave %q", s, c)
		}
	})
}

func again(t *testing.T, x float64, read func([]byte) (float64, error), write func() ([]byte, error)) {
	t.Helper()
	if math.IsNaN(x) || math.IsInf(x, 0) {
		t.Fatalf("read %g", x)
	}
	b, err := write()
	if err != nil {
		t.Fatal(err)
	}
	back, err := read(b)
	if err != nil || math.Abs(back-x) > 0.0051+1e-9*math.Abs(x) {
		t.Fatalf("%g was written %q and read %g: %v", x, b, back, err)
	}
}
