package outlook

import (
	"fmt"

	"plotwarden/risk"
)

// PaceDays is how many last days of a track the fallback takes its pace from.
const PaceDays = 14

// Pace makes members for a place without any history: the mean daily value of
// the track's last PaceDays goes on, from half to one and a half times as fast.
// The spread is a stated guess (common practice: none; from memory), so that an
// outlook built on it is marked rough.
func Pace(t *risk.Track) []Member {
	n := min(PaceDays, len(t.Points))
	if n == 0 {
		return nil
	}
	sum := 0.0
	for _, p := range t.Points[len(t.Points)-n:] {
		sum += p.Value
	}
	mean := sum / float64(n)
	var out []Member
	for _, f := range []float64{0.5, 0.75, 1, 1.25, 1.5} {
		values := make([]float64, Horizon)
		for i := range values {
			values[i] = mean * f
		}
		out = append(out, Member{Name: fmt.Sprintf("%g of the last days' pace", f), Values: values})
	}
	return out
}
