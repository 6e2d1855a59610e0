package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
)

// Site is one ground.
type Site struct {
	ID        string  `json:"id"`
	Name      string  `json:"name"`
	Latitude  float64 `json:"latitude" doc:"degrees, north positive"`
	Longitude float64 `json:"longitude" doc:"degrees, east positive"`
	Zone      string  `json:"zone" doc:"IANA time zone"`
	Plots     []Plot  `json:"plots"`
}

// Plot is one bed.
type Plot struct {
	ID        string     `json:"id"`
	Name      string     `json:"name"`
	Plantings []Planting `json:"plantings"`
}

// Planting is one crop in one bed.
type Planting struct {
	ID         string `json:"id"`
	Crop       string `json:"crop"`
	Cultivar   string `json:"cultivar,omitempty"`
	Sown       string `json:"sown,omitempty" format:"date"`
	PlantedOut string `json:"plantedOut,omitempty" format:"date"`
	Removed    string `json:"removed,omitempty" format:"date"`
}

// Assessment is where a planting stands with a threat. Blind means that data is
// missing: it is never a word for no risk.
type Assessment struct {
	Plot         string    `json:"plot"`
	Planting     string    `json:"planting"`
	Threat       string    `json:"threat"`
	Model        string    `json:"model,omitempty"`
	Readiness    string    `json:"readiness" enum:"quiet,approaching,act,protected,present,blind"`
	Round        time.Time `json:"round"`
	WeatherUntil time.Time `json:"weatherUntil"`
}

// Hours is a run of hours judged for work outdoors.
type Hours struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Good    bool      `json:"good"`
	Unknown bool      `json:"unknown" doc:"the weather for it is missing"`
	Why     []string  `json:"why,omitempty"`
}

// Source is how a weather source is doing.
type Source struct {
	Source   string     `json:"source"`
	LastGood *time.Time `json:"lastGood" doc:"null is never"`
	Cause    string     `json:"cause,omitempty" doc:"of the last failure"`
	Failures int        `json:"failures" doc:"in a row"`
}

// Scouting is one look at the plants.
type Scouting struct {
	ID       string   `json:"id" minLength:"1" maxLength:"64" pattern:"^[A-Za-z0-9._-]+$"`
	Planting string   `json:"planting" minLength:"1" maxLength:"64"`
	Threat   string   `json:"threat" minLength:"1" maxLength:"64"`
	Date     string   `json:"date" format:"date"`
	Finding  string   `json:"finding" enum:"found,none,unsure"`
	Stage    string   `json:"stage,omitempty" maxLength:"200"`
	Percent  *float64 `json:"percent,omitempty" minimum:"0" maximum:"100"`
	Note     string   `json:"note,omitempty" maxLength:"2000"`
	Share    bool     `json:"share,omitempty" doc:"ground neighbours may see it"`
	By       string   `json:"by,omitempty" readOnly:"true"`
}

// List is one page of a list.
type List[T any] struct {
	Link string `header:"Link"`
	Body struct {
		Items []T `json:"items"`
	}
}

// Paged are the parameters of a list.
type Paged struct {
	Limit  int    `query:"limit" minimum:"1" maximum:"200" default:"50"`
	Cursor string `query:"cursor" maxLength:"64" doc:"id after which the page begins, from the Link of the page before"`
}

// At names a ground.
type At struct {
	Site string `path:"site" maxLength:"64"`
}

// cut returns one page of a list, with the Link to the next.
func cut[T any](all []T, id func(T) string, p Paged, path string) *List[T] {
	from := 0
	if p.Cursor != "" {
		for i := range all {
			if id(all[i]) == p.Cursor {
				from = i + 1
			}
		}
	}
	out := &List[T]{}
	end := min(from+p.Limit, len(all))
	out.Body.Items = append([]T{}, all[from:end]...)
	if end < len(all) && end > from {
		out.Link = fmt.Sprintf(`<%s?limit=%d&cursor=%s>; rel="next"`, path, p.Limit, id(all[end-1]))
	}
	return out
}

func (s *server) site(ctx context.Context, id string) (*garden.Site, error) {
	if g := s.Garden(); g != nil && access.From(ctx).See(id) {
		for i := range g.Sites {
			if g.Sites[i].ID == id {
				return &g.Sites[i], nil
			}
		}
	}
	return nil, huma.Error404NotFound("There is no ground of that name here. GET " + Path + "/sites lists yours.")
}

