package source

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCachedAsksAgainOnlyWhenTheAnswerHasExpired(t *testing.T) {
	now := noon
	var since []string
	at, n := answers(t, func(w http.ResponseWriter, r *http.Request) {
		since = append(since, r.Header.Get("If-Modified-Since")+r.Header.Get("If-None-Match"))
		w.Header().Set("Expires", now.Add(30*time.Minute).Format(http.TimeFormat))
		if r.Header.Get("If-Modified-Since") != "" {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		w.Header().Set("Last-Modified", "Mon, 01 Jun 2026 11:58:03 GMT")
		body(200, "application/json", `{"a":1}`)(w, r)
	})
	c := client(t, func(o *Options) { o.Now = func() time.Time { return now } })
	cache := NewCache(1000)
	get := func() *Response {
		r, err := c.Cached(context.Background(), cache, Request{URL: at})
		require.NoError(t, err)
		assert.JSONEq(t, `{"a":1}`, string(r.Body))
		return r
	}
	first := get()
	now = now.Add(29 * time.Minute)
	assert.Equal(t, noon, get().At)
	assert.EqualValues(t, 1, n.Load())
	now = now.Add(2 * time.Minute)
	again := get()
	assert.EqualValues(t, 2, n.Load())
	assert.Equal(t, []string{"", "Mon, 01 Jun 2026 11:58:03 GMT"}, since)
	assert.Equal(t, now, again.At, "it was told to hold still")
	assert.Equal(t, noon, first.At)
	assert.Equal(t, 200, again.Status)
	now = now.Add(20 * time.Minute)
	get()
	assert.EqualValues(t, 2, n.Load(), "the 304 has its own Expires")
}

func TestCachedForgetsWhatCannotBeUsedAndWhatIsTooMuch(t *testing.T) {
	now := noon
	at, n := answers(t, func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "public, max-age=600")
		w.Header().Set("ETag", `"1"`)
		if r.Header.Get("If-None-Match") == `"1"` {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		body(200, "application/json", fmt.Sprintf("%q", strings.Repeat("x", 40)))(w, r)
	})
	c := client(t, func(o *Options) { o.Now = func() time.Time { return now } })
	cache := NewCache(100)
	bad := false
	req := Request{URL: at + "/1", Check: func(*Response) error {
		if bad {
			return Errorf("test", Stale, "old")
		}
		return nil
	}}
	_, err := c.Cached(context.Background(), cache, req)
	require.NoError(t, err)
	now, bad = now.Add(time.Hour), true
	_, err = c.Cached(context.Background(), cache, req)
	require.Equal(t, Stale, CauseOf(err), "304 for what has become too old")
	bad = false
	_, err = c.Cached(context.Background(), cache, req)
	require.NoError(t, err)
	assert.EqualValues(t, 3, n.Load(), "asked anew, without a condition")

	for i := range 3 {
		now = now.Add(time.Second)
		_, err = c.Cached(context.Background(), cache, Request{URL: fmt.Sprintf("%s/more/%d", at, i)})
		require.NoError(t, err)
	}
	assert.LessOrEqual(t, cache.bytes, 100)
	assert.Len(t, cache.kept, 2)
	before := n.Load()
	_, err = c.Cached(context.Background(), cache, Request{URL: at + "/more/2"})
	require.NoError(t, err)
	assert.Equal(t, before, n.Load(), "the newest are kept")
}

func TestExpiry(t *testing.T) {
	for header, want := range map[[2]string]time.Duration{
		{"Cache-Control", "max-age=60"}:                                     time.Minute,
		{"Cache-Control", "no-cache, max-age=60"}:                           0,
		{"Cache-Control", "max-age=999999999"}:                              mostFresh,
		{"Cache-Control", "max-age=-5"}:                                     0,
		{"Expires", noon.Add(time.Hour).Format(http.TimeFormat)}:            time.Hour,
		{"Expires", noon.Add(-time.Hour).Format(http.TimeFormat)}:           0,
		{"Expires", noon.Add(24 * 365 * time.Hour).Format(http.TimeFormat)}: mostFresh,
		{"Expires", "0"}: 0,
		{"X", ""}:        0,
	} {
		h := http.Header{}
		h.Set(header[0], header[1])
		assert.Equal(t, want, expiry(h, noon).Sub(noon), header)
	}
}
