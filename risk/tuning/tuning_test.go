package tuning

import (
	"bytes"
	"crypto/ed25519"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/risk/replay"
	"plotwarden/weather"
)

const (
	worm  = "imported-cabbageworm/delahaut-2015"
	first = "first butterflies, early end of the published range"
)

func load(t testing.TB) *catalog.Catalogue {
	t.Helper()
	c, err := catalog.Load()
	require.NoError(t, err)
	return c
}

func stage(to string) Tuning {
	return Tuning{Model: worm, What: StageValue, Stage: first, Tuned: to, Who: "Wren", Why: "six seasons of finds in the valley", When: civil.New(2026, 11, 2)}
}

func mustNew(t testing.TB, cat *catalog.Catalogue, x Tuning) Tuning {
	t.Helper()
	out, err := New(cat, x)
	require.NoError(t, err)
	return out
}

func TestAChangeStandsBesideThePublishedNumber(t *testing.T) {
	cat := load(t)
	x := mustNew(t, cat, stage("180"))
	assert.Equal(t, "150", x.Published)
	v := Apply(cat, "the valley", []Tuning{x})
	assert.Empty(t, v.Notes)
	m, ok := v.Model(worm)
	require.True(t, ok)
	s := m.Spec.Stages()[0]
	assert.Equal(t, 180.0, s.Value)
	assert.Equal(t, "tuned by Wren on 2026-11-02; published: 150", s.From.Text)
	assert.Equal(t, risk.Derived, s.From.Standing)
	assert.Equal(t, 240.0, m.Spec.Stages()[1].Value, "other stages stay")
	assert.Contains(t, m.Notes, "Tuned for the valley. First butterflies, early end of the published range: 180 in place of the published 150, tuned by Wren on 2026-11-02: six seasons of finds in the valley.")
	assert.Equal(t, []Tuning{x}, v.Of(worm))
	byThreat, ok := v.ByID("imported-cabbageworm")
	require.True(t, ok)
	d, ok := byThreat.Default()
	require.True(t, ok)
	assert.Equal(t, 180.0, d.Spec.Stages()[0].Value)

	old, ok := v.Published.Model(worm)
	require.True(t, ok)
	assert.Equal(t, 150.0, old.Spec.Stages()[0].Value)
	again, _ := cat.Model(worm)
	assert.Equal(t, 150.0, again.Spec.Stages()[0].Value, "the catalogue itself does not change")
}

func TestStartAndHumidityCanBeChanged(t *testing.T) {
	cat := load(t)
	start := stage("03-01")
	start.What, start.Stage = StartDay, ""
	m, err := Tuned(cat, mustNew(t, cat, start))
	require.NoError(t, err)
	assert.Equal(t, civil.MonthDay{Month: 3, Day: 1}, m.Spec.Start().Day)

	changedRules := 0
	for _, id := range cat.ModelIDs() {
		m, _ := cat.Model(id)
		x := Tuning{Model: id, What: Humidity, Tuned: "93", Who: "Wren", Why: "the sensor reads low", When: civil.New(2026, 11, 2)}
		x, err := New(cat, x)
		if err != nil {
			continue // a rule without, or with several
		}
		tuned, err := Tuned(cat, x)
		require.NoError(t, err, id)
		now, err := Value(tuned, Humidity, "")
		require.NoError(t, err)
		assert.Equal(t, "93", now, id)
		assert.NotEqual(t, m.Spec, tuned.Spec, id)
		changedRules++
	}
	assert.Greater(t, changedRules, 15)
}

func TestChangesThatCannotBe(t *testing.T) {
	cat := load(t)
	for want, change := range map[string]func(*Tuning){
		"no such model":                               func(x *Tuning) { x.Model = "cabbageworm" },
		`has no stage "eggs"`:                         func(x *Tuning) { x.Stage = "eggs" },
		"a change needs who, why and when":            func(x *Tuning) { x.Who = " " },
		"is not a number":                             func(x *Tuning) { x.Tuned = "late" },
		"150 is the published number":                 func(x *Tuning) { x.Tuned = "150" },
		"the rule cannot":                             func(x *Tuning) { x.Tuned = "-5" },
		"it has no limit of humidity":                 func(x *Tuning) { x.What, x.Stage = Humidity, "" },
		"is not a day of the year":                    func(x *Tuning) { x.What, x.Stage, x.Tuned = StartDay, "", "13-01" },
		"a stage is named when its total is changed,": func(x *Tuning) { x.What = StartDay },
	} {
		x := stage("180")
		change(&x)
		_, err := New(cat, x)
		if want == "the rule cannot" {
			assert.Error(t, err, want)
			continue
		}
		assert.ErrorContains(t, err, want)
	}
}

