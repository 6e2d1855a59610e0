package source

import (
	"context"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Cache keeps answers as long as the service says they hold, and then asks
// whether they have changed. It is safe for concurrent use.
type Cache struct {
	mu    sync.Mutex
	most  int // bytes
	bytes int
	kept  map[string]*kept
}

type kept struct {
	resp    *Response
	expires time.Time
	used    time.Time
}

// NewCache returns a cache that holds at most so many bytes of bodies; the ones
// unused for longest go first.
func NewCache(bytes int) *Cache { return &Cache{most: bytes, kept: map[string]*kept{}} }

// Cached is Get through a cache. Before the answer kept has expired nothing is
// asked; after that, If-Modified-Since holds the service's own Last-Modified,
// letter for letter, and If-None-Match its ETag. Check runs on what comes back,
// kept or new. An answer that cannot be used is not kept.
func (c *Client) Cached(ctx context.Context, cache *Cache, req Request) (*Response, error) {
	key := req.URL + "?" + req.Query.Encode()
	old := cache.get(key, c.o.Now())
	if old != nil && c.o.Now().Before(old.expires) {
		if err := check(req, old.resp); err != nil {
			return nil, err
		}
		if c.o.Hooks.Kept != nil {
			c.o.Hooks.Kept(c.o.Name)
		}
		return old.resp, nil
	}
	ask := req
	if old != nil {
		ask.Header = maps.Clone(req.Header)
		if ask.Header == nil {
			ask.Header = map[string]string{}
		}
		if at := old.resp.Header.Get("Last-Modified"); at != "" {
			ask.Header["If-Modified-Since"] = at
		}
		if tag := old.resp.Header.Get("ETag"); tag != "" {
			ask.Header["If-None-Match"] = tag
		}
	}
	ask.Check = func(r *Response) error {
		if r.Status == http.StatusNotModified {
			if old == nil {
				return Errorf(c.o.Name, EmptyBody, "304 to a question without a condition")
			}
			return check(req, old.resp)
		}
		return check(req, r)
	}
	resp, err := c.Get(ctx, ask)
	if err != nil {
		if old != nil && Unusable(CauseOf(err)) {
			cache.drop(key)
		}
		return nil, err
	}
	expires := expiry(resp.Header, resp.At)
	if resp.Status == http.StatusNotModified {
		same := *old.resp
		same.At = resp.At // the service has just said that it still holds
		resp = &same
	}
	cache.put(key, resp, expires, c.o.Now())
	return resp, nil
}

// Unusable says whether a cause lies in the content of an answer.
func Unusable(cause string) bool {
	switch cause {
	case BadJSON, BadLine, MissingVariable, WrongUnit, WrongZone, WrongPlace, BadTime, Shifted, Stale, BadValue, NoData:
		return true
	}
	return false
}

func check(req Request, r *Response) error {
	if req.Check == nil {
		return nil
	}
	return req.Check(r)
}

func (k *Cache) get(key string, now time.Time) *kept {
	k.mu.Lock()
	defer k.mu.Unlock()
	e := k.kept[key]
	if e != nil {
		e.used = now
	}
	return e
}

func (k *Cache) drop(key string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if e := k.kept[key]; e != nil {
		k.bytes -= len(e.resp.Body)
		delete(k.kept, key)
	}
}

func (k *Cache) put(key string, r *Response, expires, now time.Time) {
	k.drop(key)
	if len(r.Body) > k.most {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.kept[key] = &kept{resp: r, expires: expires, used: now}
	k.bytes += len(r.Body)
	for k.bytes > k.most {
		oldest := ""
		for name, e := range k.kept {
			if name != key && (oldest == "" || e.used.Before(k.kept[oldest].used)) {
				oldest = name
			}
		}
		k.bytes -= len(k.kept[oldest].resp.Body)
		delete(k.kept, oldest)
	}
}

// mostFresh bounds what a service can ask for, so that a wrong date does not
// silence us for a year.
const mostFresh = 6 * time.Hour

// expiry reads until when an answer holds: max-age goes before Expires. Without
// either it has expired at once.
func expiry(h http.Header, at time.Time) time.Time {
	for d := range strings.SplitSeq(h.Get("Cache-Control"), ",") {
		switch name, value, _ := strings.Cut(strings.TrimSpace(strings.ToLower(d)), "="); name {
		case "no-store", "no-cache":
			return at
		case "max-age":
			if s, err := strconv.Atoi(value); err == nil {
				return at.Add(min(time.Duration(max(0, min(s, 1<<30)))*time.Second, mostFresh))
			}
		}
	}
	if until, err := http.ParseTime(h.Get("Expires")); err == nil {
		return at.Add(max(0, min(until.Sub(at), mostFresh)))
	}
	return at
}
