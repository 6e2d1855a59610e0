package entry

import (
	"context"
	"errors"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/web/page"
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

// line is a server that can be cut off and come back at the same address.
type wire struct {
	t    *testing.T
	g    *ground
	addr string
	srv  *http.Server
}

func (w *wire) up() {
	w.t.Helper()
	var l net.Listener
	require.Eventually(w.t, func() bool {
		var err error
		l, err = net.Listen("tcp", w.addr)
		return err == nil
	}, 10*time.Second, 20*time.Millisecond)
	w.addr = l.Addr().String()
	h := page.Secure(w.g.mux)
	w.srv = &http.Server{ReadHeaderTimeout: time.Minute, Handler: http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		h.ServeHTTP(rw, r.WithContext(access.With(r.Context(), w.g.who)))
	})}
	go func(s *http.Server) {
		if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			panic(err)
		}
	}(w.srv)
}

func (w *wire) down() {
	w.t.Helper()
	require.NoError(w.t, w.srv.Close())
}

func (w *wire) url(path string) string { return "http://" + w.addr + path }

// browse starts the invented garden and a browser with a fresh profile.
func browse(t *testing.T, opts ...chromedp.ExecAllocatorOption) (*wire, context.Context) {
	t.Helper()
	path := chromium(t)
	w := &wire{t: t, g: newGround(t), addr: "127.0.0.1:0"}
	w.g.now = time.Now() // the browser has no other clock
	w.g.mux.HandleFunc("GET /{$}", func(rw http.ResponseWriter, _ *http.Request) { _, _ = rw.Write([]byte("home")) }, page.Public)
	w.g.mux.HandleFunc("GET /site/{site}", func(rw http.ResponseWriter, _ *http.Request) { _, _ = rw.Write([]byte("beds")) })
	w.up()
	t.Cleanup(func() { _ = w.srv.Close() })
	all := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	all = append(all, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), append(all, opts...)...)
	t.Cleanup(cancelAlloc)
	tab, cancelTab := chromedp.NewContext(alloc)
	t.Cleanup(cancelTab)
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate("about:blank")), "start %s", path)
	ctx, cancel := context.WithTimeout(tab, 4*time.Minute)
	t.Cleanup(cancel)
	return w, ctx
}

func visit(t *testing.T, ctx context.Context, url string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(url)), url)
}

// ask evaluates a script in the page.
func ask[T any](t *testing.T, ctx context.Context, script string, opts ...chromedp.EvaluateOption) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, append(opts, chromedp.EvalAwaitPromise)...))
	require.NoError(t, err, script)
	return v
}

// soon waits until a script says true.
func soon(t *testing.T, ctx context.Context, script string) {
	t.Helper()
	var last error
	require.Eventually(t, func() bool {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
		last = err
		return err == nil && ok
	}, 30*time.Second, 100*time.Millisecond, "%s (%v)", script, &last)
}

func look2(t *testing.T, ctx context.Context, width int64, scheme string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	require.NoError(t, err)
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

// ready waits until the worker looks after the page and has kept the forms.
func ready(t *testing.T, ctx context.Context, w *wire) {
	t.Helper()
	visit(t, ctx, w.url("/site/mill-lane/log"))
	soon(t, ctx, "navigator.serviceWorker.controller !== null")
	visit(t, ctx, w.url("/site/mill-lane/log"))
	soon(t, ctx, "(async () => { for (const n of await caches.keys()) { const c = await caches.open(n); if (await c.match('/site/mill-lane/log/treatment', {ignoreVary: true}) && await c.match('/site/mill-lane/log/choices', {ignoreVary: true})) return true } return false })()")
}

func press(t *testing.T, ctx context.Context, selector string) {
	t.Helper()
	require.NoError(t, chromedp.Do(ctx, chromedp.ScrollIntoView(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector))))
}

