package pack

import (
	"errors"
	"time"

	"plotwarden/weather"
)

// Merger packs what a batch of fetches brought. Sites of one grid cell mostly have
// the same hours before and get the same: each of these is worked out once. It is
// for one goroutine, and for one batch: it remembers all that it made.
type Merger struct {
	merged map[merge]outcome
	series map[*weather.Series][]byte
}

type merge struct {
	have  string // the blob
	start int64
	n     int
	in    *weather.Series
}

type outcome struct {
	blob    []byte
	damaged bool
}

// NewMerger returns a Merger that remembers nothing.
func NewMerger() *Merger {
	return &Merger{merged: map[merge]outcome{}, series: map[*weather.Series][]byte{}}
}

// Merge returns have, a blob of Grid.Encode or nil, with the values of in that lie
// in the n hours from start. The result is nil where there are none. A blob that
// cannot be read is damaged and left out: new data must not be kept out by it; the
// caller sets it aside. One of a newer layout is an error.
func (m *Merger) Merge(have []byte, start time.Time, n int, in *weather.Series) (blob []byte, damaged bool, err error) {
	key := merge{string(have), start.Unix() / 3600, n, in}
	if o, ok := m.merged[key]; ok {
		return o.blob, o.damaged, nil
	}
	var o outcome
	grid := NewGrid(start, n)
	if have != nil {
		if grid, err = Decode(have); errors.Is(err, ErrDamaged) {
			grid, err, o.damaged = NewGrid(start, n), nil, true
		}
		if err != nil {
			return nil, false, err
		}
	}
	if grid.Merge(in); !grid.Empty() {
		o.blob = grid.Encode()
	}
	m.merged[key] = o
	return o.blob, o.damaged, nil
}

// Series is the function Series for a series that may come again.
func (m *Merger) Series(s *weather.Series) []byte {
	b, ok := m.series[s]
	if !ok {
		b = Series(s)
		m.series[s] = b
	}
	return b
}
