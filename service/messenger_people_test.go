package service

import (
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/mail"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/email"
	"plotwarden/alerts/push"
	"plotwarden/alerts/smtptest"
	"plotwarden/alerts/webhook"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

// stand is a messenger with everything around it real: store, mail server,
// webhook.
type stand struct {
	*messenger
	store *sqlite.Store
	cfg   *config.Config
	mail  *smtptest.Server
	pages http.Handler
	clock time.Time

	mu    sync.Mutex
	hooks []string // bodies
	gone  bool     // the webhook and push answer 410
}

const written = "whsec_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA="

func newGround(t *testing.T, edit func(*config.Config)) *stand {
	t.Helper()
	g := &stand{clock: time.Date(2026, 6, 4, 6, 5, 0, 0, time.UTC)} // a Thursday
	hook := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		g.mu.Lock()
		defer g.mu.Unlock()
		if g.gone {
			w.WriteHeader(http.StatusGone)
			return
		}
		g.hooks = append(g.hooks, string(b))
	}))
	t.Cleanup(hook.Close)
	u, err := url.Parse(hook.URL)
	require.NoError(t, err)
	dir := t.TempDir()
	secret := filepath.Join(dir, "secret")
	require.NoError(t, os.WriteFile(secret, []byte(written), 0o600))
	g.store, err = sqlite.Open(t.Context(), filepath.Join(dir, "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, g.store.Close()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	g.mail = smtptest.Start(t, smtptest.Plain)
	cfg := config.Defaults()
	cfg.Mail = config.Mail{Host: g.mail.Host(), Port: g.mail.Port(), TLS: config.NoTLS, From: "beds@plot.example", Link: "https://beds.example"}
	cfg.Operator = config.Operator{Email: "ops@plot.example", OwnHosts: []string{u.Host}, Webhook: garden.Webhook{URL: hook.URL, SecretFile: secret}}
	cfg.Sites = []garden.Site{{ID: "north", Name: "North", Zone: "Etc/UTC", Plots: []garden.Plot{{ID: "a", Name: "Bed A", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato"}}}}}}
	cfg.People = []garden.Person{{ID: "ada", Name: "Ada", Email: "ada@plot.example", Sites: []string{"north"}, Webhook: garden.Webhook{URL: hook.URL, SecretFile: secret}}}
	if edit != nil {
		edit(&cfg)
	}
	g.cfg = &cfg
	h := &Host{o: HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return g.clock }}, store: g.store}
	g.messenger, err = newMessenger(t.Context(), h, &cfg, NewMetrics("test"), nil)
	require.NoError(t, err)
	g.pages = g.mount(http.NotFoundHandler())
	return g
}

// round composes and delivers, as the daemon does.
func (g *stand) round(t *testing.T, edit func(*plan.Assessment)) {
	t.Helper()
	a := plan.Assessment{
		Site: "north", Planting: "tom", Threat: "late-blight", Round: g.clock, WeatherUntil: g.clock.Add(-time.Hour), Readiness: plan.Act,
		Reason: plan.Reason{Code: "infection-forecast", Text: "Conditions favour infection"}, Steps: []plan.Step{{Kind: plan.Prune, Text: "Take off the lowest leaves"}},
	}
	if edit != nil {
		edit(&a)
	}
	r := store.Round{Site: "north", At: g.clock, Assessments: []plan.Assessment{a}}
	var err error
	r.Messages, err = g.Compose(t.Context(), &g.cfg.Sites[0], g.clock, &r)
	require.NoError(t, err)
	require.NoError(t, g.store.SaveRound(t.Context(), r))
	require.NoError(t, g.Deliver(t.Context(), g.clock))
	require.NoError(t, g.Deliver(t.Context(), g.clock), "what the pass itself gave rise to")
}

func (g *stand) mails(to string) []string {
	var out []string
	for _, m := range g.mail.Got() {
		if m.To[0] == to {
			out = append(out, string(m.Raw))
		}
	}
	return out
}

// lastText is the text form of the newest digest to Ada.
func (g *stand) lastText(t *testing.T) string {
	t.Helper()
	list, err := g.store.Newest(t.Context(), "north", "ada", email.Channel, 1)
	require.NoError(t, err)
	require.NotEmpty(t, list)
	m, err := email.Parse(list[0].Body)
	require.NoError(t, err)
	return m.Text
}

func link(t *testing.T, text, label string) string {
	t.Helper()
	m := regexp.MustCompile(regexp.QuoteMeta(label) + `:\s+(https://\S+)`).FindStringSubmatch(text)
	require.NotEmpty(t, m, "%s in %s", label, text)
	return strings.TrimPrefix(m[1], "https://beds.example")
}

func (g *stand) ask(method, path, form string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(form))
	if form != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	w := httptest.NewRecorder()
	g.pages.ServeHTTP(w, r)
	return w
}

func TestAMorningGoesOverEachChannelOnce(t *testing.T) {
	g := newGround(t, nil)
	for range 3 {
		g.round(t, nil)
		g.clock = g.clock.Add(time.Hour)
	}
	require.Len(t, g.mails("ada@plot.example"), 1)
	require.Len(t, g.hooks, 1)
	var p webhook.Payload
	require.NoError(t, json.Unmarshal([]byte(g.hooks[0]), &p))
	assert.Equal(t, webhook.DigestType, p.Type)
	assert.Contains(t, g.mails("ada@plot.example")[0], "List-Unsubscribe-Post: List-Unsubscribe=One-Click")
	assert.Empty(t, g.mails("ops@plot.example"))
}

func TestDoneByALinkAndTakenBack(t *testing.T) {
	g := newGround(t, nil)
	g.round(t, nil)
	done := link(t, g.lastText(t), "Done")
	// A scanner that opens every link changes nothing.
	assert.Equal(t, http.StatusOK, g.ask("GET", done, "").Code)
	assert.Equal(t, http.StatusOK, g.ask("HEAD", done, "").Code)
	chosen, err := g.store.Choices(t.Context(), "north")
	require.NoError(t, err)
	assert.Empty(t, chosen)

	require.Equal(t, http.StatusOK, g.ask("POST", done, "do=act").Code)
	g.clock = g.clock.AddDate(0, 0, 1)
	g.round(t, nil)
	assert.Contains(t, g.lastText(t), "Left out by your choice: 1 done by you.")
	assert.NotContains(t, g.lastText(t), "ACT: Late blight")
	g.clock = g.clock.AddDate(0, 0, 1)
	g.round(t, func(a *plan.Assessment) { a.Readiness = plan.Present })
	assert.Contains(t, g.lastText(t), "PRESENT: Late blight", "it changed")

	require.Equal(t, http.StatusOK, g.ask("POST", done, "do=undo").Code)
	chosen, err = g.store.Choices(t.Context(), "north")
	require.NoError(t, err)
	assert.Empty(t, chosen)
}

func TestOneClickStopsMailsAndNothingElse(t *testing.T) {
	g := newGround(t, nil)
	g.round(t, nil)
	m, err := mail.ReadMessage(strings.NewReader(g.mails("ada@plot.example")[0]))
	require.NoError(t, err)
	stop := strings.TrimPrefix(strings.Trim(m.Header.Get("List-Unsubscribe"), "<> "), "https://beds.example")
	require.Equal(t, http.StatusOK, g.ask("POST", stop, "List-Unsubscribe=One-Click").Code)
	g.clock = g.clock.AddDate(0, 0, 1)
	g.round(t, nil)
	assert.Len(t, g.mails("ada@plot.example"), 1)
	assert.Len(t, g.hooks, 2)
}

func TestCalendarAndFeedBehindTheirTokens(t *testing.T) {
	g := newGround(t, nil)
	g.round(t, nil)
	text := g.lastText(t)
	cal, atom := link(t, text, "Calendar to subscribe to"), link(t, text, "Feed of these messages")
	got := g.ask("GET", cal, "")
	require.Equal(t, http.StatusOK, got.Code, got.Body)
	assert.Contains(t, got.Body.String(), "BEGIN:VCALENDAR")
	again := g.ask("GET", cal, "")
	assert.Equal(t, got.Body.String(), again.Body.String(), "the same round gives the same bytes")
	r := httptest.NewRequest("GET", cal, nil)
	r.Header.Set("If-None-Match", got.Header().Get("ETag"))
	w := httptest.NewRecorder()
	g.pages.ServeHTTP(w, r)
	assert.Equal(t, http.StatusNotModified, w.Code)

	got = g.ask("GET", atom, "")
	require.Equal(t, http.StatusOK, got.Code, got.Body)
	assert.Equal(t, 1, strings.Count(got.Body.String(), "<entry>"))
	assert.Contains(t, got.Body.String(), "Late blight")

	for _, path := range []string{cal + "0", strings.Replace(cal, "/calendar/", "/feed/", 1), strings.Replace(atom, "/feed/", "/calendar/", 1), "/calendar/x"} {
		assert.Equal(t, http.StatusNotFound, g.ask("GET", path, "").Code, path)
	}
	g.cfg.People[0].Sites = nil
	assert.Equal(t, http.StatusNotFound, g.ask("GET", cal, "").Code, "someone who left the ground")
}

func TestTheSecretOfLinksOutlivesARestart(t *testing.T) {
	g := newGround(t, nil)
	g.round(t, nil)
	cal := link(t, g.lastText(t), "Calendar to subscribe to")
	h := &Host{o: HostOptions{Config: g.cfg, Catalogue: g.catalogue.(*catalog.Catalogue), Log: g.log, Now: g.now}, store: g.store}
	next, err := newMessenger(t.Context(), h, g.cfg, NewMetrics("test"), nil)
	require.NoError(t, err)
	g.pages = next.mount(http.NotFoundHandler())
	assert.Equal(t, http.StatusOK, g.ask("GET", cal, "").Code)
}

func TestQuietHoursHolidaysAndTheWeeklyDay(t *testing.T) {
	g := newGround(t, func(c *config.Config) {
		c.People[0].QuietHours = garden.QuietHours{From: 22 * 60, To: 7*60 + 30}
	})
	g.round(t, nil)
	assert.Empty(t, g.mails("ada@plot.example"), "06:05 is too early")
	g.clock = g.clock.Add(90 * time.Minute)
	g.round(t, nil)
	assert.Len(t, g.mails("ada@plot.example"), 1)

	g = newGround(t, func(c *config.Config) {
		c.People[0].Holidays = []garden.Holiday{{From: civil.New(2026, 6, 4), To: civil.New(2026, 6, 5)}}
	})
	for day := range 3 {
		g.round(t, nil)
		g.clock = g.clock.AddDate(0, 0, 1)
		assert.Len(t, g.mails("ada@plot.example"), day/2)
	}

	g = newGround(t, func(c *config.Config) { c.People[0].Weekly = garden.On(time.Saturday) })
	for range 14 {
		g.round(t, nil)
		g.clock = g.clock.AddDate(0, 0, 1)
	}
	assert.Len(t, g.mails("ada@plot.example"), 2)
}

// A message that failed by day and is due again at night waits.
func TestASecondAttemptWaitsForTheEndOfQuietHours(t *testing.T) {
	g := newGround(t, func(c *config.Config) {
		c.People[0].Webhook = garden.Webhook{}
		c.People[0].QuietHours = garden.QuietHours{From: 21 * 60, To: 5 * 60}
	})
	g.clock = time.Date(2026, 6, 4, 20, 59, 0, 0, time.UTC)
	busy := true
	g.mail.OnData(func(smtptest.Mail) error {
		if busy {
			return smtptest.Answer(451, 4, 3, 0, "later")
		}
		return nil
	})
	g.round(t, nil)
	busy = false
	tried := len(g.mail.Got())
	for g.clock.Before(time.Date(2026, 6, 5, 1, 0, 0, 0, time.UTC)) {
		g.clock = g.clock.Add(20 * time.Minute)
		require.NoError(t, g.Deliver(t.Context(), g.clock))
	}
	assert.Len(t, g.mail.Got(), tried)
}

func TestADeadChannelIsToldByAnother(t *testing.T) {
	g := newGround(t, nil)
	g.mail.OnData(func(m smtptest.Mail) error {
		if m.To[0] == "ada@plot.example" {
			return smtptest.Answer(550, 5, 1, 1, "no such user")
		}
		return nil
	})
	for range 3 { // once a week, not every morning
		g.round(t, nil)
		g.clock = g.clock.AddDate(0, 0, 1)
	}
	notes := 0
	for _, h := range g.hooks {
		var n webhook.NotePayload
		require.NoError(t, json.Unmarshal([]byte(h), &n))
		if n.Type == webhook.NoteType {
			notes++
			assert.Contains(t, n.Data.Text, "no such user")
		}
	}
	assert.Equal(t, 1, notes)

	// Someone without another channel: the operator hears of it.
	g = newGround(t, func(c *config.Config) { c.People[0].Webhook = garden.Webhook{} })
	g.mail.OnData(func(m smtptest.Mail) error {
		if m.To[0] == "ada@plot.example" {
			return smtptest.Answer(550, 5, 1, 1, "no such user")
		}
		return nil
	})
	g.round(t, nil)
	require.Len(t, g.mails("ops@plot.example"), 1)
	assert.Contains(t, g.mails("ops@plot.example")[0], "ada has no other channel")
}

func TestAnEndedPushSubscriptionIsRemovedAndTold(t *testing.T) {
	g := newGround(t, nil)
	var keys push.Keys // of the example of RFC 8291, section 5
	keys.P256dh, keys.Auth = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4", "BTBZMqHH6r4Tts7J_aSIgg"
	require.NoError(t, g.Subscribe(t.Context(), "ada", push.Subscription{Endpoint: g.cfg.Operator.Webhook.URL, Keys: keys}, g.clock))
	assert.ErrorIs(t, g.Subscribe(t.Context(), "nobody", push.Subscription{}, g.clock), store.ErrNotFound)
	g.cfg.People[0].Webhook = garden.Webhook{}
	g.gone = true
	g.round(t, nil)
	left, err := g.store.Subscriptions(t.Context(), "")
	require.NoError(t, err)
	assert.Empty(t, left)
	all := strings.Join(g.mails("ada@plot.example"), "\n")
	assert.Contains(t, all, "did not reach you as a note on a phone")
}

func TestTheOperatorHearsOfSilence(t *testing.T) {
	g := newGround(t, nil)
	g.clock = g.clock.Add(-2 * time.Hour) // before the morning
	for _, s := range []store.SourceStatus{
		{Site: "north", Source: "a", LastTry: g.clock, LastErr: "503", Cause: "http-503", Consecutive: 3},
		{Site: "north", Source: "b", LastTry: g.clock, LastErr: "timeout", Cause: "timeout", Consecutive: 9},
		{Site: "north", Source: "a history", LastTry: g.clock, LastGood: g.clock},
	} {
		require.NoError(t, g.store.SetSource(t.Context(), s))
	}
	stale := func(a *plan.Assessment) { a.WeatherUntil = g.clock.Add(-100 * time.Hour) }
	g.round(t, stale)
	g.clock = g.clock.Add(time.Hour)
	g.round(t, stale)
	ops := g.mails("ops@plot.example")
	require.Len(t, ops, 2, "each once a day")
	all := strings.Join(ops, "\n")
	assert.Contains(t, all, "All weather sources of North are down")
	assert.Contains(t, all, "http-503")
	assert.Contains(t, all, "The weather of North is too old")
	g.clock = g.clock.AddDate(0, 0, 1)
	require.NoError(t, g.store.SetSource(t.Context(), store.SourceStatus{Site: "north", Source: "a", LastTry: g.clock, LastGood: g.clock}))
	g.round(t, nil)
	assert.Len(t, g.mails("ops@plot.example"), 2, "one source that works is enough")
}

func TestFailingMailIsToldByTheWebhook(t *testing.T) {
	g := newGround(t, func(c *config.Config) { c.People[0].Webhook = garden.Webhook{} })
	busy := true
	g.mail.OnData(func(smtptest.Mail) error {
		if busy {
			return smtptest.Answer(451, 4, 3, 0, "later")
		}
		return nil
	})
	for range 60 {
		g.round(t, nil)
		g.clock = g.clock.Add(time.Minute)
	}
	require.Len(t, g.hooks, 1)
	assert.Contains(t, g.hooks[0], "Mails keep failing")
	assert.False(t, g.well(), "the watchdog is not told that all is well")
	busy = false
	g.clock = g.clock.Add(time.Hour)
	require.NoError(t, g.Deliver(t.Context(), g.clock))
	assert.True(t, g.well())
}

func TestTheWatchdogHearsOfGoodRounds(t *testing.T) {
	beats := 0
	dog := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { beats++ }))
	defer dog.Close()
	g := newGround(t, func(c *config.Config) { c.Operator.Heartbeat = dog.URL })
	g.good(t.Context())
	assert.Equal(t, 1, beats)
	g.failing.Store(true)
	g.good(t.Context())
	assert.Equal(t, 1, beats)
}

