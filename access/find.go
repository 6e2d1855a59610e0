package access

import "plotwarden/garden"

// SeeFind says whether somebody may read one entry of a site's log. Ground
// neighbours see it only with the finder's consent; without it the finder does,
// who tends the bed it is from, and the owner of the installation, who keeps the
// log. A volunteer reads counts over the region (see PoolFind), not whose they are.
// An entry without a finder is from the configuration or a past year: whoever
// wrote the file shared it with all who see the site, but not with a shared link.
func (w Who) SeeFind(f garden.Scouting) bool {
	switch {
	case !w.See(f.Site):
		return false
	case w.Role == Owner || f.Share:
		return true
	case w.Via == ByShare:
		return false
	}
	return f.By == "" || f.By == w.Person || f.Plot != "" && w.tends[f.Site+"/"+f.Plot] ||
		f.Planting != "" && w.tends[plantingKey(f.Site, f.Planting)]
}

// PoolFind says whether somebody may read numbers that an entry was counted into
// without its place, finder and note.
func (w Who) PoolFind(f garden.Scouting) bool {
	return w.SeeFind(f) || w.Role == Volunteer && w.See(f.Site)
}

// Finds returns the entries that somebody may read, in their order.
func (w Who) Finds(list []garden.Scouting) []garden.Scouting {
	out := make([]garden.Scouting, 0, len(list))
	for _, f := range list {
		if w.SeeFind(f) {
			out = append(out, f)
		}
	}
	return out
}
