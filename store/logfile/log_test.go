package logfile

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
)

var at = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

func sample() *Log {
	zero, x, cold := 0, 2.5, garden.Degrees(-4)
	return &Log{
		Scoutings: []garden.Scouting{
			{ID: "s1", Site: "north", Planting: "tom", Threat: "some-threat", Date: civil.New(2026, 6, 5), Finding: garden.None, Count: &zero, Note: "=1+1, \"quoted\"\nnext line", Photos: []string{"a", "b"}, Share: true},
			{ID: "s2", Replaces: "s1", Why: "'mistyped", Entered: at, Site: "north", Threat: "some-threat", Date: civil.New(2026, 6, 6), Finding: garden.Found, Percent: &x},
		},
		Treatments: []garden.Treatment{{ID: "t1", Site: "north", Planting: "tom", Threats: []string{"one", "two; or three"}, At: at, Material: "mine", IntervalDays: 7}},
		Records: []garden.Record{{ID: "r1", Site: "north", Planting: "tom", Start: at, Entered: at.Add(time.Hour), Product: "the blue bottle", Threats: []string{"one"}, Amount: &x,
			Label: garden.LabelValues{PreHarvestDays: &zero, ReEntryDry: true, Date: civil.New(2026, 1, 2)}, Weather: &garden.HourWeather{Temp: &x, Source: "a"}, Seen: garden.Seen{Temp: &cold}, Reason: garden.ByModel, HarvestFrom: civil.New(2026, 6, 7)}},
	}
}

func TestJSONComesBack(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteJSON(&b, sample()))
	got, err := Read("log.json", &b)
	require.NoError(t, err)
	assert.Equal(t, sample(), got)
}

func TestCSVComesBack(t *testing.T) {
	got := &Log{}
	for _, kind := range []string{"scoutings", "treatments", "records"} {
		var b bytes.Buffer
		require.NoError(t, WriteCSV(&b, sample(), kind))
		if kind == "scoutings" {
			assert.Contains(t, b.String(), `"'=1+1,`, "no formula runs in a spreadsheet")
		}
		l, err := Read(kind+".csv", strings.NewReader("\ufeff"+b.String()))
		require.NoError(t, err)
		got.Scoutings, got.Treatments, got.Records = append(got.Scoutings, l.Scoutings...), append(got.Treatments, l.Treatments...), append(got.Records, l.Records...)
	}
	assert.Equal(t, sample(), got)
	assert.ErrorContains(t, WriteCSV(&bytes.Buffer{}, sample(), "dreams"), "scoutings, treatments and records")
}

func TestAnyTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := func(name string) string {
			// csv makes \r\n within a cell one \n (encoding/csv.Reader).
			return strings.ReplaceAll(rapid.String().Draw(t, name), "\r", "")
		}
		l := &Log{Treatments: []garden.Treatment{{ID: text("id"), Note: text("note"), Site: text("site"), At: at, Threats: rapid.SliceOfN(rapid.Just("x"), 1, 3).Draw(t, "threats")}}}
		l.Treatments[0].Threats[0] = text("threat")
		for _, write := range []func(*bytes.Buffer) error{func(b *bytes.Buffer) error { return WriteJSON(b, l) }, func(b *bytes.Buffer) error { return WriteCSV(b, l, "treatments") }} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			got, err := Read("f", &b)
			if err != nil {
				t.Fatal(err)
			}
			if !assert.ObjectsAreEqual(l.Treatments, got.Treatments) {
				t.Fatalf("%#v, want %#v", got.Treatments, l.Treatments)
			}
		}
	})
}

func TestFaultsNameTheirPlace(t *testing.T) {
	const head = "{\"plotwardenLog\":1}\n"
	for text, want := range map[string]string{
		"":               "f: the file is empty",
		"{}\n":           `f:1: this is no log of form 1: the first line is to be {"plotwardenLog":1}`,
		head + "{}\n":    "f:2: neither a scouting nor a treatment nor a record",
		head + "{} {}\n": "f:2: more than one value on a line",
		head + "\n{\"scouting\":{\"id\":\"a\",\"depth\":3}}\n": `f:3: json: unknown field "depth"`,
		"id,depth\n":                  "f:1: the heading has neither finding (of a look), nor start (of a record), nor at (of a treatment)",
		"id,at,at\n":                  `f:1: column "at" stands twice`,
		"id,finding,date\na,maybe,\n": "f:2:3: finding: \"maybe\" cannot be read: ",
		"id,finding,count\na,found,\nb,none,two\n": "f:3:8: count: \"two\" cannot be read: ",
		"id,at,depth\n":  `f:1: column 3, "depth", is not known; columns are id, site, planting, threats, at`,
		"id,at\n\"a,b\n": "f: parse error on line",
		"id,at\na,b,c\n": "f: record on line 2: wrong number of fields",
	} {
		_, err := Read("f", strings.NewReader(text))
		require.Error(t, err, text)
		assert.True(t, strings.HasPrefix(err.Error(), want), "%s\nwant %s", err, want)
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	_ = WriteJSON(&b, sample())
	f.Add(b.Bytes())
	for _, k := range []string{"scoutings", "treatments", "records"} {
		b.Reset()
		_ = WriteCSV(&b, sample(), k)
		f.Add(append([]byte(nil), b.Bytes()...))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := Read("f", bytes.NewReader(b))
		if err != nil {
			return
		}
		var out bytes.Buffer
		if WriteJSON(&out, l) != nil {
			return // a time that JSON cannot write
		}
		again, err := Read("f", &out)
		require.NoError(t, err)
		assert.Equal(t, l.Len(), again.Len())
	})
}
