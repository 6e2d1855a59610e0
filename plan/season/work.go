package season

import (
	"cmp"
	"fmt"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/planting"
	"plotwarden/weather"
)

// Input is what the season's work is made from. Everything but Site and Today
// may be left out; what is left out is not known.
type Input struct {
	Site      *garden.Site
	Today     civil.Date
	Days      []weather.Day    // this season's and the forecast's, in order
	Spring    planting.Chances // of past seasons
	Autumn    planting.Chances
	Waterings []Watering
	Seen      []garden.Scouting
	Threats   Threats
	// Maturity is the days to maturity on the grower's seed packets, by crop.
	Maturity map[string]int
	// Own are figures that the grower set, by crop.
	Own map[string][]planting.Figure
}

// The days ahead and back for which work is named (common practice).
const (
	setOutAhead   = 21 // a planting that is to go out
	newPlanting   = 14 // a rotation clash is still worth saying
	sowAgainAhead = 7  // a succession
)

// Work returns the season's work that falls due around today: frost first, then
// what goes out or is sown, water, clashes and clean-up, each in order of date.
func Work(in Input) ([]Task, error) {
	out := FrostTasks(in.Site, FrostNights(in.Site, in.Days, in.Today))
	n := len(out)
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		for j := range plot.Plantings {
			ts, err := in.goingOut(plot, &plot.Plantings[j])
			if err != nil {
				return nil, err
			}
			out = append(out, ts...)
		}
		out = append(out, in.again(plot)...)
	}
	for _, l := range Water(in.Site, in.Days, in.Waterings, in.Today) {
		if t, ok := l.Task(in.Today); ok {
			out = append(out, t)
		}
	}
	for i := range in.Site.Plots {
		for _, c := range Clashes(&in.Site.Plots[i], in.Today) {
			if _, p := in.Site.Find(c.Planting); p.InGround() >= in.Today-newPlanting {
				out = append(out, c.Task())
			}
		}
	}
	if in.Threats != nil {
		out = append(out, CleanUps(in.Site, in.Seen, in.Threats, in.killed(), in.Today)...)
	}
	slices.SortStableFunc(out[n:], func(a, b Task) int {
		return cmp.Or(cmp.Compare(slices.Index(workOrder, a.Kind), slices.Index(workOrder, b.Kind)), cmp.Compare(a.From, b.From))
	})
	return out, nil
}

var workOrder = []plan.StepKind{plan.PlantOut, plan.SowBed, plan.Wait, plan.WaterBed, plan.Rotate, plan.CleanUp}

// goingOut judges a planting that is to be set out or sown soon.
func (in *Input) goingOut(plot *garden.Plot, p *garden.Planting) ([]Task, error) {
	at := p.InGround()
	if at < in.Today || at > in.Today+setOutAhead {
		return nil, nil
	}
	c, ok := garden.CropByID(p.Crop)
	if !ok || c.Perennial {
		return nil, nil
	}
	use := planting.Sow
	if !p.PlantedOut.IsZero() {
		use = planting.PlantOut
	}
	s, err := CheckSetOut(p.Crop, use, c.Warm, in.Days, in.Today, in.Spring, in.Own[p.Crop]...)
	if err != nil {
		return nil, err
	}
	t := s.Task(plot.ID, p.ID)
	t.By = at
	if t.Kind == plan.Wait {
		t.By = 0
	}
	return []Task{t}, nil
}

// again names the next sowing of crops that are sown again and again, from the
// last planting of each in a plot.
func (in *Input) again(plot *garden.Plot) []Task {
	last := map[string]*garden.Planting{}
	var crops []string
	for i := range plot.Plantings {
		p := &plot.Plantings[i]
		if p.Sown.IsZero() {
			continue
		}
		if was := last[p.Crop]; was == nil {
			crops = append(crops, p.Crop)
			last[p.Crop] = p
		} else if p.Sown > was.Sown {
			last[p.Crop] = p
		}
	}
	var out []Task
	for _, crop := range crops {
		days, source, ok := SuccessionDays(crop)
		next := last[crop].Sown.AddDays(days)
		if !ok || next < in.Today || next > in.Today+sowAgainAhead {
			continue
		}
		text := fmt.Sprintf("Sow %s again around %s, %d days after the last, for a steady harvest.", cropName(crop), day(next), days)
		if safe, end, _ := LastSowing(in.FirstFrost(), in.Maturity[crop]); !safe.IsZero() {
			if next > end {
				continue // it would not ripen
			}
			text += fmt.Sprintf(" Last safe sowing here: %s.", day(safe))
		}
		out = append(out, Task{plot.ID, "", plan.Step{Kind: plan.SowBed, Text: text, From: next - 3, By: next + 3, Source: source}})
	}
	return out
}

// FirstFrost is the day by which half of the past seasons had their first frost
// of autumn; zero when that is not known.
func (in *Input) FirstFrost() civil.Date {
	m, ok := in.Autumn.By(0.5)
	if !ok {
		return 0
	}
	d := m.In(in.Today.Year())
	if d < in.Today {
		d = m.In(in.Today.Year() + 1)
	}
	return d
}

// killed is the first killing frost of this autumn; zero when none has come.
func (in *Input) killed() civil.Date {
	ss := planting.Seasons(in.Days, KillingNight, in.Site.Latitude)
	if len(ss) == 0 {
		return 0
	}
	if d := ss[len(ss)-1].FirstAutumn; d <= in.Today {
		return d
	}
	return 0
}
