package entry

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/store"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

// Choice is one thing to pick.
type Choice struct {
	Value  string `json:"value"`
	Text   string `json:"text"`
	Note   string `json:"note,omitempty"` // "act", "found on 4 Jun"
	Chosen bool   `json:"-"`
}

// bed is one planting to pick, with what may be looked for in it.
type bed struct {
	Choice
	Threats []Choice `json:"threats"`
	Insect  []string `json:"insects"` // of Threats, those that are animals
}

// choices lists the plantings that stand, the one last logged first and after them
// in the order of the ground, each with the threats to its crop: those that the
// latest round calls for first.
func (s *server) choices(r *http.Request, site *garden.Site) ([]bed, error) {
	ctx := r.Context()
	seen, err := s.Data.Scoutings(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the scoutings of %s: %w", site.ID, err)
	}
	round, err := s.Data.LatestRound(ctx, site.ID)
	if err != nil && !notFound(err) {
		return nil, fmt.Errorf("read the latest round of %s: %w", site.ID, err)
	}
	today := civil.Of(s.Now(), site.Location())
	latest := map[string]civil.Date{}
	for _, x := range garden.Looks(seen) {
		latest[x.Planting] = max(latest[x.Planting], x.Date)
	}
	var out []bed
	for i := range site.Plots {
		plot := &site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			if in := p.InGround(); in.IsZero() || in > today+7 || !p.Removed.IsZero() && p.Removed <= today-7 {
				continue
			}
			out = append(out, s.bed(plot, p, &round))
		}
	}
	slices.SortStableFunc(out, func(a, b bed) int { return cmp.Compare(latest[b.Value], latest[a.Value]) })
	return out, nil
}

func (s *server) bed(plot *garden.Plot, p *garden.Planting, round *store.Round) bed {
	b := bed{Choice: Choice{Value: p.ID, Text: view.BedName(plot, p)}, Threats: []Choice{}, Insect: []string{}}
	ready := map[string]plan.Readiness{}
	for i := range round.Assessments {
		if a := &round.Assessments[i]; a.Planting == p.ID && (ready[a.Threat] == 0 || a.Readiness < ready[a.Threat]) {
			ready[a.Threat] = a.Readiness
		}
	}
	rank := func(id string) plan.Readiness {
		if r := ready[id]; r != 0 {
			return r
		}
		return plan.Quiet + 1
	}
	all := slices.Clone(s.Catalogue.ForCrop(p.Crop))
	slices.SortStableFunc(all, func(a, b *catalog.Threat) int { return cmp.Compare(rank(a.ID), rank(b.ID)) })
	for _, t := range all {
		c := Choice{Value: t.ID, Text: say.Upper(t.Name)}
		if r := ready[t.ID]; r != 0 && r != plan.Quiet {
			c.Note = r.String()
		}
		b.Threats = append(b.Threats, c)
		if t.Class != catalog.Disease {
			b.Insect = append(b.Insect, t.ID)
		}
	}
	return b
}

// choicesJSON is the same for the script, which has no connection later.
func (s *server) choicesJSON(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	beds, err := s.choices(r, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	if beds == nil {
		beds = []bed{}
	}
	s.json(w, r, http.StatusOK, map[string]any{"site": site.ID, "name": site.Name, "beds": beds})
}

func (s *server) json(w http.ResponseWriter, r *http.Request, status int, body any) {
	b, err := json.Marshal(body)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("encode the answer: %w", err))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "private, no-cache")
	w.WriteHeader(status)
	_, _ = w.Write(b)
}

// pick returns the bed of a value, marks it, and falls back to the first.
func pick(beds []bed, value string) *bed {
	var out *bed
	for i := range beds {
		if out == nil || beds[i].Value == value {
			out = &beds[i]
		}
	}
	if out != nil {
		out.Chosen = true
	}
	return out
}

func mark(cs []Choice, values ...string) {
	for i := range cs {
		cs[i].Chosen = slices.Contains(values, cs[i].Value)
	}
}

// percents are the steps of what is affected: trace, low steps and tens do as well
// as any number (Chiang 2014), and a number beats grades (Bock 2010).
var percents = []string{"0", "0.1", "0.5", "1", "2", "5", "10", "20", "30", "40", "50", "60", "70", "80", "90", "100"}

func percentChoices(chosen string) []Choice {
	out := make([]Choice, len(percents))
	for i, p := range percents {
		out[i] = Choice{Value: p, Text: p + " %", Chosen: p == chosen}
	}
	return out
}

// stages are the principal growth stages of the BBCH scale, 0 to 9, in words
// (the scale's own names, shortened).
var stages = []Choice{
	{Value: "0", Text: "sprouting, or buds"}, {Value: "10", Text: "leaves unfold"}, {Value: "20", Text: "side shoots"},
	{Value: "30", Text: "stem grows, or rosette"}, {Value: "40", Text: "the part to be eaten grows"}, {Value: "50", Text: "flower buds show"},
	{Value: "60", Text: "in flower"}, {Value: "70", Text: "fruit grows"}, {Value: "80", Text: "fruit ripens"}, {Value: "90", Text: "dies down"},
}

func stageChoices(t func(string, ...any) string, chosen string) []Choice {
	out := []Choice{{Text: t("not said"), Chosen: chosen == ""}}
	for _, c := range stages {
		out = append(out, Choice{Value: c.Value, Text: t(c.Text), Chosen: c.Value == chosen})
	}
	return out
}

// What may be seen of animals and of diseases. Seen flying is not yet damage.
var (
	seenOfAnimals  = []string{"adults flying", "adults", "eggs", "young or larvae", "feeding marks only"}
	seenOfDiseases = []string{"lowest leaves", "higher leaves", "stems", "flowers or fruit", "whole plant"}
)

func seenChoices(t func(string, ...any) string, insect bool, chosen string) []Choice {
	words := seenOfDiseases
	if insect {
		words = seenOfAnimals
	}
	var out []Choice
	for _, w := range words {
		out = append(out, Choice{Value: w, Text: t(w), Chosen: strings.EqualFold(w, chosen)})
	}
	return out
}

func notFound(err error) bool { return errors.Is(err, store.ErrNotFound) }
