package account

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func chromium(t *testing.T) context.Context {
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
	opts = append(opts, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancelAlloc)
	tab, cancelTab := chromedp.NewContext(alloc)
	t.Cleanup(cancelTab)
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate("about:blank")), "start %s", path)
	ctx, cancel := context.WithTimeout(tab, 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

func eval[T any](t *testing.T, ctx context.Context, script string, opts ...chromedp.EvaluateOption) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, opts...))
	require.NoError(t, err)
	return v
}

// A person adds a passkey, signs out, and signs in with it; then every page of
// accounts is held to axe-core and to the width of a phone.
func TestPasskeyAndPagesInABrowser(t *testing.T) {
	h := newHouse(t)
	h.owner(t)
	ctx := chromium(t)
	url := strings.Replace(h.url, "127.0.0.1", "localhost", 1)
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(360, 800)))
	_, err := chromedp.Call(ctx, webauthn.Enable, webauthn.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{Options: &webauthn.VirtualAuthenticatorOptions{
		Protocol: "ctap2", Transport: "internal", HasResidentKey: true, HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true,
	}})
	require.NoError(t, err)
	at := func(path string) {
		t.Helper()
		require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(url+path)), path)
	}
	shows := func(text string) {
		t.Helper()
		require.Eventually(t, func() bool {
			got, err := chromedp.Run(ctx, chromedp.Evaluate[string]("document.body.innerText"))
			return err == nil && strings.Contains(got, text)
		}, 20*time.Second, 50*time.Millisecond, text)
	}
	at("/sign-in?to=/account")
	_ = eval[bool](t, ctx, `(() => { document.querySelector('[name=login]').value = 'wren'; document.querySelector('[name=password]').value = '`+words+`'; document.querySelector('form').requestSubmit(); return true })()`)
	shows("Where you are signed in")
	require.NoError(t, chromedp.Do(ctx, chromedp.WaitVisible(chromedp.CSS("#passkey-add"))))
	_ = eval[bool](t, ctx, `(() => { document.querySelector('#passkey-name').value = 'this phone'; document.querySelector('#passkey-add').click(); return true })()`)
	shows("The passkey is added.")
	look := func(path, name string) {
		t.Helper()
		at(path)
		assert.LessOrEqual(t, eval[int](t, ctx, "document.documentElement.scrollWidth"), 360, path)
		if dir := os.Getenv("PLOTWARDEN_SHOTS"); dir != "" {
			png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "account-"+name+".png"), png, 0o644))
		}
		script, err := os.ReadFile(filepath.Join(os.Getenv("PLOTWARDEN_NODE_MODULES"), "axe-core", "axe.min.js"))
		if err != nil {
			t.Log("no axe-core: set PLOTWARDEN_NODE_MODULES")
			return
		}
		require.NoError(t, chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](string(script))))
		faults := eval[[]string](t, ctx, `(async () => { for (const d of document.querySelectorAll('details')) d.open = true; return (await axe.run(document)).violations.filter(v => v.impact === 'serious' || v.impact === 'critical').map(v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(' | ')) })()`, chromedp.EvalAwaitPromise)
		assert.Empty(t, faults, path)
	}
	for path, name := range map[string]string{"/account": "own", "/accounts": "all", "/audit": "audit", "/site/north/share": "share"} {
		look(path, name)
	}
	at("/account")
	_ = eval[bool](t, ctx, `(() => { document.querySelector('form[action="/sign-out"]').requestSubmit(); return true })()`)
	shows("You are signed out")
	look("/sign-in?to=/account", "sign-in")
	require.NoError(t, chromedp.Do(ctx, chromedp.WaitVisible(chromedp.CSS("#passkey-in"))))
	_ = eval[bool](t, ctx, `(() => { document.querySelector('#passkey-in').click(); return true })()`)
	shows("Where you are signed in")
	list, err := h.store.Audits(t.Context(), 0, 1)
	require.NoError(t, err)
	assert.Equal(t, "passkey", list[0].Detail)
}
