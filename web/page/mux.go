package page

import (
	"net/http"
	"slices"
	"strings"

	"plotwarden/access"
)

// Mux is what every page is registered on. It keeps what it was given, so that a
// test can try every route as every role, and holds the rules that no handler
// should have to remember: a route asks for a sign-in unless it is registered as
// Public, and a request that changes something brings the secret of its form.
type Mux struct {
	kit    *Kit
	mux    *http.ServeMux
	cross  *http.CrossOriginProtection
	routes []Route
}

// Route is one registered route.
type Route struct {
	Method string // empty takes every method
	Path   string // with its wildcards: "/site/{site}"
	Public bool   // answers whoever is not signed in, too
	JSON   bool   // its changes come as JSON
	Limit  int64  // bytes of a request's body at most
}

// Rule changes how a route is treated.
type Rule func(*Route)

// DefaultLimit is how large a request's body may be where no Limit says otherwise,
// bytes.
const DefaultLimit = 1 << 20

// Public opens a route to whoever is not signed in. The handler decides itself.
func Public(r *Route) { r.Public = true }

// JSON marks a route whose changes come as JSON. Forms cannot send that to another
// site without being asked, so no secret is wanted beside it.
func JSON(r *Route) { r.JSON = true }

// Limit sets how large the body of a request may be, bytes.
func Limit(n int64) Rule { return func(r *Route) { r.Limit = n } }

// NewMux returns a mux that answers refusals with the kit's pages. Origins, as
// "https://host[:port]", are those that may send forms here beside the server's
// own address; it panics where one is no origin.
func NewMux(k *Kit, origins ...string) *Mux {
	m := &Mux{kit: k, mux: http.NewServeMux(), cross: http.NewCrossOriginProtection()}
	for _, o := range origins {
		if err := m.cross.AddTrustedOrigin(o); err != nil {
			panic("page: " + err.Error())
		}
	}
	k.Mount(m)
	return m
}

// HandleFunc registers a handler as http.ServeMux does.
func (m *Mux) HandleFunc(pattern string, h func(http.ResponseWriter, *http.Request), rules ...Rule) {
	m.Handle(pattern, http.HandlerFunc(h), rules...)
}

// Handle registers a handler as http.ServeMux does.
func (m *Mux) Handle(pattern string, h http.Handler, rules ...Rule) {
	route := Route{Path: pattern, Limit: DefaultLimit}
	if method, path, ok := strings.Cut(pattern, " "); ok {
		route.Method, route.Path = method, strings.TrimSpace(path)
	}
	for _, rule := range rules {
		rule(&route)
	}
	m.routes = append(m.routes, route)
	m.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if m.admit(w, r, &route) {
			h.ServeHTTP(w, r)
		}
	})
}

// Routes returns what was registered, by path and method.
func (m *Mux) Routes() []Route {
	out := slices.Clone(m.routes)
	slices.SortFunc(out, func(a, b Route) int {
		return strings.Compare(a.Path+" "+a.Method, b.Path+" "+b.Method)
	})
	return out
}

// ServeHTTP serves a request. Who makes it is in its context.
func (m *Mux) ServeHTTP(w http.ResponseWriter, r *http.Request) { m.mux.ServeHTTP(w, r) }

// admit answers a request that its route does not take, and says whether it does.
func (m *Mux) admit(w http.ResponseWriter, r *http.Request, route *Route) bool {
	who := access.From(r.Context())
	if !who.SignedIn() && !route.Public {
		m.kit.AskIn(w, r)
		return false
	}
	if who.Via == access.ByShare && !route.shared() {
		m.kit.Refuse(w, r, "A shared link shows one ground. For anything else, sign in.")
		return false
	}
	r.Body = http.MaxBytesReader(w, r.Body, route.Limit)
	if safe(r.Method) {
		return true
	}
	if err := m.cross.Check(r); err != nil {
		m.kit.Refuse(w, r, "The request came from another site. Open the page here and try again.")
		return false
	}
	switch {
	case route.Public:
		return true
	case who.ReadOnly:
		m.kit.Refuse(w, r, "With this access you may read, and change nothing.")
		return false
	case who.Via == access.ByToken: // not sent by browsers on their own
		return true
	case route.JSON:
		if isJSON(r) {
			return true
		}
		m.kit.Say(w, r, http.StatusUnsupportedMediaType, Fault{"Not readable", "Send JSON, with Content-Type: application/json."})
		return false
	}
	return m.kit.checked(w, r, who)
}

// shared says whether a shared link may lead to a route: to the pages of a ground
// and the threats, and to nothing that is added without a thought for it.
func (r *Route) shared() bool {
	return r.Public || r.Path == "/{$}" || strings.HasPrefix(r.Path, "/site/{site}") || strings.HasPrefix(r.Path, "/threats") || strings.HasPrefix(r.Path, "/api/v1/")
}

func safe(method string) bool {
	return method == http.MethodGet || method == http.MethodHead || method == http.MethodOptions
}
