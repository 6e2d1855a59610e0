package garden

import (
	"fmt"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/strict"
)

// Problem is one thing wrong with a garden, or one that a person should look
// at. It names the value and the fix.
type Problem struct {
	// At points to the field, or to the struct in which a field is missing, so
	// that a reader of files can name the line.
	At      any
	Message string
	// Field points to the field that is missing where At points to what lacks it;
	// nil where At is the field.
	Field any
}

// Known is what a validation has to be told.
type Known struct {
	Threats []string // ids of the catalogue; any other is a problem
	// Refused says whether the decoder has reported the field behind ptr
	// already; it is then not reported as missing as well. It may be nil.
	Refused func(ptr any) bool
}

// Validate returns all that is wrong, and apart from it what may stand but is
// likely a slip. Neither is in any particular order.
func (g *Garden) Validate(known Known) (problems, warnings []Problem) {
	v := &validator{Around: g.around(known)}
	siteIDs, personIDs, regionIDs := ids{what: "site"}, ids{what: "person"}, ids{what: "region"}
	for i := range g.Sites {
		v.id(&g.Sites[i].ID, &g.Sites[i], &siteIDs)
		v.site(&g.Sites[i])
	}
	for i := range g.People {
		v.id(&g.People[i].ID, &g.People[i], &personIDs)
		v.person(&g.People[i])
	}
	for i := range g.Regions {
		v.id(&g.Regions[i].ID, &g.Regions[i], &regionIDs)
		v.region(&g.Regions[i])
	}
	v.problems = append(v.problems, CheckMaterials(g.Materials)...)
	v.log(g)
	return v.problems, v.warnings
}

type validator struct {
	Around
	problems, warnings []Problem
}

func (v *validator) fault(at any, format string, args ...any) {
	v.problems = append(v.problems, Problem{At: at, Message: fmt.Sprintf(format, args...)})
}

func (v *validator) warn(at any, format string, args ...any) {
	v.warnings = append(v.warnings, Problem{At: at, Message: fmt.Sprintf(format, args...)})
}

// refused says whether the decoder has reported one of the fields.
func (v *validator) refused(fields ...any) bool {
	return v.Refused != nil && slices.ContainsFunc(fields, v.Refused)
}

// missing reports a field that has to be written, at the struct it belongs to.
func (v *validator) missing(owner, field any, what string) {
	if !v.refused(field) {
		v.problems = append(v.problems, Problem{owner, what, field})
	}
}

// ids are those seen so far of one kind of thing within one owner.
type ids struct {
	what, within string // "planting", " on site north"
	seen         map[string]bool
}

// maxID bounds ids: they become parts of keys, addresses and file names.
const maxID = 64

func (v *validator) id(at *string, owner any, seen *ids) {
	if *at == "" {
		v.missing(owner, at, seen.what+" has no id; give it a short one, such as "+exampleID[seen.what])
		return
	}
	v.idForm(at)
	v.double(at, seen)
}

func (v *validator) double(at *string, seen *ids) {
	if seen.seen == nil {
		seen.seen = map[string]bool{}
	}
	if seen.seen[*at] {
		v.fault(at, "%s id %q is taken already%s; ids must differ", seen.what, *at, seen.within)
	}
	seen.seen[*at] = true
}

func (v *validator) idForm(at *string) {
	ok := len(*at) <= maxID && !strings.HasPrefix(*at, "-")
	for _, r := range *at {
		ok = ok && (r == '-' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	}
	if !ok {
		v.fault(at, "id %q: use lower-case letters, digits and hyphens only, %d at most", *at, maxID)
	}
}

var exampleID = map[string]string{"site": "north-field", "plot": "bed-1", "planting": "tomatoes", "person": "wren", "region": "valley", "material": "copper"}

func (v *validator) siteRef(at *string) *Site {
	s := v.Site(*at)
	if s == nil {
		v.fault(at, "%s", strict.Unknown("site", *at, v.SiteIDs()))
	}
	return s
}

// personRef reports an unknown person; an empty id names nobody and passes.
func (v *validator) personRef(at *string) {
	if *at == "" || v.Person(*at) {
		return
	}
	v.fault(at, "%s", strict.Unknown("person", *at, v.PersonIDs()))
}

func (v *validator) threatRef(at *string) {
	if !slices.Contains(v.Threats, *at) {
		v.fault(at, "%s", strict.Unknown("threat", *at, v.Threats))
	}
}

// The years in which a date can be meant; outside is a slip of the pen.
const firstYear, lastYear = 1900, 2199

func (v *validator) date(at *civil.Date) {
	if y := at.Year(); !at.IsZero() && (y < firstYear || y > lastYear) {
		v.fault(at, "%s: the year %d is not between %d and %d", *at, y, firstYear, lastYear)
	}
}
