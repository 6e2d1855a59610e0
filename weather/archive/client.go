package archive

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/url"
	"regexp"
	"strings"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Config of a Client. The zero addresses are the public ones.
type Config struct {
	AccessURL  string // of the access service
	DlyURL     string // of the folder of fixed-width daily files
	ISDLiteURL string // of the folder of hourly files by year
	Source     source.Options
}

// Client fetches station records. They are large and change once a day: keep
// what it returns.
type Client struct {
	c    Config
	http *source.Client
}

// New returns a client.
func New(c Config) (*Client, error) {
	for at, public := range map[*string]string{
		&c.AccessURL:  "https://www.ncei.noaa.gov/access/services/data/v1",
		&c.DlyURL:     "https://www.ncei.noaa.gov/pub/data/ghcn/daily/all",
		&c.ISDLiteURL: "https://www.ncei.noaa.gov/pub/data/noaa/isd-lite",
	} {
		if *at == "" {
			*at = public
		}
		*at = strings.TrimRight(*at, "/")
	}
	if c.Source.Name == "" {
		c.Source.Name = name
	}
	if c.Source.BodyLimit == 0 {
		c.Source.BodyLimit = source.MaxBodyLimit - 1 // a century of a station with many elements
	}
	h, err := source.New(c.Source)
	if err != nil {
		return nil, fmt.Errorf("noaa archive: %w", err)
	}
	return &Client{c: c, http: h}, nil
}

var (
	stationID = regexp.MustCompile(`^[A-Z]{2}[A-Z0-9]{9}$`)
	isdID     = regexp.MustCompile(`^[0-9A-Z]{6}-[0-9]{5}$`)
)

// Days returns the days from and to, both included, of a station, from the
// access service.
func (c *Client) Days(ctx context.Context, station string, from, to civil.Date) (Daily, error) {
	if err := c.checkStation(station); err != nil {
		return Daily{}, err
	}
	if from.IsZero() || to < from {
		return Daily{}, source.Errorf(c.c.Source.Name, source.BadRequest, "want days in order, not %s to %s", from, to)
	}
	return c.daily(ctx, source.Request{URL: c.c.AccessURL, Query: url.Values{
		"dataset": {"daily-summaries"}, "stations": {station}, "dataTypes": {strings.Join(elements, ",")},
		"startDate": {from.String()}, "endDate": {to.String()}, "format": {"csv"}, "units": {"metric"},
		"includeAttributes": {"true"},
	}}, ReadAccess)
}

// Whole returns the whole record of a station, from its fixed-width file.
func (c *Client) Whole(ctx context.Context, station string) (Daily, error) {
	if err := c.checkStation(station); err != nil {
		return Daily{}, err
	}
	return c.daily(ctx, source.Request{URL: c.c.DlyURL + "/" + station + ".dly"}, ReadDly)
}

func (c *Client) checkStation(station string) error {
	if !stationID.MatchString(station) {
		return source.Errorf(c.c.Source.Name, source.BadRequest, "%q is not a station of GHCN-Daily: eleven capitals and digits, as USW00014839", station)
	}
	return nil
}

func (c *Client) daily(ctx context.Context, req source.Request, read func(io.Reader) (Daily, error)) (Daily, error) {
	var out Daily
	req.Check = func(resp *source.Response) error {
		var err error
		out, err = read(bytes.NewReader(resp.Body))
		return named(c.c.Source.Name, err)
	}
	_, err := c.http.Get(ctx, req)
	return out, err
}

// Hours returns one year of a station, as 725240-14820, from its ISD-Lite file.
// All values are of kind Nearby.
func (c *Client) Hours(ctx context.Context, station string, year int) (*weather.Series, error) {
	if !isdID.MatchString(station) || year < firstYear || year > lastYear {
		return nil, source.Errorf(c.c.Source.Name, source.BadRequest, "%q and %d are not a station and year of ISD-Lite: USAF and WBAN numbers, as 725240-14820", station, year)
	}
	var out *weather.Series
	_, err := c.http.Get(ctx, source.Request{
		URL: fmt.Sprintf("%s/%d/%s-%d.gz", c.c.ISDLiteURL, year, station, year),
		Check: func(resp *source.Response) error {
			body, err := unpack(resp.Body)
			if err != nil {
				return source.Errorf(c.c.Source.Name, source.Truncated, "%w", err)
			}
			out, err = ReadISDLite(bytes.NewReader(body), weather.Origin{Source: c.c.Source.Name + " " + station, Kind: weather.Nearby, Fetched: resp.At})
			return named(c.c.Source.Name, err)
		},
	})
	return out, err
}

// unpack undoes gzip where the transport has not done so already.
func unpack(b []byte) ([]byte, error) {
	if !bytes.HasPrefix(b, []byte{0x1f, 0x8b}) {
		return b, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, fmt.Errorf("unpack: %w", err)
	}
	out, err := io.ReadAll(io.LimitReader(z, source.MaxBodyLimit))
	if err != nil {
		return nil, fmt.Errorf("unpack: %w", err)
	}
	return out, nil
}

// named makes any error one of ours.
func named(src string, err error) error {
	if err == nil || source.CauseOf(err) != "unknown" {
		return err
	}
	return source.Errorf(src, source.BadLine, "%w", err)
}
