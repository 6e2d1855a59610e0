package station

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

var noon = time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC)

// The document in the package's comment.
const documented = `{"observations": [
  {"time": "2026-06-21T10:30:00Z", "interval_s": 600,
   "temperature_c": 21.4, "humidity_pct": 90, "dew_point_c": 19.7,
   "rain_mm": 0.2, "wind_ms": 1.4, "radiation_wm2": 310,
   "soil_temperature_c": 17.2, "wetness": 0.5}
]}`

func TestDecodeTheDocumentedExample(t *testing.T) {
	obs, err := Decode([]byte(documented))
	require.NoError(t, err)
	require.Len(t, obs, 1)
	o := obs[0]
	assert.Equal(t, noon.Add(-90*time.Minute), o.Time)
	assert.Equal(t, 10*time.Minute, o.Interval)
	for v, want := range map[weather.Var]float64{
		weather.Temp: 21.4, weather.RH: 90, weather.DewPoint: 19.7, weather.Rain: 0.2, weather.Wind: 1.4,
		weather.Solar: 310, weather.Soil: 17.2, weather.Wetness: 0.5,
	} {
		assert.Equal(t, want, o.Values[v], v)
	}
	assert.True(t, math.IsNaN(o.Values[weather.Cloud]))
}

func TestDecodeOneAndUnknown(t *testing.T) {
	obs, err := Decode([]byte(`{"time":"2026-06-21T12:30:00+02:00","temperature_c":null,"humidity_pct":80}`))
	require.NoError(t, err)
	assert.Equal(t, noon.Add(-90*time.Minute), obs[0].Time)
	assert.True(t, math.IsNaN(obs[0].Values[weather.Temp]))
	assert.False(t, obs[0].Empty())
	obs, err = Decode([]byte(`{"observations":[]}`))
	require.NoError(t, err)
	assert.Empty(t, obs)
}

func TestDecodeSaysWhatIsWrongAndWhere(t *testing.T) {
	for in, want := range map[string]string{
		``:                                "the document is empty or ends too early",
		`{"ti`:                            "the document is empty or ends too early",
		`[1]`:                             "want a JSON object",
		`null`:                            "want a JSON object",
		`{} {}`:                           "something stands after the JSON object",
		`{"time":}`:                       "not JSON, at byte 9",
		`{"temperature_c":3}`:             "no time",
		`{"time":5}`:                      `time: 5 is not text, as "2026-06-21T10:30:00Z"`,
		`{"time":"2026-06-21 10:30"}`:     `time: "2026-06-21 10:30" is not a time with its zone`,
		`{"time":"0001-06-21T10:30:00Z"}`: "time: the year 1",
		`{"time":"2026-06-21T10:30:00Z","temprature_c":3}`:               `key "temprature_c" is not known; did you mean "temperature_c"?`,
		`{"time":"2026-06-21T10:30:00Z","humidity_pct":"90"}`:            `humidity_pct: "90" is not a number`,
		`{"time":"2026-06-21T10:30:00Z","rain_mm":1}`:                    "rain_mm needs interval_s: the seconds that it is of",
		`{"time":"2026-06-21T10:30:00Z","interval_s":0,"rain_mm":1}`:     "interval_s: 0 is not between 1 and 86400",
		`{"time":"2026-06-21T10:30:00Z","interval_s":600,"rain_mm":-1}`:  "rain_mm: -1 is below 0",
		`{"time":"2026-06-21T10:30:00Z","interval_s":600,"wetness":30}`:  "wetness: 30 is not between 0 and 1",
		`{"observations":[{"time":"2026-06-21T10:30:00Z"},{"tme":"x"}]}`: "observations[1]: no time",
		`{"observations":{}}`:               `"observations" is not a list of objects`,
		`{"observations":[],"station":"a"}`: `key "station" stands beside "observations"`,
		`{"observations":[` + strings.Repeat(`{},`, MaxObservations) + `{}]}`: "send at most 10000",
	} {
		obs, err := Decode([]byte(in))
		if assert.Error(t, err, in) {
			assert.Contains(t, err.Error(), want)
		}
		assert.Nil(t, obs)
	}
}

// Whatever comes, Decode gives an error or observations that Hours can use.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(documented))
	f.Add([]byte(`{"time":"2026-06-21T10:30:00Z","interval_s":1.5,"rain_mm":1e300}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		obs, err := Decode(b)
		if err != nil {
			return
		}
		for i := range obs {
			if err := obs[i].check(); err != nil {
				t.Fatal(err)
			}
		}
		Hours(obs, weather.Origin{Source: "own", Kind: weather.Station})
	})
}

func TestToken(t *testing.T) {
	_, err := NewToken("short")
	require.ErrorContains(t, err, "has 5 characters; it must have at least 16")
	tok, err := NewToken("0123456789abcdef")
	require.NoError(t, err)
	assert.True(t, tok.Matches("0123456789abcdef"))
	for _, wrong := range []string{"", "0123456789abcdeF", "0123456789abcdef0"} {
		assert.False(t, tok.Matches(wrong))
	}
	assert.False(t, Token{}.Matches(""), "a station without a token lets nobody in")
}
