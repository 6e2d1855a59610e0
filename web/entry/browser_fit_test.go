package entry

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/web/webtest"
)

// pagesOfLog is an address of every kind of page, on a ground with entries.
func pagesOfLog(t *testing.T, w *wire) map[string]string {
	t.Helper()
	g := w.g
	g.now = webtest.Now()
	for _, r := range []struct {
		code int
		got  int
	}{
		{http.StatusSeeOther, g.send("/site/mill-lane/log", look("11111111-a", "none", "plants", "10")).Code},
		{http.StatusSeeOther, g.send("/site/mill-lane/log", look("22222222-a", "found", "replaces", "11111111-a", "why", "saw the spots on the way back", "percent", "0.5", "share", "yes"), jpegOf(t, scene(320, 200))).Code},
		{http.StatusSeeOther, g.send("/site/mill-lane/log/treatment", spray("33333333-a", toldSpray("", "note", "the pump end of the bed only")...)).Code},
	} {
		require.Equal(t, r.code, r.got)
	}
	return map[string]string{
		"log": "/site/mill-lane/log", "log-chosen": "/site/mill-lane/log?planting=cabbage-2&threat=cabbageworm", "log-correct": "/site/mill-lane/log/entry/22222222-a/correct",
		"treat": "/site/mill-lane/log/treatment?planting=tomato-1&threat=late-blight", "treat-correct": "/site/mill-lane/log/entry/33333333-a/correct",
		"saved": "/site/mill-lane/log/entry/22222222-a", "saved-treat": "/site/mill-lane/log/entry/33333333-a", "all": "/site/mill-lane/log/all",
		"gate": "/site/mill-lane/gate", "record": "/site/mill-lane/record", "waiting": "/waiting", "push": "/you/push",
	}
}

const opened = "[...document.querySelectorAll('details')].map(d => d.open = true).length"

// Every page fits its window, keeps its text readable and its targets large
// enough for a wet thumb, folds open.
func TestPagesFit(t *testing.T) {
	w, ctx := browse(t)
	pages := pagesOfLog(t, w)
	for _, c := range []struct {
		width  int64
		scheme string
	}{{360, "light"}, {1440, "dark"}} {
		look2(t, ctx, c.width, c.scheme)
		for name, path := range pages {
			visit(t, ctx, w.url(path))
			shot(t, ctx, fmt.Sprintf("%s-%d-%s", name, c.width, c.scheme))
			ask[int](t, ctx, opened)
			where := fmt.Sprintf("%s at %d px, %s", path, c.width, c.scheme)
			assert.Empty(t, ask[[]string](t, ctx, overflowing), "wider than the window: %s", where)
			assert.Empty(t, ask[[]string](t, ctx, smallText), "text under 16 px: %s", where)
			assert.Empty(t, ask[[]string](t, ctx, tightTargets), "targets under 44 px: %s", where)
		}
	}
	look2(t, ctx, 360, "light")
	toReview(t, ctx, w)
	shot(t, ctx, "review-360-light")
	assert.Empty(t, ask[[]string](t, ctx, overflowing))
	assert.Empty(t, ask[[]string](t, ctx, tightTargets))
}

// toReview leads to the page with the checks.
func toReview(t *testing.T, ctx context.Context, w *wire) {
	t.Helper()
	visit(t, ctx, w.url("/site/mill-lane/log/treatment?planting=tomato-1"))
	press(t, ctx, "[name=with][value=cu]")
	press(t, ctx, "button[value=check]")
	soon(t, ctx, "document.title.startsWith('Before it is saved')")
}

// axe-core finds nothing serious on any page.
func TestAxe(t *testing.T) {
	dir := os.Getenv("PLOTWARDEN_NODE_MODULES")
	script, err := os.ReadFile(filepath.Join(dir, "axe-core", "axe.min.js"))
	if dir == "" || err != nil {
		t.Skip("no axe-core: npm install axe-core, and set PLOTWARDEN_NODE_MODULES to its node_modules folder")
	}
	w, ctx := browse(t)
	pages := pagesOfLog(t, w)
	for _, scheme := range []string{"light", "dark"} {
		look2(t, ctx, 360, scheme)
		for name, path := range pages {
			if scheme == "dark" && name != "log" && name != "saved" {
				continue // the rest has no colours of its own
			}
			visit(t, ctx, w.url(path))
			axe(t, ctx, string(script), path+", "+scheme)
		}
		toReview(t, ctx, w)
		axe(t, ctx, string(script), "review, "+scheme)
	}
}

func axe(t *testing.T, ctx context.Context, script, where string) {
	t.Helper()
	ask[int](t, ctx, opened)
	require.NoError(t, chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](script)))
	type result struct {
		Faults []string
		Passes int
	}
	r := ask[result](t, ctx, `(async () => {
  const r = await axe.run(document);
  return {Passes: r.passes.length, Faults: r.violations.filter(v => v.impact === 'serious' || v.impact === 'critical').map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ') + ' ' + (n.any[0] ? n.any[0].message : '')).join(' | '))};
})()`)
	assert.Greater(t, r.Passes, 10, "axe ran: %s", where)
	assert.Empty(t, r.Faults, where)
}

