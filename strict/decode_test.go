package strict

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"plotwarden/civil"
)

type bed struct {
	Name  string            `yaml:"name"`
	Sown  civil.Date        `yaml:"sown"`
	Width float64           `yaml:"width"`
	Rows  *int              `yaml:"rows"`
	Tags  []string          `yaml:"tags"`
	Extra yaml.Node         `yaml:"extra"`
	Beds  []bed             `yaml:"beds"`
	Notes map[string]string `yaml:"notes"`
}

func TestDecodeReportsEveryFaultWithItsPlace(t *testing.T) {
	src := `name: north
sown: 2026-02-30
widht: 2
width: wide
beds:
  - name: a
    rows: 2.5
  - nmae: b
tags: one
name: again
`
	var b bed
	_, faults := Decode("garden.yaml", strings.NewReader(src), &b)
	require.Error(t, faults.Err())
	assert.Equal(t, strings.TrimSpace(`
garden.yaml:2:7: sown: "2026-02-30" is not a day of the calendar
garden.yaml:3:1: key "widht" is not known; did you mean "width"?
garden.yaml:4:8: width: "wide" is not a number
garden.yaml:7:11: beds[0].rows: "2.5" is not a whole number in range
garden.yaml:8:5: key "nmae" is not known; did you mean "name"?
garden.yaml:9:7: tags: want a list (lines that begin with -), not a single value
garden.yaml:10:1: key "name" stands already at line 1`), faults.Err().Error())
	assert.Equal(t, "north", b.Name)
}

func TestDecodeKeepsPlacesAndNodes(t *testing.T) {
	src := "beds:\n  - name: a\n    width: -3\nextra: {k: 1}\n"
	var b bed
	w, faults := Decode("f", strings.NewReader(src), &b)
	require.NoError(t, faults.Err())
	assert.Equal(t, "f:3:12: width -3 is below 0", w.Fault(&b.Beds[0].Width, "width %g is below 0", b.Beds[0].Width).Error())
	assert.False(t, w.Has(&b.Width))
	var extra struct {
		K int `yaml:"k"`
	}
	_, faults = DecodeNode("f", &b.Extra, &extra)
	require.NoError(t, faults.Err())
	assert.Equal(t, 1, extra.K)
}

func TestDecodeSyntax(t *testing.T) {
	for in, want := range map[string]string{
		"":                      "f: the file is empty",
		"a: [1":                 "f:1:1: did not find expected ',' or ']'",
		"name: a\n---\nname: b": "f:2:1: a second document",
		"a: &x 1\nname: *x\n":   "aliases (*x) are not read",
	} {
		var b bed
		_, faults := Decode("f", strings.NewReader(in), &b)
		require.NotEmpty(t, faults, in)
		assert.Contains(t, faults.Error(), want)
	}
}

func TestDecodeTime(t *testing.T) {
	var v struct {
		At time.Time `yaml:"at"`
	}
	_, faults := Decode("f", strings.NewReader("at: 2026-06-04T19:30:00-04:00"), &v)
	require.NoError(t, faults.Err())
	assert.True(t, v.At.Equal(time.Date(2026, 6, 4, 23, 30, 0, 0, time.UTC)))
	_, faults = Decode("f", strings.NewReader("at: yesterday"), &v)
	assert.EqualError(t, faults, `f:1:5: at: "yesterday" is not a time of the form 2026-06-04T19:30:00-04:00`)
}

func TestNearest(t *testing.T) {
	known := []string{"tomato", "cabbage", "squash", "bean"}
	for in, want := range map[string]string{"tomatoe": "tomato", "cabage": "cabbage", "Squahs": "squash", "baen": "bean"} {
		got, ok := Nearest(in, known)
		assert.True(t, ok, in)
		assert.Equal(t, want, got)
	}
	_, ok := Nearest("artichoke", known)
	assert.False(t, ok)
}

func FuzzDecode(f *testing.F) {
	f.Add("name: a\nbeds:\n - name: b\n")
	f.Add("a: &x [*x]")
	f.Fuzz(func(t *testing.T, s string) {
		var b bed
		_, faults := Decode("f", strings.NewReader(s), &b)
		for _, x := range faults {
			if x.Message == "" {
				t.Fatal("a fault without a message")
			}
		}
	})
}