func TestABrokenTemplateIsToldToTheOperatorAndTheMorningGoesOut(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "digest.html"), []byte("{{"), 0o600))
	g := newGround(t, func(c *config.Config) { c.Digest.Templates = dir })
	g.round(t, nil)
	g.round(t, nil)
	assert.Len(t, g.mails("ada@plot.example"), 1)
	ops := g.mails("ops@plot.example")
	require.Len(t, ops, 1)
	assert.Contains(t, ops[0], "A template of yours is broken")
	assert.Contains(t, ops[0], "digest.html is not used")
	assert.EqualValues(t, 1, testutil.ToFloat64(g.metrics.TemplateFaults))
}

func TestARegionsLetter(t *testing.T) {
	g := newGround(t, func(c *config.Config) {
		c.Regions = []garden.Region{{ID: "valley", Name: "The valley", Sites: []string{"north"}, Volunteers: []string{"ada"}}}
	})
	g.round(t, nil)
	require.NoError(t, g.store.AddScouting(t.Context(), garden.Scouting{ID: "s", Site: "north", Threat: "late-blight", Date: civil.New(2026, 6, 3), Finding: garden.Found, Share: true}))
	h := &Host{o: HostOptions{Config: g.cfg, Catalogue: g.catalogue.(*catalog.Catalogue), Now: g.now}, store: g.store}
	h.live.Store(&live{cfg: g.cfg, messenger: g.messenger})
	l, err := h.Letter(t.Context(), "valley")
	require.NoError(t, err)
	require.Len(t, l.Items, 1)
	assert.Equal(t, []string{"North, 3 Jun"}, l.Items[0].Seen)
	_, err = h.Letter(t.Context(), "vally")
	assert.ErrorContains(t, err, "valley")
}
