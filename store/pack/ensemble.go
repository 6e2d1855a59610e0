package pack

import (
	"encoding/binary"
	"fmt"

	"plotwarden/weather"
)

// maxRuns bounds the runs of an ensemble: names of runs have two digits.
const maxRuns = 100

// maxRunHours bounds one run: no ensemble looks further than some weeks.
const maxRunHours = 64 * 24

// Ensemble packs the runs of an ensemble forecast: uvarint count, then each as its
// uvarint length and the layout of a series, all compressed together.
func Ensemble(runs []*weather.Series) []byte {
	b := binary.AppendUvarint(nil, uint64(len(runs)))
	for _, s := range runs {
		g := NewGrid(s.Start(), s.Len())
		g.Merge(s)
		one := g.plain()
		b = append(binary.AppendUvarint(b, uint64(len(one))), one...)
	}
	return seal(kindRuns, b)
}

// OpenEnsemble unpacks what Ensemble packed.
func OpenEnsemble(blob []byte) ([]*weather.Series, error) {
	plain, err := open(kindRuns, blob)
	if err != nil {
		return nil, err
	}
	return decodeRuns(plain)
}

func decodeRuns(plain []byte) ([]*weather.Series, error) {
	w := &wire{b: plain}
	n := w.count("runs", min(maxRuns, len(plain)))
	var out []*weather.Series
	for range n {
		part := w.take(w.count("bytes", len(w.b)))
		if w.err != nil {
			return nil, w.err
		}
		g, err := decodeGrid(part)
		if err != nil {
			return nil, err
		}
		if g.n > maxRunHours {
			return nil, fmt.Errorf("%w: a run of %d hours", ErrDamaged, g.n)
		}
		s, err := g.Series()
		if err != nil {
			return nil, fmt.Errorf("%w: %v", ErrDamaged, err)
		}
		out = append(out, s)
	}
	if len(w.b) > 0 {
		w.fail("%d bytes too many", len(w.b))
	}
	return out, w.err
}
