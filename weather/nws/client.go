package nws

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"plotwarden/weather/source"
)

// Attribution is shown beside the data.
var Attribution = source.Attribution{Text: "Forecast and reports: US National Weather Service", URL: "https://www.weather.gov/", Licence: "public domain"}

// Config of a Client.
type Config struct {
	BaseURL string        // "" is the public service
	MaxAge  time.Duration // a forecast issued longer ago is stale, whatever the status; 0 is DefaultMaxAge
	Cache   int           // bytes of answers kept; 0 is 32 MiB
	Source  source.Options
}

// Defaults. Offices issue at least twice a day; the service has been seen to
// hand out copies of 88 hours' age with status 200.
const (
	DefaultMaxAge = 36 * time.Hour
	pointDays     = 7 // the grid of a place changes seldom
)

// Client asks one service. It is safe for concurrent use.
type Client struct {
	c     Config
	http  *source.Client
	cache *source.Cache

	mu     sync.Mutex
	points map[string]point
}

type point struct {
	Point
	at time.Time
}

// Point is where a place lies in the service's grid.
type Point struct {
	Office string // three or four letters
	X, Y   int
	Zone   string // IANA time zone
}

// New returns a client. The service refuses a User-Agent without a contact.
func New(c Config) (*Client, error) {
	if c.BaseURL == "" {
		c.BaseURL = "https://api.weather.gov"
	}
	c.BaseURL = strings.TrimRight(c.BaseURL, "/")
	if c.Source.Name == "" {
		c.Source.Name = "nws"
	}
	if c.MaxAge == 0 {
		c.MaxAge = DefaultMaxAge
	}
	if c.Cache == 0 {
		c.Cache = 32 << 20
	}
	if c.Source.Base == 0 {
		c.Source.Base = 5 * time.Second // its own advice
	}
	if c.Source.Explain == nil {
		c.Source.Explain = explain
	}
	if err := source.NeedsContact(c.Source.UserAgent); err != nil {
		return nil, fmt.Errorf("nws: %w", err)
	}
	h, err := source.New(c.Source)
	if err != nil {
		return nil, fmt.Errorf("nws: %w", err)
	}
	return &Client{c: c, http: h, cache: source.NewCache(c.Cache), points: map[string]point{}}, nil
}

// Name returns the source's name.
func (c *Client) Name() string { return c.c.Source.Name }

// explain reads an application/problem+json body.
func explain(_ int, body []byte) (string, time.Duration) {
	var p struct{ Title, Detail string }
	if json.Unmarshal(body, &p) != nil || p.Title == "" {
		return "", 0
	}
	if p.Detail == "" {
		return p.Title, 0
	}
	return p.Title + ": " + p.Detail, 0
}

// get asks for a path; use reads a good body.
func (c *Client) get(ctx context.Context, path string, use func(*source.Response) error) error {
	_, err := c.http.Cached(ctx, c.cache, source.Request{
		URL: c.c.BaseURL + path, Header: map[string]string{"Accept": "application/geo+json"}, Check: use,
	})
	return err
}

var officeName = regexp.MustCompile(`^[A-Z]{3,4}$`)

// Point returns where a place lies in the grid. It is kept for a week.
func (c *Client) Point(ctx context.Context, p source.Place) (Point, error) {
	if err := p.Validate(); err != nil {
		return Point{}, source.Errorf(c.Name(), source.BadRequest, "%w", err)
	}
	key := source.Coordinate(p.Lat) + "," + source.Coordinate(p.Lon)
	c.mu.Lock()
	had, ok := c.points[key]
	c.mu.Unlock()
	now := c.http.Options().Now()
	if ok && now.Sub(had.at) < pointDays*24*time.Hour {
		return had.Point, nil
	}
	var out Point
	err := c.get(ctx, "/points/"+key, func(r *source.Response) error {
		var err error
		out, err = decodePoint(c.Name(), r.Body)
		return err
	})
	if err != nil {
		return Point{}, err
	}
	c.mu.Lock()
	c.points[key] = point{out, now}
	c.mu.Unlock()
	return out, nil
}

func (c *Client) forget(p source.Place) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.points, source.Coordinate(p.Lat)+","+source.Coordinate(p.Lon))
}

// at runs do with a place's point. The service moves places to other grids now
// and then, and then knows the old one no more: so on 404 it looks once again.
func (c *Client) at(ctx context.Context, p source.Place, do func(Point) error) error {
	for try := 0; ; try++ {
		pt, err := c.Point(ctx, p)
		if err != nil {
			return err
		}
		err = do(pt)
		var e *source.Error
		if try > 0 || !errors.As(err, &e) || e.Status != http.StatusNotFound {
			return err
		}
		c.forget(p)
	}
}

func decodePoint(name string, body []byte) (Point, error) {
	var a struct {
		Properties struct {
			GridID   string   `json:"gridId"`
			GridX    *loosely `json:"gridX"`
			GridY    *loosely `json:"gridY"`
			TimeZone string   `json:"timeZone"`
		} `json:"properties"`
	}
	if err := source.DecodeJSON(name, body, &a); err != nil {
		return Point{}, err
	}
	p := a.Properties
	if !officeName.MatchString(p.GridID) || p.GridX == nil || p.GridY == nil {
		return Point{}, source.Errorf(name, source.NoData, "the service has no forecast grid for this place (office %q); it covers the United States only", p.GridID)
	}
	return Point{Office: p.GridID, X: int(*p.GridX), Y: int(*p.GridY), Zone: p.TimeZone}, nil
}

// loosely is a whole number that comes as a number or as text.
type loosely int

// UnmarshalJSON reads 58 and "58".
func (l *loosely) UnmarshalJSON(b []byte) error {
	n, err := strconv.Atoi(strings.Trim(string(b), `"`))
	if err != nil || n < 0 || n > 1e6 {
		return fmt.Errorf("%q is not a grid number", b)
	}
	*l = loosely(n)
	return nil
}
