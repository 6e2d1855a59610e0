package garden

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
)

func recordIDs(rs []Record) (ids []string) {
	for _, r := range rs {
		ids = append(ids, r.ID)
	}
	return ids
}

func TestCorrectionsKeepTheTrail(t *testing.T) {
	at := time.Date(2026, 6, 10, 23, 0, 0, 0, time.UTC)
	log := []Record{
		{ID: "a", Start: at, Entered: at},
		{ID: "b", Start: at.Add(time.Hour), Entered: at},
		{ID: "a2", Replaces: "a", Why: "wrong bed", Start: at, Entered: at.Add(time.Hour)},
		{ID: "a3", Replaces: "a2", Why: "wrong day", Start: at.AddDate(0, 0, -1), Entered: at.Add(2 * time.Hour)},
		{ID: "b2", Replaces: "b", Why: "not done", Withdrawn: true, Start: at, Entered: at.Add(time.Hour)},
		{ID: "c2", Replaces: "lost", Why: "x", Start: at.AddDate(0, 0, 1)},
	}
	assert.Equal(t, []string{"a3", "c2"}, recordIDs(Current(log)), "a correction of a lost record still stands")
	assert.Equal(t, []string{"a", "a2", "a3"}, recordIDs(Trail(log, "a2")))
	assert.Equal(t, "a3", SupersededBy(log, "a"))
	assert.Empty(t, SupersededBy(log, "a3"))
	assert.Empty(t, Trail(log, "nothing"))
	p := CheckRecords(log)
	require.Len(t, p, 1)
	assert.Equal(t, `record "c2" replaces "lost", which is not in the log`, p[0].Message)
	assert.Same(t, &log[5].Replaces, p[0].At)
}

func TestCheckRecords(t *testing.T) {
	at, bbch := time.Date(2026, 6, 10, 23, 0, 0, 0, time.UTC), 100
	var got []string
	for _, p := range CheckRecords([]Record{
		{ID: "x", Replaces: "y", Start: at},
		{ID: "y", Replaces: "x", Why: "w", Start: at},
		{ID: "z", Start: at, End: at.Add(-time.Minute), BBCH: &bbch},
		{ID: "z"},
	}) {
		got = append(got, p.Message)
	}
	assert.Equal(t, []string{
		`record "x" replaces itself by way of others`,
		`record "x" corrects "y" without saying why`,
		`record "y" replaces itself by way of others`,
		"bbch 100 is outside 0 to 99",
		"the work ends before it starts",
		`record id "z" is taken already; ids must differ`,
		"record has no start; write the time at which the work began",
	}, got)
}

// However corrections come in, one record of each trail stands at most, and the
// order in which they were stored does not matter.
func TestCurrentDoesNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		var log []Record
		for i := range n {
			r := Record{ID: fmt.Sprint("r", i), Entered: time.Unix(int64(i/2), 0), Start: time.Unix(int64(i), 0)}
			if i > 0 && rapid.Bool().Draw(t, "corrects") {
				r.Replaces = fmt.Sprint("r", rapid.IntRange(0, i-1).Draw(t, "which"))
				r.Withdrawn = rapid.Bool().Draw(t, "withdrawn")
			}
			log = append(log, r)
		}
		want := recordIDs(Current(log))
		turned := append([]Record(nil), log...)
		for i, j := range rapid.Permutation(rangeOf(n)).Draw(t, "order") {
			turned[i] = log[j]
		}
		if got := recordIDs(Current(turned)); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Fatalf("%v, want %v", got, want)
		}
		roots := map[string]bool{}
		for _, id := range want {
			r := Trail(log, id)[0].ID
			if roots[r] {
				t.Fatalf("two records of %s stand", r)
			}
			roots[r] = true
		}
	})
}

func rangeOf(n int) (out []int) {
	for i := range n {
		out = append(out, i)
	}
	return out
}

