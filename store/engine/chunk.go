package engine

import (
	"fmt"
	"time"
)

// ChunkHours is how many hours of weather one row holds: a forecast touches two or
// three rows, and a season is about twenty.
const ChunkHours = 240

// ChunkOf is the row in which an instant's hour lies.
func ChunkOf(t time.Time) int64 {
	h := t.Unix() / 3600
	c := h / ChunkHours
	if h%ChunkHours < 0 {
		c--
	}
	return c
}

// ChunkStart is the first hour of a row.
func ChunkStart(c int64) time.Time { return time.Unix(c*ChunkHours*3600, 0).UTC() }

// Span is a time span of weather in whole hours: the first one, and how many. It
// refuses spans that are backwards or over a century.
func Span(from, to time.Time) (time.Time, int, error) {
	from = from.UTC().Truncate(time.Hour)
	n := int(to.Sub(from) / time.Hour)
	if to.Sub(from)%time.Hour > 0 {
		n++
	}
	if to.Before(from) || n > 100*366*24 {
		return from, 0, fmt.Errorf("the span from %v to %v is backwards or over a century", from, to)
	}
	return from, n, nil
}

// MaxWait is the longest that a message waits for its next attempt. A longer wait
// can only come from a clock that was wrong when it was written.
const MaxWait = 48 * time.Hour