func day(d civil.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

func siteOf(x *garden.Site) Site {
	out := Site{ID: x.ID, Name: x.Name, Latitude: x.Latitude, Longitude: x.Longitude, Zone: x.Zone, Plots: []Plot{}}
	for _, p := range x.Plots {
		q := Plot{ID: p.ID, Name: p.Name, Plantings: []Planting{}}
		for _, c := range p.Plantings {
			q.Plantings = append(q.Plantings, Planting{c.ID, c.Crop, c.Cultivar, day(c.Sown), day(c.PlantedOut), day(c.Removed)})
		}
		out.Plots = append(out.Plots, q)
	}
	return out
}

// round returns the newest round of a site; an empty one when none has run.
func (s *server) round(ctx context.Context, site string) (store.Round, error) {
	if _, err := s.site(ctx, site); err != nil {
		return store.Round{}, err
	}
	r, err := s.Data.LatestRound(ctx, site)
	if errors.Is(err, store.ErrNotFound) {
		return store.Round{}, nil
	}
	return r, s.hide(ctx, err)
}

// hide logs a fault of the server and tells nothing of its inside.
func (s *server) hide(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	s.Log.ErrorContext(ctx, "API request failed", "error", err)
	return huma.Error500InternalServerError("Something went wrong on the server. The fault is in its log.")
}

func (s *server) register(api huma.API) {
	get := func(id, path, summary string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodGet, Path: Path + path, Summary: summary}
	}
	huma.Register(api, get("sites", "/sites", "The grounds that you may see"), func(ctx context.Context, in *Paged) (*List[Site], error) {
		var all []Site
		if g := s.Garden(); g != nil {
			for _, x := range access.From(ctx).Sites(g) {
				all = append(all, siteOf(x))
			}
		}
		return cut(all, func(x Site) string { return x.ID }, *in, Path+"/sites"), nil
	})
	huma.Register(api, get("site", "/sites/{site}", "One ground with its beds and plantings"), func(ctx context.Context, in *At) (*struct{ Body Site }, error) {
		x, err := s.site(ctx, in.Site)
		if err != nil {
			return nil, err
		}
		return &struct{ Body Site }{siteOf(x)}, nil
	})
	huma.Register(api, get("assessments", "/sites/{site}/assessments", "Where each planting stands with each threat, as of the newest round"), func(ctx context.Context, in *struct {
		At
		Paged
	}) (*List[Assessment], error) {
		r, err := s.round(ctx, in.Site)
		var all []Assessment
		for _, x := range r.Assessments {
			all = append(all, Assessment{x.Plot, x.Planting, x.Threat, x.Model, string(x.Readiness), x.Round, x.WeatherUntil})
		}
		if err != nil {
			return nil, err
		}
		return cut(all, func(x Assessment) string { return x.Planting + "." + x.Threat }, in.Paged, Path+"/sites/"+in.Site+"/assessments"), nil
	})
	huma.Register(api, get("hours", "/sites/{site}/hours", "Working hours ahead"), func(ctx context.Context, in *At) (*List[Hours], error) {
		r, err := s.round(ctx, in.Site)
		out := &List[Hours]{}
		out.Body.Items = []Hours{}
		for _, x := range r.Hours {
			out.Body.Items = append(out.Body.Items, Hours{x.From, x.To, x.Good, x.Unknown, x.Why})
		}
		return out, err
	})
	huma.Register(api, get("sources", "/sites/{site}/sources", "How the weather sources are doing"), func(ctx context.Context, in *At) (*List[Source], error) {
		if _, err := s.site(ctx, in.Site); err != nil {
			return nil, err
		}
		list, err := s.Data.Sources(ctx, in.Site)
		out := &List[Source]{}
		out.Body.Items = []Source{}
		for _, x := range list {
			src := Source{Source: x.Source, Cause: x.Cause, Failures: x.Consecutive}
			if !x.LastGood.IsZero() {
				src.LastGood = &x.LastGood
			}
			out.Body.Items = append(out.Body.Items, src)
		}
		return out, s.hide(ctx, err)
	})
	huma.Register(api, get("scoutings", "/sites/{site}/scoutings", "What was seen: your own looks, and those that others shared"), s.scoutings)
	huma.Register(api, huma.Operation{OperationID: "add-scouting", Method: http.MethodPost, Path: Path + "/sites/{site}/scoutings", Summary: "Log a look; the same again is no fault", DefaultStatus: http.StatusCreated}, s.addScouting)
}
