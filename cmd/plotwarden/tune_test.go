package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/calc"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/degreeday"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
)

// tuneGround writes a configuration with a region, and a store with four years of
// weather and a log.
func tuneGround(t *testing.T) (config string) {
	t.Helper()
	dir := t.TempDir()
	db := filepath.Join(dir, "store.db")
	config = filepath.Join(dir, "plotwarden.yaml")
	text := strings.Replace(replayConfig, "STORE", db, 1) + "people: [{id: wren, name: Wren}]\nregions: [{id: valley, name: The valley, sites: [ground], volunteers: [wren]}]\n"
	require.NoError(t, os.WriteFile(config, []byte(text), 0o600))
	f, err := os.Open(newYorkDays(t))
	require.NoError(t, err)
	defer f.Close()
	days, err := calc.ReadDays("days", f, degreeday.Celsius)
	require.NoError(t, err)
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	ctx := context.Background()
	st, err := sqlite.Open(ctx, db)
	require.NoError(t, err)
	require.NoError(t, st.SaveWeather(ctx, "ground", weather.HoursFromDays(days.List, 40.64, -73.78, zone, weather.Origin{Source: "record", Kind: weather.Analysis})))
	for i, l := range []garden.Scouting{
		{Finding: garden.None, Date: civil.New(2012, 4, 20)}, {Finding: garden.Found, Date: civil.New(2012, 4, 26)},
		{Finding: garden.None, Date: civil.New(2013, 5, 8)}, {Finding: garden.Found, Date: civil.New(2013, 5, 15)},
		{Finding: garden.None, Date: civil.New(2014, 5, 12)}, {Finding: garden.Found, Date: civil.New(2014, 5, 18)},
	} {
		l.ID, l.Site, l.Planting, l.Threat = fmt.Sprint(i), "ground", "cabbages", "imported-cabbageworm"
		require.NoError(t, st.AddScouting(ctx, l))
	}
	require.NoError(t, st.Close())
	return config
}

func TestTuneCommand(t *testing.T) {
	config := tuneGround(t)
	tune := func(stdin string, args ...string) result {
		return plotwarden(t, stdin, append([]string{"tune"}, args...)...)
	}
	at := []string{"--config", config, "--region", "valley"}
	svg := filepath.Join(t.TempDir(), "drawings")
	r := tune("", append(at, "--threat", "imported-cabbageworm", "--set", "threshold=200", "--dry-run", "--held-out", "2014", "--svg", svg)...)
	require.Equal(t, 0, r.code, r.err)
	assert.Contains(t, r.out, "published 150, in force 150, tried 200")
	assert.Regexp(t, `The ground +2012 +\d+\.\d \| \d+\.\d`, r.out)
	assert.Contains(t, r.out, "2014*")
	assert.Regexp(t, `all +3 `, r.out)
	assert.Contains(t, r.err, "warning: only 3 logged seasons: fewer than 5")
	assert.Contains(t, r.err, "not saved")
	drawings, err := filepath.Glob(filepath.Join(svg, "*.svg"))
	require.NoError(t, err)
	assert.NotEmpty(t, drawings)
	r = tune("", append([]string{"list"}, at...)...)
	require.Equal(t, 0, r.code, r.err)
	assert.Equal(t, 1, strings.Count(r.out, "\n"), "a trial leaves nothing")

	r = tune("", append(at, "--model", "imported-cabbageworm/delahaut-2015", "--set", "threshold=200", "--save", "--by", "wren", "--why", "three seasons of finds")...)
	require.Equal(t, 0, r.code, r.err)
	id := regexp.MustCompile(`saved as ([0-9a-f]+);`).FindStringSubmatch(r.err)
	require.Len(t, id, 2, r.err)
	r = tune("", append([]string{"list"}, at...)...)
	assert.Contains(t, r.out, "200 in place of the published 150, tuned by Wren on")
	assert.Contains(t, r.out, "three seasons of finds. 14 days ahead the median was off by")
	assert.Contains(t, r.out, "Warning: only 3 logged seasons")

	r = tune("", append([]string{"export"}, at...)...)
	require.Equal(t, 0, r.code, r.err)
	file := r.out
	assert.Contains(t, file, "signature:")
	key := regexp.MustCompile(`signed with the key (\S+);`).FindStringSubmatch(r.err)[1]

	other := []string{"--config", tuneGround(t), "--region", "valley"}
	r = tune(file, append([]string{"import", "-"}, other...)...)
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "--trust KEY")
	r = tune(strings.Replace(file, `"200"`, `"20"`, 1), append([]string{"import", "-", "--trust", key}, other...)...)
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "the signature does not fit")
	r = tune(file, append([]string{"import", "-", "--trust", key}, other...)...)
	require.Equal(t, 0, r.code, r.err)
	assert.Contains(t, r.out, "200 in place of the published 150")
	assert.Contains(t, r.err, "warning: over this region's own log: only 3 logged seasons")

	r = tune("", append([]string{"undo", id[1], "--by", "Wren", "--why", "a slip"}, at...)...)
	require.Equal(t, 0, r.code, r.err)
	r = tune("", append([]string{"list"}, at...)...)
	assert.Contains(t, r.out, "undone by")
	assert.Contains(t, r.out, "undone by Wren on")

	for name, c := range map[string]struct {
		args []string
		err  string
	}{
		"unknown region":    {[]string{"--config", config, "--region", "vale", "--threat", "imported-cabbageworm", "--set", "threshold=2"}, `--region: region "vale" is not known`},
		"unknown number":    {append(at, "--threat", "imported-cabbageworm", "--set", "base=2"), `number "base" is not known`},
		"no number":         {append(at, "--threat", "imported-cabbageworm", "--set", "threshold"), "write what=value"},
		"no such stage":     {append(at, "--threat", "imported-cabbageworm", "--set", "threshold=2", "--stage", "eggs"), "no stage that begins"},
		"neither":           {append(at, "--set", "threshold=2"), "name a --threat or a --model"},
		"nameless":          {append(at, "--threat", "imported-cabbageworm", "--set", "threshold=200", "--save"), "--save needs --why and --by"},
		"not a number":      {append(at, "--threat", "imported-cabbageworm", "--set", "threshold=late"), "is not a number"},
		"undo what is not":  {append([]string{"undo", "none", "--by", "Wren", "--why", "a slip"}, at...), "there is no such tuning"},
		"import of rubbish": {append([]string{"import", "-"}, at...), "stdin:1:1"},
	} {
		t.Run(name, func(t *testing.T) {
			r := tune("rubbish", c.args...)
			assert.Equal(t, 2, r.code)
			assert.Contains(t, r.err, c.err)
		})
	}
}
