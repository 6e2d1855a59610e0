package service

import (
	"path/filepath"
	"strings"
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
