package email

import (
	"bytes"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"net/mail"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/smtptest"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/store"
)

type none struct{}

func (none) ByID(string) (*catalog.Threat, bool) { return nil, false }
func (none) Model(string) (*catalog.Model, bool) { return nil, false }

func digest() *alerts.Digest {
	d, _ := alerts.Compose(alerts.Input{
		Person: garden.Person{ID: "ada", Name: "Ada"}, Catalogue: none{}, Slot: slot,
		Site: &garden.Site{ID: "north", Name: "North\r\nBcc: everyone@ground.example", Zone: "America/New_York"},
	})
	return &d
}

func TestADigestBecomesOneMessage(t *testing.T) {
	ada := garden.Person{ID: "ada", Name: "Ada, of Bed 3", Email: "ada@ground.example"}
	m, err := Message(digest(), ada, "The beds <beds@ground.example>", Extras{})
	require.NoError(t, err)
	again, err := Message(digest(), ada, "The beds <beds@ground.example>", Extras{})
	require.NoError(t, err)
	assert.Equal(t, m, again)
	assert.Equal(t, "digest/north/ada/email/2026-06-04T09:30:00Z", m.Key)
	assert.Equal(t, []any{"ada", "email", "north", slot}, []any{m.Person, m.Channel, m.Site, m.Slot})
	told, err := alerts.ParseTold(m.Told)
	require.NoError(t, err)
	assert.NotNil(t, told)

	body, err := Parse(m.Body)
	require.NoError(t, err)
	assert.Regexp(t, `^[a-z2-7]{32}@ground\.example$`, body.ID)
	assert.Equal(t, `"Ada, of Bed 3" <ada@ground.example>`, body.To)
	assert.True(t, body.Date.Equal(slot))

	other := digest()
	other.Slot = slot.Add(24 * time.Hour)
	tomorrow, err := Message(other, ada, "beds@ground.example", Extras{})
	require.NoError(t, err)
	next, err := Parse(tomorrow.Body)
	require.NoError(t, err)
	assert.NotEqual(t, body.ID, next.ID)

	server := smtptest.Start(t, smtptest.Plain)
	require.NoError(t, sender(t, config(server, NoTLS)).Send(t.Context(), store.Delivery{Message: m}))
	require.Len(t, server.Got(), 1)
	head, _, _ := strings.Cut(string(server.Got()[0].Raw), "\r\n\r\n")
	for _, line := range strings.Split(head, "\r\n") {
		assert.False(t, strings.HasPrefix(line, "Bcc:"), "a name with a line break makes no header: %s", line)
	}
	assert.Equal(t, []string{"ada@ground.example"}, server.Got()[0].To)
}

func TestMessageNamesABadAddress(t *testing.T) {
	_, err := Message(digest(), garden.Person{ID: "ada", Email: "ada"}, "beds@ground.example", Extras{})
	assert.ErrorContains(t, err, `digest/north/ada/email/2026-06-04T09:30:00Z: address "ada"`)
	_, err = Message(digest(), garden.Person{ID: "ada", Email: "ada@ground.example"}, "beds", Extras{})
	assert.ErrorContains(t, err, `sender "beds"`)
}

// TestUnsubscribeAtOneClick: RFC 8058, section 3.1 asks for both headers, one
// https address, and exactly this value; RFC 2919 for the form of the list id.
func TestUnsubscribeAtOneClick(t *testing.T) {
	d := digest()
	d.Site = `North "ground" <x>`
	m, err := Message(d, garden.Person{ID: "ada", Email: "ada@ground.example"}, "beds@ground.example", Extras{
		Unsubscribe: "https://beds.example/act/" + strings.Repeat("token", 40), Calendar: []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"),
	})
	require.NoError(t, err)
	server := smtptest.Start(t, smtptest.Plain)
	require.NoError(t, sender(t, config(server, NoTLS)).Send(t.Context(), store.Delivery{Message: m}))
	got, err := mail.ReadMessage(bytes.NewReader(server.Got()[0].Raw))
	require.NoError(t, err)
	assert.Equal(t, "<https://beds.example/act/"+strings.Repeat("token", 40)+">", got.Header.Get("List-Unsubscribe"))
	assert.Equal(t, "List-Unsubscribe=One-Click", got.Header.Get("List-Unsubscribe-Post"))
	assert.Equal(t, `"North ground x" <north.digest.ground.example>`, got.Header.Get("List-Id"))

	kind, params, err := mime.ParseMediaType(got.Header.Get("Content-Type"))
	require.NoError(t, err)
	require.Equal(t, "multipart/mixed", kind)
	parts := multipart.NewReader(got.Body, params["boundary"])
	_, err = parts.NextPart() // text and HTML
	require.NoError(t, err)
	ics, err := parts.NextPart()
	require.NoError(t, err)
	assert.Equal(t, "garden.ics", ics.FileName())
	assert.Contains(t, ics.Header.Get("Content-Type"), "text/calendar")
	raw, err := io.ReadAll(base64.NewDecoder(base64.StdEncoding, ics))
	require.NoError(t, err)
	assert.Equal(t, "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", string(raw))
}

func TestPlainMail(t *testing.T) {
	m, err := Plain("k", mail.Address{Name: "Ops", Address: "ops@ground.example"}, "beds@ground.example", "All sources are down", "Since noon.", slot)
	require.NoError(t, err)
	server := smtptest.Start(t, smtptest.Plain)
	require.NoError(t, sender(t, config(server, NoTLS)).Send(t.Context(), store.Delivery{Message: m}))
	got, err := mail.ReadMessage(bytes.NewReader(server.Got()[0].Raw))
	require.NoError(t, err)
	assert.Equal(t, "All sources are down", got.Header.Get("Subject"))
	assert.Contains(t, got.Header.Get("Content-Type"), "text/plain")
	assert.Empty(t, got.Header.Get("List-Unsubscribe"))
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"id":"a@b","to":"a@b","subject":"x","date":"2026-06-04T09:30:00Z","text":"t","unsubscribe":"https://b/\r\nBcc: c@d","list":"<a.b>"}`))
	f.Add([]byte(`{"id":"a@b","to":"a@b","subject":"x","date":"2026-06-04T09:30:00Z","text":"t","html":"h"}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		m, err := Parse(body)
		if err != nil {
			return
		}
		raw, _, err := m.write("beds@ground.example")
		if err != nil {
			return
		}
		head, _, _ := strings.Cut(string(raw), "\r\n\r\n")
		assert.NotContains(t, strings.ReplaceAll(head, "\r\n", ""), "\n", "a bare line break in a header")
	})
}