func TestLaterChangesReplaceAndUndoneOnesReturn(t *testing.T) {
	cat := load(t)
	var f File
	f.Add(mustNew(t, cat, stage("180")))
	f.Add(mustNew(t, cat, stage("200")))
	value := func() float64 {
		m, _ := Apply(cat, "valley", f.Tunings).Model(worm)
		return m.Spec.Stages()[0].Value
	}
	assert.Equal(t, 200.0, value())
	require.NoError(t, f.Undo(worm, StageValue, first, "Wren", "too late in 2026", civil.New(2026, 12, 1)))
	assert.Equal(t, 180.0, value())
	require.NoError(t, f.Undo(worm, StageValue, first, "Wren", "back to the book", civil.New(2026, 12, 2)))
	assert.Equal(t, 150.0, value())
	assert.Error(t, f.Undo(worm, StageValue, first, "Wren", "again", civil.New(2026, 12, 2)))
	assert.Len(t, f.Tunings, 2, "what was tried stays in the file")
	assert.Contains(t, f.Tunings[1].Words(), "undone by Wren on 2026-12-01: too late in 2026.")
}

func TestAChangeAgainstAnotherPublishedNumberIsNotInForce(t *testing.T) {
	cat := load(t)
	x := mustNew(t, cat, stage("180"))
	x.Published = "140"
	v := Apply(cat, "valley", []Tuning{x})
	assert.Equal(t, []string{worm + ", " + first + " to 180: not in force, the published number is 150 now and was 140"}, v.Notes)
	m, _ := v.Model(worm)
	assert.Equal(t, 150.0, m.Spec.Stages()[0].Value)
	x.Model = "gone/one-2001"
	assert.Contains(t, Apply(cat, "valley", []Tuning{x}).Notes[0], "the catalogue has no such model")
}

// source is a reader of made-up randomness, for keys in tests.
type source struct{ r *rand.Rand }

func (s source) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(s.r.Uint32())
	}
	return len(b), nil
}

func TestSignedFilesTravel(t *testing.T) {
	public, private, err := ed25519.GenerateKey(source{rand.New(rand.NewPCG(1, 1))})
	require.NoError(t, err)
	cat := load(t)
	f := File{Region: "the valley"}
	f.Add(mustNew(t, cat, stage("180")))
	_, err = f.Verify()
	assert.ErrorIs(t, err, ErrUnsigned)
	require.NoError(t, f.Sign("Wren, the valley's volunteers", private))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	text := b.String()
	for _, readable := range []string{"region: the valley", "who: Wren", "why: six seasons of finds in the valley", "published: \"150\"", "tuned: \"180\"", "when: \"2026-11-02\""} {
		assert.Contains(t, text, readable)
	}

	read := func(text string) (*File, error) { return Read("valley.yaml", strings.NewReader(text)) }
	got, err := read(text)
	require.NoError(t, err)
	assert.Equal(t, &f, got)
	key, err := got.Verify()
	require.NoError(t, err)
	assert.True(t, Trusted(key, []ed25519.PublicKey{public}))
	assert.False(t, Trusted(key, nil))

	// Line ends and comments of the way it came do not matter; a number does.
	for _, same := range []string{strings.ReplaceAll(text, "\n", "\r\n"), text + "# kept from the meeting\n"} {
		got, err := read(same)
		require.NoError(t, err)
		_, err = got.Verify()
		assert.NoError(t, err)
	}
	for _, other := range []string{strings.Replace(text, `"180"`, `"80"`, 1), strings.Replace(text, "who: Wren", "who: Robin", 1), strings.Replace(text, "the valley", "the hills", 1)} {
		got, err := read(other)
		require.NoError(t, err)
		_, err = got.Verify()
		assert.ErrorIs(t, err, ErrForged)
	}
	f.Add(mustNew(t, cat, stage("190")))
	_, err = f.Verify()
	assert.ErrorIs(t, err, ErrUnsigned, "a change takes the signature off")
}

