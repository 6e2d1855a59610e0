package account

import (
	"context"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/store/sqlite"
	"plotwarden/web/page"
)

const words = "four plain words together"

// house is an installation with a ground and accounts, and a page of each ground.
type house struct {
	*Accounts
	store *sqlite.Store
	url   string
	ahead atomic.Int64 // seconds
	added []garden.Person
}

func newHouse(t *testing.T, edit ...func(*Deps)) *house {
	t.Helper()
	st, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, st.Close()) })
	h := &house{store: st}
	now := func() time.Time {
		return time.Date(2026, 6, 10, 9, 0, 0, 0, time.UTC).Add(time.Duration(h.ahead.Load()) * time.Second)
	}
	g := &garden.Garden{
		Sites:  []garden.Site{{ID: "north", Name: "North", Plots: []garden.Plot{{ID: "a", Grower: "ash"}}}, {ID: "south", Name: "South"}},
		People: []garden.Person{{ID: "ash", Name: "Ash"}},
	}
	kit := page.New(page.Options{Audit: Auditor{Store: st, Clock: now}})
	d := Deps{Kit: kit, Store: st, Garden: func() *garden.Garden { return g }, Now: now,
		NewPerson: func(_ context.Context, p garden.Person) error { h.added = append(h.added, p); return nil }}
	for _, e := range edit {
		e(&d)
	}
	h.Accounts, err = New(t.Context(), d)
	require.NoError(t, err)
	m := page.NewMux(kit)
	h.Mount(m)
	m.HandleFunc("GET /site/{site}", func(w http.ResponseWriter, r *http.Request) {
		who := access.From(r.Context())
		if !who.See(r.PathValue("site")) {
			kit.NotFound(w, r, "There is no ground of that name here.")
			return
		}
		_, _ = w.Write([]byte("ground " + r.PathValue("site") + " for " + who.Name + " " + string(who.Role) + " " + who.Via))
	})
	m.HandleFunc("GET /api/who", func(w http.ResponseWriter, r *http.Request) {
		_, _ = w.Write([]byte(string(access.From(r.Context()).Role) + " " + access.From(r.Context()).Via))
	})
	srv := httptest.NewServer(page.Secure(h.Admit(m)))
	t.Cleanup(srv.Close)
	h.url = srv.URL
	return h
}

// browser is one browser with its cookies.
type browser struct {
	t      *testing.T
	h      *house
	client *http.Client
}

func (h *house) browser(t *testing.T) *browser {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &browser{t, h, &http.Client{Jar: jar}}
}

func (b *browser) do(r *http.Request) (int, string) {
	b.t.Helper()
	res, err := b.client.Do(r)
	require.NoError(b.t, err)
	defer func() { _ = res.Body.Close() }()
	var s strings.Builder
	buf := make([]byte, 1<<16)
	for {
		n, err := res.Body.Read(buf)
		s.Write(buf[:n])
		if err != nil {
			break
		}
	}
	return res.StatusCode, s.String()
}

func (b *browser) get(path string) (int, string) {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "GET", b.h.url+path, nil)
	require.NoError(b.t, err)
	return b.do(r)
}

var metaCheck = regexp.MustCompile(`<meta name="check" content="([^"]+)">`)

