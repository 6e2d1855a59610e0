package dump

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"math"
	"strconv"
	"strings"

	"plotwarden/store/engine"
)

// Sum is the count of a table's rows and the SHA-256, hex, of their lines in the
// file's form and order.
type Sum struct {
	Rows int64  `json:"rows"`
	Hash string `json:"sha256"`
}

// Summary has the sum of each table that has rows.
type Summary map[string]Sum

// Diff says in which tables another summary differs; empty when in none.
func (s Summary) Diff(o Summary) string {
	var out []string
	for _, t := range engine.Tables {
		if a, b := s[t.Name], o[t.Name]; a != b {
			out = append(out, fmt.Sprintf("%s has %d rows (%.8s), not %d (%.8s)", t.Name, b.Rows, b.Hash, a.Rows, a.Hash))
		}
	}
	return strings.Join(out, "; ")
}

// String is a line for each table that has rows.
func (s Summary) String() string {
	var b strings.Builder
	for _, t := range engine.Tables {
		if x, ok := s[t.Name]; ok {
			fmt.Fprintf(&b, "%-16s %9d rows  sha256 %s\n", t.Name, x.Rows, x.Hash)
		}
	}
	return b.String()
}

// Summarise reads a whole store as it stands at one moment.
func Summarise(ctx context.Context, of engine.Full) (Summary, error) {
	sum := newSummer()
	err := of.Dump(ctx, func(t *engine.Table, row []any) error {
		_, err := sum.add(t, row)
		return err
	})
	return sum.summary(), err
}

type summer struct {
	rows   map[string]int64
	hashes map[string]hash.Hash
}

func newSummer() *summer { return &summer{map[string]int64{}, map[string]hash.Hash{}} }

// add sums a row up and returns its line.
func (s *summer) add(t *engine.Table, row []any) ([]byte, error) {
	line := append(append(make([]any, 0, len(row)+1), any(t.Name)), row...)
	for i, v := range line {
		if x, ok := v.(float64); ok && (math.IsNaN(x) || math.IsInf(x, 0)) { // JSON has none of them
			line[i] = strconv.FormatFloat(x, 'g', -1, 64)
		}
	}
	b, err := json.Marshal(line)
	if err != nil {
		return nil, fmt.Errorf("a row of table %s: %w", t.Name, err)
	}
	b = append(b, '\n')
	s.line(t.Name, b)
	return b, nil
}

func (s *summer) line(table string, b []byte) {
	if s.hashes[table] == nil {
		s.hashes[table] = sha256.New()
	}
	s.rows[table]++
	s.hashes[table].Write(b)
}

func (s *summer) summary() Summary {
	out := Summary{}
	for t, h := range s.hashes {
		out[t] = Sum{s.rows[t], hex.EncodeToString(h.Sum(nil))}
	}
	return out
}
