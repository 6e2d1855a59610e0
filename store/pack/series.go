package pack

import (
	"encoding/binary"
	"math"
	"time"

	"plotwarden/weather"
)

// Layout of a series, version 1, before compression:
//
//	varint   first hour, in hours since the Unix epoch
//	uvarint  number of hours n
//	uvarint  number of origins, each: string source, byte kind, time issued,
//	         time fetched, byte corrected
//	uvarint  number of columns, each:
//	           byte variable
//	           runs until n hours are covered: uvarint origin plus one or 0 for
//	           missing, uvarint hours
//	           the known values, see putFloats
//
// Variables are kept by their number in package weather, which therefore may
// gain numbers but never change them.

// Encode packs the grid. Origins that no value uses are left out.
func (g *Grid) Encode() []byte { return seal(kindSeries, g.plain()) }

func (g *Grid) plain() []byte {
	renumber := make([]uint32, len(g.origins)+1)
	var used []weather.Origin
	columns := 0
	for v := range weather.NumVars {
		if g.cols[v] != nil {
			columns++
		}
		for _, p := range g.prov[v] {
			if p != 0 && renumber[p] == 0 {
				used = append(used, g.origins[p-1])
				renumber[p] = uint32(len(used))
			}
		}
	}
	b := binary.AppendVarint(nil, g.start)
	b = binary.AppendUvarint(b, uint64(g.n))
	b = binary.AppendUvarint(b, uint64(len(used)))
	for _, o := range used {
		b = append(putString(b, o.Source), byte(o.Kind))
		b = putTime(putTime(b, o.Issued), o.Fetched)
		b = append(b, flag(o.Corrected))
	}
	b = binary.AppendUvarint(b, uint64(columns))
	known := make([]float64, 0, g.n)
	for v := range weather.NumVars {
		if g.cols[v] == nil {
			continue
		}
		b = append(b, byte(v))
		known = known[:0]
		for i := 0; i < g.n; {
			j := i
			for j < g.n && g.prov[v][j] == g.prov[v][i] {
				j++
			}
			b = binary.AppendUvarint(b, uint64(renumber[g.prov[v][i]]))
			b = binary.AppendUvarint(b, uint64(j-i))
			if g.prov[v][i] != 0 {
				known = append(known, g.cols[v][i:j]...)
			}
			i = j
		}
		b = putFloats(b, known)
	}
	return b
}

// Decode unpacks a blob of Encode. Every failure wraps ErrDamaged, except that
// of a layout which is newer than this program.
func Decode(blob []byte) (*Grid, error) {
	plain, err := open(kindSeries, blob)
	if err != nil {
		return nil, err
	}
	return decodeGrid(plain)
}

func decodeGrid(plain []byte) (*Grid, error) {
	w := &wire{b: plain}
	start := w.varint()
	n := w.count("hours", maxHours)
	if start < -1<<40 || start > 1<<40 {
		w.fail("hour %d is out of range", start)
	}
	g := NewGrid(time.Unix(start*3600, 0), n)
	for range w.count("origins", min(maxOrigins, len(w.b))) {
		o := weather.Origin{Source: w.string(), Kind: weather.Kind(w.byte()), Issued: w.time(), Fetched: w.time(), Corrected: w.byte() == 1}
		if w.err != nil {
			return nil, w.err
		}
		g.origins = append(g.origins, o)
		g.index[o] = uint32(len(g.origins))
	}
	for range w.count("columns", int(weather.NumVars)) {
		if g.decodeColumn(w); w.err != nil {
			return nil, w.err
		}
	}
	if w.err == nil && len(w.b) > 0 {
		w.fail("%d bytes too many", len(w.b))
	}
	if w.err != nil {
		return nil, w.err
	}
	return g, nil
}

func (g *Grid) decodeColumn(w *wire) {
	v := weather.Var(w.byte())
	if w.err == nil && (v >= weather.NumVars || g.cols[v] != nil) {
		w.fail("column %d unknown or twice", v)
	}
	if w.err != nil {
		return
	}
	cols, prov := g.column(v)
	known := 0
	for i := 0; i < g.n; {
		p := w.count("origins", len(g.origins))
		run := w.count("hours", g.n-i)
		if w.err == nil && run == 0 {
			w.fail("an empty run of hours")
		}
		if w.err != nil {
			return
		}
		for j := i; p != 0 && j < i+run; j++ {
			prov[j] = uint32(p)
			known++
		}
		i += run
	}
	xs := w.floats(known)
	if w.err != nil {
		return
	}
	for i := range cols {
		if prov[i] == 0 {
			continue
		}
		if cols[i], xs = xs[0], xs[1:]; math.IsNaN(cols[i]) || math.IsInf(cols[i], 0) {
			w.fail("a known value that is no number")
			return
		}
	}
}

func flag(b bool) byte {
	if b {
		return 1
	}
	return 0
}

// Series packs a whole series.
func Series(s *weather.Series) []byte {
	g := NewGrid(s.Start(), s.Len())
	g.Merge(s)
	return g.Encode()
}

// OpenSeries unpacks what Series packed.
func OpenSeries(blob []byte) (*weather.Series, error) {
	g, err := Decode(blob)
	if err != nil {
		return nil, err
	}
	return g.Series()
}