// send sends a form as the page that holds it would: with the secret of the page.
func (b *browser) send(path string, pairs ...string) (int, string) {
	b.t.Helper()
	form := url.Values{}
	_, page := b.get("/account")
	if m := metaCheck.FindStringSubmatch(page); m != nil {
		form.Set("check", m[1])
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.h.url+path, strings.NewReader(form.Encode()))
	require.NoError(b.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// owner makes the first owner.
func (h *house) owner(t *testing.T) *browser {
	t.Helper()
	b := h.browser(t)
	status, text := b.send("/setup/owner", "code", h.Code(), "name", "Wren Field", "login", "wren", "password", words, "again", words)
	require.Equal(t, http.StatusNotFound, status, text) // this mux has no page "/"
	return b
}

var secretLink = regexp.MustCompile(`<p class="secret"[^>]*>([^<]+)</p>`)

func linkIn(t *testing.T, page string) string {
	t.Helper()
	m := secretLink.FindStringSubmatch(page)
	require.NotNil(t, m, page)
	u, err := url.Parse(m[1])
	require.NoError(t, err)
	return u.Path
}

func (h *house) audits(t *testing.T) string {
	t.Helper()
	list, err := h.store.Audits(t.Context(), 0, 100)
	require.NoError(t, err)
	var s []string
	for i := len(list) - 1; i >= 0; i-- {
		s = append(s, list[i].Did)
	}
	return strings.Join(s, " ")
}

func TestFirstOwner(t *testing.T) {
	h := newHouse(t)
	b := h.browser(t)
	status, text := b.get("/site/north")
	assert.Equal(t, 200, status)
	assert.Contains(t, text, "open", "before there is an account, this machine reads")
	status, _ = b.send("/site/north/share", "name", "x", "days", "7")
	assert.Equal(t, 403, status, "and changes nothing")
	status, text = b.send("/setup/owner", "code", "AAAA-BBBB-CCCC", "name", "Wren Field", "login", "wren", "password", words, "again", words)
	assert.Equal(t, 422, status)
	assert.Contains(t, text, "not the code")
	status, text = b.send("/setup/owner", "code", h.Code(), "name", "", "login", "A b", "password", "short", "again", "other")
	assert.Equal(t, 422, status)
	for _, want := range []string{"Write your name", "letters a to z", "15 characters or more", "not the same"} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, `value="short"`, "a password is never sent back")
	b = h.owner(t)
	assert.Equal(t, "wren-field", h.added[0].ID)
	assert.Empty(t, h.Code())
	_, text = b.get("/site/south")
	assert.Equal(t, "ground south for wren owner session", text)
	// A second owner cannot be made that way, and nobody reads any more.
	other := h.browser(t)
	other.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	status, _ = other.send("/setup/owner", "code", h.code, "name", "Elm", "login", "elm", "password", words, "again", words)
	assert.Equal(t, 303, status)
	status, _ = other.get("/site/north")
	assert.Equal(t, 303, status)
	_, err := h.store.Account(t.Context(), "elm")
	require.ErrorIs(t, err, store.ErrNotFound)
	assert.Contains(t, h.audits(t), "set-up-refused")
}

func TestInvitationWorksOnce(t *testing.T) {
	h := newHouse(t)
	owner := h.owner(t)
	status, text := owner.send("/accounts/invite", "person", "ash", "role", "grower")
	require.Equal(t, 200, status)
	link := linkIn(t, text)
	ash := h.browser(t)
	_, text = ash.get(link)
	assert.Contains(t, text, "You are invited as: grower")
	_, _ = ash.send(link, "name", "Ash", "login", "ash", "password", words+" too", "again", words+" too")
	_, text = ash.get("/site/north")
	assert.Equal(t, "ground north for Ash grower session", text)
	status, _ = ash.get("/site/south")
	assert.Equal(t, 404, status, "another ground is not told from none")
	for _, path := range []string{"/accounts", "/audit"} {
		status, _ = ash.get(path)
		assert.Equal(t, 403, status, path)
	}
	for _, path := range []string{"/accounts/wren-field/close", "/accounts/ash/role", "/accounts/wren-field/reset", "/accounts/invite"} {
		status, _ = ash.send(path, "role", "owner")
		assert.Equal(t, 403, status, path)
	}
	status, _ = h.browser(t).get(link)
	assert.Equal(t, 404, status, "used")
	status, text = owner.send("/accounts/invite", "name", "Elm Hill", "role", "reader", "sites", "south")
	require.Equal(t, 200, status)
	late := linkIn(t, text)
	h.ahead.Add(int64((8 * 24 * time.Hour).Seconds()))
	status, _ = h.browser(t).get(late)
	assert.Equal(t, 404, status, "too old")
}

func TestSessionsEnd(t *testing.T) {
	h := newHouse(t)
	h.owner(t)
	in := func() *browser {
		h.ahead.Add(1) // the store lists sessions by their time
		b := h.browser(t)
		b.send("/sign-in", "login", " Wren ", "password", words)
		status, _ := b.get("/account")
		require.Equal(t, 200, status)
		return b
	}
	inside := func(b *browser) bool {
		_, text := b.get("/account")
		return strings.Contains(text, "Where you are signed in")
	}
	a, b := in(), in()
	list, err := h.store.Grants(t.Context(), store.SessionGrant, "wren-field", "")
	require.NoError(t, err)
	require.Len(t, list, 3)
	for _, g := range list {
		assert.Len(t, g.Hash, 64)
		assert.NotContains(t, g.Name, "/")
	}
	a.send("/account/sessions/" + list[2].ID + "/end")
	assert.False(t, inside(b), "ended by another browser")
	b = in()
	status, text := a.send("/account/password", "now", words, "password", "another four plain words", "again", "another four plain words")
	assert.Equal(t, 200, status, text)
	assert.False(t, inside(b), "a new password ends the others")
	assert.True(t, inside(a), "and keeps the one that set it")
	a.send("/sign-out")
	assert.False(t, inside(a))
	_, text = h.browser(t).send("/sign-in", "login", "wren", "password", words)
	assert.Contains(t, text, "do not go together", "the old password is gone")
	c := h.browser(t)
	c.send("/sign-in", "login", "wren", "password", "another four plain words")
	require.True(t, inside(c))
	h.ahead.Add(int64(idleSession.Seconds()) - 60)
	require.True(t, inside(c), "13 days without a visit")
	h.ahead.Add(int64(idleSession.Seconds()) - 60)
	require.True(t, inside(c))
	h.ahead.Add(int64((4 * 24 * time.Hour).Seconds()))
	assert.False(t, inside(c), "30 days in all")
}

func TestClosedAccountIsOut(t *testing.T) {
	h := newHouse(t)
	owner := h.owner(t)
	_, text := owner.send("/accounts/invite", "name", "Elm Hill", "role", "owner")
	elm := h.browser(t)
	elm.send(linkIn(t, text), "name", "Elm Hill", "login", "elm", "password", words+" too", "again", words+" too")
	_, text = elm.send("/account/tokens", "name", "script", "days", "30", "may", "write")
	token := secretLink.FindStringSubmatch(text)[1]
	api := func() int {
		r, err := http.NewRequestWithContext(t.Context(), "GET", h.url+"/api/who", nil)
		require.NoError(t, err)
		r.Header.Set("Authorization", "Bearer "+token)
		status, _ := h.browser(t).do(r)
		return status
	}
	require.Equal(t, 200, api())
	_, text = elm.send("/accounts/invite", "name", "Yew", "role", "owner")
	handed := linkIn(t, text)
	status, _ := owner.send("/accounts/elm-hill/close")
	assert.Equal(t, 200, status)
	assert.Equal(t, 401, api(), "tokens end")
	status, _ = h.browser(t).get(handed)
	assert.Equal(t, 404, status, "and links that they handed out")
	_, text = elm.get("/account")
	assert.Contains(t, text, "Sign in")
	_, text = h.browser(t).send("/sign-in", "login", "elm", "password", words+" too")
	assert.Contains(t, text, "do not go together")
	status, text = owner.send("/accounts/wren-field/close")
	assert.Equal(t, 409, status)
	assert.Contains(t, text, "must be an owner")
	status, _ = owner.send("/accounts/wren-field/role", "role", "reader")
	assert.Equal(t, 409, status)
}

func TestResetLink(t *testing.T) {
	h := newHouse(t)
	owner := h.owner(t)
	_, text := owner.send("/accounts/wren-field/reset")
	link := linkIn(t, text)
	b := h.browser(t)
	_, text = b.get(link)
	assert.Contains(t, text, "Set a new password")
	b.send(link, "password", "a wholly new password", "again", "a wholly new password")
	_, text = owner.get("/account")
	assert.Contains(t, text, "Sign in", "whatever was open is ended")
	_, text = b.get("/account")
	assert.Contains(t, text, "Where you are signed in")
	status, _ := h.browser(t).get(link)
	assert.Equal(t, 404, status)
}

func TestShareIsReadOnlyAndEnds(t *testing.T) {
	h := newHouse(t)
	owner := h.owner(t)
	_, text := owner.send("/site/north/share", "name", "the school", "days", "7")
	link := linkIn(t, text)
	guest := h.browser(t)
	_, text = guest.get(link)
	assert.Equal(t, "ground north for  reader share", text)
	status, _ := guest.get("/site/south")
	assert.Equal(t, 404, status)
	status, _ = guest.get("/site/north/share")
	assert.Equal(t, 403, status)
	status, _ = guest.send("/site/north/share", "name", "x", "days", "7")
	assert.Equal(t, 403, status)
	list, err := h.store.Grants(t.Context(), store.ShareGrant, "", "north")
	require.NoError(t, err)
	owner.send("/site/north/share/" + list[0].ID + "/end")
	_, text = guest.get("/site/north")
	assert.Contains(t, text, "Sign in")
	assert.Contains(t, h.audits(t), "shared-site ended-share")
}

func TestGuessingIsSlowedDown(t *testing.T) {
	h := newHouse(t)
	h.owner(t)
	b := h.browser(t)
	for i := range freeByLogin {
		status, _ := b.send("/sign-in", "login", "wren", "password", "wrong")
		require.Equal(t, 401, status, i)
	}
	status, text := b.send("/sign-in", "login", "wren", "password", words)
	assert.Equal(t, 429, status, "even the right one waits")
	assert.Contains(t, text, "Too many tries")
	h.ahead.Add(2)
	status, _ = b.send("/sign-in", "login", "wren", "password", words)
	assert.Equal(t, 404, status, "in: this mux has no page /")
	_, text = b.get("/account")
	assert.Contains(t, text, "Where you are signed in")
}

func TestTokenIsForTheAPIAlone(t *testing.T) {
	h := newHouse(t)
	owner := h.owner(t)
	_, text := owner.send("/account/tokens", "name", "script", "days", "30")
	token := secretLink.FindStringSubmatch(text)[1]
	for path, want := range map[string]int{"/api/who": 200, "/account": 303, "/accounts": 303, "/site/north": 303} {
		r, err := http.NewRequestWithContext(t.Context(), "GET", h.url+path, nil)
		require.NoError(t, err)
		r.Header.Set("Authorization", "Bearer "+token)
		b := h.browser(t)
		b.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		status, _ := b.do(r)
		assert.Equal(t, want, status, path)
	}
}
