package plan

import (
	"math"
	"slices"

	"plotwarden/garden"
	"plotwarden/risk"
)

// SprayLimits is the general screen that holds where the label in hand says
// nothing. Winds that are too strong are judged at 10 m, where services give
// them: it blows harder there than at the plants, which errs to caution. Calm is
// judged at 2 m for the same reason.
type SprayLimits struct {
	CalmWind   float64 // m/s at 2 m; below it air is calm
	BestWind   float64 // m/s at 10 m; above it a warning
	MaxWind    float64 // m/s at 10 m; above it no
	MinTemp    float64 // C
	MaxTemp    float64 // C
	DryHours   int     // without rain afterwards
	LowDeltaT  float64 // C; below it drying is slow
	HighDeltaT float64 // C; above it a warning
	MaxDeltaT  float64 // C; above it no
	LowSun     float64 // degrees; below it, clear and calm, an inversion is likely
	Clear      float64 // % of cloud; below it the sky counts as clear
	MaybeRain  float64 // % chance of rain in an hour from which it is a warning
}

// DefaultSprayLimits returns the screen: wind 3 to 8 mph at best and 10 mph at
// most, 40 to 85 F, 6 hours to dry, delta-T 2 to 8 C at best and 10 C at most,
// sun 10 degrees, half the sky, 30 %. Each with its source below.
func DefaultSprayLimits() SprayLimits {
	return SprayLimits{
		CalmWind: 3 * mph, BestWind: 8 * mph, MaxWind: 10 * mph,
		MinTemp: 4, MaxTemp: 29, DryHours: 6,
		LowDeltaT: 2, HighDeltaT: 8, MaxDeltaT: 10,
		LowSun: 10, Clear: 50, MaybeRain: 30,
	}
}

// mph in m/s: 1 mile is 1609.344 m.
const mph = 1609.344 / 3600

var (
	labelSource    = risk.Source{Text: "your label, as you typed it", Standing: risk.Confirmed}
	windSource     = risk.Source{Text: "3-8 mph, blowing away from what must not be hit; calm is a warning, not permission (Pesticide Environmental Stewardship)", Standing: risk.Confirmed}
	maxWindSource  = risk.Source{Text: "many labels: 10 mph at most", Standing: risk.FromMemory}
	tempSource     = risk.Source{Text: "40-85 F as a general screen: a landscape text quoting a bulletin; 85 F from memory", Standing: risk.FromMemory}
	oilSource      = risk.Source{Text: "UC IPM: oils never above 90 F (32 C)", Standing: risk.Confirmed}
	oilDampSource  = risk.Source{Text: "a landscape text quoting a bulletin: oils not below about 40 F, when freezing, or above 90 % humidity", Standing: risk.SecondHand}
	sulfurSource   = risk.Source{Text: "UC IPM: sulfur not near or over 90 F (32 C); 80 F (27 C) on strawberry and cane berries", Standing: risk.Confirmed}
	copperSource   = risk.Source{Text: "Univ. Delaware (Johnson): copper not on wet leaves, not in slow-drying weather", Standing: risk.Confirmed}
	soapSource     = risk.Source{Text: "Penn State 2011: soap labels carry heat warnings", Standing: risk.Confirmed}
	drySource      = risk.Source{Text: "Brazilian study 2008 on potato and tomato: rain within 6 hours may take all of it", Standing: risk.Confirmed}
	wetSource      = risk.Source{Text: "Ontario tree-fruit bulletin 2020: a deposit must dry first; never onto dripping leaves (from memory)", Standing: risk.FromMemory}
	deltaTSource   = risk.Source{Text: "Delta-T 2-8 C, care below 2 and at 8-10, avoid above 10 (Bureau of Meteorology figures as quoted; GRDC 2025): from Australian field spraying, a screen and no rule", Standing: risk.SecondHand}
	strictSource   = risk.Source{Text: "Iowa State Univ. 2020: the strictest labels allow 1 hour after sunrise to 2 hours before sunset and stop below 3 mph, because of inversions under clear, calm skies", Standing: risk.Confirmed}
	lowSunSource   = risk.Source{Text: "Iowa State Univ. 2020 for clear and calm; the sun below 10 degrees, about the hour around sunrise and sunset, and less than half the sky in cloud: derived", Standing: risk.Derived}
	beeSource      = risk.Source{Text: "Hungarian food-safety office: from 1 hour before sunset; never on open bloom (UC IPM and others)", Standing: risk.Confirmed}
	peopleSource   = risk.Source{Text: "your own setting", Standing: risk.CommonPractice}
	daylightSource = risk.Source{Text: "common practice: spray only what you can see", Standing: risk.CommonPractice}
	missingSource  = risk.Source{Text: "weather store", Standing: risk.Confirmed}
)

// berries take sulfur at lower temperatures only (UC IPM, confirmed).
var berries = []string{"strawberry", "raspberry"}

// bound is one limit with where it comes from.
type bound struct {
	at     float64
	source risk.Source
}

// useLimits are the limits of one material on one crop: the label's where it
// says one, the general screen elsewhere.
type useLimits struct {
	minTemp, maxTemp, maxWind bound
	// kindMax is what is published for the kind; where a label allows more it
	// still warns. +Inf: nothing is.
	kindMax bound
	dry     int
	drySrc  risk.Source
	kind    garden.MaterialKind
}

func limitsOf(m *garden.Material, crop string, l SprayLimits) useLimits {
	u := useLimits{
		minTemp: bound{l.MinTemp, tempSource}, maxTemp: bound{l.MaxTemp, tempSource}, maxWind: bound{l.MaxWind, maxWindSource},
		kindMax: bound{math.Inf(1), tempSource}, dry: l.DryHours, drySrc: drySource,
	}
	if m == nil {
		return u
	}
	u.kind = kindOf(m)
	switch u.kind {
	case garden.KindOil:
		u.kindMax = bound{fToC(90), oilSource}
	case garden.KindSulfur:
		u.kindMax = bound{fToC(90), sulfurSource}
		if slices.Contains(berries, crop) {
			u.kindMax.at = fToC(80)
		}
	case garden.KindSoap:
		u.kindMax = bound{fToC(90), soapSource}
	}
	if u.kindMax.at < u.maxTemp.at {
		u.maxTemp = u.kindMax
	}
	if m.MinTemp != nil {
		u.minTemp = bound{float64(*m.MinTemp), labelSource}
	}
	if m.MaxTemp != nil {
		u.maxTemp = bound{float64(*m.MaxTemp), labelSource}
	}
	if m.MaxWind != nil {
		u.maxWind = bound{float64(*m.MaxWind), labelSource}
	}
	if m.DryingHours > 0 {
		u.dry, u.drySrc = int(math.Ceil(m.DryingHours)), labelSource
	}
	return u
}

// kindOf is the kind that the grower gave, or else that of the ingredient.
func kindOf(m *garden.Material) garden.MaterialKind {
	if m.Kind != "" {
		return m.Kind
	}
	if in := IngredientOf(m.Ingredient + " " + m.Name); in != nil {
		return in.Kind
	}
	return ""
}

func fToC(f float64) float64 { return (f - 32) / 1.8 }

// windAt2 reduces wind at 10 m to 2 m over short grass: FAO-56 eq. 47,
// 4.87 / ln(67.8 z - 5.42), from memory.
func windAt2(wind10 float64) float64 { return wind10 * 4.87 / math.Log(67.8*10-5.42) }
