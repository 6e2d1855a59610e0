package places

import (
	"cmp"
	"slices"
	"strings"
)

// Find returns the places that a name means, the likeliest first, at most limit.
// Marks and capitals may be left out. After a comma a region or country narrows
// it down, by code or by the country's name: "Burlington, VT", "york, united
// kingdom". The whole name goes before its beginning, that before the beginning
// of a later word, and among equals the larger place. Only where there is none
// of these, names with one letter wrong, left out or too many are tried.
func Find(query string, limit int) []Place {
	parts := strings.Split(query, ",")
	name := fold(parts[0])
	if name == "" || limit <= 0 {
		return nil
	}
	d := load()
	var where []string
	for _, p := range parts[1:] {
		if f := fold(p); f != "" {
			where = append(where, f)
		}
	}
	type hit struct {
		index int
		rank  int
	}
	var hits []hit
	collect := func(rank func(folded string) int) {
		for i, f := range d.folded {
			if r := rank(f); r > 0 && d.within(i, where) {
				hits = append(hits, hit{i, r})
			}
		}
	}
	word := " " + name
	collect(func(f string) int {
		switch {
		case f == name:
			return 1
		case strings.HasPrefix(f, name):
			return 2
		case strings.Contains(f, word):
			return 3
		}
		return 0
	})
	if len(hits) == 0 && len(name) >= 4 {
		collect(func(f string) int {
			if oneOff(name, f) {
				return 4
			}
			return 0
		})
	}
	slices.SortStableFunc(hits, func(a, b hit) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(d.places[b.index].Population, d.places[a.index].Population))
	})
	out := make([]Place, 0, min(limit, len(hits)))
	for _, h := range hits[:min(limit, len(hits))] {
		out = append(out, d.places[h.index])
	}
	return out
}

// otherNames are what people call countries, besides the names in the table.
var otherNames = map[string]string{
	"usa": "US", "america": "US", "united states of america": "US", "uk": "GB", "united kingdom": "GB", "great britain": "GB",
	"holland": "NL", "czechia": "CZ", "turkiye": "TR", "south korea": "KR", "north korea": "KP",
}

// within says whether each of the words is the region or the country of a place.
func (d *data) within(i int, where []string) bool {
	p := &d.places[i]
	for _, w := range where {
		if w != strings.ToLower(p.Region) && w != strings.ToLower(p.Country) && otherNames[w] != p.Country && !strings.HasPrefix(fold(d.countries[p.Country]), w) {
			return false
		}
	}
	return true
}

// oneOff says whether a and b differ by one letter changed, left out or added,
// or by two neighbours that have changed places.
func oneOff(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	switch rest := len(a) - i; {
	case rest < 1:
		return false
	case a[i+1:] == b[i+1:]:
		return true
	default:
		return rest >= 2 && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
	}
}
