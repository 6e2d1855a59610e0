package plan

import (
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/risk"
)

// The limits of a deposit: 25 and 50 mm and 7 days. They are a reading of trials
// on several crops that disagree among themselves, a caution level and not a
// property of any material:
//
//   - Ontario tree-fruit bulletin 2020 (confirmed): about half gone at 25 mm,
//     most past 50 mm; after rain within 2 hours expect nothing left.
//   - Schilder 2010 quoted in Missouri 2019 (confirmed): renew at 50 mm, or at
//     25 mm when the deposit is 7 days old.
//   - Hunsche et al. 2007 (confirmed): 5 mm took 75-90 % of mancozeb from apple
//     leaves. Where trials disagree the days and mm are shown, no percentage.
const (
	thinRain  = 25.0
	renewRain = 50.0
	thinDays  = 7
	earlyDry  = 2 * time.Hour
)

var depositSource = risk.Source{Text: "25 and 50 mm, 7 days, rain within 2 hours: a reading of wash-off trials (Ontario 2020; Schilder 2010 quoted in Missouri 2019)", Standing: risk.Derived}

// DepositState judges a spray from the rain since, mm, the whole days since and
// the interval on the user's label (0 when not said).
func DepositState(rain float64, days, interval int) Deposit {
	switch {
	case rain >= renewRain, rain >= thinRain && days >= thinDays, interval > 0 && days >= interval:
		return Renew
	case rain >= thinRain, days >= thinDays:
		return Thin
	}
	return Fresh
}

// exposure is what a deposit has been through.
type exposure struct {
	rain, early float64 // mm since, and mm before it was dry
	wet         int     // hours of wet leaves since
	days        int
	age         time.Duration
}

// wearing is how one treatment wears off.
type wearing struct {
	wear     Wear
	sun      SunDays
	interval int // label's days between uses; 0 is not said
	drying   time.Duration
	home     bool
	source   risk.Source
}

// wearOf tells how a treatment wears, from what is known of its ingredient or
// else from its kind. What nothing is known of wears as a protectant.
func wearOf(t *garden.Treatment, m *garden.Material) wearing {
	w := wearing{wear: ByWeather, interval: t.IntervalDays, drying: earlyDry, source: depositSource}
	kind, text := garden.MaterialKind(""), t.Ingredient+" "+t.Material
	if m != nil {
		kind, text = m.Kind, t.Ingredient+" "+m.Ingredient+" "+m.Name
		if w.interval == 0 {
			w.interval = m.IntervalDays
		}
		if m.DryingHours > 0 {
			w.drying = time.Duration(m.DryingHours * float64(time.Hour))
		}
	}
	if in := IngredientOf(strings.TrimSpace(text)); in != nil {
		w.wear, w.sun = in.Wears, in.Sun
		w.home = in.Kind == garden.KindHomeMix
		if w.wear != ByWeather {
			w.source = in.Source
		}
	} else {
		w.wear = kindWear[kind]
		if w.wear == "" {
			w.wear = ByWeather
		}
	}
	w.home = w.home || kind == garden.KindHomeMix
	return w
}

// kindWear is how kinds wear whose ingredient is not known; the others wear by
// weather. Bicarbonate, soap and pyrethrin: any wetting and it is gone (derived
// from how soluble they are and that none leaves a residue).
var kindWear = map[garden.MaterialKind]Wear{
	garden.KindBicarbonate: ByWetting,
	garden.KindDust:        ByWetting,
	garden.KindHomeMix:     ByWetting,
	garden.KindEradicant:   ByWetting,
	garden.KindSoap:        OnceDry,
	garden.KindContact:     OnceDry,
}

// judge returns the state and what decided it, to be put after the numbers.
func (w wearing) judge(e exposure) (Deposit, *Said) {
	as := func(d Deposit, key string, args ...Arg) (Deposit, *Said) {
		why := said(key, args...)
		return d, &why
	}
	if w.home {
		return as(Gone, "; what a home mix leaves on the leaf is not known, so it is not counted on")
	}
	switch w.wear {
	case OnceDry:
		if e.age < earlyDry && e.rain == 0 {
			return as(Thin, "; it works while it is wet, nothing stays once it has dried")
		}
		return as(Gone, "; nothing of it stays once it has dried")
	case ByWetting:
		if e.rain > 0 || e.wet > 0 {
			return as(Gone, "; any wetting takes it off")
		}
	case BySun:
		switch {
		case e.days >= w.sun.Gone:
			return as(Gone, "; light ends it in %s to %s days", digits(float64(w.sun.Thin)), digits(float64(w.sun.Gone)))
		case e.early > 0:
			return as(Renew, "; it rained before it had dried")
		}
		state := DepositState(e.rain, e.days, w.interval)
		if state == Fresh && e.days >= w.sun.Thin {
			state = Thin
		}
		return state, nil
	}
	if e.early > 0 {
		return as(Renew, "; it rained before it had dried (within %s h)", digits(w.drying.Hours()))
	}
	return DepositState(e.rain, e.days, w.interval), nil
}
