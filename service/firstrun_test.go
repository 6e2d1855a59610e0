package service

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/smtptest"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/weather/faultserver"
	"plotwarden/web/page"
)

// fresh is an installation on a new store, with a weather service and a mail server
// on this machine, and nothing set up.
type fresh struct {
	host *Host
	url  string
	mail *smtptest.Server
	now  atomic.Int64
}

func newFresh(t *testing.T, demo *page.DemoNote) *fresh {
	t.Helper()
	f := &fresh{mail: smtptest.Start(t, smtptest.Plain)}
	f.now.Store(time.Date(2026, 7, 14, 13, 5, 0, 0, time.UTC).Unix()) // past six in New York
	now := func() time.Time { return time.Unix(f.now.Load(), 0).UTC() }
	weatherAt, err := faultserver.Start(now)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, weatherAt.Stop()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	cfg := config.Defaults()
	cfg.Store = filepath.Join(t.TempDir(), "p.db")
	cfg.Weather.HistoryYears = 0
	src := &cfg.Weather.Sources[0]
	src.ForecastURL, src.ArchiveURL = weatherAt.URL("/v1/forecast"), weatherAt.URL("/v1/archive")
	f.host, err = Open(t.Context(), HostOptions{
		Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: now, Version: "test", Demo: demo,
	})
	require.NoError(t, err)
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { f.host.handler.ServeHTTP(w, r) }))
	f.url = srv.URL
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- f.host.service.Run(ctx, f.host.round) }()
	t.Cleanup(func() {
		srv.Close()
		stop()
		assert.NoError(t, <-ended)
		assert.NoError(t, f.host.Close())
	})
	return f
}

// browser returns a tab of a fresh Chromium, 390 px wide.
func browser(t *testing.T) context.Context {
	t.Helper()
	name := os.Getenv("PLOTWARDEN_CHROMIUM")
	if name == "" {
		name = "chromium"
	}
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("no %s on this machine: the browser tests must run in CI (apt-get install chromium)", name)
		}
		t.Skipf("no %s on this machine: apt-get install chromium, or set PLOTWARDEN_CHROMIUM", name)
	}
	opts := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	opts = append(opts, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancelAlloc)
	tab, cancelTab := chromedp.NewContext(alloc)
	t.Cleanup(cancelTab)
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate("about:blank")), "start %s", path)
	ctx, cancel := context.WithTimeout(tab, 6*time.Minute)
	t.Cleanup(cancel)
	widen(t, ctx, 390)
	return ctx
}

func widen(t *testing.T, ctx context.Context, px int64) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(px, 800)))
}

func visit(t *testing.T, ctx context.Context, url string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(url)), url)
}

func ask[T any](t *testing.T, ctx context.Context, script string, opts ...chromedp.EvaluateOption) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, opts...))
	require.NoError(t, err)
	return v
}

// fill puts texts into fields by name, as typed.
func fill(t *testing.T, ctx context.Context, pairs ...string) {
	t.Helper()
	for i := 0; i+1 < len(pairs); i += 2 {
		ok := ask[bool](t, ctx, `(() => { const e = document.querySelector('[name="`+pairs[i]+`"]'); if (!e) return false; e.value = `+"`"+pairs[i+1]+"`"+`; return true })()`)
		require.True(t, ok, "field %s", pairs[i])
	}
}

// touch clicks what is shown with a text and waits for the page that follows.
func touch(t *testing.T, ctx context.Context, text string) {
	t.Helper()
	found := ask[bool](t, ctx, `(() => {
  const e = [...document.querySelectorAll('main a, main button, main summary')].find(e => e.checkVisibility() && e.textContent.trim().startsWith(`+"`"+text+"`"+`));
  if (!e) return false;
  e.id = 'touched';
  return true;
})()`)
	require.True(t, found, "%s on %s: %s", text, ask[string](t, ctx, "location.pathname"), ask[string](t, ctx, "document.querySelector('main').innerText"))
	_, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS("#touched")))
	require.NoError(t, err, text)
}

// submit sends a form by its own button.
func submit(t *testing.T, ctx context.Context, form string) {
	t.Helper()
	_, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS(form+" button[type=submit]")))
	require.NoError(t, err)
}

