package catalog

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk/degreeday"
	"plotwarden/risk/model"
)

// insectRow is a row of testdata/insect_rows.csv: a published number with its
// source, and either the model and stage that hold it or the threat whose page
// says why no model does.
type insectRow map[string]string

func insectRows(t *testing.T) []insectRow {
	t.Helper()
	f, err := os.Open("testdata/insect_rows.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 100)
	var out []insectRow
	for _, r := range rows[1:] {
		m := insectRow{}
		for i, h := range rows[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func TestInsectModelsHoldThePublishedNumbers(t *testing.T) {
	c := shipped(t)
	used := map[string]bool{}
	for _, r := range insectRows(t) {
		if r["model"] == "" {
			continue
		}
		m, ok := c.Model(r["model"])
		require.True(t, ok, r["model"])
		used[m.ID] = true
		dd, ok := m.Spec.(*model.DegreeDays)
		require.True(t, ok, m.ID)
		assert.InDelta(t, number(t, r["lower_f"]), toF(dd.Scale, dd.Lower), 0.051, "%s lower", m.ID)
		if r["upper_f"] == "" {
			assert.Nil(t, dd.Upper, m.ID)
		} else {
			assert.InDelta(t, number(t, r["upper_f"]), toF(dd.Scale, *dd.Upper), 0.051, "%s upper", m.ID)
		}
		if r["stage"] == "" { // the start itself
			assert.Equal(t, "0", r["total_f"])
			continue
		}
		stage, ok := stageOf(m, r["stage"])
		require.True(t, ok, "%s has no stage %q", m.ID, r["stage"])
		from, through, isRange := strings.Cut(r["total_f"], "-")
		assert.InDelta(t, number(t, from), toDiffF(dd.Scale, stage.Value), 0.51, "%s %s", m.ID, stage.Name)
		if isRange {
			assert.Equal(t, number(t, through), stage.Through, "%s %s", m.ID, stage.Name)
		}
	}
	for _, id := range c.ModelIDs() {
		m, _ := c.Model(id)
		if _, ok := m.Spec.(*model.DegreeDays); ok {
			assert.True(t, used[id], "%s has no row of the reference", id)
		}
	}
}

func toF(u degreeday.Unit, x float64) float64 { return degreeday.CtoF(u.ToC(x)) }
func toDiffF(u degreeday.Unit, x float64) float64 {
	return degreeday.DiffCtoF(u.DiffToC(x))
}

func stageOf(m *Model, name string) (model.Stage, bool) {
	for _, s := range m.Spec.Stages() {
		if s.Name == name {
			return s, true
		}
	}
	return model.Stage{}, false
}

// A row that lacks method, start or total, or was not confirmed, is not a
// model, but its number and what it lacks stand on the threat's page.
func TestRowsThatDoNotShipAreNamed(t *testing.T) {
	c := shipped(t)
	for _, r := range insectRows(t) {
		if r["model"] != "" {
			continue
		}
		th, ok := c.ByID(r["threat"])
		require.True(t, ok, r["threat"])
		said := th.LogOnly
		for _, u := range th.Unused {
			said += "\n" + u.Text + " " + u.Why
		}
		for _, d := range th.Disagree {
			said += "\n" + d.Text
		}
		for _, m := range th.Models {
			for _, s := range m.Spec.Stages() {
				said += "\n" + s.Note + " " + n(s.Value)
			}
		}
		assert.Contains(t, said, r["words"], "%s: %s", r["pest"], r["event"])
	}
}

// Only complete and confirmed rows ship; the two exceptions are the first models
// of the program, whose start and method are marked from memory.
func TestOnlyCompleteRowsShip(t *testing.T) {
	exceptions := map[string]bool{"imported-cabbageworm/delahaut-2015": true, "squash-vine-borer/south-dakota-2021": true}
	// The method of soil rows is the soil itself; two write it in the start.
	soil := map[string]bool{"cabbage-maggot/collier-finch-1985": true, "carrot-rust-fly/stevenson-1983-soil": true, "carrot-rust-fly/stevenson-1983-soil-second": true}
	for _, r := range insectRows(t) {
		if r["model"] == "" || exceptions[r["model"]] {
			continue
		}
		assert.Equal(t, "read", r["status"], r["event"])
		assert.NotContains(t, r["lower_f"], "~", r["event"])
		assert.NotContains(t, r["start"], "memory", r["event"])
		assert.NotContains(t, r["start"], "not stated", r["event"])
		if !soil[r["model"]] {
			assert.NotEmpty(t, r["method"], r["event"])
			assert.NotContains(t, r["method"], "not stated", r["event"])
		}
	}
}

// Method, cutoff and start of every degree-day model, from the same rows.
func TestInsectMethodsAndStarts(t *testing.T) {
	c := shipped(t)
	for _, k := range []struct {
		id     string
		method degreeday.Method
		cutoff degreeday.Cutoff
		of     model.Medium
		start  string // month-day, or "catch"
	}{
		{"imported-cabbageworm/delahaut-2015", "average", "", "", "01-01"},
		{"squash-vine-borer/south-dakota-2021", "average", "", "", "01-01"},
		{"european-corn-borer/apple-delahaut-2015", "average-clip-each", "", "", "01-01"},
		{"seedcorn-maggot/funderburk-1984", "average-clip-max", "", "", "01-01"},
		{"black-cutworm/luckmann-1976-purdue", "average", "", "", "catch"},
		{"corn-earworm/hartstack-1976-moths", "single-sine", "intermediate", "", "catch"},
		{"corn-earworm/hartstack-1976-eggs", "single-sine", "intermediate", "", "catch"},
		{"western-bean-cutworm/hanson-2015", "average-clip-mean", "", "", "03-01"},
		{"japanese-beetle/illinois-2015", "average", "", "", "03-01"},
		{"codling-moth/jones-2008", "single-sine", "horizontal", "", "01-01"},
		{"codling-moth/washington-state", "single-sine", "horizontal", "", "01-01"},
		{"plum-curculio/berkett-2008", "average", "", "", "catch"},
		{"cabbage-maggot/collier-finch-1985", "hourly", "", "soil", "02-01"},
		{"carrot-rust-fly/stevenson-1983-soil", "hourly", "", "soil", "04-01"},
		{"carrot-rust-fly/stevenson-1983-soil-second", "hourly", "", "soil", "catch"},
	} {
		m, ok := c.Model(k.id)
		require.True(t, ok, k.id)
		dd := m.Spec.(*model.DegreeDays)
		assert.Equal(t, k.method, dd.Method, k.id)
		assert.Equal(t, k.cutoff, dd.Cutoff, k.id)
		assert.Equal(t, k.of, dd.Of, k.id)
		start := dd.Start().Day.String()
		if dd.Start().Kind == model.FromCatch {
			start = "catch"
			assert.NotEmpty(t, dd.Start().Event, k.id)
		}
		assert.Equal(t, k.start, start, k.id)
		if k.of == model.Soil {
			assert.Len(t, dd.Needs(), 1, "%s takes soil temperature alone", k.id)
			assert.Equal(t, "soil temperature", dd.Needs()[0].String(), k.id)
		}
	}
}

// Sums of the stage lengths of Hartstack et al. 1976: before egg laying 112.7,
// egg 72.9, stages 1-3 147.1, stages 4-5 217.1, pupa 323.1, egg to adult 760.1.
func TestCornEarwormSums(t *testing.T) {
	c := shipped(t)
	m, _ := c.Model("corn-earworm/hartstack-1976-eggs")
	for name, want := range map[string]float64{"first hatch": 72.9, "large caterpillars": 72.9 + 147.1, "pupae": 72.9 + 147.1 + 217.1, "moths of the next generation": 760.1} {
		s, ok := stageOf(m, name)
		require.True(t, ok, name)
		assert.InDelta(t, want, s.Value, 1e-9, name)
	}
	assert.InDelta(t, 760.1, 72.9+147.1+217.1+323.1, 0.11, "the printed total and its parts differ by rounding")
	m, _ = c.Model("corn-earworm/hartstack-1976-moths")
	for name, want := range map[string]float64{"first eggs": 112.7, "first hatch": 112.7 + 72.9, "large caterpillars": 112.7 + 72.9 + 147.1, "moths of the next generation": 872.8} {
		s, ok := stageOf(m, name)
		require.True(t, ok, name)
		assert.InDelta(t, want, s.Value, 1e-9, name)
	}
}
