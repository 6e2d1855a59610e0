package web

import (
	"os"

	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/plan"
)

// rgb is linear light.
type rgb [3]float64

// palettes reads the colours of both schemes from the style sheet itself.
func palettes(t *testing.T) (light, dark map[string]rgb) {
	t.Helper()
	css, err := os.ReadFile("page/assets/plotwarden.css")
	require.NoError(t, err)
	parts := strings.SplitN(string(css), "prefers-color-scheme: dark", 2)
	require.Len(t, parts, 2)
	read := func(s string) map[string]rgb {
		block := s[strings.Index(s, ":root"):]
		block = block[:strings.Index(block, "}")]
		out := map[string]rgb{}
		for _, m := range regexp.MustCompile(`--([a-z]+): #([0-9a-f]{6})`).FindAllStringSubmatch(block, -1) {
			var c rgb
			for i := range 3 {
				v, err := strconv.ParseUint(m[2][2*i:2*i+2], 16, 8)
				require.NoError(t, err)
				c[i] = linear(float64(v) / 255)
			}
			out[m[1]] = c
		}
		return out
	}
	return read(parts[0]), read(parts[1])
}

// linear undoes the transfer function of sRGB (IEC 61966-2-1).
func linear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b rgb) float64 {
	l := func(c rgb) float64 { return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2] + 0.05 }
	return max(l(a), l(b)) / min(l(a), l(b))
}

// deficiencies are the matrices for full severity of Machado, Oliveira and
// Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15:1291), as quoted by the R
// package prismatic; they work on linear light.
var deficiencies = map[string][3]rgb{
	"normal vision": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia":  {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":    {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func seen(m [3]rgb, c rgb) rgb {
	var out rgb
	for i := range 3 {
		for j := range 3 {
			out[i] += m[i][j] * c[j]
		}
		out[i] = min(max(out[i], 0), 1)
	}
	return out
}

// lab is CIE 1976 L*a*b* under D65, from linear sRGB (CIE 15; IEC 61966-2-1).
func lab(c rgb) [3]float64 {
	x := (0.4124*c[0] + 0.3576*c[1] + 0.1805*c[2]) / 0.9505
	y := 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
	z := (0.0193*c[0] + 0.1192*c[1] + 0.9505*c[2]) / 1.0890
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

func distance(a, b rgb) float64 {
	p, q := lab(a), lab(b)
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

// Every colour of a word reads on both grounds: 4.5 to 1 (WCAG 2.2, 1.4.3), and
// lines and shapes at 3 to 1 (1.4.11).
func TestColoursRead(t *testing.T) {
	light, dark := palettes(t)
	for scheme, p := range map[string]map[string]rgb{"light": light, "dark": dark} {
		words := []string{"ink", "soft", "link"}
		for r := plan.Present; r <= plan.Quiet; r++ {
			words = append(words, r.String())
		}
		for _, name := range words {
			for _, ground := range []string{"ground", "raised", "weekend"} {
				assert.GreaterOrEqual(t, contrast(p[name], p[ground]), 4.5, "%s on %s, %s", name, ground, scheme)
			}
		}
		for _, name := range []string{"focus", "work", "good"} {
			assert.GreaterOrEqual(t, contrast(p[name], p["ground"]), 3.0, "%s, %s", name, scheme)
		}
	}
}

// The readinesses that ask for something can be told apart by colour alone by
// every kind of eye, though a word and a shape always stand beside it. 12 is
// five times the just noticeable 2.3 (Mahy, Van Eycken and Oosterlinck 1994).
func TestColoursDiffer(t *testing.T) {
	light, dark := palettes(t)
	strong := []plan.Readiness{plan.Present, plan.Act, plan.Approaching, plan.Protected, plan.Blind}
	for scheme, p := range map[string]map[string]rgb{"light": light, "dark": dark} {
		for eye, m := range deficiencies {
			for i, a := range strong {
				for _, b := range strong[i+1:] {
					d := distance(seen(m, p[a.String()]), seen(m, p[b.String()]))
					assert.GreaterOrEqual(t, d, 12.0, "%s and %s, %s, %s", a, b, eye, scheme)
				}
			}
		}
	}
}
