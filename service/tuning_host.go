package service

import (
	"context"
	"path/filepath"
	"strings"

	"plotwarden/web/view"
)

// Tunings returns the regions' changed numbers of this installation, for pages and
// commands. The key that signs and the list of trusted keys lie beside the store.
func (h *Host) Tunings() *Tunings {
	dir := filepath.Dir(h.o.Config.Store)
	if strings.Contains(h.o.Config.Store, "://") {
		dir = "."
	}
	return &Tunings{
		Store: h.store, Data: h.store, Garden: h.garden, Catalogue: h.o.Catalogue, Now: h.o.Now,
		KeyFile: filepath.Join(dir, "tuning.key"), TrustFile: filepath.Join(dir, "tuning.trusted"),
	}
}

// siteCatalogue is CatalogueOf for the pages: nil where nothing is changed, or
// where what is cannot be read.
func (h *Host) siteCatalogue(ctx context.Context, site string) view.Catalogue {
	v, err := h.service.CatalogueOf(ctx, site)
	if err != nil {
		h.o.Log.Error("the page shows published numbers", "site", site, "error", err)
	}
	if v == nil {
		return nil
	}
	return v
}
