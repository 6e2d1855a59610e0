package report

import (
	"cmp"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
)

// Use is one spray and how the planting looked before and after. What was seen
// after a spray is not proof of what the spray did.
type Use struct {
	Record   string        `json:"record"` // id
	Date     civil.Date    `json:"date"`
	Material string        `json:"material"`
	Threats  []string      `json:"threats"`
	Result   garden.Result `json:"result,omitempty"` // as logged, or read from the looks; empty: nobody looked
	Logged   bool          `json:"logged,omitempty"` // the grower wrote the result
	Before   *Level        `json:"before,omitempty"`
	After    *Level        `json:"after,omitempty"`
}

// Level is how much a look found.
type Level struct {
	Date  civil.Date `json:"date"`
	Share float64    `json:"share"` // % of plants or leaf area, or animals a plant
	Unit  string     `json:"unit"`  // "%" or "a plant"
}

// The looks that are held against a spray: at most so many days before, and from
// the second day to three weeks after. Leaf spots take 7-10 days to show (Egel,
// Purdue, confirmed).
const (
	beforeDays = 14
	afterFrom  = 2
	afterDays  = 21
)

func (in *Input) use(r *garden.Record) Use {
	u := Use{Record: r.ID, Date: in.local(r), Material: cmp.Or(r.Ingredient, r.Product, r.Material), Threats: r.Threats, Result: r.Result, Logged: r.Result != ""}
	for _, s := range in.Seen {
		if s.Planting != r.Planting || !slices.Contains(r.Threats, s.Threat) {
			continue
		}
		l, ok := level(s)
		if !ok {
			continue
		}
		switch d := s.Date.Sub(u.Date); {
		case d <= 0 && d >= -beforeDays && (u.Before == nil || s.Date > u.Before.Date):
			u.Before = &l
		case d >= afterFrom && d <= afterDays && (u.After == nil || s.Date > u.After.Date):
			u.After = &l
		}
	}
	if u.Result == "" && u.Before != nil && u.After != nil && u.Before.Unit == u.After.Unit {
		switch {
		case u.After.Share < u.Before.Share:
			u.Result = garden.Better
		case u.After.Share > u.Before.Share:
			u.Result = garden.Worse
		default:
			u.Result = garden.Same
		}
	}
	return u
}

// level reads how much a look found; false when it does not say.
func level(s garden.Scouting) (Level, bool) {
	switch {
	case s.Percent != nil:
		return Level{s.Date, *s.Percent, "%"}, true
	case s.Count != nil && s.Plants > 0:
		return Level{s.Date, float64(*s.Count) / float64(s.Plants), "a plant"}, true
	}
	return Level{}, false
}

// Material counts how plantings looked after one material.
type Material struct {
	Name      string `json:"name"`
	Uses      int    `json:"uses"`
	Better    int    `json:"better"`
	Same      int    `json:"same"`
	Worse     int    `json:"worse"`
	Harmed    int    `json:"harmed"`
	NotLooked int    `json:"notLooked"`
}

func materials(uses []Use) []Material {
	at := map[string]int{}
	var out []Material
	for _, u := range uses {
		name := cmp.Or(u.Material, "material not said")
		i, ok := at[name]
		if !ok {
			i = len(out)
			at[name] = i
			out = append(out, Material{Name: name})
		}
		m := &out[i]
		m.Uses++
		switch u.Result {
		case garden.Better:
			m.Better++
		case garden.Same:
			m.Same++
		case garden.Worse:
			m.Worse++
		case garden.Harmed:
			m.Harmed++
		default:
			m.NotLooked++
		}
	}
	slices.SortFunc(out, func(a, b Material) int { return cmp.Or(b.Uses-a.Uses, cmp.Compare(a.Name, b.Name)) })
	return out
}
