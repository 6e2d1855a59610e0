package service

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"io"
	"mime"
	"mime/multipart"
	"net/mail"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/push"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang/langtest"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/weather"
)

// leaves are the parts of a mail by their type, decoded.
func leaves(t *testing.T, raw string) map[string][]byte {
	t.Helper()
	m, err := mail.ReadMessage(strings.NewReader(raw))
	require.NoError(t, err)
	out := map[string][]byte{}
	var walk func(kind string, body io.Reader, encoding string)
	walk = func(kind string, body io.Reader, encoding string) {
		base, params, err := mime.ParseMediaType(kind)
		require.NoError(t, err)
		if strings.HasPrefix(base, "multipart/") {
			for r := multipart.NewReader(body, params["boundary"]); ; {
				p, err := r.NextPart()
				if err == io.EOF {
					return
				}
				require.NoError(t, err)
				walk(p.Header.Get("Content-Type"), p, p.Header.Get("Content-Transfer-Encoding"))
			}
		}
		if encoding == "base64" {
			body = base64.NewDecoder(base64.StdEncoding, body)
		}
		b, err := io.ReadAll(body)
		require.NoError(t, err)
		out[base] = b
	}
	walk(m.Header.Get("Content-Type"), m.Body, m.Header.Get("Content-Transfer-Encoding"))
	return out
}

func TestAMailHasItsPictureAndTheCalendarOnWish(t *testing.T) {
	g := newGround(t, func(c *config.Config) {
		second := c.People[0]
		second.ID, second.Email, second.Calendar, second.Webhook = "bo", "bo@plot.example", true, garden.Webhook{}
		c.People = append(c.People, second)
		c.Materials = []garden.Material{{ID: "mine", Name: "Blue bottle", Ingredient: "spinosad", PreHarvestDays: new(3), ReEntryHours: new(4)}}
	})
	require.NoError(t, g.store.AddTreatment(t.Context(), garden.Treatment{ID: "spray", Site: "north", Planting: "tom", Threats: []string{"hornworm"}, At: g.clock.Add(-time.Hour), Material: "mine", By: "ada"}))
	today := civil.Of(g.clock, time.UTC)
	g.round(t, func(a *plan.Assessment) { a.Outlook = &risk.Outlook{P10: today + 2, P50: today + 4, P90: today + 6} })
	require.Len(t, g.mails("ada@plot.example"), 1)
	require.Len(t, g.mails("bo@plot.example"), 1)
	ada, bo := leaves(t, g.mails("ada@plot.example")[0]), leaves(t, g.mails("bo@plot.example")[0])

	pic := ada["image/png"]
	require.NotEmpty(t, pic)
	assert.True(t, bytes.HasPrefix(pic, []byte("\x89PNG\r\n\x1a\n")))
	assert.Less(t, len(pic), 30<<10)
	html := string(ada["text/html"])
	id := strings.SplitN(strings.SplitN(html, `src="cid:`, 2)[1], `"`, 2)[0]
	assert.Contains(t, g.mails("ada@plot.example")[0], "Content-Id: <"+id+">")
	assert.Contains(t, html, `alt="The next 14 days as bars: Late blight, Bed A: Tomato, act, about 8 Jun (6 to 10 Jun).`)
	assert.NotContains(t, g.hooks[0], "cid:", "a webhook gets no picture")
	assert.Empty(t, ada["text/calendar"])

	ics := string(bo["text/calendar"])
	assert.Contains(t, ics, "METHOD:PUBLISH")
	assert.Contains(t, ics, "Keep out", "the label's own hours, typed by the grower: %s", ics)
	feed := g.ask("GET", link(t, g.lastText(t), "Calendar to subscribe to"), "")
	assert.Contains(t, feed.Body.String(), "Keep out", "the feed knows them too")
	assert.NotContains(t, feed.Body.String(), "METHOD:")
}