// With scripts off the log is pages and plain forms: another bed by a button, an
// entry, undo.
func TestLoggingWithoutScript(t *testing.T) {
	w, ctx := browse(t)
	look2(t, ctx, 1440, "light")
	visit(t, ctx, w.url("/site/mill-lane/log"))
	_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(t, err)
	// The document that was found can still belong to the page before.
	there := func(path, marker string) {
		visit(t, ctx, w.url(path))
		require.Eventually(t, func() bool {
			text, err := chromedp.Run(ctx, chromedp.JavascriptAttribute[string](chromedp.CSS("main"), "innerText"))
			return err == nil && strings.Contains(text, marker)
		}, 30*time.Second, 100*time.Millisecond, path)
	}
	there("/site/mill-lane/log?planting=cabbage-2", "Take this bed")
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("label:has([value=cabbageworm])")), chromedp.Click(chromedp.CSS("button[value=none]"))))
	require.Eventually(t, func() bool { return len(w.g.looks()) == 1 }, 20*time.Second, 100*time.Millisecond)
	assert.Equal(t, "cabbage-2", w.g.looks()[0].Planting)
	there(entryHref(north, w.g.looks()[0].ID), "Undo")
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("form[action$=undo] button"))))
	require.Eventually(t, func() bool { return len(garden.Looks(w.g.looks())) == 0 }, 20*time.Second, 100*time.Millisecond)

	there("/site/mill-lane/log/treatment?planting=tomato-1", "Log a treatment")
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("label:has([name=with][value='-nothing'])")), chromedp.Click(chromedp.CSS("button[value=save]"))))
	require.Eventually(t, func() bool { return len(w.g.records()) == 1 }, 20*time.Second, 100*time.Millisecond)
	assert.Equal(t, "by hand", w.g.records()[0].Method)
}

// A keyboard alone logs a look; Enter in a field sends nothing by itself.
func TestKeyboardLogsALook(t *testing.T) {
	w, ctx := browse(t)
	look2(t, ctx, 1440, "light")
	visit(t, ctx, w.url("/site/mill-lane/log?planting=tomato-1&threat=late-blight"))
	tab := func(until string) {
		for range 80 {
			require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)))
			at := ask[string](t, ctx, focused)
			require.NotContains(t, at, "no ring")
			if ask[bool](t, ctx, "document.activeElement.matches("+until+")") {
				return
			}
		}
		t.Fatalf("the keyboard does not reach %s", until)
	}
	tab(`'summary'`)
	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Enter)))
	tab(`'#f-plants'`)
	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent("10"), chromedp.KeyEvent(kb.Enter)))
	time.Sleep(300 * time.Millisecond)
	assert.Empty(t, w.g.looks(), "Enter in a field is no finding")
	tab(`'button[value=none]'`)
	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Enter)))
	soon(t, ctx, "location.pathname.startsWith('/site/mill-lane/log/entry/')")
	require.Len(t, w.g.looks(), 1)
	assert.Equal(t, 10, w.g.looks()[0].Plants)
}

// focused names what has the focus, and says when nothing shows it: the ring is on
// it, or on the label that is drawn for it.
const focused = `(() => {
  const e = document.activeElement, has = (x) => { const s = getComputedStyle(x); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2 };
  return (has(e) || (e.closest('label') && has(e.closest('label'))) ? '' : 'no ring: ') + e.tagName + ' ' + (e.name || '') + ' ' + e.textContent.trim().slice(0, 40);
})()`

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
    if (!walk.currentNode.data.trim() || e.closest('title, desc, .unseen, option') || !e.getClientRects().length) continue;
    const px = parseFloat(getComputedStyle(e).fontSize);
    if (px < 15.99) out.push(px + ' ' + e.tagName + ' ' + walk.currentNode.data.trim().slice(0, 30));
  }
  return out.slice(0, 5);
})()`

// tightTargets names what is tapped and under 44 px; a box whose line is its label
// counts as large as that line.
const tightTargets = `(() => {
  const out = [];
  for (const e of document.querySelectorAll('a, summary, button, input:not([type=hidden]), select, textarea')) {
    if (e.closest('td, h2') || e.matches('p.soft a, .skip')) continue;
    const r = (e.closest('label') || e).getBoundingClientRect();
    if (r.width && (r.height < 43.9 || r.width < 43.9)) out.push(e.tagName + ' ' + Math.round(r.width) + 'x' + Math.round(r.height) + ' ' + (e.name || e.textContent.trim().slice(0, 30)));
  }
  return out.slice(0, 5);
})()`

// What asks for nothing outside: every address in the pages is the server's own.
func TestNothingLeavesTheServer(t *testing.T) {
	g := newGround(t)
	for _, path := range []string{"/site/mill-lane/log", "/site/mill-lane/log/treatment", "/site/mill-lane/log/all", "/waiting", "/you/push", "/site/mill-lane/gate", "/site/mill-lane/record"} {
		body := g.get(path).Body.String()
		for _, mark := range []string{"http://", "https://", `src="//`, "<script>", " style=", " onclick"} {
			assert.False(t, strings.Contains(body, mark), "%s has %s", path, mark)
		}
	}
}
