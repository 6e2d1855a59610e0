package api

import (
	"context"
	"errors"

	"github.com/danielgtaylor/huma/v2"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
)

func (s *server) scoutings(ctx context.Context, in *struct {
	At
	Paged
}) (*List[Scouting], error) {
	if _, err := s.site(ctx, in.Site); err != nil {
		return nil, err
	}
	list, err := s.Data.Scoutings(ctx, in.Site)
	if err != nil {
		return nil, s.hide(ctx, err)
	}
	var all []Scouting
	for _, f := range access.From(ctx).Finds(list) {
		all = append(all, Scouting{ID: f.ID, Planting: f.Planting, Threat: f.Threat, Date: f.Date.String(), Finding: string(f.Finding), Stage: f.Stage, Percent: f.Percent, Note: f.Note, Share: f.Share, By: f.By})
	}
	return cut(all, func(x Scouting) string { return x.ID }, in.Paged, Path+"/sites/"+in.Site+"/scoutings"), nil
}

func (s *server) addScouting(ctx context.Context, in *struct {
	At
	Body Scouting
}) (*struct{ Body Scouting }, error) {
	site, err := s.site(ctx, in.Site)
	if err != nil {
		return nil, err
	}
	who, x := access.From(ctx), in.Body
	if !who.Log(site.ID) {
		return nil, huma.Error403Forbidden("With this access you may read this ground, and log nothing.")
	}
	date, err := civil.Parse(x.Date)
	if err != nil {
		return nil, huma.Error422UnprocessableEntity("The look cannot be kept.", &huma.ErrorDetail{Location: "body.date", Message: "write the date as 2026-07-14", Value: x.Date})
	}
	plot := ""
	for _, p := range site.Plots {
		for _, c := range p.Plantings {
			if c.ID == x.Planting {
				plot = p.ID
			}
		}
	}
	if plot == "" {
		return nil, huma.Error422UnprocessableEntity("The look cannot be kept.", &huma.ErrorDetail{Location: "body.planting", Message: "there is no such planting on this ground; take an id from its plots", Value: x.Planting})
	}
	if _, ok := s.Catalogue.ByID(x.Threat); !ok {
		return nil, huma.Error422UnprocessableEntity("The look cannot be kept.", &huma.ErrorDetail{Location: "body.threat", Message: "there is no such threat in the catalogue", Value: x.Threat})
	}
	x.By = who.Person
	err = s.Data.AddScouting(ctx, garden.Scouting{ID: x.ID, Site: site.ID, Plot: plot, Planting: x.Planting, Threat: x.Threat, Date: date, Finding: garden.Finding(x.Finding),
		Stage: x.Stage, Percent: x.Percent, Note: x.Note, Share: x.Share, By: x.By})
	switch {
	case errors.Is(err, store.ErrConflict):
		return nil, huma.Error409Conflict("Another look has this id. Take a new one.")
	case err != nil:
		return nil, s.hide(ctx, err)
	}
	if s.Audit != nil {
		if err := s.Audit.Audit(ctx, "logged-look", site.ID+"/"+x.ID, x.Finding); err != nil {
			s.Log.ErrorContext(ctx, "audit entry is lost", "did", "logged-look", "on", x.ID, "error", err)
		}
	}
	if s.Logged != nil {
		s.Logged(site.ID)
	}
	return &struct{ Body Scouting }{x}, nil
}
