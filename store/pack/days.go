package pack

import (
	"encoding/binary"
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/weather"
)

// Layout of days, version 1, before compression: uvarint count; then columns:
// varint date minus date before; uvarint hours; byte kind; then for each of
// lowest, highest, rain, soil, wind: a bit a day, set where known, and the known
// values as putFloats writes them.

const maxDays = 1 << 17

// Days packs days, which must be in order of date, each date once.
func Days(days []weather.Day) []byte {
	b := binary.AppendUvarint(nil, uint64(len(days)))
	last := civil.Date(0)
	for _, d := range days {
		b = binary.AppendVarint(b, int64(d.Date-last))
		last = d.Date
	}
	for _, d := range days {
		b = binary.AppendUvarint(b, uint64(d.Hours))
	}
	for _, d := range days {
		b = append(b, byte(d.Kind))
	}
	for _, f := range dayFields {
		bits := make([]byte, (len(days)+7)/8)
		var known []float64
		for i := range days {
			if x := *f(&days[i]); !math.IsNaN(x) {
				bits[i/8] |= 1 << (i % 8)
				known = append(known, x)
			}
		}
		b = putFloats(append(b, bits...), known)
	}
	return seal(kindDays, b)
}

// OpenDays unpacks what Days packed.
func OpenDays(blob []byte) ([]weather.Day, error) {
	plain, err := open(kindDays, blob)
	if err != nil {
		return nil, err
	}
	return decodeDays(plain)
}

func decodeDays(plain []byte) ([]weather.Day, error) {
	w := &wire{b: plain}
	days := make([]weather.Day, w.count("days", min(maxDays, len(plain))))
	last := int64(0)
	for i := range days {
		step := w.varint()
		if w.err == nil && (step > math.MaxInt32 || step < math.MinInt32 || i > 0 && step < 1 || last+step > math.MaxInt32 || last+step < math.MinInt32) {
			w.fail("dates out of order or range")
		}
		last += step
		days[i].Date = civil.Date(last)
	}
	for i := range days {
		days[i].Hours = w.count("hours", math.MaxInt32)
	}
	for i := range days {
		days[i].Kind = weather.Kind(w.byte())
	}
	for _, f := range dayFields {
		bits := w.take((len(days) + 7) / 8)
		if w.err != nil {
			return nil, w.err
		}
		isKnown := func(i int) bool { return bits[i/8]&(1<<(i%8)) != 0 }
		known := 0
		for i := range days {
			if isKnown(i) {
				known++
			}
		}
		xs := w.floats(known)
		if w.err != nil {
			return nil, w.err
		}
		for i := range days {
			*f(&days[i]) = math.NaN()
			if isKnown(i) {
				*f(&days[i]), xs = xs[0], xs[1:]
			}
		}
	}
	if w.err == nil && len(w.b) > 0 {
		w.fail("%d bytes too many", len(w.b))
	}
	if w.err != nil {
		return nil, w.err
	}
	return days, nil
}

var dayFields = []func(*weather.Day) *float64{
	func(d *weather.Day) *float64 { return &d.Min },
	func(d *weather.Day) *float64 { return &d.Max },
	func(d *weather.Day) *float64 { return &d.Rain },
	func(d *weather.Day) *float64 { return &d.Soil },
	func(d *weather.Day) *float64 { return &d.Wind },
}

// MergeDays returns have with the days of in put in, in order of date. Days in
// hold the newer word, with two exceptions: what is missing in them changes
// nothing, and days of a kind that was not observed never change observed ones.
// Lowest, highest, hours and kind go together; rain, soil and wind each alone.
func MergeDays(have, in []weather.Day) []weather.Day {
	byDate := make(map[civil.Date]weather.Day, len(have)+len(in))
	for _, d := range have {
		byDate[d.Date] = d
	}
	for _, d := range in {
		old, ok := byDate[d.Date]
		if !ok {
			byDate[d.Date] = d
			continue
		}
		oldKnown := !math.IsNaN(old.Min) && !math.IsNaN(old.Max)
		// A day without temperatures has no kind that could stand against another.
		mayReplace := !oldKnown || !old.Kind.Observed() || d.Kind.Observed()
		newKnown := !math.IsNaN(d.Min) && !math.IsNaN(d.Max)
		out := old
		if mayReplace && (newKnown || !oldKnown && d.Hours >= old.Hours) {
			out.Min, out.Max, out.Hours, out.Kind = d.Min, d.Max, d.Hours, d.Kind
		}
		for _, f := range dayFields[2:] {
			if x := *f(&d); !math.IsNaN(x) && (mayReplace || math.IsNaN(*f(&old))) {
				*f(&out) = x
			}
		}
		byDate[d.Date] = out
	}
	out := make([]weather.Day, 0, len(byDate))
	for _, d := range byDate {
		out = append(out, d)
	}
	slices.SortFunc(out, func(a, b weather.Day) int { return int(a.Date) - int(b.Date) })
	return out
}
