package config

import (
	"flag"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/plan"
	"plotwarden/strict"
)

var update = flag.Bool("update", false, "write golden files")

func threats(folder string) ([]string, error) {
	ids := []string{"imported-cabbageworm", "squash-vine-borer", "tomato-early-blight"}
	switch filepath.Base(folder) {
	case ".":
		return ids, nil
	case "more":
		return append(ids, "leaf-miner"), nil
	case "faulty":
		return nil, strict.Faults{{File: "faulty/x.yaml", Line: 2, Column: 1, Message: "wrong"}}
	}
	_, err := os.ReadDir(folder)
	return nil, fmt.Errorf("read the folder: %w", err)
}

const least = `sites:
  - {id: north, latitude: 40.6, longitude: -73.8, zone: America/New_York}
`

func parseText(t *testing.T, text string) (*Config, error) {
	t.Helper()
	return Parse("f", strings.NewReader(text), threats)
}

// A file with every kind of fault: each is reported once, at its place.
func TestEveryFaultAtOnce(t *testing.T) {
	f, err := os.Open("testdata/bad.yaml")
	require.NoError(t, err)
	defer f.Close()
	_, err = Parse("bad.yaml", f, threats)
	faults, ok := strict.AsFaults(err)
	require.True(t, ok, "%v", err)
	golden := "testdata/bad.golden"
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(faults.Error()+"\n"), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), faults.Error()+"\n")
	for _, x := range faults {
		assert.NotZero(t, x.Line, x.Message)
	}
}

func TestLeastConfigurationHasDefaults(t *testing.T) {
	c, err := parseText(t, least)
	require.NoError(t, err)
	assert.Empty(t, c.Warnings)
	assert.Equal(t, "127.0.0.1:8080", c.Listen)
	assert.Equal(t, []Source{{Name: "open-meteo", Kind: "open-meteo", PastDays: 7, ForecastDays: 16}}, c.Weather.Sources)
	assert.Equal(t, Clock{6, 0}, c.Digest.AtSite("north"))
	assert.Equal(t, plan.DefaultRules(), c.PlanRules())
	assert.Equal(t, slog.LevelInfo, c.Log.Slog())
	assert.False(t, c.Mail.On())
}

func TestWrittenValuesReplaceDefaults(t *testing.T) {
	c, err := parseText(t, least+`
weather:
  stale_after: 90 min
  sources:
    - {kind: open-meteo, name: near, past_days: 0, forecast_days: 3}
`)
	// 90 minutes is below the range, but the fault must name it as written.
	assert.EqualError(t, err, "f:5:16: stale_after 90 min is outside 2 h to 7 d")
	require.Nil(t, c)
	c, err = parseText(t, least+`
weather:
  stale_after: 150 min
  sources:
    - {kind: open-meteo, name: near, past_days: 0, forecast_days: 3}
digest: {at: 07:15, sites: [{site: north, at: 05:30}]}
mail: {host: mail.example.org, tls: tls, from: a@example.org}
log: {level: debug}
`)
	require.NoError(t, err)
	assert.Equal(t, 3, c.PlanRules().StaleHours) // a part of an hour counts whole
	assert.Equal(t, []Source{{Name: "near", Kind: "open-meteo", PastDays: 0, ForecastDays: 3}}, c.Weather.Sources)
	assert.Equal(t, "05:30", c.Digest.AtSite("north").String())
	assert.Equal(t, "07:15", c.Digest.AtSite("elsewhere").String())
	assert.Equal(t, 465, c.Mail.Port)
	assert.Equal(t, slog.LevelDebug, c.Log.Slog())
}

func TestLoneFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                                 "f: the file is empty",
		"sites: 3\n":                       "f:1:8: sites: want a list (lines that begin with -), not a single value",
		least + "weather: {sources: []}\n": "f:3:20: no weather source; leave sources out to use open-meteo",
		least + "weather: {sources: [{kind: open-meteo}, {kind: open-meteo}]}\n":                                                  "f:3:41: weather source \"open-meteo\" stands twice; give each a name of its own",
		least + "weather: {sources: [{kind: open-meteo, api_key_file: k, archive_url: https://archive-api.open-meteo.com/v1}]}\n": "f:3:70: the free address archive-api.open-meteo.com refuses a key; leave the address out to use the one for keys",
		least + "mail: {from: a@example.org}\n":                                                                                   "f:3:7: mail has no host; write the name of the mail server, or leave the section out",
		least + "mail: {host: m, from: a@b.c, tls: none, username: a, password_file: p}\n":                                        "f:3:35: tls none would send the password to m in the clear; use starttls or tls",
		least + "mail: {host: m, from: a@b.c, password_file: p}\n":                                                                "f:3:45: password_file without username",
		least + "store: ''\n":                                    "f:3:8: store is empty; write the path of the SQLite file",
		least + "store: postgres://me:hidden@db/plots\n":         "f:3:8: store has a password in it; put the password into a file and name that in store_password_file",
		least + "store: postgres://me@db/plots?password=x\n":     "f:3:8: store has a password in it; put the password into a file and name that in store_password_file",
		least + "store: mysql://me@db/plots\n":                   "f:3:8: store is neither a path nor an address of the form postgres://user@host/database",
		least + "store: x.db\nstore_password_file: secret.txt\n": "f:4:22: store_password_file is for a PostgreSQL store; a SQLite file has no password",
		least + "listen: 127.0.0.1:http\n":                       "f:3:9: listen \"127.0.0.1:http\" is not an address of the form 127.0.0.1:8080",
	} {
		_, err := parseText(t, text)
		assert.EqualError(t, err, want, text)
	}
}

