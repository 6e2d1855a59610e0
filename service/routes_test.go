package service

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/web/page"
)

// May is whom a route lets pass, from whom it lets everybody to whom it lets only
// owners. The request of the test is empty, so that a route which lets somebody pass
// may still find fault with it; one that does not answers 303 to the sign-in, 401,
// 403 or 404.
type may int

const (
	all      may = iota // whoever asks
	people              // who is signed in, and a shared link
	seers               // who may see the ground "north"
	insiders            // of those, who have an account
	loggers             // who may log there
	tenders             // who may change its bed "a"
	minders             // who may change the ground itself
	tuners              // who may use the bench of its region
	owners
	growers // growers, volunteers and owners, of whatever ground
	holders // who is signed in with an account: each to their own
)

// routes is whom each route is for. A route without a row fails the test.
var routes = map[string]may{
	"GET /assets/{file}": all, "GET /healthz": all, "GET /": all, "GET /{$}": people, "GET /metrics": all,
	"GET /sign-in": all, "POST /sign-in": all, "POST /sign-in/passkey": all, "POST /sign-in/passkey/begin": all, "POST /sign-out": holders,
	"GET /setup/owner": all, "POST /setup/owner": all, "GET /invite/{secret}": all, "POST /invite/{secret}": all, "GET /share/{secret}": all,
	"GET /account": holders, "POST /account/password": holders, "POST /account/sessions/{id}/end": holders,
	"POST /account/passkeys": holders, "POST /account/passkeys/begin": holders, "POST /account/passkeys/{id}/remove": holders,
	"POST /account/tokens": holders, "POST /account/tokens/{id}/end": holders,
	"GET /accounts": owners, "POST /accounts/invite": owners, "POST /accounts/invite/{id}/end": owners, "POST /accounts/{person}/role": owners,
	"POST /accounts/{person}/close": owners, "POST /accounts/{person}/open": owners, "POST /accounts/{person}/reset": owners, "GET /audit": owners,
	"GET /site/{site}/share": loggers, "POST /site/{site}/share": loggers, "POST /site/{site}/share/{id}/end": loggers,
	"GET /site/{site}": seers, "GET /site/{site}/weather": seers, "GET /site/{site}/rain": seers, "GET /site/{site}/planting/{planting}/threat/{threat}": seers, "GET /site/{site}/work": seers,
	"GET /site/{site}/record.csv": seers, "GET /site/{site}/season": seers, "GET /site/{site}/season/{table}": seers,
	"GET /site/{site}/work/year": seers, "GET /site/{site}/planting/{planting}": seers,
	"GET /manifest.webmanifest": all, "GET /sw.js": all, "GET /site/{site}/log": seers, "POST /site/{site}/log": loggers, "GET /site/{site}/log/treatment": loggers, "POST /site/{site}/log/treatment": loggers,
	"GET /site/{site}/log/all": seers, "GET /site/{site}/log/entry/{entry}": seers, "POST /site/{site}/log/entry/{entry}/undo": loggers,
	"GET /site/{site}/log/entry/{entry}/correct": loggers, "GET /site/{site}/log/photo/{photo}": seers, "GET /site/{site}/log/choices": loggers,
	"POST /site/{site}/log/entries": loggers, "GET /site/{site}/gate": seers, "GET /site/{site}/record": seers, "GET /waiting": all,
	"GET /you/push": holders, "POST /you/push": holders, "POST /you/push/{id}/end": holders, "POST /you/push/{id}/try": holders, "GET /you": holders, "POST /you": holders,
	"GET /setup": holders, "GET /setup/ground": owners, "POST /setup/ground": owners,
	"GET /setup/site/{site}": insiders, "POST /setup/site/{site}": minders, "POST /setup/site/{site}/remove": owners, "POST /setup/site/{site}/plots": minders,
	"GET /setup/site/{site}/plots/{plot}": insiders, "POST /setup/site/{site}/plots/{plot}": minders, "POST /setup/site/{site}/plots/{plot}/remove": minders,
	"GET /setup/site/{site}/plots/{plot}/plant": tenders, "POST /setup/site/{site}/plots/{plot}/plant": tenders,
	"GET /setup/site/{site}/plantings/{planting}": insiders, "POST /setup/site/{site}/plantings/{planting}": tenders,
	"POST /setup/site/{site}/plantings/{planting}/end": tenders, "POST /setup/site/{site}/plantings/{planting}/remove": tenders,
	"GET /setup/site/{site}/import": loggers, "POST /setup/site/{site}/import": loggers,
	"GET /setup/people": owners, "POST /setup/people": owners, "GET /setup/people/{person}": owners, "POST /setup/people/{person}": owners,
	"POST /setup/people/{person}/remove": owners, "POST /setup/people/{person}/test": owners,
	"GET /setup/regions": owners, "POST /setup/regions": owners, "GET /setup/regions/{region}": owners, "POST /setup/regions/{region}": owners, "POST /setup/regions/{region}/remove": owners,
	"GET /setup/materials": growers, "POST /setup/materials": growers, "GET /setup/materials/{material}": growers, "POST /setup/materials/{material}": growers, "POST /setup/materials/{material}/remove": growers,
	"GET /setup/messages": owners, "POST /setup/messages": owners, "POST /setup/messages/service": owners, "POST /setup/messages/test": owners,
	"GET /setup/weather": owners, "POST /setup/weather": owners, "POST /setup/weather/stations": owners, "POST /setup/weather/stations/{station}/remove": owners,
	"GET /setup/history/{kind}/{id}": minders, "POST /setup/history/{kind}/{id}": minders,
	"GET /region": holders, "GET /region/{region}": tuners, "GET /region/{region}/tune": tuners, "POST /region/{region}/tune": tuners, "POST /region/{region}/tunings": tuners,
	"POST /region/{region}/tunings/{id}/undo": tuners, "GET /region/{region}/tunings.yaml": tuners, "POST /region/{region}/tunings/import": tuners,
	"GET /region/{region}/letter": tuners, "POST /region/{region}/letter": tuners,
	"GET /api/v1/openapi.json": all, "GET /api/v1/sites": people, "GET /api/v1/sites/{site}": seers, "GET /api/v1/sites/{site}/assessments": seers, "GET /api/v1/sites/{site}/hours": seers,
	"GET /api/v1/sites/{site}/sources": seers, "GET /api/v1/sites/{site}/scoutings": seers, "POST /api/v1/sites/{site}/scoutings": loggers,
	"GET /threats": people, "GET /threats/{threat}": people,
}