func TestReadNamesFaults(t *testing.T) {
	for text, want := range map[string]string{
		"format: 2\nregion: r\ntunings: []\n":                                        "format 2 is not known; this program reads 1",
		"format: 1\ntunings: []\n":                                                   "region is missing",
		"format: 1\nregion: r\ntunings: [{model: a/b, what: base, tuned: \"1\"}]\n":  `"base" is not one of: stage, start, humidity`,
		"format: 1\nregion: r\ntunings: [{model: a/b, what: start, tuned: 03-01}]\n": `key "who" is missing`,
		"format: 1\nregion: r\ncolour: blue\n":                                       "colour",
		"format: 1\nregion: r\ntunings: [{model: a/b, what: stage, published: \"1\", tuned: \"2\", who: w, why: y, when: 2026-01-01}]\n": "a stage is named",
	} {
		_, err := Read("f.yaml", strings.NewReader(text))
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want)
			assert.Contains(t, err.Error(), "f.yaml:")
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("format: 1\nregion: r\ntunings: [{model: a/b, what: stage, stage: s, published: \"1\", tuned: \"2\", who: w, why: y, when: 2026-01-01}]\nkey: AAAA\nsignature: AAAA\n")
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Read("f", strings.NewReader(text))
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := got.Write(&b); err != nil {
			t.Fatal(err)
		}
		again, err := Read("f", &b)
		if err != nil {
			t.Fatalf("what was written is not read: %v\n%s", err, b.String())
		}
		if _, err := got.Verify(); err == nil {
			if _, err := again.Verify(); err != nil {
				t.Fatalf("the signature is lost on the way: %v", err)
			}
		}
	})
}

// A region whose pest comes at 230: published 150. n years at two sites, logged
// once a week.
func region(t *testing.T, years int, chosen bool) []Season {
	t.Helper()
	r := rand.New(rand.NewPCG(77, 77))
	var out []Season
	for _, site := range []string{"millrace", "orchard"} {
		var days []weather.Day
		noise := 0.0
		for d := civil.New(2000, 1, 1); d < civil.New(2000+years+1, 1, 1); d++ {
			noise = 0.7*noise + 3*r.NormFloat64()
			x := weather.NewDay(d)
			mean := 10 - 13*math.Cos(2*math.Pi*float64(d.YearDay()-20)/365) + noise
			x.Min, x.Max = mean-5, mean+5
			days = append(days, x)
		}
		for y := 2000; y < 2000+years; y++ {
			out = append(out, Season{Site: site, Year: y, Chosen: chosen, Case: func(m *catalog.Model) (*replay.Case, error) {
				past, err := m.Spec.Run(&model.Input{Days: days, Start: days[0].Date})
				if err != nil {
					return nil, err
				}
				c := learn.CurvesOf(past, civil.MonthDay{Month: 1, Day: 1})[y]
				at, _ := c.Date(230 * (1 + 0.05*math.Sin(float64(y))))
				return &replay.Case{Name: site, Record: &replay.Record{Days: days}, Spec: m.Spec, Start: civil.New(y, 1, 1), From: civil.New(y, 3, 1), To: civil.New(y, 7, 1),
					Event: "first", Threshold: m.Spec.Stages()[0].Value, History: outlook.NewHistory(past), Log: &learn.Season{Year: y, First: at + 2, None: at - 3}}, nil
			}})
		}
	}
	return out
}

func TestOldAndNewSideBySide(t *testing.T) {
	cat := load(t)
	old, _ := cat.Model(worm)
	x := mustNew(t, cat, stage("225"))
	tuned, err := Tuned(cat, x)
	require.NoError(t, err)
	assumed := replay.Assumed{Days: 7, Error: outlook.StatedError(), Versions: 5}
	noise := func(i int) func() float64 { return rand.New(rand.NewPCG(uint64(i), 1)).NormFloat64 }

	c, err := Compare(old, tuned, region(t, 5, false), assumed, replay.Policy{}, noise)
	require.NoError(t, err)
	assert.Len(t, c.Rows, 10)
	assert.Equal(t, 10, c.Seasons)
	assert.Equal(t, 2, c.Sites)
	assert.Less(t, c.New.At[lead].Error, c.Old.At[lead].Error)
	assert.Empty(t, c.Warnings)
	c.Record(&x)
	assert.Contains(t, x.Result, "14 days ahead the median was off by")
	assert.Equal(t, 10, x.Seasons)

	few, err := Compare(old, tuned, region(t, 1, true), assumed, replay.Policy{}, noise)
	require.NoError(t, err)
	all := strings.Join(few.Warnings, "\n")
	assert.Contains(t, all, "only 2 logged seasons: fewer than 5")
	assert.Contains(t, all, "every season was in view when the number was chosen")

	wrong, err := Tuned(cat, mustNew(t, cat, stage("60")))
	require.NoError(t, err)
	worse, err := Compare(old, wrong, region(t, 4, false), assumed, replay.Policy{}, noise)
	require.NoError(t, err)
	assert.Contains(t, strings.Join(worse.Warnings, "\n"), "the new number is no better")

	none, err := Compare(old, tuned, nil, assumed, replay.Policy{}, noise)
	require.NoError(t, err)
	assert.Equal(t, []string{"no season has a log: nothing speaks for this change"}, none.Warnings)
}
