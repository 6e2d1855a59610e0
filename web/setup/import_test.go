package setup

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/web/page"
)

const at = "/setup/site/mill-lane/import"

func TestImportPlantings(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	text := "Bed;Vegetable;Variety;Planted;Pulled;Neighbour\nBed 1;Tomatoes;Long Red;5/20/2026;;Yew\nBack;kalee;;5/1/2026;;\nBack;Kale;;5/1/2026;6/1/2026;\nBed 2;pea;;13/13/2026;;\n"
	w := s.post(at, "kind", "plantings", "order", "mdy", "text", text)
	require.Equal(t, http.StatusOK, w.Code)
	body := w.Body.String()
	for _, want := range []string{"Nothing is kept yet", "Keep 2 rows", "Line 3", "did you mean &#34;kale&#34;", "Line 5", "is not a day of the form", "New beds: Back", "stay in your file only: Neighbour"} {
		assert.Contains(t, body, want)
	}
	assert.Empty(t, s.ground.Now().Site("mill-lane").Plots[0].Plantings)
	w = s.post(at, "do", "keep", "kind", "plantings", "order", "mdy", "text", text)
	require.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, w.Body.String(), "2 rows were kept")
	assert.Contains(t, w.Body.String(), "Bed 2;pea;;13/13/2026;;", "what was left out is there to be mended")
	site := s.ground.Now().Site("mill-lane")
	require.Len(t, site.Plots, 3)
	assert.Equal(t, []garden.Planting{{ID: "tomato-2026", Crop: "tomato", Cultivar: "Long Red", PlantedOut: civil.New(2026, 5, 20)}}, site.Plots[0].Plantings)
	assert.Equal(t, "Back", site.Plots[2].Name)
	assert.Equal(t, civil.New(2026, 6, 1), site.Plots[2].Plantings[0].Removed)
	// The same table again counts nothing twice.
	w = s.post(at, "kind", "plantings", "order", "mdy", "text", text)
	assert.Contains(t, w.Body.String(), "2 rows are there already")
	assert.NotContains(t, w.Body.String(), "Keep 2 rows")
}

func TestImportLooksAndPastLogs(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "tomato", "plantedOut", "2026-05-20")
	looks := "date,pest,found,bed,count,percent,weather\n2026-06-01,Late blight,yes,Bed 1,3,,after rain\n2026-06-02,late-blight,no,bed-2,,0,\n2026-06-03,gremlins,yes,,,,\n2027-01-01,late-blight,no,,,,\n"
	w := s.post(at, "do", "keep", "kind", "looks", "text", looks)
	require.Equal(t, http.StatusOK, w.Code, w.Body.String())
	assert.Contains(t, w.Body.String(), "2 rows were kept")
	assert.Contains(t, w.Body.String(), "gremlins")
	assert.Contains(t, w.Body.String(), "still to come")
	seen, err := s.store.Scoutings(t.Context(), "mill-lane")
	require.NoError(t, err)
	require.Len(t, seen, 2)
	assert.Equal(t, "weather: after rain", seen[0].Note, "what is no field goes into the note")
	assert.Equal(t, 3, *seen[0].Count)
	assert.Equal(t, "bed-1", seen[0].Plot)
	assert.Equal(t, garden.None, seen[1].Finding)
	s.post(at, "do", "keep", "kind", "looks", "text", looks)
	seen, _ = s.store.Scoutings(t.Context(), "mill-lane")
	assert.Len(t, seen, 2, "sent twice, kept once")

	w = s.post(at, "kind", "arrivals", "text", "year,date\n2024,2024-07-09\n")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "Choose the threat")
	w = s.post(at, "do", "keep", "kind", "arrivals", "threat", "squash-vine-borer", "text", "year,date,none\n2023,07-02,06-25\n2024,2024-07-09,\n2025,,\n2022,2019-07-01,\n")
	assert.Contains(t, w.Body.String(), "3 rows were kept")
	assert.Contains(t, w.Body.String(), "does not lie in the season 2022")
	seen, _ = s.store.Scoutings(t.Context(), "mill-lane")
	assert.Len(t, seen, 5)
	assert.Equal(t, civil.New(2023, 6, 25), seen[0].Date)
	assert.Equal(t, garden.None, seen[0].Finding)
}

