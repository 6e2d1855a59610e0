package plan

import (
	"slices"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/planting"
)

// culturalOrder is the order in which work is offered: what removes it first,
// then what keeps it off.
var culturalOrder = []StepKind{CleanUp, MulchBed, Prune, CoverBed, TrapCrop, Space, WaterBed, HandPick, Harvest}

func (w *windows) cultural() {
	advice := slices.Clone(w.Threat.Cultural)
	slices.SortStableFunc(advice, func(a, b catalog.Advice) int {
		return slices.Index(culturalOrder, StepKind(a.Kind)) - slices.Index(culturalOrder, StepKind(b.Kind))
	})
	inGround := w.Planting.GrowingOn(w.Today)
	for _, a := range advice {
		s := Step{Kind: StepKind(a.Kind), Text: a.Text, Source: a.Source}
		if s.Kind != Scout && s.Kind != Rotate && a.Due(w.Today, w.Season) > w.Today {
			w.next(s) // its words say when
			continue
		}
		switch s.Kind {
		case Scout: // goes with the looks
		case MulchBed:
			w.mulch(s)
		case Prune:
			w.prune(s)
		case CoverBed:
			w.cover(s)
		case HandPick:
			w.handPick(s)
		case Rotate:
			s.When = "when you plan the next planting"
			w.next(s)
		case Choose, Timing, TrapCrop:
			if inGround {
				s.When = "for the next planting"
				w.next(s)
				continue
			}
			w.add(w.prevent(s))
		default:
			w.add(w.prevent(s))
		}
	}
}

// filmSplash is why bare film is no mulch against what splashes.
var filmSplash = risk.Source{Text: "Yang, Madden & Ellis 1990 J Phytopathol 129:170 (author names from memory): about 15 % of fruit infected over straw, about 80 % over plastic, in simulated rain on strawberry", Standing: risk.Confirmed}

func (w *windows) mulch(s Step) {
	switch w.Planting.Mulch {
	case "", garden.NoMulch:
	case garden.Film:
		if w.Threat.Class != catalog.Disease {
			return
		}
		s.Text, s.Source = "Lay straw over the bare film: film makes rain splash more than straw does.", filmSplash
	default:
		return // done
	}
	s = w.prevent(s)
	s.wait(w.soil())
	w.add(s)
}

// soil says whether the soil is warm enough to be mulched: straw keeps cold soil
// cold. The measure is the lowest published soil figure for setting the crop out.
func (w *windows) soil() Said {
	r, err := planting.Check(w.Planting.Crop, planting.PlantOut, w.Days, w.Today)
	if err == nil {
		for _, v := range r.Verdicts {
			if v.Figure.Measure != planting.Soil || v.State == planting.Unknown {
				continue
			}
			if v.State == planting.Met {
				return said("the soil is warm enough: %s, and %s wanted", figure(v.Value, "C"), figure(v.Figure.C(), "C"))
			}
			return said("once the soil is warm: it is %s, wait for %s; mulch keeps cold soil cold", figure(v.Value, "C"), figure(v.Figure.C(), "C"))
		}
	}
	return said("once the soil is warm; mulch keeps cold soil cold")
}

// pruneEvery is how often lower leaves come off while the plant grows: 7 to 14
// days (Silva et al. 2011 Hortic Bras; Coelho Netto et al. 2012 Trop Plant Pathol
// 37:185: confirmed); the longer is used.
const pruneEvery = 14

func (w *windows) prune(s Step) {
	s = w.prevent(s)
	s.EveryDays = pruneEvery
	from, until := max(s.From, w.Today), w.plan.Late
	if until.IsZero() {
		until = from.AddDays(w.r.ApproachingDays)
	}
	s.Dates = repeat(from, until.AddDays(w.r.LastingDays), pruneEvery)
	s.When = "only while leaves are dry; again every one to two weeks as the plant grows"
	w.add(s)
}

// pickSource: eggs and animals by hand twice a week from the first eggs.
var pickSource = risk.Source{Text: "Stoner et al. 1996; Utah State Univ. Extension 2021: twice a week from the first eggs, in the morning", Standing: risk.Confirmed}

func (w *windows) handPick(s Step) {
	s.From, s.EveryDays, s.When = max(w.plan.Early, w.Today), 4, "from the first eggs, in the morning"
	if !w.plan.Early.IsZero() {
		s.Dates = repeat(s.From, max(w.plan.Late, s.From).AddDays(w.r.LastingDays), 4)
	}
	if s.Source.Standing == risk.FromMemory || s.Source.Standing == risk.CommonPractice {
		s.Source = risk.Source{Text: s.Source.Text + "; how often: " + pickSource.Text, Standing: s.Source.Standing}
	}
	w.add(s)
}
