package config

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/ground"
)

func overlay() Overlay {
	return Overlay{
		Mail: &ground.Mail{Host: "mail.example.org", Port: 465, TLS: TLS, Username: "beds", From: "beds@example.org", Secret: true}, Password: "word",
		Service:  &ground.Service{Link: "https://beds.example", Operator: "ops@example.org", Digest: "07:30"},
		Weather:  &ground.Weather{Kinds: []string{NWS, OpenMeteo}, Contact: "ops@example.org"},
		Stations: map[string]ground.Station{"shed": {Site: "north", Digest: "aa"}},
	}
}

func TestSettingsGoOverTheDefaults(t *testing.T) {
	d := Defaults()
	c := d.With(overlay())
	password, err := c.Mail.Password()
	require.NoError(t, err)
	assert.Equal(t, "word", password)
	assert.Equal(t, "mail.example.org", c.Mail.Host)
	assert.Equal(t, "https://beds.example", c.Mail.Link)
	assert.Equal(t, "ops@example.org", c.Operator.Email)
	assert.Equal(t, Clock{7, 30}, c.Digest.At)
	require.Len(t, c.Weather.Sources, 3)
	assert.Equal(t, []string{Station, NWS, OpenMeteo}, []string{c.Weather.Sources[0].Kind, c.Weather.Sources[1].Kind, c.Weather.Sources[2].Kind})
	assert.Equal(t, 7, c.Weather.Sources[2].PastDays, "with its defaults")
	assert.Equal(t, "ops@example.org", c.Weather.Contact)
	assert.Len(t, d.Weather.Sources, 1, "what was laid over stays as it was")
	assert.False(t, d.Mail.On())
	assert.Equal(t, &d, d.With(Overlay{}))
}

// What the file says stays the file's.
func TestSettingsLeaveTheFileAlone(t *testing.T) {
	c, err := parseText(t, least+`
mail: {host: own.example.org, from: own@example.org, tls: none, link: https://own.example}
weather: {contact: own@example.org, sources: [{kind: open-meteo}, {name: shed, kind: station, sites: [north], token_file: x}]}
digest: {at: "05:00"}
operator: {email: own@example.org}
`)
	require.NoError(t, err)
	assert.Equal(t, Written{true, true, true, true, true, true}, c.Written)
	assert.Equal(t, c, c.With(overlay()))

	c, err = parseText(t, least)
	require.NoError(t, err)
	assert.Zero(t, c.Written)
}

func TestSettingsAreCheckedByField(t *testing.T) {
	fields := func(fs []garden.Fault) []string {
		var out []string
		for _, f := range fs {
			out = append(out, f.Field)
		}
		return out
	}
	o := overlay()
	assert.Empty(t, CheckMail(o.Mail))
	assert.Empty(t, CheckService(o.Service))
	assert.Empty(t, CheckWeather(o.Weather))
	assert.Equal(t, []string{"host", "port", "tls", "from", "password"}, fields(CheckMail(&ground.Mail{TLS: "x", Username: "u"})))
	assert.Equal(t, []string{"host"}, fields(CheckMail(&ground.Mail{Host: "a:25", Port: 25, TLS: NoTLS, From: "a@b.example"})))
	assert.Equal(t, []string{"tls"}, fields(CheckMail(&ground.Mail{Host: "a.example", Port: 25, TLS: NoTLS, From: "a@b.example", Username: "u", Secret: true})))
	assert.Equal(t, []string{"link", "operator", "digest"}, fields(CheckService(&ground.Service{Link: "beds", Operator: "x", Digest: "25:00"})))
	assert.Equal(t, []string{"kinds"}, fields(CheckWeather(&ground.Weather{})))
	assert.Equal(t, []string{"contact", "kinds"}, fields(CheckWeather(&ground.Weather{Kinds: []string{METNorway}})))
	assert.Equal(t, []string{"kinds", "kinds", "contact"}, fields(CheckWeather(&ground.Weather{Kinds: []string{OpenMeteo, OpenMeteo, "x"}, Contact: "x"})))
	assert.Error(t, CheckStationName("The Shed"))
	assert.NoError(t, CheckStationName("shed"))
}

// A file need not have a ground: it can be made in the browser.
func TestAFileWithoutSites(t *testing.T) {
	c, err := parseText(t, "listen: 127.0.0.1:80\n")
	require.NoError(t, err)
	require.Len(t, c.Warnings, 1)
	assert.Contains(t, c.Warnings[0].Message, "until one is added in the browser")
}