// A phone without a connection: the log opens, takes a look and a treatment with a
// photo, says how many wait, and sends them once, when there is a connection, even
// where an answer was lost on the way.
func TestLogWithoutConnection(t *testing.T) {
	w, ctx := browse(t)
	look2(t, ctx, 360, "light")
	ready(t, ctx, w)
	w.down()

	// The link of a lead line, which was never opened with this address.
	visit(t, ctx, w.url("/site/mill-lane/log?planting=cabbage-2&threat=cabbageworm"))
	assert.Contains(t, ask[string](t, ctx, "document.querySelector('.as-of').textContent"), "No connection. This page is as of")
	soon(t, ctx, "document.querySelector('.where strong').textContent === 'Bed 2: Cabbage'")
	assert.Equal(t, "cabbageworm", ask[string](t, ctx, "document.querySelector('[name=threat]:checked').value"))
	shot(t, ctx, "log-offline-360-light")
	press(t, ctx, "button[value=none]")
	soon(t, ctx, "location.pathname === '/waiting' && document.querySelectorAll('[data-list] li').length === 1")
	assert.Contains(t, ask[string](t, ctx, "document.querySelector('[data-list]').textContent"), "Imported cabbageworm: Looked, found none. Bed 2: Cabbage")

	// A second one, in a bed picked by hand, with a photo.
	visit(t, ctx, w.url("/site/mill-lane/log"))
	soon(t, ctx, "document.querySelector('#unsent')?.textContent === '1 entry waits on this phone'")
	ask[bool](t, ctx, `(async () => {
  document.getElementById('bed').value = 'kale-9';
  document.getElementById('bed').dispatchEvent(new Event('change'));
  for (const d of document.querySelectorAll('details')) d.open = true;
  document.querySelector('[name=percent][value="0.5"]').checked = true;
  document.querySelector('[name=threat]').checked = true;
  const c = Object.assign(document.createElement('canvas'), {width: 3000, height: 40});
  const blob = await new Promise(r => c.toBlob(r, 'image/png'));
  const d = new DataTransfer(); d.items.add(new File([blob], 'x.png', {type: 'image/png'}));
  document.querySelector('[name=photo]').files = d.files;
  document.querySelector('[name=photo]').dispatchEvent(new Event('change'));
  return true;
})()`)
	soon(t, ctx, "document.querySelector('[name=photo]').files[0]?.type === 'image/jpeg'")
	press(t, ctx, "button[value=found]")
	soon(t, ctx, "location.pathname === '/waiting' && document.querySelectorAll('[data-list] li').length === 2")

	visit(t, ctx, w.url("/site/mill-lane/log/treatment?planting=tomato-1&threat=late-blight"))
	soon(t, ctx, "document.querySelector('[name=threats]:checked')?.value === 'late-blight'")
	press(t, ctx, "[name=with][value=cu]")
	press(t, ctx, "button[value=save]")
	soon(t, ctx, "location.pathname === '/waiting' && document.querySelectorAll('[data-list] li').length === 3")
	shot(t, ctx, "waiting-360-light")
	assert.Empty(t, w.g.looks())

	w.up()
	ask[bool](t, ctx, "(dispatchEvent(new Event('online')), true)")
	soon(t, ctx, "document.querySelectorAll('[data-list] li').length === 0 && !document.getElementById('unsent')")
	looks, records := w.g.looks(), w.g.records()
	require.Len(t, looks, 2)
	require.Len(t, records, 1)
	assert.ElementsMatch(t, []string{"cabbage-2", "kale-9"}, []string{looks[0].Planting, looks[1].Planting})
	for _, x := range looks {
		if x.Planting == "kale-9" {
			assert.Equal(t, 0.5, *x.Percent)
			require.Len(t, x.Photos, 1)
			p, err := w.g.store.Photo(t.Context(), x.Photos[0])
			require.NoError(t, err)
			assert.Equal(t, 1600, p.Width)
		}
	}
	assert.Equal(t, "cu", records[0].Material)
}