// who are all kinds of people, and what they may on the ground "north": ash tends
// its bed a, elm is of the ground "south", oak looks after the region of the north.
var who = []struct {
	name   string
	person string
	role   access.Role
	via    string
	passes []may
}{
	{"nobody", "", "", "", []may{all}},
	{"reader of the ground", "rue", access.Reader, store.SessionGrant, []may{all, people, seers, insiders, holders}},
	{"grower of another ground", "elm", access.Grower, store.SessionGrant, []may{all, people, growers, holders}},
	{"volunteer of another region", "yew", access.Volunteer, store.SessionGrant, []may{all, people, growers, holders}},
	{"grower of the ground", "ash", access.Grower, store.SessionGrant, []may{all, people, seers, insiders, loggers, tenders, growers, holders}},
	{"volunteer of its region", "oak", access.Volunteer, store.SessionGrant, []may{all, people, seers, insiders, loggers, tenders, minders, tuners, growers, holders}},
	{"owner", "fir", access.Owner, store.SessionGrant, []may{all, people, seers, insiders, loggers, tenders, minders, tuners, owners, growers, holders}},
	{"shared link", "fir", "", store.ShareGrant, []may{all, people, seers}},
	{"shared link to another ground", "fir", "", "other", []may{all, people}},
	{"closed account", "box", access.Owner, store.SessionGrant, []may{all}},
}

// inhabited is an installation with two grounds and an account of every role. Each
// person's session has the secret "secret-" and their id.
func inhabited(t *testing.T) *Host {
	t.Helper()
	now := func() time.Time { return time.Date(2026, 7, 14, 13, 5, 0, 0, time.UTC) }
	cat, err := catalog.Load()
	require.NoError(t, err)
	cfg := config.Defaults()
	cfg.Store = filepath.Join(t.TempDir(), "p.db")
	h, err := Open(t.Context(), HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: now, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, h.Close()) })
	h.lastGood.Store(now().Unix())
	ctx, by := t.Context(), ground.By{Person: "fir"}
	for _, id := range []string{"rue", "elm", "yew", "ash", "oak", "fir", "box"} {
		p := garden.Person{ID: id, Name: id, Email: id + "@plot.example"}
		_, err := h.ground.People.Add(ctx, by, p)
		require.NoError(t, err)
	}
	for _, id := range []string{"north", "south"} {
		_, err := h.ground.Sites.Add(ctx, by, garden.Site{ID: id, Name: "The " + id + " ground", Latitude: 44.476, Longitude: -73.212, Elevation: 100, Zone: "America/New_York",
			Plots: []garden.Plot{{ID: "a", Name: "Bed A", Grower: map[string]string{"north": "ash", "south": "elm"}[id], Plantings: []garden.Planting{{ID: "tomato", Crop: "tomato", Sown: civil.New(2026, 5, 20)}}}}})
		require.NoError(t, err)
	}
	require.NoError(t, h.ground.People.Change(ctx, by, "rue", func(p *garden.Person) error { p.Sites = []string{"north"}; return nil }))
	for region, sites := range map[string]string{"uplands": "north", "lowlands": "south"} {
		_, err := h.ground.Regions.Add(ctx, by, garden.Region{ID: region, Name: region, Sites: []string{sites}, Volunteers: []string{map[string]string{"uplands": "oak", "lowlands": "yew"}[region]}})
		require.NoError(t, err)
	}
	for _, w := range who {
		if w.role != "" {
			a := store.Account{Person: w.person, Login: w.person, Role: string(w.role), Created: now()}
			if w.person == "box" {
				a.Closed = now()
			}
			_, err := h.store.PutAccount(ctx, a)
			require.NoError(t, err)
		}
		if w.via != "" {
			g := store.Grant{Hash: hash("secret-" + w.name), ID: w.name, Kind: w.via, Person: w.person, Created: now(), Seen: now()}
			if w.via == store.ShareGrant {
				g.Site = "north"
			}
			if w.via == "other" {
				g.Kind, g.Site = store.ShareGrant, "south"
			}
			require.NoError(t, h.store.AddGrant(ctx, g))
		}
	}
	return h
}