func TestFillAddsNothingThatIsNotTheGrowers(t *testing.T) {
	site := &Site{ID: "north", Zone: "America/New_York", Plots: []Plot{{ID: "a", Plantings: []Planting{{ID: "tom", Crop: "tomato", Cultivar: "red"}}}}}
	three, four := 3, 4
	m := &Material{ID: "copper", Ingredient: "copper octanoate", Kind: KindCopper, PreHarvestDays: &three, ReEntryHours: &four}
	// 23:30 UTC is 19:30 in New York on the same date.
	r := Record{ID: "r", Planting: "tom", Start: time.Date(2026, 6, 10, 23, 30, 0, 0, time.UTC), Product: "the blue bottle"}
	r.Fill(site, m)
	assert.Equal(t, "a", r.Plot)
	assert.Equal(t, "LYPES", r.EPPO)
	assert.Equal(t, "the blue bottle", r.Product, "what the grower wrote stays")
	assert.Equal(t, civil.New(2026, 6, 13), r.HarvestFrom)
	assert.Equal(t, time.Date(2026, 6, 11, 3, 30, 0, 0, time.UTC), r.ReEntry)
	assert.Zero(t, r.Label.SeasonMax)

	bare := Record{ID: "r", Planting: "tom", Start: r.Start, Product: "mix"}
	bare.Fill(site, nil)
	assert.True(t, bare.HarvestFrom.IsZero())
	assert.True(t, bare.ReEntry.IsZero())
	assert.Nil(t, bare.Label.PreHarvestDays)

	back := RecordOf(r.Treatment(), site, []Material{*m})
	assert.Equal(t, r.HarvestFrom, back.HarvestFrom)
	assert.Equal(t, "copper octanoate", back.Product)
	assert.True(t, back.Sprayed())
	assert.False(t, (&Record{Method: "by hand"}).Sprayed())
}

func TestRecordJSONRoundTrip(t *testing.T) {
	zero, x := 0, 2.5
	r := Record{ID: "r", Site: "s", Planting: "p", Start: time.Date(2026, 6, 10, 23, 30, 0, 0, time.UTC), Amount: &x,
		Label: LabelValues{PreHarvestDays: &zero}, Weather: &HourWeather{Temp: &x}, Reason: ByModel, Result: Better, Seen: Seen{Bloom: NoBloom}}
	b, err := json.Marshal(r)
	require.NoError(t, err)
	var back Record
	require.NoError(t, json.Unmarshal(b, &back))
	assert.Equal(t, r, back)
	assert.NotContains(t, string(b), "reEntry", "not known is not written")
}

func TestRecordsCSV(t *testing.T) {
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	zero, cold := 0, Degrees(-4)
	r := Record{ID: "r", Start: time.Date(2026, 6, 11, 2, 30, 0, 0, time.UTC), Note: `=HYPERLINK("x")`, Target: "spots, \"brown\"\non leaves",
		Label: LabelValues{PreHarvestDays: &zero}, Seen: Seen{Temp: &cold}}
	b, err := RecordsCSV([]Record{r}, loc)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 2)
	got := map[string]string{}
	for i, k := range rows[0] {
		require.NotContains(t, got, k, "two columns of one name")
		got[k] = rows[1][i]
	}
	for k, want := range map[string]string{
		"date": "2026-06-10", "start": "2026-06-10T22:30-04:00", "end": "", "label_pre_harvest_days": "0", "label_season_max": "",
		"temp_seen_c": "-4", "temp_c": "", "note": `'=HYPERLINK("x")`, "target": "spots, \"brown\"\non leaves", "withdrawn": "",
	} {
		assert.Equal(t, want, got[k], k)
	}
	assert.Len(t, rows[0], len(RecordColumns()))
}

// Elements and counts: record rules (US federal rule as read
// with extension of Idaho, Minnesota, Maryland/Florida; EU 2023/564), confirmed.
func TestGapsNameWhatARuleAsksFor(t *testing.T) {
	titles := map[string]bool{}
	for _, c := range RecordColumns() {
		titles[c.Key] = true
	}
	for _, rule := range RecordRules() {
		for _, k := range rule.Keys {
			assert.True(t, titles[k], "%s asks for %s, which is no column", rule.Name, k)
		}
	}
	area := 2.0
	r := Record{Product: "p", Registered: "1-2", Amount: &area, AmountUnit: "g", Area: area, AreaUnit: "m2", Crop: "tomato", Plot: "a", By: "wren", Start: time.Unix(0, 0)}
	assert.Equal(t, []string{"Certificate"}, r.Gaps(RecordRules()[0]))
	assert.Equal(t, []string{"Place", "Crop, EPPO code (from memory)", "Growth stage (BBCH)"}, r.Gaps(RecordRules()[1]))
}

func TestTreatmentsOfLeavesOutTestsAndWhatWasCorrected(t *testing.T) {
	at := time.Date(2026, 6, 10, 23, 0, 0, 0, time.UTC)
	ts := TreatmentsOf([]Record{
		{ID: "a", Start: at, Product: "copper"},
		{ID: "b", Start: at, Product: "copper", Test: true},
		{ID: "a2", Replaces: "a", Why: "it was sulfur", Start: at, Product: "sulfur"},
	})
	require.Len(t, ts, 1)
	assert.Equal(t, "sulfur", ts[0].Material)
}
