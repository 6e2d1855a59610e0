package web

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk/catalog"
)

// The browser tests run in a real Chromium. PLOTWARDEN_CHROMIUM names another
// program; PLOTWARDEN_SHOTS names a folder that keeps the screenshots.
func chromium(t *testing.T) string {
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
	return path
}

// browse starts a server of the invented garden and a browser with a fresh
// profile, and returns the server's address and a tab.
func browse(t *testing.T, several bool) (string, context.Context) {
	t.Helper()
	d, _ := deps(several)
	return browseWith(t, d)
}

func browseWith(t *testing.T, d Deps) (string, context.Context) {
	t.Helper()
	path := chromium(t)
	srv := httptest.NewServer(New(d))
	t.Cleanup(srv.Close)
	opts := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	opts = append(opts, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancelAlloc)
	tab, cancelTab := chromedp.NewContext(alloc)
	t.Cleanup(cancelTab)
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate("about:blank")), "start %s", path)
	ctx, cancel := context.WithTimeout(tab, 8*time.Minute)
	t.Cleanup(cancel)
	return srv.URL, ctx
}

// look sets the width of the window and the colour scheme.
func look(t *testing.T, ctx context.Context, width int64, scheme string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	require.NoError(t, err)
}

// ask evaluates a script in the page.
func ask[T any](t *testing.T, ctx context.Context, script string, opts ...chromedp.EvaluateOption) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, opts...))
	require.NoError(t, err)
	return v
}

func visit(t *testing.T, ctx context.Context, url string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(url)), url)
}

func shot(t *testing.T, ctx context.Context, name string) {
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

// Every page fits its window, keeps its text readable and its targets large
// enough for a wet thumb.
func TestPagesFit(t *testing.T) {
	url, ctx := browse(t, true)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{360, 768, 1440} {
			look(t, ctx, width, scheme)
			for name, page := range allPages {
				visit(t, ctx, url+page)
				where := fmt.Sprintf("%s at %d px, %s", page, width, scheme)
				assert.Empty(t, ask[[]string](t, ctx, overflowing), "wider than the window: %s", where)
				assert.Empty(t, ask[[]string](t, ctx, smallText), "text under 16 px: %s", where)
				assert.Empty(t, ask[[]string](t, ctx, tightTargets), "targets under 44 px: %s", where)
				shot(t, ctx, fmt.Sprintf("%s-%d-%s", name, width, scheme))
				if name == "site-us" { // the cookie would hold for the pages after it
					visit(t, ctx, url+"/threats?units=metric")
				}
			}
		}
	}
}

// The threats that ship, with their long words and sources, fit a phone.
func TestShippedThreatsFit(t *testing.T) {
	c, err := catalog.Load()
	require.NoError(t, err)
	d, _ := deps(false)
	d.Catalogue = c
	url, ctx := browseWith(t, d)
	look(t, ctx, 360, "light")
	for _, id := range c.IDs() {
		visit(t, ctx, url+"/threats/"+id)
		_ = ask[int](t, ctx, "[...document.querySelectorAll('details')].map(d => d.open = true).length")
		assert.Empty(t, ask[[]string](t, ctx, overflowing), id)
		shot(t, ctx, "threat-"+id)
	}
}

// overflowing names what sticks out of the window, unless it scrolls in a box
// of its own.
const overflowing = `(() => {
  const w = document.documentElement.clientWidth, out = [];
  if (document.documentElement.scrollWidth > w) out.push('page ' + document.documentElement.scrollWidth);
  for (const e of document.querySelectorAll('main *, header *, footer *')) {
    if (e.closest('.scroll, .skip, .unseen, svg') || e.matches('.skip')) continue;
    const r = e.getBoundingClientRect();
    if (r.width && (r.right > w + 1 || r.left < -1)) out.push(e.tagName + '.' + e.className + ' ' + Math.round(r.right));
  }
  return out.slice(0, 5);
})()`

const smallText = `(() => {
  const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || e.closest('title, desc, .unseen') || !e.getClientRects().length) continue;
    const px = parseFloat(getComputedStyle(e).fontSize);
    if (px < 15.99) out.push(px + ' ' + e.tagName + '.' + (e.getAttribute('class') || '') + ' ' + walk.currentNode.data.trim().slice(0, 30));
  }
  return out.slice(0, 5);
})()`

// tightTargets names links and summaries under 44 px; links within a sentence or
// a table cell are exempt, as in WCAG 2.2, 2.5.5.
const tightTargets = `(() => {
  const out = [];
  for (const e of document.querySelectorAll('a, summary, button, input')) {
    if (e.closest('td') || e.matches('p.soft a, .skip')) continue;
    const r = e.getBoundingClientRect();
    if (r.width && (r.height < 43.9 || r.width < 43.9)) out.push(e.tagName + ' ' + Math.round(r.width) + 'x' + Math.round(r.height) + ' ' + e.textContent.trim().slice(0, 30));
  }
  return out.slice(0, 5);
})()`