func hash(s string) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:])
}

var placed = strings.NewReplacer("{site}", "north", "{plot}", "a", "{planting}", "tomato", "{person}", "nobody-of-that-name", "{region}", "uplands",
	"{threat}", "late-blight", "{file}", "none.css", "{table}", "none", "{$}", "", "{material}", "none", "{station}", "none", "{kind}", "site", "{photo}", "none")

// body is a look that may be logged; other routes find fault with it.
const body = `{"id":"x","planting":"tomato","threat":"late-blight","date":"2026-07-01","finding":"none"}`

// ask makes one request as somebody.
func (h *Host) ask(t *testing.T, i int, method, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := who[i]
	r := httptest.NewRequestWithContext(t.Context(), method, path, nil)
	cookie := "session"
	if w.via == store.ShareGrant || w.via == "other" {
		cookie = "share"
	}
	if w.via != "" {
		r.AddCookie(&http.Cookie{Name: cookie, Value: "secret-" + w.name})
	}
	got := httptest.NewRecorder()
	h.inner.ServeHTTP(got, r)
	if method == http.MethodGet || w.via == "" {
		return got
	}
	// The secret of a form is on every page of who is signed in.
	page := httptest.NewRecorder()
	get := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/threats", nil)
	get.AddCookie(&http.Cookie{Name: cookie, Value: "secret-" + w.name})
	h.inner.ServeHTTP(page, get)
	_, rest, _ := strings.Cut(page.Body.String(), `<meta name="check" content="`)
	check, _, _ := strings.Cut(rest, `"`)
	r = httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(body))
	r.AddCookie(&http.Cookie{Name: cookie, Value: "secret-" + w.name})
	r.Header.Set("X-Check", check)
	r.Header.Set("Content-Type", "application/json")
	got = httptest.NewRecorder()
	h.inner.ServeHTTP(got, r)
	return got
}

// Every route as everybody: who may not gets nothing, whatever a page forgot.
func TestEveryRouteAsEverybody(t *testing.T) {
	h := inhabited(t)
	seen := map[string]bool{}
	routed := h.mux.Routes()
	slices.SortStableFunc(routed, func(a, b page.Route) int { return late(a) - late(b) })
	for _, route := range routed {
		name := route.Method + " " + route.Path
		seen[name] = true
		kind, ok := routes[name]
		if !assert.True(t, ok, "route %s has no row: say in the table whom it is for", name) {
			continue
		}
		path := placed.Replace(route.Path)
		path = strings.NewReplacer("{id}", "none", "{secret}", "none", "{entry}", "none").Replace(path)
		for _, i := range order(kind) {
			w := who[i]
			if name == "POST /sign-out" { // it would end the session for the others
				continue
			}
			got := h.ask(t, i, route.Method, path)
			passes := slices.Contains(w.passes, kind)
			where := fmt.Sprintf("%s as %s: %d %.300s", name, w.name, got.Code, got.Body.String())
			assert.NotEqual(t, 500, got.Code, where)
			refused := got.Code == 401 || got.Code == 403 || got.Code == 404 || got.Code == 303 && strings.HasPrefix(got.Header().Get("Location"), "/sign-in")
			switch {
			case kind == all:
			case !passes:
				assert.True(t, refused, "let through: %s", where)
				assert.NotContains(t, got.Body.String(), "The north ground", where)
			default:
				assert.NotContains(t, []int{401, 403}, got.Code, "refused: %s", where)
				assert.False(t, got.Code == 303 && strings.HasPrefix(got.Header().Get("Location"), "/sign-in"), where)
			}
		}
	}
	for name := range routes {
		assert.True(t, seen[name], "the table has %s, which is no route", name)
	}
}

// late puts what removes a thing after what needs it, and a part before the whole.
func late(r page.Route) int {
	if strings.HasSuffix(r.Path, "/remove") {
		return 1000 - len(r.Path)
	}
	return 0
}

// order puts those who are refused first: what the others do cannot hide it.
func order(kind may) []int {
	var out, then []int
	for i, w := range who {
		if slices.Contains(w.passes, kind) {
			then = append(then, i)
		} else {
			out = append(out, i)
		}
	}
	return append(out, then...)
}
