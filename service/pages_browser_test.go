package service

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"context"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/web/page"
)

// deskPages is an address of every kind of page of set-up and the bench.
var deskPages = map[string]string{
	"setup": "/setup", "setup-ground": "/setup/ground?q=Burlington", "setup-ground-form": "/setup/ground?lat=44.476&lon=-73.212&name=Burlington",
	"setup-site": "/setup/site/mill-lane", "setup-bed": "/setup/site/mill-lane/plots/bed-1", "setup-plant": "/setup/site/mill-lane/plots/bed-1/plant",
	"setup-planting": "/setup/site/mill-lane/plantings/tomato-2026", "setup-import": "/setup/site/mill-lane/import",
	"setup-people": "/setup/people", "setup-person": "/setup/people/wren", "setup-materials": "/setup/materials", "setup-material": "/setup/materials/copper",
	"setup-messages": "/setup/messages", "setup-weather": "/setup/weather", "setup-regions": "/setup/regions", "setup-region": "/setup/regions/valley",
	"setup-history": "/setup/history/site/mill-lane", "you": "/you",
	"region": "/region/valley", "tune": "/region/valley/tune?model=imported-cabbageworm/delahaut-2015", "letter": "/region/valley/letter",
}

// furnished is a fresh installation with one of everything.
func furnished(t *testing.T) *fresh {
	t.Helper()
	f := newFresh(t, &page.DemoNote{Title: "Test", Lines: []string{"An invented garden.", "The weather is invented."}})
	ctx, g, by := t.Context(), f.host.ground, ground.By{Person: "wren", Why: "for a test"}
	_, err := g.Sites.Add(ctx, by, garden.Site{ID: "mill-lane", Name: "Mill Lane", Latitude: 44.476, Longitude: -73.212, Elevation: 100, Zone: "America/New_York", Plots: []garden.Plot{
		{ID: "bed-1", Name: "Bed 1", Plantings: []garden.Planting{{ID: "pea-2026", Crop: "pea", Sown: civil.New(2026, 4, 1), Removed: civil.New(2026, 6, 20)}, {ID: "tomato-2026", Crop: "tomato", Cultivar: "Long Red", PlantedOut: civil.New(2026, 6, 20)}}}, {ID: "bed-2", Name: "Bed 2, by the long fence"}}})
	require.NoError(t, err)
	_, err = g.People.Add(ctx, by, garden.Person{ID: "wren", Name: "Wren", Email: "wren@plot.example", Sites: []string{"mill-lane"}})
	require.NoError(t, err)
	_, err = g.Regions.Add(ctx, by, garden.Region{ID: "valley", Name: "The valley", Sites: []string{"mill-lane"}, Volunteers: []string{"wren"}})
	require.NoError(t, err)
	_, err = g.Materials.Add(ctx, by, garden.Material{ID: "copper", Name: "Copper", Ingredient: "copper octanoate"})
	require.NoError(t, err)
	require.NoError(t, g.PutSetting(ctx, by, ground.StationPrefix+"shed", ground.Station{Site: "mill-lane", Digest: fmt.Sprintf("%064d", 1)}))
	require.Eventually(t, func() bool { _, err := f.host.store.LatestRound(context.Background(), "mill-lane"); return err == nil }, time.Minute, 100*time.Millisecond)
	return f
}

const tooWide = `(() => {
  const w = document.documentElement.clientWidth, out = [];
  if (document.documentElement.scrollWidth > w) out.push('page ' + document.documentElement.scrollWidth);
  for (const e of document.querySelectorAll('main *, header *, footer *')) {
    if (e.closest('.scroll, .skip, .unseen, svg, details:not([open])') || e.matches('.skip, option')) continue;
    const r = e.getBoundingClientRect();
    if (r.width && (r.right > w + 1 || r.left < -1)) out.push(e.tagName + '.' + e.className + ' ' + Math.round(r.right));
    if (e.matches('.picks button') && e.scrollWidth > e.clientWidth + 1) out.push('text of ' + e.textContent.trim());
  }
  return out.slice(0, 5);
})()`

const tooTight = `(() => {
  const out = [];
  for (const e of document.querySelectorAll('a, summary, button, input, select, textarea')) {
    if (e.closest('td, .tick') || e.matches('p.soft a, .skip, [type=hidden]')) continue;
    const r = e.getBoundingClientRect();
    if (r.width && (r.height < 43.9 || r.width < 43.9)) out.push(e.tagName + ' ' + Math.round(r.width) + 'x' + Math.round(r.height) + ' ' + e.textContent.trim().slice(0, 30));
  }
  return out.slice(0, 5);
})()`