func screenshot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("PLOTWARDEN_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(dir, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// From an empty store to the first message, in a browser and without a file: place,
// planting, person, mail server; then a round by itself, readiness on the page, and
// the mail.
func TestFirstRunToFirstAlert(t *testing.T) {
	f := newFresh(t, nil)
	ctx := browser(t)
	visit(t, ctx, f.url+"/setup/owner?code="+f.host.accounts.Code()) // the link that the program prints
	fill(t, ctx, "name", "Ash", "login", "ash", "password", "four words in a row", "again", "four words in a row")
	screenshot(t, ctx, "first-0-owner")
	submit(t, ctx, "main form")
	assert.Equal(t, "/setup", ask[string](t, ctx, "location.pathname"), "after the owner comes set-up: "+ask[string](t, ctx, "document.querySelector('main').innerText"))
	visit(t, ctx, f.url+"/")
	assert.Equal(t, "/setup", ask[string](t, ctx, "location.pathname"), "an empty installation begins with set-up")
	screenshot(t, ctx, "first-1-setup")
	touch(t, ctx, "Add a ground")
	fill(t, ctx, "q", "Ithaca, NY")
	touch(t, ctx, "Find")
	screenshot(t, ctx, "first-2-places")
	touch(t, ctx, "Ithaca, NY, United States")
	screenshot(t, ctx, "first-3-ground")
	assert.Equal(t, "America/New_York", ask[string](t, ctx, `document.querySelector('[name=zone]').value`))
	assert.NotEmpty(t, ask[string](t, ctx, `document.querySelector('[name=elevation]').value`), "the height is looked up")
	fill(t, ctx, "name", "Mill Lane")
	touch(t, ctx, "Add this ground")
	screenshot(t, ctx, "first-4-site")
	touch(t, ctx, "Plant in Bed 1")
	screenshot(t, ctx, "first-5-plant")
	touch(t, ctx, "Tomato")
	assert.Contains(t, ask[string](t, ctx, "document.querySelector('main').innerText"), "planted out 14 Jul 2026")
	screenshot(t, ctx, "first-6-planted")

	visit(t, ctx, f.url+"/setup")
	touch(t, ctx, "Messages")
	fill(t, ctx, "host", f.mail.Host(), "port", itoa(f.mail.Port()), "tls", "none", "from", "The beds <beds@plot.example>")
	touch(t, ctx, "Keep")
	fill(t, ctx, "to", "wren@plot.example")
	screenshot(t, ctx, "first-7-messages")
	touch(t, ctx, "Send a test mail")
	assert.Contains(t, ask[string](t, ctx, "document.querySelector('main').innerText"), "Sent.")
	require.Len(t, f.mail.Got(), 1)
	visit(t, ctx, f.url+"/setup/people")
	fill(t, ctx, "name", "Wren", "email", "wren@plot.example")
	touch(t, ctx, "Add")
	screenshot(t, ctx, "first-8-person")

	// The round comes by itself, and the message with it.
	require.Eventually(t, func() bool { return len(f.mail.Got()) > 1 }, 2*time.Minute, 250*time.Millisecond, "the first message")
	mail := f.mail.Got()[1]
	assert.Equal(t, []string{"wren@plot.example"}, mail.To)
	assert.Contains(t, string(mail.Raw), "Mill Lane")
	visit(t, ctx, f.url+"/")
	text := ask[string](t, ctx, "document.querySelector('main').innerText")
	assert.Contains(t, text, "Mill Lane")
	assert.Contains(t, text, "Late blight", "readiness of the planting is shown")
	screenshot(t, ctx, "first-9-beds")

	// Replanted at two touches: the page follows, and the threats with it.
	visit(t, ctx, f.url+"/setup/site/mill-lane")
	touch(t, ctx, "Pulled: plant next")
	touch(t, ctx, "Kale")
	assert.Contains(t, ask[string](t, ctx, "document.querySelector('main').innerText"), "Kale")
	require.Eventually(t, func() bool {
		r, err := f.host.store.LatestRound(context.Background(), "mill-lane")
		if err != nil {
			return false
		}
		for i := range r.Assessments {
			if strings.HasPrefix(r.Assessments[i].Planting, "kale") {
				return true
			}
		}
		return false
	}, time.Minute, 250*time.Millisecond, "the new planting is judged within a minute")
}

func itoa(n int) string { return strconv.Itoa(n) }
