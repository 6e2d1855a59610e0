package archive

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"plotwarden/civil"
)

// ReadAccess reads CSV of the access service, data set daily-summaries, asked
// for with units=metric: a header with STATION, DATE and elements, then numbers
// in C, mm and m/s, padded with blanks. Values that failed a check are not in
// it, unless the flags were asked for (columns TMAX_ATTRIBUTES and so on,
// "measurement,quality,source").
func ReadAccess(r io.Reader) (Daily, error) {
	b := newBuilder()
	c := csv.NewReader(r)
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		return b.finish()
	}
	if err != nil {
		return Daily{}, badLine(1, "%w", err)
	}
	head[0] = strings.TrimPrefix(head[0], "\ufeff")
	station, day := slices.Index(head, "STATION"), slices.Index(head, "DATE")
	if station < 0 || day < 0 {
		return Daily{}, badLine(1, "no columns STATION and DATE in %q", strings.Join(head, ","))
	}
	for {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return b.finish()
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			return Daily{}, badLine(broken.Line, "%w", broken.Err)
		}
		if err != nil {
			return Daily{}, fmt.Errorf("read the daily record: %w", err)
		}
		n, _ := c.FieldPos(0)
		if err := b.of(row[station]); err != nil {
			return Daily{}, badLine(n, "%w", err)
		}
		date, err := civil.Parse(strings.TrimSpace(row[day]))
		if err != nil {
			return Daily{}, badLine(n, "%w", err)
		}
		if y := date.Year(); y < firstYear || y > lastYear {
			return Daily{}, badLine(n, "%s is not a date of a weather record", date)
		}
		for _, e := range elements {
			i := slices.Index(head, e)
			if i < 0 || strings.TrimSpace(row[i]) == "" {
				continue
			}
			x, err := number(row[i])
			if err != nil {
				return Daily{}, badLine(n, "%s: %w", e, err)
			}
			mflag, qflag := byte(' '), byte(' ')
			if j := slices.Index(head, e+"_ATTRIBUTES"); j >= 0 {
				flags := append(strings.Split(row[j], ","), "", "")
				mflag, qflag = flag(flags[0]), flag(flags[1])
			}
			b.put(date, e, x, mflag, qflag)
		}
	}
}

func number(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return x, nil
}
