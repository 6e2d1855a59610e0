package degreeday

import (
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// BenchmarkAgainstNumpy prints, beside the time of one site-season, how many
// times longer the vectorised numpy version of the same sum takes for one
// ("ratio"), on the same invented year and machine. See testdata/scipy/bench.py.
func BenchmarkAgainstNumpy(b *testing.B) {
	needScipy(b)
	days := season()
	dd, total := make([]float64, len(days)), make([]float64, len(days))
	for task, m := range map[string]Method{"degreedays-single-sine": SingleSine, "degreedays-double-sine": DoubleSine} {
		cmd := exec.Command(python, "bench.py", task)
		cmd.Dir, cmd.Env = scripts, append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1")
		line, err := cmd.Output()
		if err != nil {
			b.Fatal(err)
		}
		seconds, theirs := map[string]float64{}, 0.0 // by sites in the array; the season's total
		for _, l := range strings.Split(strings.TrimSpace(string(line)), "\n") {
			f := strings.Fields(l)
			if len(f) != 4 {
				b.Fatalf("bench.py printed %q", l)
			}
			if seconds[f[2]], err = strconv.ParseFloat(f[1], 64); err != nil {
				b.Fatal(err)
			}
			if theirs, err = strconv.ParseFloat(f[3], 64); err != nil {
				b.Fatal(err)
			}
		}
		b.Run(task, func(b *testing.B) {
			r := Rule{m, Horizontal, 10, 30}
			b.ReportAllocs()
			mine := math.Inf(1) // the best of many, as bench.py takes
			for b.Loop() {
				began := time.Now()
				for range 10 {
					if err := r.Days(days, dd); err != nil {
						b.Fatal(err)
					}
					Running(dd, total)
				}
				mine = min(mine, time.Since(began).Seconds()/10)
			}
			if mine := total[len(total)-1]; math.Abs(mine-theirs) > 1e-9*theirs {
				b.Fatalf("the season's total is %v, numpy's %v", mine, theirs)
			}
			for sites, s := range seconds {
				b.ReportMetric(s/mine, "ratio-numpy-"+sites+"-sites")
			}
		})
	}
}
