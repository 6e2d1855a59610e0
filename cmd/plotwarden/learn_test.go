package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/testdata"
)

// newYorkDays writes the embedded record of New York as a file of days.
func newYorkDays(t *testing.T) string {
	t.Helper()
	f, err := testdata.Daily.Open("daily/weather.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("date,tmin,tmax\n")
	for _, r := range rows[1:] {
		if r[0] == "New York" {
			fmt.Fprintf(&b, "%s,%s,%s\n", r[1], r[4], r[3])
		}
	}
	name := filepath.Join(t.TempDir(), "days.csv")
	require.NoError(t, os.WriteFile(name, []byte(b.String()), 0o600))
	return name
}

func TestLearnCommand(t *testing.T) {
	days := newYorkDays(t)
	const id = "imported-cabbageworm/delahaut-2015"
	log := "year,date\n2012,2012-04-10\n2013,2013-05-06\n2014,2014-05-12\n2015,2015-05-08\n"
	r := plotwarden(t, log, "learn", "--model", id, "--weather", days, "-")
	require.Equal(t, 0, r.code, r.err)
	rows, err := csv.NewReader(strings.NewReader(r.out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, []string{"way", "error_days", "scored", "inside_80", "estimate", "p10", "p90", "unit", "date10", "date50", "date90", "chosen"}, rows[0])
	for i, way := range []string{"calendar mean", "published threshold", "local threshold", "blend"} {
		assert.Equal(t, way, rows[i+1][0])
		assert.NotEmpty(t, rows[i+1][1], "the error of the %s", way)
	}
	assert.Contains(t, r.err, "chosen: blend")

	for name, c := range map[string]struct {
		stdin string
		args  []string
		code  int
		err   string
	}{
		"unknown model": {log, []string{"--model", "cabbageworm", "--weather", days, "-"}, 2, `model "cabbageworm" is not known`},
		"no weather":    {log, []string{"--model", id, "--weather", "none.csv", "-"}, 2, "plotwarden: open none.csv: no such file or directory"},
		"bad log":       {"year,date\n2012,spring\n", []string{"--model", id, "--weather", days, "-"}, 2, `stdin:2:6: date: "spring" is not a date`},
		"no model":      {log, []string{"--weather", days, "-"}, 2, "missing flags: --model=ID"},
		"unknown stage": {log, []string{"--model", id, "--weather", days, "--stage", "eggs", "-"}, 2, `no stage that begins with "eggs"`},
	} {
		t.Run(name, func(t *testing.T) {
			r := plotwarden(t, c.stdin, append([]string{"learn"}, c.args...)...)
			assert.Equal(t, c.code, r.code)
			assert.Empty(t, r.out)
			assert.Contains(t, r.err, c.err)
		})
	}
}
