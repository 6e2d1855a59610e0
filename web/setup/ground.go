package setup

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/weather/places"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// mostPlaces is how many places a name may lead to; people narrow it down.
const mostPlaces = 12

// lookUp bounds how long a page waits for the height of a place.
const lookUp = 4 * time.Second

// Heights is a Runtime that knows how high places lie.
type Heights interface {
	// Elevation returns metres above the sea; an error when nobody could say.
	Elevation(ctx context.Context, lat, lon float64) (float64, error)
}

func (s *server) groundPage(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	t, q := s.Kit.T(r), r.URL.Query()
	v := View{Back: s.back(t), Title: t("Add a ground"), Lead: t("A ground is a piece of land with one weather: a garden, a field, a row of allotments.")}
	name := strings.TrimSpace(q.Get("q"))
	lat, err1 := strconv.ParseFloat(q.Get("lat"), 64)
	lon, err2 := strconv.ParseFloat(q.Get("lon"), 64)
	if err1 == nil && err2 == nil {
		site := garden.Site{Name: q.Get("name"), Latitude: lat, Longitude: lon}
		if zone, _, ok := places.Zone(lat, lon); ok {
			site.Zone = zone
		}
		s.showGround(w, r, http.StatusOK, v, &site, &sent{})
		return
	}
	v.Forms = []Form{{
		Action: "/setup/ground", Get: true, Submit: t("Find"),
		Fields: []page.Field{{Name: "q", Label: t("Town or village near by"), Value: name, Type: "search", Required: true, Max: 100,
			Hint: t("The nearest place of a thousand people or more. A comma narrows it down: Burlington, VT.")}},
	}}
	if name != "" {
		l := List{Title: t("Which one?"), Empty: t("No place of that name is known here. Try a larger one near by, or write the coordinates.")}
		for _, p := range places.Find(name, mostPlaces) {
			to := url.Values{"lat": {num(p.Lat)}, "lon": {num(p.Lon)}, "name": {p.Name}}
			l.Rows = append(l.Rows, Row{Text: p.String(), Sub: fmt.Sprintf("%.3f, %.3f, %s", p.Lat, p.Lon, p.Zone), Href: "/setup/ground?" + to.Encode()})
		}
		v.Lists = []List{l}
		for _, a := range places.Attributions {
			v.Lead = strings.TrimSpace(v.Lead + " " + a.Text + " (" + a.Licence + ").")
		}
	}
	v.Links = []view.Link{{Text: t("Write the coordinates instead"), Href: "/setup/ground?lat=0&lon=0"}}
	s.show(w, r, http.StatusOK, v)
}

func (s *server) showGround(w http.ResponseWriter, r *http.Request, status int, v View, site *garden.Site, f *sent) {
	t := s.Kit.T(r)
	height, hint := "", t("Above the sea, as “120 m” or “394 ft”; a map says it. Empty: the height that the weather service knows there.")
	if site.Elevation != 0 {
		height = num(float64(site.Elevation)) + " m"
	} else if h, ok := s.Runtime.(Heights); ok && !f.posted && site.Latitude != 0 {
		ctx, cancel := context.WithTimeout(r.Context(), lookUp)
		defer cancel()
		if m, err := h.Elevation(ctx, site.Latitude, site.Longitude); err == nil {
			height, hint = fmt.Sprintf("%.0f m", m), t("Looked up for these coordinates. Correct it where you know better.")
		}
	}
	place := func(x float64) string {
		if x == 0 {
			return ""
		}
		return num(x)
	}
	form := Form{
		Action: "/setup/ground", Submit: t("Add this ground"),
		Fields: []page.Field{
			{Name: "name", Label: t("Name of the ground"), Value: site.Name, Hint: t("As people call it."), Required: true, Max: 80},
			{Name: "latitude", Label: t("Latitude"), Value: place(site.Latitude), Hint: t("Degrees; south is negative. Set it to your beds if you can: 40.613"), Mode: "text", Required: true, Max: 20},
			{Name: "longitude", Label: t("Longitude"), Value: place(site.Longitude), Hint: t("Degrees; west is negative: -73.812"), Mode: "text", Required: true, Max: 20},
			{Name: "elevation", Label: t("Height"), Value: height, Hint: hint, Max: 20},
			{Name: "zone", Label: t("Time zone"), Value: site.Zone, Hint: t("Filled in from the nearest town: America/New_York"), Required: true, Max: 64},
			{Name: "beds", Label: t("Beds"), Hint: t("How many beds to begin with; each gets a number and can be named later."), Value: "4", Type: "number", Min: "0", Top: "200", Mode: "numeric"},
		},
	}
	f.fill(form.Fields)
	v.Forms = []Form{form}
	v.Links = []view.Link{{Text: t("Look for a place by name"), Href: "/setup/ground"}}
	s.show(w, r, status, v)
}

// mostBeds bounds the beds that are made at once.
const mostBeds = 200

func (s *server) addGround(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	f, t := sentBy(r), s.Kit.T(r)
	site := garden.Site{Name: f.text("name"), Zone: f.text("zone")}
	f.number("latitude", &site.Latitude)
	f.number("longitude", &site.Longitude)
	f.read("elevation", &site.Elevation)
	if site.Name == "" {
		f.faults["name"] = t("Write what people call it.")
	}
	if n := f.wholeOr0("beds"); n >= 0 && n <= mostBeds {
		for i := range n {
			site.Plots = append(site.Plots, garden.Plot{ID: fmt.Sprintf("bed-%d", i+1), Name: t("Bed %d", i+1)})
		}
	} else {
		f.faults["beds"] = t("Write a number from 0 to %d.", mostBeds)
	}
	err := f.err()
	if err == nil {
		site, err = s.Ground.Sites.Add(r.Context(), s.by(r, "added"), site)
	}
	if f.refused(err, "latitude", map[string]string{"id": "name"}) {
		v := View{Back: s.back(t), Title: t("Add a ground")}
		s.showGround(w, r, http.StatusUnprocessableEntity, v, &site, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "added-site", site.ID, site.Name)
	s.watchGround(r, site.ID)
	s.done(w, r, "/setup/site/"+site.ID, "added")
}

// watchGround lets whoever adds a ground get its messages, where they are kept
// here: a ground that nobody hears of helps nobody.
func (s *server) watchGround(r *http.Request, site string) {
	id := access.From(r.Context()).Person
	if id == "" || s.Ground.Now().Person(id) == nil || s.Ground.Now().FromFile("person", id) {
		return
	}
	err := s.Ground.People.Change(r.Context(), s.by(r, "added a ground"), id, func(p *garden.Person) error {
		p.Sites = append(p.Sites, site)
		return nil
	})
	if err != nil {
		s.Log.Warn("who added a ground does not get its messages", "person", id, "site", site, "error", err)
	}
}

func (s *server) back(t func(string, ...any) string) *view.Link {
	return &view.Link{Text: t("Set-up"), Href: Path}
}

// newID makes an id for a part of a site that no part has or had.
func newID(name, other string, taken map[string]bool) string {
	return ground.NewID(name, other, func(id string) bool { return taken[id] })
}
