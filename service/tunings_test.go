package service

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/risk/tuning"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
)

const (
	wormModel = "imported-cabbageworm/delahaut-2015"
	wormStage = "first butterflies, early end of the published range"
)

// valley is a region of two made-up grounds at which the cabbageworm comes at 230
// degree-days and not at the published 150, logged once a week.
type valley struct {
	*Tunings
	store *sqlite.Store
	g     *garden.Garden
	now   time.Time
	dir   string
}

func newValley(t *testing.T, years int) *valley {
	t.Helper()
	v := &valley{dir: t.TempDir(), now: time.Date(2026, 4, 20, 12, 0, 0, 0, time.UTC)}
	var err error
	v.store, err = sqlite.Open(t.Context(), filepath.Join(v.dir, "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, v.store.Close()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	v.g = &garden.Garden{Regions: []garden.Region{{ID: "valley", Name: "the valley", Sites: []string{"mill", "orchard"}}}}
	r := rand.New(rand.NewPCG(7, 7))
	worm, _ := cat.Model(wormModel)
	for k, id := range []string{"mill", "orchard", "hill"} {
		site := garden.Site{ID: id, Name: strings.ToUpper(id[:1]) + id[1:], Latitude: 42, Longitude: -76, Zone: "America/New_York",
			Plots: []garden.Plot{{ID: "bed", Grower: "ola", Plantings: []garden.Planting{{ID: "kale", Crop: "kale", PlantedOut: civil.New(2026, 4, 10)}}}}}
		v.g.Sites = append(v.g.Sites, site)
		var days []weather.Day
		noise := 0.0
		for d := civil.New(2025-years, 1, 1); d < civil.New(2026, 4, 21); d++ {
			noise = 0.7*noise + 2.5*r.NormFloat64()
			x := weather.NewDay(d)
			mean := 10 + float64(k) - 13*math.Cos(2*math.Pi*float64(d.YearDay()-20)/365) + noise
			x.Min, x.Max = mean-5, mean+5
			days = append(days, x)
		}
		require.NoError(t, v.store.SaveWeather(t.Context(), id, weather.HoursFromDays(days, 42, -76, site.Location(), weather.Origin{Source: "record", Kind: weather.Station})))
		for y := 2026 - years; y < 2026; y++ {
			i := civil.New(y, 1, 1).Sub(days[0].Date)
			tr, err := worm.Spec.Run(&model.Input{Days: days[i : i+365], Start: civil.New(y, 1, 1)})
			require.NoError(t, err)
			var came civil.Date
			for _, p := range tr.Points {
				if p.Total >= 230 {
					came = p.Date
					break
				}
			}
			for n, s := range []garden.Scouting{{Finding: garden.None, Date: came - 4}, {Finding: garden.Found, Date: came + 3}} {
				s.ID, s.Site, s.Plot, s.Threat, s.By = fmt.Sprint(id, y, n), id, "bed", "imported-cabbageworm", "ola"
				s.Share = id == "mill"
				require.NoError(t, v.store.AddScouting(t.Context(), s))
			}
		}
	}
	v.Tunings = &Tunings{
		Store: v.store, Data: v.store, Garden: func() *garden.Garden { return v.g }, Catalogue: cat,
		KeyFile: filepath.Join(v.dir, "tuning.key"), TrustFile: filepath.Join(v.dir, "tuning.trusted"), Now: func() time.Time { return v.now },
	}
	return v
}

func (v *valley) change(to string) tuning.Tuning {
	return tuning.Tuning{Model: wormModel, What: tuning.StageValue, Stage: wormStage, Tuned: to, Who: "Wren", Why: "finds in the valley", When: civil.New(2026, 4, 20)}
}

func TestATrialPutsOldAndNewSideBySide(t *testing.T) {
	v := newValley(t, 4)
	owner := access.Open(false)
	r, err := v.Try(t.Context(), "valley", tuning.Tuning{Model: wormModel, What: tuning.StageValue, Stage: wormStage, Tuned: "230"}, owner, []int{2024, 2025})
	require.NoError(t, err)
	assert.Equal(t, "150", r.Was)
	assert.Equal(t, "150", r.Change.Published)
	assert.Len(t, r.Rows, 8, "four seasons at each of the region's two sites")
	assert.Less(t, r.New.At[1].Error, r.Old.At[1].Error)
	assert.Equal(t, 4, len(heldOut(r)), "the held-out seasons")
	assert.NotContains(t, strings.Join(r.Warnings, "\n"), "every season was in view")
	assert.Contains(t, r.Change.Result, "14 days ahead the median was off by")
	require.NotEmpty(t, r.Drawings)
	for _, d := range r.Drawings {
		assert.True(t, strings.HasPrefix(d.SVG, "<svg "), d.Name)
	}
	again, err := v.Try(t.Context(), "valley", tuning.Tuning{Model: wormModel, What: tuning.StageValue, Stage: wormStage, Tuned: "230"}, owner, []int{2024, 2025})
	require.NoError(t, err)
	assert.Equal(t, r.Change, again.Change)
	assert.Equal(t, r.Drawings, again.Drawings)

	// All seasons in view, and a number that is worse.
	r, err = v.Try(t.Context(), "valley", tuning.Tuning{Model: wormModel, What: tuning.StageValue, Stage: wormStage, Tuned: "60"}, owner, nil)
	require.NoError(t, err)
	all := strings.Join(r.Warnings, "\n")
	assert.Contains(t, all, "every season was in view when the number was chosen")
	assert.Contains(t, all, "the new number is no better")

	// Whoever may not read a ground's log sees it neither named nor drawn.
	reader := access.Of(&garden.Garden{Sites: v.g.Sites, People: []garden.Person{{ID: "wren", Sites: []string{"mill", "orchard"}}}}, "wren", access.Reader)
	r, err = v.Try(t.Context(), "valley", v.change("230"), reader, nil)
	require.NoError(t, err)
	for _, row := range r.Rows {
		assert.Equal(t, "Mill", row.Site, "only what is shared")
	}
	assert.Contains(t, strings.Join(r.Notes, "\n"), "Orchard: no season that is over has a log")
	volunteers := &garden.Garden{Sites: v.g.Sites, People: []garden.Person{{ID: "wren"}}, Regions: []garden.Region{{ID: "valley", Name: "the valley", Sites: []string{"mill", "orchard"}, Volunteers: []string{"wren"}}}}
	r, err = v.Try(t.Context(), "valley", v.change("230"), access.Of(volunteers, "wren", access.Volunteer), nil)
	require.NoError(t, err)
	names := map[string]int{}
	for _, row := range r.Rows {
		names[row.Site]++
	}
	assert.Equal(t, map[string]int{"Mill": 4, unnamed: 4}, names)
	for _, d := range r.Drawings {
		assert.NotContains(t, d.SVG, "Orchard")
	}

	_, err = v.Try(t.Context(), "vale", v.change("230"), owner, nil)
	assert.ErrorContains(t, err, `region "vale" is not known`)
	_, err = v.Try(t.Context(), "valley", tuning.Tuning{Model: "gone/one", What: tuning.StartDay, Tuned: "03-01"}, owner, nil)
	assert.ErrorContains(t, err, "no such model")
}

func heldOut(r *TuningResult) (out []tuning.Row) {
	for _, row := range r.Rows {
		if !row.Chosen {
			out = append(out, row)
		}
	}
	return out
}

func TestTuningsAreKeptUndoneAndTravel(t *testing.T) {
	v := newValley(t, 1)
	ctx := t.Context()
	first, err := v.Save(ctx, "valley", v.change("230"), "wren")
	require.NoError(t, err)
	info, err := os.Stat(v.KeyFile)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	v.now = v.now.Add(time.Hour)
	second, err := v.Save(ctx, "valley", v.change("210"), "wren")
	require.NoError(t, err)
	inForce := func() string {
		all, notes, err := v.Changes(ctx, "valley")
		require.NoError(t, err)
		assert.Empty(t, notes)
		m, ok := tuning.Apply(v.Catalogue, "the valley", all).Model(wormModel)
		require.True(t, ok)
		return fmt.Sprint(m.Spec.Stages()[0].Value)
	}
	assert.Equal(t, "210", inForce())
	v.now = v.now.Add(time.Hour)
	_, err = v.Undo(ctx, "valley", second.ID, "Wren", "too early in the cold end", "wren")
	require.NoError(t, err)
	assert.Equal(t, "230", inForce())
	_, err = v.Undo(ctx, "valley", second.ID, "Wren", "again", "wren")
	assert.ErrorIs(t, err, ErrUndone)
	_, err = v.Undo(ctx, "valley", "nothing", "Wren", "again", "wren")
	assert.ErrorIs(t, err, ErrNoTuning)
	list, err := v.List(ctx, "valley")
	require.NoError(t, err)
	require.Len(t, list, 3, "nothing is taken out of the record")
	assert.Equal(t, list[2].ID, list[1].UndoneBy)
	_, err = v.Undo(ctx, "valley", list[2].ID, "Wren", "back", "wren")
	assert.ErrorContains(t, err, "save the number again instead")

	// To another installation: refused until its key is named, then in force there.
	f, err := v.Export(ctx, "valley", "Wren, the valley's volunteers")
	require.NoError(t, err)
	var file bytes.Buffer
	require.NoError(t, f.Write(&file))
	assert.Contains(t, file.String(), "too early in the cold end", "what was tried travels too")
	other := newValley(t, 1)
	_, err = other.Import(ctx, "valley", "valley.yaml", strings.NewReader(file.String()), "", "")
	assert.ErrorIs(t, err, ErrStranger)
	_, err = other.Import(ctx, "valley", "valley.yaml", strings.NewReader(strings.Replace(file.String(), `"230"`, `"23"`, 1)), f.Key, "")
	assert.ErrorIs(t, err, tuning.ErrForged)
	got, err := other.Import(ctx, "valley", "valley.yaml", strings.NewReader(file.String()), f.Key, "")
	require.NoError(t, err)
	assert.Equal(t, f.Key, got.Key)
	v2 := other
	all, _, err := v2.Changes(ctx, "valley")
	require.NoError(t, err)
	m, _ := tuning.Apply(v2.Catalogue, "the valley", all).Model(wormModel)
	assert.Equal(t, 230.0, m.Spec.Stages()[0].Value)
	_, err = other.Import(ctx, "valley", "valley.yaml", strings.NewReader(file.String()), "", "")
	assert.ErrorContains(t, err, "it is there already", "its key is trusted from now on")
	info, err = os.Stat(other.TrustFile)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())

	// A key that others can read signs nothing.
	require.NoError(t, os.Chmod(v.KeyFile, 0o644))
	_, err = v.Save(ctx, "valley", v.change("220"), "wren")
	assert.ErrorContains(t, err, "can be read by others; chmod 600 it")
	require.NoError(t, os.Chmod(v.KeyFile, 0o600))

	// What was changed in the store is named and not in force.
	list, err = v.List(ctx, "valley")
	require.NoError(t, err)
	forged := list[0].Tuning
	forged.ID, forged.Body, forged.At = "forged", bytes.Replace(forged.Body, []byte(`"230"`), []byte(`"99"`), 1), v.now.Add(time.Hour)
	require.NoError(t, v.store.AddTuning(ctx, forged))
	_, notes, err := v.Changes(ctx, "valley")
	require.NoError(t, err)
	assert.Equal(t, []string{"tuning forged is not in force: " + tuning.ErrForged.Error()}, notes)
	_ = first
}

func TestASiteIsJudgedByItsRegionsNumbers(t *testing.T) {
	v := newValley(t, 2)
	ctx := t.Context()
	log := &bytes.Buffer{}
	b := newSmall(t, v.now, v.g.Sites[0])
	svc := b.svc
	svc.o.Garden, svc.o.Catalogue, svc.o.Store = v.Garden, v.Catalogue, v.store
	svc.tuned.tunings = v.Tunings
	threshold := func(site string) plan.Assessment {
		require.NoError(t, svc.Refresh(ctx))
		r, err := v.store.LatestRound(ctx, site)
		require.NoError(t, err)
		for _, a := range r.Assessments {
			if a.Model == wormModel {
				return a
			}
		}
		t.Fatalf("no assessment by %s", wormModel)
		return plan.Assessment{}
	}
	names := func(a plan.Assessment) (out []string) {
		for _, n := range a.Reason.Numbers {
			if strings.Contains(n.Name, "threshold") && strings.Contains(n.Name, wormStage) {
				out = append(out, fmt.Sprintf("%s %g", strings.SplitN(n.Name, ":", 2)[0], n.Value))
			}
		}
		return out
	}
	// The log would decide; it is the model's own numbers that are looked at here: the
	// finds are another plot's, and not shared.
	v.g.Regions[0].Sites = []string{"hill"}
	for i := range v.g.Sites {
		v.g.Sites[i].Plots[0].ID = "other"
	}
	assert.Equal(t, []string{"published threshold 150"}, names(threshold("hill")), log.String())
	kept, err := v.Save(ctx, "valley", v.change("230"), "wren")
	require.NoError(t, err)
	a := threshold("hill")
	assert.Equal(t, []string{"threshold tuned for this region 230", "published threshold 150"}, names(a))
	assert.Contains(t, a.Reason.Numbers[0].Source.Text, "tuned by Wren on 2026-04-20, because finds in the valley; published: 150")
	assert.Equal(t, []string{"published threshold 150"}, names(threshold("orchard")), "a site outside the region")
	view, err := svc.CatalogueOf(ctx, "hill")
	require.NoError(t, err)
	assert.Len(t, view.Of(wormModel), 1)
	same, err := svc.CatalogueOf(ctx, "hill")
	require.NoError(t, err)
	assert.Same(t, view, same, "built once for each set of changes")
	v.now = v.now.Add(time.Hour)
	_, err = v.Undo(ctx, "valley", kept.ID, "Wren", "a slip", "wren")
	require.NoError(t, err)
	assert.Equal(t, []string{"published threshold 150"}, names(threshold("hill")))
}

// A start and a limit of humidity are tried as a threshold is. A rule that names
// infections is held against finds: hits, misses and false alarms, no dates.
func TestAStartAndAHumidityAreTried(t *testing.T) {
	v := newValley(t, 3)
	owner := access.Open(false)
	r, err := v.Try(t.Context(), "valley", tuning.Tuning{Model: wormModel, What: tuning.StartDay, Tuned: "03-01"}, owner, nil)
	require.NoError(t, err)
	assert.Equal(t, "01-01", r.Was)
	assert.Len(t, r.Rows, 6)

	id, of := humidRule(t, v, "tomato")
	for i := range v.g.Sites {
		v.g.Sites[i].Plots[0].Plantings = append(v.g.Sites[i].Plots[0].Plantings, garden.Planting{ID: "tomatoes", Crop: "tomato", PlantedOut: civil.New(2026, 5, 15)})
	}
	for y := 2023; y < 2026; y++ {
		for n, s := range []garden.Scouting{{Finding: garden.None, Date: civil.New(y, 7, 10)}, {Finding: garden.Found, Date: civil.New(y, 7, 17)}} {
			s.ID, s.Site, s.Plot, s.Threat, s.By, s.Share = fmt.Sprint("blight", y, n), "mill", "bed", of, "ola", true
			require.NoError(t, v.store.AddScouting(t.Context(), s))
		}
	}
	r, err = v.Try(t.Context(), "valley", tuning.Tuning{Model: id, What: tuning.Humidity, Tuned: "97"}, owner, nil)
	require.NoError(t, err)
	require.Len(t, r.Rows, 3, "%v", r.Notes)
	assert.NotEqual(t, "97", r.Was)
	assert.Equal(t, r.Old.Events, 3)
	assert.Equal(t, 3, r.Old.Hits+r.Old.Misses)
	assert.Equal(t, 3, r.New.Hits+r.New.Misses)
	assert.NotEmpty(t, r.Warnings)
}

// humidRule finds a rule of infections with a single limit of humidity for a crop.
func humidRule(t *testing.T, v *valley, crop string) (id, threat string) {
	t.Helper()
	for _, th := range v.Catalogue.ForCrop(crop) {
		m, ok := th.Default()
		if !ok || len(m.Spec.Stages()) > 0 || m.Spec.Start().Kind == model.FromCatch {
			continue
		}
		if _, err := tuning.Value(m, tuning.Humidity, ""); err == nil {
			return m.ID, th.ID
		}
	}
	t.Fatalf("no rule of infections of %s has a limit of humidity", crop)
	return "", ""
}
