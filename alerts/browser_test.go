package alerts_test

import (
	"context"
	"encoding/base64"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/picture"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/store"
	"plotwarden/weather"
)

// The mails are looked at in a real Chromium, as on a phone. PLOTWARDEN_CHROMIUM
// names another program; PLOTWARDEN_SHOTS names a folder that keeps the screenshots.
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
	ctx, cancel := context.WithTimeout(tab, 5*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

func evaluate[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	require.NoError(t, err)
	return v
}

// full is a digest with every part that a mail can have.
func full(t *testing.T, name string, l garden.Language) alerts.Digest {
	t.Helper()
	in := alerts.Scenarios()[name]
	in.Person.Language = l
	in.Near = []alerts.Near{{Site: &garden.Site{ID: "south", Name: "South ground"}, Seen: []garden.Scouting{
		{ID: "f", Threat: "late-blight", Date: civil.Of(in.Slot, in.Site.Location()) - 1, Finding: garden.Found, Share: true, Stage: "eggs"}}}}
	in.Disagreements = []store.Disagreement{{A: "open-meteo", B: "met-norway", Var: weather.Temp, MeanA: 12, MeanB: 17}}
	d, _ := alerts.Compose(in)
	b, size, err := picture.Draw(d.Axis(), d.Lanes(), lang.New(l, ""))
	require.NoError(t, err)
	if len(b) > 0 {
		d.Picture = alerts.Picture{PNG: b, CID: "line@x", Alt: d.Alt(picture.MaxRows), Width: size.X, Height: size.Y}
	}
	return d
}

// What is asked of each page: texts whose contrast is below 4.5 to 1 (WCAG 2.2,
// 1.4.3), headings that skip a level (1.3.1), and texts that stand above what is read
// before them (1.3.2).
const (
	faint = `(() => {
  const lum = c => { const [r,g,b] = c.map(x => { x /= 255; return x <= 0.04045 ? x/12.92 : ((x+0.055)/1.055)**2.4 }); return 0.2126*r+0.7152*g+0.0722*b };
  const rgb = s => s.match(/[\d.]+/g).map(Number);
  const out = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const n = walk.currentNode; if (!n.data.trim()) continue;
    let e = n.parentElement, bg = null;
    for (let p = e; p; p = p.parentElement) { const c = rgb(getComputedStyle(p).backgroundColor); if (c.length < 4 || c[3] > 0) { bg = c; break } }
    const a = lum(rgb(getComputedStyle(e).color)), b = lum(bg || [255,255,255]);
    const k = (Math.max(a,b)+0.05)/(Math.min(a,b)+0.05);
    if (k < 4.5) out.push(n.data.trim().slice(0,40)+": "+k.toFixed(1));
  }
  return out })()`
	skipped = `(() => { let last = 0, out = []; for (const h of document.querySelectorAll("h1,h2,h3,h4")) { const n = +h.tagName[1]; if (n > last+1) out.push(h.textContent); last = n } if (document.querySelectorAll("h1").length !== 1) out.push("not one h1"); return out })()`
	unread  = `(() => { let y = -1, out = []; for (const e of document.querySelectorAll("h1,h2,h3,p,li,img")) { const t = e.getBoundingClientRect().top; if (t < y - 1) out.push((e.alt || e.textContent).slice(0,40)); y = t } return out })()`
)

func TestMailsInABrowser(t *testing.T) {
	ctx := browser(t)
	var page string
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(page))
	}))
	defer srv.Close()
	for _, c := range []struct {
		name string
		l    garden.Language
	}{{"first", garden.English}, {"acts", garden.English}, {"es-first", garden.Spanish}, {"blind", garden.English}, {"nothing", garden.English}, {"hostile", garden.English}} {
		d := full(t, c.name, c.l)
		html, err := d.HTML()
		require.NoError(t, err)
		for _, images := range []bool{true, false} {
			page = html
			if images && d.Picture.CID != "" {
				page = strings.Replace(html, "cid:"+d.Picture.CID, "data:image/png;base64,"+base64.StdEncoding.EncodeToString(d.Picture.PNG), 1)
			}
			for _, scheme := range []string{"light", "dark"} {
				where := c.name + " " + scheme
				if !images {
					where += " without images"
				}
				require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(360, 740)))
				_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
				require.NoError(t, err)
				require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(srv.URL)))
				assert.LessOrEqual(t, evaluate[int](t, ctx, `document.documentElement.scrollWidth`), 360, where)
				assert.Empty(t, evaluate[[]string](t, ctx, faint), "contrast: %s", where)
				assert.Empty(t, evaluate[[]string](t, ctx, skipped), "headings: %s", where)
				assert.Empty(t, evaluate[[]string](t, ctx, unread), "order: %s", where)
				assert.Equal(t, string(c.l), evaluate[string](t, ctx, `document.documentElement.lang`), where)
				small := evaluate[[]string](t, ctx, `[...document.querySelectorAll("p,li,h1,h2,h3,a,span")].filter(e => e.textContent.trim() && parseFloat(getComputedStyle(e).fontSize) < 14).map(e => e.textContent.slice(0,40))`)
				assert.Empty(t, small, "too small to read: %s", where)
				if d.Picture.CID != "" {
					assert.Equal(t, images, evaluate[bool](t, ctx, `document.images[0].naturalWidth > 0`), where)
					assert.Equal(t, d.Picture.Alt, evaluate[string](t, ctx, `document.images[0].alt`), where)
				}
				shot(t, ctx, strings.ReplaceAll(where, " ", "-"))
			}
		}
	}
}

func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("PLOTWARDEN_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o600))
}
