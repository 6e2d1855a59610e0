package service

import (
	"context"
	"log/slog"

	"plotwarden/garden"
)

// withHeight returns the site with a height: its own, else that of the grid cell by
// which the most preferred source that says one answered last, else none. Temperatures
// of other services then are those of the same height.
func (s *Service) withHeight(ctx context.Context, log *slog.Logger, site *garden.Site) *garden.Site {
	if site.Elevation != 0 {
		return site
	}
	list, err := s.o.Store.Sources(ctx, site.ID)
	if err != nil {
		log.Error("source status not readable", "site", site.ID, "error", err)
		return site
	}
	for _, src := range s.sources() {
		for _, st := range list {
			if st.Source == src.Name() && st.Elevation != nil {
				at := *site // the garden's own is not changed
				at.Elevation = garden.Metres(*st.Elevation)
				return &at
			}
		}
	}
	return site
}
