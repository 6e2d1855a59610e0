package web

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// No page asks for anything outside its own server, and none breaks its own
// content policy.
func TestNothingLeavesTheServer(t *testing.T) {
	url, ctx := browse(t, true)
	var mu sync.Mutex
	var asked, complaints []string
	require.NoError(t, chromedp.Listen(ctx, func(ev any) {
		mu.Lock()
		defer mu.Unlock()
		switch e := ev.(type) {
		case *network.EventRequestWillBeSent:
			asked = append(asked, e.Request.URL)
		case *log.EventEntryAdded:
			complaints = append(complaints, e.Entry.Text)
		}
	}))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	for _, page := range allPages {
		visit(t, ctx, url+page)
	}
	mu.Lock()
	defer mu.Unlock()
	require.Greater(t, len(asked), len(allPages), "the browser reports its requests")
	for _, u := range asked {
		assert.True(t, strings.HasPrefix(u, url+"/"), "asked for %s", u)
	}
	for _, c := range complaints {
		assert.NotContains(t, c, "Content Security Policy")
		assert.Contains(t, c, "404", "the only complaint is the page that is not there")
	}
}

// Every page says the same with scripts off, and its folds still open.
func TestWithoutScript(t *testing.T) {
	url, ctx := browse(t, true)
	look(t, ctx, 360, "light")
	with := map[string]string{}
	for name, page := range allPages {
		visit(t, ctx, url+page)
		with[name] = ask[string](t, ctx, "document.body.innerText")
		require.NotEmpty(t, with[name])
		if name == "site-us" {
			visit(t, ctx, url+"/threats?units=metric")
		}
	}
	_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(t, err)
	for name, page := range allPages {
		visit(t, ctx, url+page)
		// The body that was found can still belong to the page before.
		var text string
		require.Eventually(t, func() bool {
			var err error
			text, err = chromedp.Run(ctx, chromedp.JavascriptAttribute[string](chromedp.CSS("body"), "innerText"))
			return err == nil && text != ""
		}, 30*time.Second, 100*time.Millisecond, name)
		assert.Equal(t, with[name], text, name)
		if name == "site-us" {
			visit(t, ctx, url+"/threats?units=metric")
		}
	}
	visit(t, ctx, url+"/site/mill-lane")
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS(".lead details.more:last-of-type summary")),
		chromedp.WaitVisible(chromedp.CSS(".lead details table"))))
}

// A keyboard reaches every link and fold in order, always with a visible ring,
// and opens what it stands on.
func TestKeyboardAlone(t *testing.T) {
	url, ctx := browse(t, false)
	look(t, ctx, 1440, "light")
	visit(t, ctx, url+"/site/mill-lane")
	want := ask[int](t, ctx, `[...document.querySelectorAll('a[href], summary, [tabindex="0"]')].filter(e => e.checkVisibility()).length`)
	require.Greater(t, want, 20)
	var first string
	rings := map[string]bool{}
	for i := range want {
		require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)))
		at := ask[string](t, ctx, focused)
		if i == 0 {
			first = at
		}
		require.NotContains(t, at, "no ring", "stop %d", i)
		rings[at] = true
	}
	assert.Contains(t, first, "Skip to the page")
	assert.Len(t, rings, want, "every stop is a new one")
	// From the top: skip, go to the first lane, open it.
	visit(t, ctx, url+"/site/mill-lane")
	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Enter)))
	assert.Equal(t, "main", ask[string](t, ctx, "document.activeElement.id"))
	for range want {
		require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)))
		if ask[bool](t, ctx, "document.activeElement.matches('.lane')") {
			break
		}
	}
	shot(t, ctx, "focus-1440-light")
	_, err := chromedp.RunResponse(ctx, chromedp.KeyEvent(kb.Enter))
	require.NoError(t, err)
	assert.Equal(t, "Late blight, Bed 1: Tomato, Long Red · plotwarden", ask[string](t, ctx, "document.title"))
}

// focused names what has the focus with its place, and says when nothing shows
// it.
const focused = `(() => {
  const e = document.activeElement, s = getComputedStyle(e), r = e.getBoundingClientRect();
  const ring = s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;
  return (ring ? '' : 'no ring: ') + e.tagName + ' ' + e.textContent.trim().slice(0, 40) + ' @' + Math.round(r.left + scrollX) + ',' + Math.round(r.top + scrollY);
})()`

// axe-core finds nothing serious on any page, in both colour schemes, on a phone
// and at a desk.
func TestAxe(t *testing.T) {
	dir := os.Getenv("PLOTWARDEN_NODE_MODULES")
	script, err := os.ReadFile(filepath.Join(dir, "axe-core", "axe.min.js"))
	if dir == "" || err != nil {
		t.Skip("no axe-core: npm install axe-core, and set PLOTWARDEN_NODE_MODULES to its node_modules folder")
	}
	url, ctx := browse(t, true)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{360, 1440} {
			look(t, ctx, width, scheme)
			for _, page := range allPages {
				visit(t, ctx, url+page)
				faults, rules := axe(t, ctx, string(script))
				assert.Greater(t, rules, 10, "axe ran: %s", page)
				assert.Empty(t, faults, "%s at %d px, %s", page, width, scheme)
			}
		}
	}
}

// axe opens every fold and returns the serious faults and how many rules passed.
func axe(t *testing.T, ctx context.Context, script string) ([]string, int) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](script)))
	type result struct {
		Faults []string
		Passes int
	}
	r := ask[result](t, ctx, `(async () => {
  for (const d of document.querySelectorAll('details')) d.open = true;
  const r = await axe.run(document);
  return {
    Passes: r.passes.length,
    Faults: r.violations.filter(v => v.impact === 'serious' || v.impact === 'critical').map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ') + ' ' + (n.any[0] ? n.any[0].message : '')).join(' | ')),
  };
})()`, chromedp.EvalAwaitPromise)
	return r.Faults, r.Passes
}

// The shapes and words still tell the readinesses apart under every colour-vision
// deficiency: the screenshots are for looking at, the test proves that the
// browser renders each.
func TestVisionDeficiencies(t *testing.T) {
	url, ctx := browse(t, false)
	look(t, ctx, 1440, "light")
	visit(t, ctx, url+"/site/mill-lane")
	for _, kind := range []emulation.SetEmulatedVisionDeficiencyType{"protanopia", "deuteranopia", "tritanopia", "achromatopsia"} {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedVisionDeficiency, emulation.SetEmulatedVisionDeficiencyParams{Type: kind})
		require.NoError(t, err)
		n := ask[int](t, ctx, `new Set([...document.querySelectorAll('.legend .shape')].map(e => e.innerHTML)).size`)
		assert.Equal(t, 6, n, "six shapes")
		shot(t, ctx, fmt.Sprintf("eyes-%s", kind))
	}
}
