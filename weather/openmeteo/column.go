package openmeteo

import (
	"fmt"
	"math"
	"strconv"
)

// parseColumn reads a JSON array of numbers and nulls; null becomes NaN. The
// general decoder takes ten times the memory for it: a pointer for each value.
func parseColumn(raw []byte) ([]float64, error) {
	p := skipSpace(raw, 0)
	if p >= len(raw) || raw[p] != '[' {
		return nil, fmt.Errorf("want a list")
	}
	out := make([]float64, 0, len(raw)/5)
	for p = skipSpace(raw, p+1); p < len(raw) && raw[p] != ']'; {
		from := p
		for p < len(raw) && raw[p] != ',' && raw[p] != ']' && !isSpace(raw[p]) {
			p++
		}
		x, err := parseNumber(raw[from:p])
		if err != nil {
			return nil, fmt.Errorf("value %d: %w", len(out)+1, err)
		}
		out = append(out, x)
		if p = skipSpace(raw, p); p < len(raw) && raw[p] == ',' {
			p = skipSpace(raw, p+1)
		}
	}
	return out, nil
}

// parseNumber reads null or a number. Up to 15 digits with up to 22 decimals
// are exact in one division of two exact floats (Clinger 1990).
func parseNumber(b []byte) (float64, error) {
	if string(b) == "null" {
		return math.NaN(), nil
	}
	digits, decimals, i := 0, 0, 0
	var m int64
	neg := len(b) > 0 && b[0] == '-'
	if neg {
		i++
	}
	point := false
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c >= '0' && c <= '9' && digits < 15:
			m = m*10 + int64(c-'0')
			digits++
			if point {
				decimals++
			}
		case c == '.' && !point:
			point = true
		default:
			x, err := strconv.ParseFloat(string(b), 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return 0, fmt.Errorf("%.20q is not a number", b)
			}
			return x, nil
		}
	}
	if digits == 0 {
		return 0, fmt.Errorf("%.20q is not a number", b)
	}
	x := float64(m) / pow10[decimals]
	if neg {
		x = -x
	}
	return x, nil
}

var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

func skipSpace(b []byte, p int) int {
	for p < len(b) && isSpace(b[p]) {
		p++
	}
	return p
}
