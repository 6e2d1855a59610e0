package season

import (
	"fmt"
	"strings"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/planting"
	"plotwarden/weather"
)

// Go says whether a crop may be set out or sown.
type Go string

// The answers.
const (
	Ready    Go = "ready"
	Disagree Go = "sources disagree" // some figures of one measure are met, others not
	NotYet   Go = "not yet"
	Unknown  Go = "unknown" // weather that could decide is missing
)

// SetOut is whether a crop may go out today, with every published figure.
type SetOut struct {
	Crop   string          `json:"crop"`
	Use    planting.Use    `json:"use"`
	Date   civil.Date      `json:"date"`
	Go     Go              `json:"go"`
	Text   string          `json:"text"`
	Report planting.Report `json:"report"`
	// FrostRisk is the share of past seasons, 0 to 1, with a frost still to come;
	// Seasons is how many there are, 0 when nothing is known.
	FrostRisk float64 `json:"frostRisk"`
	Seasons   int     `json:"seasons"`
	// ColdNight is the first night of the forecast that would hurt a tender
	// plant; zero when there is none.
	ColdNight civil.Date `json:"coldNight,omitempty"`
}

// ForecastNights is how many nights ahead a warm-season crop is held back for:
// look at the 10-day minima and not the date alone (Organic Growers School,
// confirmed).
const ForecastNights = 10

var setOutSource = risk.Source{Text: "published soil and night figures, each beside its source; soil temperature and the 10-day minima, not the date alone (Organic Growers School)", Standing: risk.Confirmed}

// CheckSetOut judges one crop on one day. days must reach to today and may reach
// ahead; spring are the frosts of past seasons. It fails on an unknown crop.
func CheckSetOut(crop string, use planting.Use, warm bool, days []weather.Day, today civil.Date, spring planting.Chances, own ...planting.Figure) (SetOut, error) {
	r, err := planting.Check(crop, use, days, today, own...)
	if err != nil {
		return SetOut{}, fmt.Errorf("judge %s of %s: %w", use, crop, err)
	}
	out := SetOut{Crop: crop, Use: use, Date: today, Report: r, Seasons: spring.Seasons}
	_, m, d := today.YMD()
	if share, ok := spring.Risk(civil.MonthDay{Month: m, Day: d}); ok {
		out.FrostRisk = share
	}
	if warm && use != planting.Sow {
		for _, n := range planting.ColdNights(days, today+1, TenderNight) {
			if n <= today+ForecastNights {
				out.ColdNight = n
				break
			}
		}
	}
	out.Go = verdict(&out)
	out.Text = out.words()
	return out, nil
}

// verdict: a figure that is not met holds it back, unless another source of the
// same measure is satisfied; then the sources disagree and the grower chooses.
func verdict(s *SetOut) Go {
	if !s.ColdNight.IsZero() {
		return NotYet
	}
	if len(s.Report.Verdicts) == 0 {
		return Unknown
	}
	met, not, unknown := map[planting.Measure]bool{}, map[planting.Measure]bool{}, map[planting.Measure]bool{}
	for _, v := range s.Report.Verdicts {
		m := v.Figure.Measure
		switch v.State {
		case planting.Met:
			met[m] = true
		case planting.NotYet:
			not[m] = true
		default:
			unknown[m] = true
		}
	}
	disagree := false
	for m := range not {
		if !met[m] {
			return NotYet
		}
		disagree = true
	}
	for m := range unknown {
		if !met[m] {
			return Unknown
		}
	}
	if disagree {
		return Disagree
	}
	return Ready
}

func (s *SetOut) words() string {
	var parts []string
	switch s.Go {
	case Ready:
		parts = append(parts, fmt.Sprintf("Every published figure for %s is met (%d of %d).", cropName(s.Crop), s.Report.Met, len(s.Report.Verdicts)))
	case Disagree:
		parts = append(parts, fmt.Sprintf("Sources disagree about %s: %d of %d figures are met.", cropName(s.Crop), s.Report.Met, len(s.Report.Verdicts)))
	case Unknown:
		parts = append(parts, fmt.Sprintf("It cannot be said for %s: figures or weather are missing.", cropName(s.Crop)))
	default:
		parts = append(parts, fmt.Sprintf("Not yet for %s.", cropName(s.Crop)))
	}
	if !s.ColdNight.IsZero() {
		parts = append(parts, fmt.Sprintf("A night of 2 C or less is forecast, to %s.", day(s.ColdNight)))
	}
	for _, v := range s.Report.Verdicts {
		if v.State == planting.NotYet {
			parts = append(parts, fmt.Sprintf("The %s is %s C; it wants %s C.", v.Figure.Measure, number(v.Value), number(v.Figure.C())))
			break
		}
	}
	if s.Seasons > 0 {
		parts = append(parts, fmt.Sprintf("In %d of %d past seasons a frost came after this date.", int(s.FrostRisk*float64(s.Seasons)+0.5), s.Seasons))
	}
	return strings.Join(parts, " ")
}

// Task turns the verdict into work: to set out, or to wait.
func (s *SetOut) Task(plot, id string) Task {
	kind := plan.PlantOut
	if s.Use == planting.Sow {
		kind = plan.SowBed
	}
	if s.Go == NotYet || s.Go == Unknown {
		kind = plan.Wait
	}
	return Task{plot, id, plan.Step{Kind: kind, Text: s.Text, From: s.Date, Source: setOutSource}}
}