// An answer that is lost on the way back: the entry is kept on both sides, and is
// one entry in the end.
func TestALostAnswerDoublesNothing(t *testing.T) {
	w, ctx := browse(t)
	ready(t, ctx, w)
	lost := w.g.mux
	cut := page.NewMux(page.New(page.Options{}))
	cut.HandleFunc("POST /site/{site}/log", func(_ http.ResponseWriter, r *http.Request) {
		lost.ServeHTTP(&nowhere{http.Header{}}, r)
		panic(http.ErrAbortHandler) // the connection breaks
	}, page.Limit(formLimit), page.Public)
	w.down()
	w.g.mux = cut
	w.up()
	press(t, ctx, "[name=threat]")
	press(t, ctx, "button[value=none]")
	soon(t, ctx, "location.pathname === '/waiting'")
	require.Len(t, w.g.looks(), 1, "it had arrived")
	w.down()
	w.g.mux = lost
	w.up()
	visit(t, ctx, w.url("/waiting"))
	soon(t, ctx, "document.querySelectorAll('[data-list] li').length === 0")
	assert.Len(t, w.g.looks(), 1)
}

// nowhere is where a lost answer goes.
type nowhere struct{ h http.Header }

func (n *nowhere) Header() http.Header         { return n.h }
func (n *nowhere) Write(b []byte) (int, error) { return len(b), nil }
func (n *nowhere) WriteHeader(int)             {}

// What clashes is kept and shown until the person decides; who is signed out is
// asked to sign in, and loses nothing.
func TestConflictsAndSignedOut(t *testing.T) {
	w, ctx := browse(t)
	look2(t, ctx, 360, "light")
	ready(t, ctx, w)
	w.g.send("/site/mill-lane/log", look("aaaaaaaa-1", "none"))
	ask[bool](t, ctx, `(async () => {
  const db = await new Promise(r => { const q = indexedDB.open('plotwarden', 1); q.onsuccess = () => r(q.result) });
  const tx = db.transaction('queue', 'readwrite');
  tx.objectStore('queue').put({id: 'aaaaaaaa-1', site: 'mill-lane', kind: 'look', person: 'ash', entered: new Date(Date.now() - 60000).toISOString(), photos: [], state: 'waiting',
    fields: {id: ['aaaaaaaa-1'], planting: ['tomato-1'], threat: ['late-blight'], finding: ['found']}});
  tx.objectStore('queue').put({id: 'aaaaaaaa-2', site: 'mill-lane', kind: 'look', person: 'elm', entered: new Date().toISOString(), photos: [], state: 'waiting',
    fields: {id: ['aaaaaaaa-2'], planting: ['tomato-1'], threat: ['late-blight'], finding: ['found']}});
  await new Promise(r => { tx.oncomplete = r });
  db.close();
  return true;
})()`)
	who := w.g.who
	w.g.who = access.Who{}
	visit(t, ctx, w.url("/waiting"))
	soon(t, ctx, "!document.getElementById('sign-in').hidden")
	assert.Equal(t, 2, ask[int](t, ctx, "document.querySelectorAll('[data-list] li').length"))
	shot(t, ctx, "waiting-signed-out-360-light")

	w.g.who = who
	visit(t, ctx, w.url("/waiting"))
	soon(t, ctx, "document.querySelector('[data-list]').textContent.includes('It stands: ')")
	text := ask[string](t, ctx, "document.querySelector('[data-list]').textContent")
	assert.Contains(t, text, "Late blight: looked, found none")
	assert.Contains(t, text, "Logged by somebody else", "another's entry waits for them")
	shot(t, ctx, "waiting-conflict-360-light")
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("[data-list] li:first-child .acts button:nth-child(2)"))))
	soon(t, ctx, "document.querySelectorAll('[data-list] li').length === 1")
	looks := w.g.looks()
	require.Len(t, looks, 2)
	for _, x := range looks {
		if x.ID != "aaaaaaaa-1" {
			assert.Equal(t, "aaaaaaaa-1", x.Replaces, "sent as a correction: both stay")
		}
	}
}
