package config

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryKindOfSource(t *testing.T) {
	c, err := parseText(t, least+`
weather:
  contact: wren@example.org
  correct_bias: [north]
  sources:
    - {kind: station, name: shed, sites: [north], token_file: shed.token}
    - {kind: station, name: gate, sites: [north], mqtt: {broker: "mqtts://broker.example.org:8883", topic: beds/gate, username: wren, password_file: p}}
    - {kind: nws, station: KJFK, url: "https://weather.example.org"}
    - {kind: met-norway, sites: [north]}
    - {kind: open-meteo}
    - {kind: archive, station: USW00094789}
`)
	require.NoError(t, err)
	assert.Empty(t, c.Warnings)
	s := c.Weather.Sources
	assert.Equal(t, Source{Name: "shed", Kind: Station, Sites: []string{"north"}, TokenFile: "shed.token", MQTT: MQTT{ClientID: "plotwarden-shed"}}, s[0])
	assert.True(t, s[1].MQTT.On())
	assert.Equal(t, "plotwarden-gate", s[1].MQTT.ClientID)
	assert.Equal(t, "KJFK", s[2].Station)
	assert.Zero(t, s[3].PastDays, "only open-meteo has days to ask for")
	assert.True(t, s[4].Serves("elsewhere"))
	assert.False(t, s[3].Serves("elsewhere"))
	assert.Equal(t, []string{"north"}, c.Weather.CorrectBias)
}

func TestFaultsOfSources(t *testing.T) {
	src := func(text string) string { return least + "weather: {contact: a@b.c, sources: [" + text + "]}\n" }
	for text, want := range map[string]string{
		least + "weather: {sources: [{kind: nws}]}\n":                                                            "f:3:28: the US National Weather Service refuses programs that do not say who runs them; write your e-mail address or web page under weather as contact",
		least + "weather: {sources: [{kind: met-norway}, {kind: open-meteo}]}\n":                                 "f:3:28: MET Norway refuses programs that do not say who runs them; write your e-mail address or web page under weather as contact",
		src("{kind: nws, station: kjfk}"):                                                                        `f:3:58: station "kjfk" is not an id of capitals and digits, as KCLE`,
		src("{kind: nws, past_days: 3}"):                                                                         "f:3:60: past_days has no meaning for the kind nws; it is for: open-meteo",
		src("{kind: open-meteo, token_file: x}"):                                                                 "f:3:68: token_file has no meaning for the kind open-meteo; it is for: station",
		src("{kind: open-meteo}, {kind: archive}"):                                                               "f:3:57: archive has no station; write the id of the one whose record to use, as station: USW00014839",
		src("{kind: open-meteo}, {kind: archive, station: KCLE}"):                                                `f:3:82: station "KCLE" is not an id of capitals and digits, as USW00014839`,
		src("{kind: station, token_file: x}"):                                                                    "f:3:37: a station stands on one site; write its id, as sites: [north]",
		src("{kind: station, sites: [north]}"):                                                                   `f:3:37: station "station" has no way in; write token_file with the file that holds its token, or mqtt`,
		src("{kind: station, name: My Shed, sites: [north], token_file: x}"):                                     `f:3:59: name "My Shed" of a station stands in its address; use lower-case letters, digits and hyphens only, 64 at most`,
		src("{kind: station, sites: [nort], token_file: x}"):                                                     `f:3:61: site "nort" is not known; did you mean "north"?`,
		src("{kind: open-meteo, sites: [north, north]}"):                                                         `f:3:71: site "north" stands twice`,
		src("{kind: station, sites: [north], mqtt: {broker: shed, topic: a}}"):                                   `f:3:75: mqtt: broker "shed" is not an address as mqtt://host:1883 or mqtts://host:8883`,
		src(`{kind: station, sites: [north], mqtt: {broker: "mqtt://b:1883", topic: "a/#"}}`):                    `f:3:75: mqtt: topic "a/#": want one topic without # and +`,
		src(`{kind: station, sites: [north], mqtt: {broker: "mqtt://b:1883", topic: a, username: u}}`):           `f:3:121: username without password_file; write the file that holds the password`,
		src(`{kind: station, sites: [north], token_file: x, mqtt: {broker: "mqtt://b", topic: a, hostname: u}}`): `f:3:121: key "hostname" is not known; known are: broker, topic, client_id, username, password_file`,
		least + "weather: {correct_bias: [south]}\n":                                                             `f:3:26: site "south" is not known; known are: north`,
	} {
		_, err := parseText(t, text)
		assert.EqualError(t, err, want, text)
	}
}

func TestWarningsOfSources(t *testing.T) {
	c, err := parseText(t, least+"weather: {contact: a@b.c, sources: [{kind: met-norway}]}\n")
	require.NoError(t, err)
	assert.Equal(t, "f:2:10: no source tells the hours just past of site north, so that it stays blind; add open-meteo, nws or a station", c.Warnings.Error())
	c, err = parseText(t, least+`weather: {sources: [{kind: station, sites: [north], mqtt: {broker: "mqtt://b", topic: a, username: u, password_file: p}}]}`)
	require.NoError(t, err)
	assert.Equal(t, "f:3:68: the password goes to b in the clear; use mqtts if the broker takes it", c.Warnings.Error())
}

func TestLoadLooksAtTokens(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "c.yaml")
	require.NoError(t, os.WriteFile(path, []byte(least+"weather: {sources: [{kind: station, sites: [north], token_file: tok}]}\n"), 0o600))
	_, err := Load(path, threats)
	assert.EqualError(t, err, path+":3:65: "+filepath.Join(dir, "tok")+": no such file or directory")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tok"), []byte("short\n"), 0o600))
	_, err = Load(path, threats)
	assert.EqualError(t, err, path+":3:65: "+filepath.Join(dir, "tok")+": a station's token has 5 characters; it must have at least 16")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tok"), []byte("0123456789abcdef\n"), 0o600))
	c, err := Load(path, threats)
	require.NoError(t, err)
	text, err := c.Weather.Sources[0].Token()
	require.NoError(t, err)
	assert.Equal(t, "0123456789abcdef", text)
}

func TestEnsemblesAreAskedForWhereCheap(t *testing.T) {
	for text, want := range map[string]int{
		"{kind: open-meteo}":                                               20,
		"{kind: open-meteo, ensemble: true}":                               math.MaxInt,
		"{kind: open-meteo, ensemble: false}":                              0,
		`{kind: open-meteo, forecast_url: "http://shed:8080/v1/forecast"}`: 0,
		`{kind: open-meteo, forecast_url: "http://shed:8080/v1/forecast", ensemble_url: "http://shed:8080/v1/ensemble"}`: 20,
	} {
		c, err := parseText(t, least+"weather: {sources: ["+text+"]}\n")
		require.NoError(t, err, text)
		assert.Equal(t, want, c.Weather.Sources[0].Ensembles(), text)
	}
	_, err := parseText(t, least+"weather: {contact: a@b.c, sources: [{kind: nws, ensemble: true}]}\n")
	assert.EqualError(t, err, "f:3:59: ensemble has no meaning for the kind nws; it is for: open-meteo")
	_, err = parseText(t, least+"weather: {keep_forecasts: 7 d}\n")
	assert.EqualError(t, err, "f:3:27: keep_forecasts 7 d is outside 45 d to 3650 d")
}
