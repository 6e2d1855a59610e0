package places

import (
	"bufio"
	"bytes"
	"compress/gzip"
	_ "embed"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"

	"plotwarden/weather/source"
)

//go:generate node generate.mjs

// Attributions is what the licences of the data ask to be shown.
var Attributions = []source.Attribution{
	{Text: "Places from GeoNames", URL: "https://www.geonames.org/", Licence: "CC BY 4.0"},
	{Text: "Time zone boundaries (c) OpenStreetMap contributors", URL: "https://www.openstreetmap.org/copyright", Licence: "ODbL 1.0"},
}

// Place is a town or village.
type Place struct {
	Name       string
	Region     string // the country's own code, as VT; a number in many countries
	Country    string // ISO 3166 code, as US
	Lat, Lon   float64
	Population int
	Zone       string // IANA time zone
}

// String returns the name with region and country: "Burlington, VT, United States".
func (p Place) String() string {
	parts := []string{p.Name}
	if p.Region != "" && strings.Trim(p.Region, "0123456789") != "" {
		parts = append(parts, p.Region)
	}
	return strings.Join(append(parts, p.CountryName()), ", ")
}

// CountryName returns the country's name in English, or its code when unknown.
func (p Place) CountryName() string {
	if n, ok := load().countries[p.Country]; ok {
		return n
	}
	return p.Country
}

//go:embed places.txt.gz
var packed []byte

//go:embed countries.tab
var countryTable string

type data struct {
	places    []Place
	folded    []string // names of places without marks, in lower case
	countries map[string]string
}

// load unpacks the data at first use: about 30 MB for as long as the program
// runs.
var load = sync.OnceValue(func() *data {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		panic(fmt.Sprintf("places: the built-in data: %v", err)) // a test reads them all
	}
	d, err := read(z)
	if err != nil {
		panic(fmt.Sprintf("places: the built-in data: %v", err))
	}
	d.countries = map[string]string{}
	for line := range strings.Lines(countryTable) {
		if code, name, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok && !strings.HasPrefix(code, "#") {
			d.countries[code] = name
		}
	}
	return d
})

func read(r io.Reader) (*data, error) {
	d := &data{}
	var head Place
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		f := strings.Split(sc.Text(), "\t")
		if len(f) != 4 {
			return nil, fmt.Errorf("line %d has %d fields, want 4", n, len(f))
		}
		if f[0] == "=" {
			head = Place{Country: f[1], Region: f[2], Zone: f[3]}
			continue
		}
		p := head
		lat, err1 := strconv.Atoi(f[1])
		lon, err2 := strconv.Atoi(f[2])
		people, err3 := strconv.Atoi(f[3])
		if err1 != nil || err2 != nil || err3 != nil || p.Zone == "" {
			return nil, fmt.Errorf("line %d, %q, is not a place", n, sc.Text())
		}
		p.Name, p.Lat, p.Lon, p.Population = f[0], float64(lat)/1000, float64(lon)/1000, people
		d.places = append(d.places, p)
		d.folded = append(d.folded, fold(p.Name))
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("read places: %w", err)
	}
	return d, nil
}