const tooSmall = `(() => {
  const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || e.closest('title, desc, .unseen, svg, option') || !e.getClientRects().length) continue;
    const px = parseFloat(getComputedStyle(e).fontSize);
    if (px < 15.99) out.push(px + ' ' + e.tagName + ' ' + walk.currentNode.data.trim().slice(0, 30));
  }
  return out.slice(0, 5);
})()`

// Every page of set-up and the bench fits its window, has targets for a wet thumb,
// passes axe-core, and is reached by a keyboard with a ring that shows.
func TestDeskPagesInABrowser(t *testing.T) {
	f := furnished(t)
	ctx := browser(t)
	dir := os.Getenv("PLOTWARDEN_NODE_MODULES")
	script, axeErr := os.ReadFile(filepath.Join(dir, "axe-core", "axe.min.js"))
	// PLOTWARDEN_ALL_SIZES looks at every page in every size and both schemes, which
	// takes minutes; else dark and the middle are for the pages that differ most.
	all := os.Getenv("PLOTWARDEN_ALL_SIZES") != ""
	few := map[string]bool{"setup-site": true, "setup-plant": true, "region": true, "tune": true}
	for _, scheme := range []string{"light", "dark"} {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		require.NoError(t, err)
		for _, px := range []int64{360, 768, 1440} {
			widen(t, ctx, px)
			for name, path := range deskPages {
				if !all && !few[name] && (scheme == "dark" || px == 768) {
					continue
				}
				visit(t, ctx, f.url+path)
				where := fmt.Sprintf("%s at %d px, %s", path, px, scheme)
				require.NotContains(t, ask[string](t, ctx, "document.title"), "could not be made", where)
				assert.Empty(t, ask[[]string](t, ctx, tooWide), "wider than the window: %s", where)
				assert.Empty(t, ask[[]string](t, ctx, tooTight), "targets under 44 px: %s", where)
				assert.Empty(t, ask[[]string](t, ctx, tooSmall), "text under 16 px: %s", where)
				screenshot(t, ctx, fmt.Sprintf("%s-%d-%s", name, px, scheme))
				if dir == "" || axeErr != nil || !all && px != 360 {
					continue
				}
				require.NoError(t, chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](string(script))))
				faults := ask[[]string](t, ctx, `(async () => {
  for (const d of document.querySelectorAll('details')) d.open = true;
  const r = await axe.run(document);
  if (r.passes.length < 10) return ['axe did not run'];
  return r.violations.filter(v => v.impact === 'serious' || v.impact === 'critical').map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ') + ' ' + (n.any[0] ? n.any[0].message : '')).join(' | '));
})()`, chromedp.EvalAwaitPromise)
				assert.Empty(t, faults, where)
				assert.Empty(t, ask[[]string](t, ctx, tooWide), "wider than the window with its folds open: %s", where)
			}
		}
	}
	if axeErr != nil {
		t.Log("no axe-core: npm install axe-core, and set PLOTWARDEN_NODE_MODULES to its node_modules folder")
	}
}

// A keyboard alone plants a bed, and each stop shows where it is; and all of it goes
// without script.
func TestDeskByKeyboardAndWithoutScript(t *testing.T) {
	f := furnished(t)
	ctx := browser(t)
	widen(t, ctx, 1440)
	visit(t, ctx, f.url+"/setup/site/mill-lane")
	stops := ask[int](t, ctx, `[...document.querySelectorAll('a[href], button, summary, input:not([type=hidden]), select, textarea')].filter(e => e.checkVisibility()).length`)
	reached := map[string]bool{}
	for i := range stops {
		require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)))
		at := ask[string](t, ctx, `(() => { const e = document.activeElement, s = getComputedStyle(e), r = e.getBoundingClientRect();
  return (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2 ? '' : 'no ring: ') + e.tagName + ' ' + e.textContent.trim().slice(0, 30) + Math.round(r.left + scrollX) + ',' + Math.round(r.top + scrollY) })()`)
		require.NotContains(t, at, "no ring", "stop %d", i)
		reached[at] = true
		if ask[bool](t, ctx, `document.activeElement.textContent.trim() === 'Plant in Bed 2, by the long fence'`) {
			_, err := chromedp.RunResponse(ctx, chromedp.KeyEvent(kb.Enter))
			require.NoError(t, err)
			break
		}
	}
	require.Equal(t, "/setup/site/mill-lane/plots/bed-2/plant", ask[string](t, ctx, "location.pathname"))
	_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(t, err)
	visit(t, ctx, f.url+"/setup/site/mill-lane/plots/bed-2/plant")
	_, err = chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS(`button[value="kale"]`)))
	require.NoError(t, err)
	_, p := f.host.ground.Now().Site("mill-lane").Find("kale-2026")
	require.NotNil(t, p, "planted without script")
	assert.Equal(t, civil.New(2026, 7, 14), p.PlantedOut)
}