func TestMailsAreSignedOnWish(t *testing.T) {
	public, private, err := ed25519.GenerateKey(rand.Reader)
	require.NoError(t, err)
	der, err := x509.MarshalPKCS8PrivateKey(private)
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "dkim.pem")
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600))
	g := newGround(t, func(c *config.Config) {
		c.Mail.DKIM = config.DKIM{Domain: "plot.example", Selector: "s1", KeyFile: file}
	})
	g.round(t, nil)
	require.Len(t, g.mails("ada@plot.example"), 1)
	got, err := dkim.VerifyWithOptions(strings.NewReader(g.mails("ada@plot.example")[0]), &dkim.VerifyOptions{LookupTXT: func(name string) ([]string, error) {
		assert.Equal(t, "s1._domainkey.plot.example", name)
		return []string{"v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)}, nil
	}})
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.NoError(t, got[0].Err)

	require.NoError(t, os.WriteFile(file, []byte("no key"), 0o600))
	_, err = dkimOf(&g.cfg.Mail.DKIM)
	assert.ErrorContains(t, err, file)
}

func TestNeighboursAndDisagreeingSourcesAreTold(t *testing.T) {
	g := newGround(t, func(c *config.Config) {
		c.Sites = append(c.Sites, garden.Site{ID: "south", Name: "South", Zone: "Etc/UTC"}, garden.Site{ID: "far", Name: "Far", Zone: "Etc/UTC"})
		c.Regions = []garden.Region{{ID: "valley", Sites: []string{"north", "south"}}}
		c.Operator.Language = garden.Spanish
	})
	today := civil.Of(g.clock, time.UTC)
	for site, share := range map[string]bool{"south": true, "far": true, "north": false} {
		require.NoError(t, g.store.AddScouting(t.Context(), garden.Scouting{ID: "find-" + site, Site: site, Threat: "late-blight", Date: today, Finding: garden.Found, By: "bo", Share: share}))
	}
	require.NoError(t, g.store.SaveQuality(t.Context(), store.Quality{Site: "north", At: g.clock, Disagreements: []store.Disagreement{
		{A: "one", B: "two", Var: weather.Temp, Since: g.clock, Hours: 48, Mean: 5, MeanA: 12, MeanB: 17, Limit: 4}}}))
	for range 2 {
		g.round(t, nil)
		g.clock = g.clock.Add(time.Hour)
	}
	text := g.lastText(t)
	assert.Contains(t, text, "FOUND BY NEIGHBOURS\n- Late blight: found at South on 4 Jun.\nSomebody saw")
	assert.NotContains(t, text, "found at Far", "not of this region")
	assert.Contains(t, text, "SOURCES DISAGREE\n- one and two forecast different weather")
	var told []string
	for _, m := range g.mails("ops@plot.example") {
		m, err := mail.ReadMessage(strings.NewReader(m))
		require.NoError(t, err)
		s, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
		require.NoError(t, err)
		told = append(told, s)
	}
	assert.Equal(t, []string{"Las fuentes del tiempo de North no coinciden, y por mucho"}, told, "once a day, in the operator's language")
}

func TestAPushNoteIsInThePersonsLanguage(t *testing.T) {
	g := newGround(t, func(c *config.Config) { c.People[0].Language = garden.Spanish })
	var keys push.Keys // of the example of RFC 8291, section 5
	keys.P256dh, keys.Auth = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4", "BTBZMqHH6r4Tts7J_aSIgg"
	require.NoError(t, g.Subscribe(t.Context(), "ada", push.Subscription{Endpoint: g.cfg.Operator.Webhook.URL, Keys: keys}, g.clock))
	g.round(t, nil)
	all, err := g.store.Deliveries(t.Context(), "north", 10)
	require.NoError(t, err)
	n := 0
	for _, d := range all {
		if strings.HasPrefix(d.Channel, push.Channel) {
			var body struct{ Note push.Note }
			require.NoError(t, json.Unmarshal(d.Body, &body))
			assert.Contains(t, body.Note.Line, "actuar: Tizón tardío, Bed A: Tomate, ahora.")
			n++
		}
	}
	assert.Equal(t, 1, n)
}

// What the messenger says to people and operators has its Spanish.
func TestTheMessengersSentencesHaveTheirSpanish(t *testing.T) {
	keys, err := langtest.GoKeys(os.DirFS("."), "T")
	require.NoError(t, err)
	for _, m := range []map[string]string{deadSubject, deadText} {
		for _, s := range m {
			keys = append(keys, s)
		}
	}
	assert.Greater(t, len(keys), 15)
	assert.Empty(t, langtest.Missing(garden.Spanish, keys))
	keys, err = langtest.GoKeys(os.DirFS("../alerts/push"), "T")
	require.NoError(t, err)
	assert.Len(t, keys, 3)
	assert.Empty(t, langtest.Missing(garden.Spanish, keys))
}
