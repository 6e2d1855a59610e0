package config

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const operated = `
sites: [{id: north, name: North, latitude: 42, longitude: -76, zone: America/New_York}]
mail: {host: mail.example, from: beds@plot.example, dkim: {domain: plot.example, selector: beds1, key_file: dkim.pem}}
operator:
  email: ops@plot.example
  heartbeat: https://watch.example/ping
  own_hosts: [relay.lan]
  webhook: {url: "http://relay.lan/in", secret_file: hook.secret}
links: {secret_file: link.secret}
digest: {templates: own}
people:
  - {id: wren, email: wren@plot.example, sites: [north], quiet_hours: {from: "22:00", to: "07:00"}, webhook: {url: "https://relay.example/in", secret_file: hook.secret}}
`

func TestOperator(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	write("hook.secret", "whsec_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=")
	write("link.secret", strings.Repeat("a", 40))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "own"), 0o750))
	write("dkim.pem", "a key")
	ids := func(string) ([]string, error) { return nil, nil }
	c, err := Load(write("good.yaml", operated), ids)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(dir, "own"), c.Digest.Templates)
	assert.Equal(t, filepath.Join(dir, "hook.secret"), c.People[0].Webhook.SecretFile)
	assert.Equal(t, DKIM{"plot.example", "beds1", filepath.Join(dir, "dkim.pem")}, c.Mail.DKIM)
	got, err := c.Links.Secret()
	require.NoError(t, err)
	assert.Len(t, got, 40)

	for old, c := range map[string]struct{ now, want string }{
		"email: ops@plot.example":        {"email: ops", "not an e-mail address"},
		"https://watch.example/ping":     {"http://watch.example/ping", "http://"},
		"https://relay.example/in":       {"https://127.0.0.1/in", "not an address of the open internet"},
		"own_hosts: [relay.lan]":         {`own_hosts: ["a b"]`, "allowed host 1"},
		", secret_file: hook.secret}\nl": {"}\nl", "webhook has no secret_file"},
		"secret_file: link.secret":       {"secret_file: absent", "no such file"},
		"templates: own":                 {"templates: absent", "no such file"},
		"heartbeat":                      {"hartbeat", "heartbeat"},
		"domain: plot.example":           {"domain: other.example", "does not cover the sender beds@plot.example"},
		"selector: beds1, ":              {"", "dkim has no selector"},
		"selector: beds1":                {"selector: a..b", "not a name of the form a.b"},
		"key_file: dkim.pem":             {"key_file: absent", "no such file"},
		`, to: "07:00"`:                  {"", `quiet_hours from 22:00 has no to; write when they end`},
		`from: "22:00", `:                {"", `quiet_hours to 07:00 has no from`},
	} {
		_, err := Load(write("bad.yaml", strings.Replace(operated, old, c.now, 1)), ids)
		assert.ErrorContains(t, err, c.want, old)
	}
}
