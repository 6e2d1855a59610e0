package pack

import (
	"encoding/binary"
	"fmt"
	"math"
	"time"
)

// wire reads the plain bytes of a blob. After the first error every read
// returns zero; err tells of it.
type wire struct {
	b   []byte
	err error
}

func (w *wire) fail(format string, args ...any) {
	if w.err == nil {
		w.err = fmt.Errorf("%w: %s", ErrDamaged, fmt.Sprintf(format, args...))
	}
	w.b = nil
}

func (w *wire) take(n int) []byte {
	if n < 0 || n > len(w.b) {
		w.fail("cut short")
		return nil
	}
	p := w.b[:n]
	w.b = w.b[n:]
	return p
}

func (w *wire) byte() byte {
	if p := w.take(1); p != nil {
		return p[0]
	}
	return 0
}

func (w *wire) uvarint() uint64 {
	v, n := binary.Uvarint(w.b)
	if n <= 0 {
		w.fail("bad number")
		return 0
	}
	w.b = w.b[n:]
	return v
}

func (w *wire) varint() int64 {
	v, n := binary.Varint(w.b)
	if n <= 0 {
		w.fail("bad number")
		return 0
	}
	w.b = w.b[n:]
	return v
}

// count reads a length that may be at most limit.
func (w *wire) count(what string, limit int) int {
	v := w.uvarint()
	if v > uint64(limit) {
		w.fail("%d %s are too many", v, what)
		return 0
	}
	return int(v)
}

func (w *wire) string() string { return string(w.take(w.count("letters", len(w.b)))) }

func (w *wire) time() time.Time {
	sec, nsec := w.varint(), w.count("nanoseconds", 999_999_999)
	if w.err != nil {
		return time.Time{}
	}
	return time.Unix(sec, int64(nsec)).UTC()
}

func putString(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

func putTime(b []byte, t time.Time) []byte {
	b = binary.AppendVarint(b, t.Unix())
	return binary.AppendUvarint(b, uint64(t.Nanosecond()))
}

// maxDecimals is the most decimals that the integer layout of a column keeps.
const maxDecimals = 6

// raw marks a column kept as floating-point bits.
const raw = 0xFF

// putFloats writes values: as whole numbers of the smallest decimal unit that
// keeps every one of them exactly, each as the difference from the one before;
// or, where no decimal unit does, as bits.
func putFloats(b []byte, xs []float64) []byte {
	if d := decimals(xs); d >= 0 {
		b = append(b, byte(d))
		scale, last := math.Pow10(d), int64(0)
		for _, x := range xs {
			v := int64(math.Round(x * scale))
			b = binary.AppendVarint(b, v-last)
			last = v
		}
		return b
	}
	b = append(b, raw)
	for _, x := range xs {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// floats reads n values of putFloats.
func (w *wire) floats(n int) []float64 {
	d := w.byte()
	if w.err != nil || n > len(w.b) { // a value takes a byte at least
		w.fail("cut short")
		return nil
	}
	out := make([]float64, n)
	switch {
	case d == raw:
		for i := range out {
			if p := w.take(8); p != nil {
				out[i] = math.Float64frombits(binary.LittleEndian.Uint64(p))
			}
		}
	case d <= maxDecimals:
		scale, last := math.Pow10(int(d)), int64(0)
		for i := range out {
			last += w.varint()
			out[i] = float64(last) / scale
		}
	default:
		w.fail("unknown layout %d of a column", d)
	}
	return out
}

// decimals returns the fewest decimals that keep every value exactly, or -1.
func decimals(xs []float64) int {
	d := 0
	for _, x := range xs {
		for !exact(x, d) {
			if d++; d > maxDecimals {
				return -1
			}
		}
	}
	// A value that was exact with fewer decimals need not be with more.
	for _, x := range xs {
		if !exact(x, d) {
			return -1
		}
	}
	return d
}

func exact(x float64, d int) bool {
	scale := math.Pow10(d)
	v := math.Round(x * scale)
	// Beyond 2^53 whole numbers have gaps; minus zero would lose its sign.
	return math.Abs(v) < 1<<53 && v/scale == x && !(x == 0 && math.Signbit(x))
}
