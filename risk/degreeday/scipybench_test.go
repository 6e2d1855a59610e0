package degreeday

import (
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
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
		seconds := map[string]float64{} // by sites in the array
		for _, l := range strings.Split(strings.TrimSpace(string(line)), "\n") {
			f := strings.Fields(l)
			if len(f) != 3 {
				b.Fatalf("bench.py printed %q", l)
			}
			if seconds[f[2]], err = strconv.ParseFloat(f[1], 64); err != nil {
				b.Fatal(err)
			}
		}
		b.Run(task, func(b *testing.B) {
			r := Rule{m, Horizontal, 10, 30}
			b.ReportAllocs()
			for b.Loop() {
				if err := r.Days(days, dd); err != nil {
					b.Fatal(err)
				}
				Running(dd, total)
			}
			mine := b.Elapsed().Seconds() / float64(b.N)
			for sites, s := range seconds {
				b.ReportMetric(s/mine, "ratio-numpy-"+sites+"-sites")
			}
		})
	}
}
