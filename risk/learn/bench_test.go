package learn

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// BenchmarkLearn is one threat at one plot, with all four ways and their errors.
func BenchmarkLearn(b *testing.B) {
	for _, n := range []int{1, 5, 15, 30} {
		b.Run(fmt.Sprintf("seasons=%d", n), func(b *testing.B) {
			s := simulate(rand.New(rand.NewPCG(1, 1)), n, 0, 7, 1.1, 0.15)
			for b.Loop() {
				if _, err := Learn(s.input()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