func TestWarnings(t *testing.T) {
	c, err := parseText(t, least+`
people: [{id: a, email: a@example.org, sites: [north]}, {id: b, email: A@example.org}]
listen: 0.0.0.0:8080
`)
	require.NoError(t, err)
	assert.Equal(t, strings.TrimSpace(`
f:1:1: there is no mail section, so nobody gets a digest
f:4:72: person b has the address of person a and will get both digests there
f:5:9: the dashboard at 0.0.0.0:8080 can be reached from other machines and asks nobody for a password; put a server that does in front of it`), c.Warnings.Error())
}

func TestEntriesWithoutIDGetOne(t *testing.T) {
	c, err := parseText(t, least+`
scoutings:
  - {site: north, threat: squash-vine-borer, date: 2025-06-19, finding: none}
  - {site: north, threat: squash-vine-borer, date: 2025-06-19, finding: unsure}
  - {id: s, site: north, threat: squash-vine-borer, date: 2025-06-19, finding: unsure}
`)
	require.NoError(t, err)
	assert.Equal(t, "seen-north--squash-vine-borer-2025-06-19", c.Scoutings[0].ID)
	assert.Equal(t, "seen-north--squash-vine-borer-2025-06-19-2", c.Scoutings[1].ID)
	assert.Equal(t, "s", c.Scoutings[2].ID)
}

func TestLoadLooksAtFiles(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "c.yaml")
	write := func(name, text string, mode os.FileMode) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), mode))
		require.NoError(t, os.Chmod(filepath.Join(dir, name), mode))
	}
	write("c.yaml", least+"mail: {host: m, from: a@b.c, username: u, password_file: secret}\n", 0o600)
	_, err := Load(path, threats)
	assert.EqualError(t, err, path+":3:58: "+filepath.Join(dir, "secret")+": no such file or directory")

	write("secret", "\n", 0o600)
	_, err = Load(path, threats)
	assert.ErrorContains(t, err, "does not hold one line with the secret")

	write("secret", "hush\n", 0o644)
	c, err := Load(path, threats)
	require.NoError(t, err)
	assert.ErrorContains(t, c.Warnings, "can be read by everyone on this machine; chmod 600 it")
	write("secret", "hush\n", 0o600)
	c, err = Load(path, threats)
	require.NoError(t, err)
	assert.Empty(t, c.Warnings)
	got, err := c.Mail.Password()
	require.NoError(t, err)
	assert.Equal(t, "hush", got)
	assert.Equal(t, filepath.Join(dir, "plotwarden.db"), c.Store)

	_, err = Load(filepath.Join(dir, "none.yaml"), threats)
	faults, ok := strict.AsFaults(err)
	require.True(t, ok)
	assert.Contains(t, faults.Error(), "none.yaml: no such file or directory")
}

func TestCatalogueFolder(t *testing.T) {
	log := least + "scoutings: [{site: north, threat: leaf-miner, date: 2025-06-19, finding: none}]\n"
	_, err := parseText(t, log+"catalogue: more\n")
	assert.NoError(t, err)
	_, err = parseText(t, log+"catalogue: faulty\n")
	assert.EqualError(t, err, "f:3:35: threat \"leaf-miner\" is not known; known are: imported-cabbageworm, squash-vine-borer, tomato-early-blight\nfaulty/x.yaml:2:1: wrong")
	_, err = parseText(t, least+"catalogue: nowhere\n")
	assert.EqualError(t, err, "f:3:12: nowhere: no such file or directory")
}

func TestDuration(t *testing.T) {
	for in, want := range map[string]time.Duration{"30 min": 30 * time.Minute, "12h": 12 * time.Hour, "1.5 h": 90 * time.Minute, "2 d": 48 * time.Hour} {
		var d Duration
		require.NoError(t, d.UnmarshalText([]byte(in)), in)
		assert.Equal(t, want, d.Std())
	}
	for in, want := range map[string]string{
		"30": "no unit", "5 m": `unit "m" is not known; known are: min, h, d`, "soon": "not a duration",
		"-1 h": "not between 0 and ten years", "1e9 h": "not between", "999999 d": "not between 0 and ten years", "": "not a duration", "NaN h": "not a duration",
	} {
		var d Duration
		assert.ErrorContains(t, d.UnmarshalText([]byte(in)), want, in)
	}
	assert.Equal(t, "2 d", (48 * Hour).String())
	assert.Equal(t, "90 min", (90 * Minute).String())
}

func FuzzParse(f *testing.F) {
	bad, err := os.ReadFile("testdata/bad.yaml")
	require.NoError(f, err)
	example, err := os.ReadFile("../../deploy/plotwarden.example.yaml")
	require.NoError(f, err)
	f.Add(string(bad))
	f.Add(string(example))
	f.Add(least)
	f.Add("sites:") // sites may be made in the browser
	f.Add("sites: [{plots: [{plantings: [{}]}]}]\nweather:\nmail:\n")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := Parse("f", strings.NewReader(s), threats)
		if err == nil {
			if len(c.Weather.Sources) == 0 || c.Store == "" {
				t.Fatal("an accepted configuration without sources or store")
			}
			if len(c.Sites) == 0 && len(c.Warnings) == 0 {
				t.Fatal("nothing says that there is no site")
			}
			return
		}
		faults, ok := strict.AsFaults(err)
		if !ok || len(faults) == 0 {
			t.Fatalf("not faults: %v", err)
		}
		for _, x := range faults {
			if x.Message == "" {
				t.Fatal("a fault without a message")
			}
		}
	})
}
