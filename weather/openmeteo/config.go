package openmeteo

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"time"

	"golang.org/x/time/rate"

	"plotwarden/weather/source"
)

// The public addresses: free, and with a key.
const (
	freeForecast = "https://api.open-meteo.com/v1/forecast"
	freeArchive  = "https://archive-api.open-meteo.com/v1/archive"
	freeEnsemble = "https://ensemble-api.open-meteo.com/v1/ensemble"
	paidForecast = "https://customer-api.open-meteo.com/v1/forecast"
	paidArchive  = "https://customer-archive-api.open-meteo.com/v1/archive"
	paidEnsemble = "https://customer-ensemble-api.open-meteo.com/v1/ensemble"
)

// Attribution is what the licence asks to be shown.
var Attribution = source.Attribution{Text: "Weather data by Open-Meteo.com", URL: "https://open-meteo.com/", Licence: "CC BY 4.0"}

// FreeWindows are the limits of the free service for one address on the
// internet, less a tenth: 600 a minute, 5,000 an hour, 10,000 a day. The
// service has no documented way to ask what is left.
var FreeWindows = []source.Window{{Per: time.Minute, Max: 540}, {Per: time.Hour, Max: 4500}, {Per: 24 * time.Hour, Max: 9000}}

// Config of a Client. The zero Config asks the free public service.
type Config struct {
	ForecastURL, ArchiveURL, EnsembleURL string // whole addresses without a query; empty is the public one
	Key                                  string // of a paid plan; an error at the free addresses

	// Cell is the width, in degrees, of the squares whose places share one
	// request; 0 shares nothing. DefaultCell is near the grid of the coarsest
	// of the models that the service blends. Places more than ElevBand apart in
	// height never share: the service moves temperatures to the height asked.
	Cell     float64
	ElevBand float64 // metres; 0 is DefaultElevBand
	Batch    int     // places in one request; 0 is DefaultBatch

	EnsembleModel string // "" is DefaultEnsembleModel
	EnsembleDays  int    // 1 to 35; 0 is 16, as far as the forecast goes

	// FreeBudget is what clients of the free addresses share: they know us by our
	// address on the internet. Left out, this client has one of its own.
	FreeBudget *source.Budget

	// Source holds what all clients share. Its Name defaults to "open-meteo".
	// A Budget left out is FreeWindows at the free addresses, none elsewhere;
	// one that is given holds for all.
	Source source.Options
}

// Defaults of Config.
const (
	DefaultCell          = 0.1
	DefaultElevBand      = 50
	DefaultBatch         = 50
	DefaultEnsembleModel = "ncep_gefs_seamless"
	maxPastDays          = 92
	maxForecastDays      = 16
	maxEnsembleDays      = 35
	defaultEnsembleDays  = 16
	bodyLimit            = 16 << 20 // 50 places of 108 days are about 8 MiB
)

// Client asks one Open-Meteo service. It is safe for concurrent use.
type Client struct {
	c                           Config
	forecast, archive, ensemble *source.Client
}

// New returns a client. It fails on addresses or limits that cannot work.
func New(c Config) (*Client, error) {
	free := [3]string{freeForecast, freeArchive, freeEnsemble}
	public := free
	if c.Key != "" {
		public = [3]string{paidForecast, paidArchive, paidEnsemble}
	}
	var isFree [3]bool
	for i, at := range []*string{&c.ForecastURL, &c.ArchiveURL, &c.EnsembleURL} {
		if *at == "" {
			*at = public[i]
		}
		u, err := url.Parse(*at)
		if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" || u.RawQuery != "" {
			return nil, fmt.Errorf("open-meteo: %q is not an http or https address without a query", *at)
		}
		isFree[i] = hostOf(free[i]) == strings.ToLower(u.Host)
		if isFree[i] && c.Key != "" {
			return nil, fmt.Errorf("open-meteo: the free address %s refuses a key; leave the address out to use the one for keys", *at)
		}
	}
	if c.Cell < 0 || c.Cell > 1 || c.ElevBand < 0 || c.Batch < 0 || c.Batch > 200 || c.EnsembleDays < 0 || c.EnsembleDays > maxEnsembleDays {
		return nil, fmt.Errorf("open-meteo: want a cell of 0 to 1 degree, a height band of 0 m or more, a batch of 0 to 200 places and 0 to %d ensemble days", maxEnsembleDays)
	}
	setDefault(&c.ElevBand, DefaultElevBand)
	setDefault(&c.Batch, DefaultBatch)
	setDefault(&c.EnsembleModel, DefaultEnsembleModel)
	setDefault(&c.EnsembleDays, defaultEnsembleDays)
	setDefault(&c.Source.Name, "open-meteo")
	setDefault(&c.Source.BodyLimit, bodyLimit)
	if c.Source.Explain == nil {
		c.Source.Explain = explain
	}
	limited := c.Source // the free addresses share one budget: they know us by our address
	if limited.Budget == nil {
		if limited.Budget = c.FreeBudget; limited.Budget == nil {
			limited.Budget = source.NewBudget(FreeWindows, nil)
		}
		setDefault(&limited.Rate, rate.Limit(8)) // below 600 a minute
		setDefault(&limited.Burst, freeBurst)
	}
	out := &Client{c: c}
	for i, m := range []**source.Client{&out.forecast, &out.archive, &out.ensemble} {
		o := c.Source
		if isFree[i] {
			o = limited
		}
		var err error
		if *m, err = source.New(o); err != nil {
			return nil, fmt.Errorf("open-meteo: %w", err)
		}
	}
	return out, nil
}

// Name returns the source's name.
func (c *Client) Name() string { return c.c.Source.Name }

// Attribution returns what the licence asks to be shown.
func (c *Client) Attribution() source.Attribution { return Attribution }

// explain reads the reason and, from its words, the wait: the service sends no
// Retry-After.
func explain(status int, body []byte) (string, time.Duration) {
	var e struct {
		Reason string `json:"reason"`
	}
	if json.Unmarshal(body, &e) != nil || status != 429 {
		return e.Reason, 0
	}
	switch words := strings.ToLower(e.Reason); {
	case strings.Contains(words, "one minute"):
		return e.Reason, time.Minute
	case strings.Contains(words, "next hour"):
		return e.Reason, time.Hour
	case strings.Contains(words, "tomorrow"):
		return e.Reason, 24 * time.Hour
	case strings.Contains(words, "concurrent"):
		return e.Reason, 2 * time.Second
	}
	return e.Reason, 0
}

func hostOf(at string) string {
	u, err := url.Parse(at)
	if err != nil {
		return ""
	}
	return strings.ToLower(u.Host)
}

func setDefault[T comparable](p *T, v T) {
	var zero T
	if *p == zero {
		*p = v
	}
}