func TestImportTreatments(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "tomato", "plantedOut", "2026-05-20")
	w := s.post(at, "do", "keep", "kind", "treatments", "text", "at,planting,product,active ingredient,against\n2026-06-01 19:30,tomato,Copper,copper octanoate,late blight\n2026-06-01,squash,Soap,,\n")
	assert.Contains(t, w.Body.String(), "1 rows were kept")
	assert.Contains(t, w.Body.String(), "No one planting is meant")
	done, err := s.store.Treatments(t.Context(), "mill-lane")
	require.NoError(t, err)
	require.Len(t, done, 1)
	assert.Equal(t, "2026-06-01T23:30:00Z", done[0].At.UTC().Format("2006-01-02T15:04:05Z07:00"))
	assert.Equal(t, []string{"late-blight"}, done[0].Threats)
	assert.Zero(t, done[0].PreHarvestDays)
}

func TestImportAFileAndOtherColumns(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	require.NoError(t, m.WriteField(page.CheckField, "secret"))
	require.NoError(t, m.WriteField("kind", "plantings"))
	f, err := m.CreateFormFile("file", "beds.csv")
	require.NoError(t, err)
	_, err = f.Write([]byte("\ufeffwhere,what,when\r\nBed 1,kale,2026-05-01\r\n"))
	require.NoError(t, err)
	require.NoError(t, m.Close())
	r := httptest.NewRequest(http.MethodPost, at, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, r)
	require.Equal(t, http.StatusOK, w.Code, w.Body.String())
	assert.Contains(t, w.Body.String(), "Say which column is: Bed, Crop")
	w = s.post(at, "kind", "plantings", "text", "where,what,when\nBed 1,kale,2026-05-01\n", "col-plot", "0", "col-crop", "1", "col-plantedOut", "2")
	assert.Contains(t, w.Body.String(), "Keep 1 rows")
	assert.Equal(t, http.StatusUnprocessableEntity, s.post(at, "kind", "plantings", "text", "   ").Code)
	assert.Contains(t, s.post(at, "kind", "plantings", "text", "only,a,heading").Body.String(), "no row under its heading")
}

// Whatever is sent, every row is read or named by its line, and what is read passes
// the checks of the garden.
func FuzzIntake(f *testing.F) {
	f.Add("plantings", "bed,crop,planted\nA,kale,2026-01-01\n", "ymd")
	f.Add("looks", "date;pest;found\n1.2.2026;late-blight;none\n\"x", "dmy")
	f.Add("arrivals", "year\tdate\n2024\t07-09\n", "mdy")
	f.Add("treatments", "at,planting\n2026-06-01T19:30,kale\n", "")
	cat, err := catalog.Load()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, kind, text, order string) {
		tab, _, err := readTable(text)
		if err != nil || columnsOf[kind] == nil {
			return
		}
		site := &garden.Site{ID: "north", Latitude: 44, Longitude: -73, Zone: "America/New_York", Plots: []garden.Plot{{ID: "a", Plantings: []garden.Planting{{ID: "kale", Crop: "kale", Sown: civil.New(2020, 1, 1)}}}}}
		in := &intake{kind: kind, order: order, site: site, threat: "late-blight", cat: cat, today: civil.New(2026, 6, 4), at: guess(kind, tab.head)}
		res := in.read(tab, taken{map[string]bool{"a": true}, map[string]bool{"kale": true}})
		n := res.Plantings + len(res.Scoutings) + len(res.Treatments) + len(res.Faults) + res.Again
		if n < len(tab.rows) {
			t.Fatalf("%d rows, %d accounted for", len(tab.rows), n)
		}
		g := garden.Garden{Sites: []garden.Site{*site}, Scoutings: res.Scoutings, Treatments: res.Treatments}
		if res.Site != nil {
			g.Sites[0] = *res.Site
		}
		problems, _ := g.Validate(garden.Known{Threats: cat.IDs()})
		for _, p := range problems {
			t.Fatal(p.Message)
		}
		var rows []tableRow
		for _, x := range res.Faults {
			rows = append(rows, x.Row)
		}
		if len(rows) > 0 && strings.TrimSpace(tab.text(rows)) == "" {
			t.Fatal("rows left out are lost")
		}
	})
}
