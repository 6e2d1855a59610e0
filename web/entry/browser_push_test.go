package entry

import (
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The worker shows a message with its line, and one that is no JSON all the same: a
// browser that gets a push and shows nothing loses the leave to get more.
func TestAMessageIsShown(t *testing.T) {
	w, ctx := browse(t)
	_, err := chromedp.Call(ctx, browser.SetPermission, browser.SetPermissionParams{
		Permission: &browser.PermissionDescriptor{Name: "notifications"}, Setting: browser.PermissionSettingGranted, Origin: "http://" + w.addr})
	if err != nil {
		t.Skipf("this browser grants no leave to notify: %v", err)
	}
	var mu sync.Mutex
	id := serviceworker.RegistrationID("")
	require.NoError(t, chromedp.Listen(ctx, func(ev any) {
		if e, ok := ev.(*serviceworker.EventWorkerRegistrationUpdated); ok && len(e.Registrations) > 0 {
			mu.Lock()
			defer mu.Unlock()
			id = e.Registrations[0].RegistrationID
		}
	}))
	_, err = chromedp.Call(ctx, serviceworker.Enable, cdp.Empty{})
	require.NoError(t, err)
	ready(t, ctx, w)
	require.Eventually(t, func() bool { mu.Lock(); defer mu.Unlock(); return id != "" }, 10*time.Second, 50*time.Millisecond)
	deliver := func(data string) {
		mu.Lock()
		defer mu.Unlock()
		_, err := chromedp.Call(ctx, serviceworker.DeliverPushMessage, serviceworker.DeliverPushMessageParams{Origin: "http://" + w.addr, RegistrationID: id, Data: data})
		require.NoError(t, err)
	}
	const shown = "(async () => (await (await navigator.serviceWorker.ready).getNotifications()).map(n => n.title + ' | ' + n.body + ' | ' + n.data.link).join('; '))()"
	// A message that comes before the worker is ready is dropped by the browser;
	// its tag makes the next one take its place.
	for range 60 {
		deliver(`{"title":"North ground: 1 to act on","line":"Act: late blight, Bed 1, in 2 days.","link":"/site/mill-lane","tag":"one"}`)
		time.Sleep(250 * time.Millisecond)
		if ask[string](t, ctx, shown) != "" {
			break
		}
	}
	assert.Equal(t, "North ground: 1 to act on | Act: late blight, Bed 1, in 2 days. | /site/mill-lane", ask[string](t, ctx, shown))
	deliver(`{"title":"A newer morning","line":"x","tag":"one"}`)
	require.Eventually(t, func() bool { return ask[string](t, ctx, shown) == "A newer morning | x | /" }, 10*time.Second, 100*time.Millisecond, "it takes the place of the one before")
	deliver("no JSON")
	require.Eventually(t, func() bool { return ask[string](t, ctx, shown) != "A newer morning | x | /" }, 10*time.Second, 100*time.Millisecond)
	assert.Contains(t, ask[string](t, ctx, shown), "plotwarden")
}
