package metno

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Attribution is what the licence asks to be shown.
var Attribution = source.Attribution{Text: "Data from MET Norway", URL: "https://api.met.no/", Licence: "CC BY 4.0"}

// DefaultMaxAge is the age from which a forecast is stale; the service makes a
// new one every few hours.
const DefaultMaxAge = 24 * time.Hour

// Config of a Client.
type Config struct {
	URL    string        // whole address without a query; "" is the public service
	MaxAge time.Duration // 0 is DefaultMaxAge
	Cache  int           // bytes of answers kept; 0 is 64 MiB, about 600 places
	Source source.Options
}

// Client asks one service. It is safe for concurrent use.
type Client struct {
	c     Config
	http  *source.Client
	cache *source.Cache
}

// New returns a client. The service refuses a User-Agent without a contact.
func New(c Config) (*Client, error) {
	if c.URL == "" {
		c.URL = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
	}
	if c.MaxAge == 0 {
		c.MaxAge = DefaultMaxAge
	}
	if c.Cache == 0 {
		c.Cache = 64 << 20
	}
	if c.Source.Name == "" {
		c.Source.Name = "met-norway"
	}
	if c.Source.Rate == 0 { // 20 a second are allowed for all who use one program
		c.Source.Rate, c.Source.Burst = 5, 5
	}
	if c.Source.Explain == nil {
		c.Source.Explain = explain
	}
	if err := source.NeedsContact(c.Source.UserAgent); err != nil {
		return nil, fmt.Errorf("met norway: %w", err)
	}
	h, err := source.New(c.Source)
	if err != nil {
		return nil, fmt.Errorf("met norway: %w", err)
	}
	return &Client{c: c, http: h, cache: source.NewCache(c.Cache)}, nil
}

// explain makes being throttled the end of asking for a while, also where the
// service does not say for how long: its terms are to stop at once.
func explain(status int, _ []byte) (string, time.Duration) {
	if status == http.StatusTooManyRequests {
		return "", 10 * time.Minute
	}
	return "", 0
}

// Name returns the source's name.
func (c *Client) Name() string { return c.c.Source.Name }

// Result is the forecast of one place.
type Result struct {
	Place       source.Place
	Series      *weather.Series
	Issued      time.Time // when the institute made it
	Missing     []string  // values that we can do without and did not get
	Deprecated  bool      // the service says that this version will end
	Attribution source.Attribution
}

// Forecast returns the hours of a place. Until the service's own expiry the
// answer kept is given again, without a request.
//
// The first two or three days come by the hour, the rest by six hours. Between
// two of those, the state of the air is drawn as a straight line and marked
// Interpolated; rain of six hours is spread evenly.
func (c *Client) Forecast(ctx context.Context, now time.Time, p source.Place) (Result, error) {
	out := Result{Place: p, Attribution: Attribution}
	if err := p.Validate(); err != nil {
		return out, source.Errorf(c.Name(), source.BadRequest, "%w", err)
	}
	q := url.Values{"lat": {source.Coordinate(p.Lat)}, "lon": {source.Coordinate(p.Lon)}}
	if !math.IsNaN(p.Elev) {
		q.Set("altitude", strconv.Itoa(int(math.Round(p.Elev))))
	}
	_, err := c.http.Cached(ctx, c.cache, source.Request{URL: c.c.URL, Query: q, Check: func(r *source.Response) error {
		got, err := c.decode(r.Body, p, now, r.At)
		if err != nil {
			return err
		}
		got.Deprecated = r.Status == http.StatusNonAuthoritativeInfo
		out = got
		return nil
	}})
	return out, err
}
