package picture

import (
	"image"
	"image/color"
	"math"
	"strconv"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"plotwarden/plan"
)

// canvas takes measures as shown.
type canvas struct{ img *image.RGBA }

func newCanvas(size image.Point) *canvas {
	return &canvas{image.NewRGBA(image.Rect(0, 0, size.X*scale, size.Y*scale))}
}

func rgb(hex string) color.RGBA {
	n, err := strconv.ParseUint(hex[1:], 16, 32)
	if err != nil {
		panic("picture: " + hex) // the colours are part of the program
	}
	return color.RGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), 255} //nolint:gosec // three bytes
}

// pale mixes a colour with the ground: 1 is the colour.
func pale(c color.RGBA, share float64) color.RGBA {
	mix := func(a, b uint8) uint8 { return uint8(math.Round(share*float64(a) + (1-share)*float64(b))) }
	return color.RGBA{mix(c.R, ground.R), mix(c.G, ground.G), mix(c.B, ground.B), 255}
}

// fill fills a polygon of points x, y, x, y.
func (c *canvas) fill(col color.RGBA, xy ...float64) {
	box := image.Rectangle{Min: image.Pt(1<<20, 1<<20), Max: image.Pt(-1<<20, -1<<20)}
	for i := 0; i+1 < len(xy); i += 2 {
		x, y := xy[i]*scale, xy[i+1]*scale
		box.Min.X, box.Min.Y = min(box.Min.X, int(math.Floor(x))), min(box.Min.Y, int(math.Floor(y)))
		box.Max.X, box.Max.Y = max(box.Max.X, int(math.Ceil(x))), max(box.Max.Y, int(math.Ceil(y)))
	}
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for i := 0; i+1 < len(xy); i += 2 {
		x, y := float32(xy[i]*scale-float64(box.Min.X)), float32(xy[i+1]*scale-float64(box.Min.Y))
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
	r.Draw(c.img, box, image.NewUniform(col), image.Point{})
}

func (c *canvas) rect(x1, y1, x2, y2 float64, col color.RGBA) {
	c.fill(col, x1, y1, x2, y1, x2, y2, x1, y2)
}

func (c *canvas) line(x1, y1, x2, y2, width float64, col color.RGBA) {
	d := math.Hypot(x2-x1, y2-y1)
	nx, ny := (y2-y1)/d*width/2, -(x2-x1)/d*width/2
	c.fill(col, x1+nx, y1+ny, x2+nx, y2+ny, x2-nx, y2-ny, x1-nx, y1-ny)
}

// arc is the points of a part of a circle.
func arc(x, y, r, from, to float64) []float64 {
	var out []float64
	for i := range 25 {
		a := from + (to-from)*float64(i)/24
		out = append(out, x+r*math.Cos(a), y+r*math.Sin(a))
	}
	return out
}

// shape is the silhouette of a readiness in a box of 14 by 14, as on the pages.
func (c *canvas) shape(r plan.Readiness, x, y float64, col color.RGBA) {
	ring := func() {
		c.fill(col, arc(x+7, y+7, 6, 0, 2*math.Pi)...)
		c.fill(ground, arc(x+7, y+7, 4.5, 0, 2*math.Pi)...)
	}
	switch r {
	case plan.Present:
		c.rect(x+1, y+1, x+13, y+13, col)
	case plan.Act:
		c.fill(col, x+2, y+1, x+13, y+7, x+2, y+13)
	case plan.Approaching:
		ring()
		c.fill(col, arc(x+7, y+7, 6, -math.Pi/2, math.Pi/2)...)
	case plan.Blind:
		ring()
		c.line(x+3, y+11, x+11, y+3, 1.5, col)
	case plan.Protected:
		c.fill(col, x+2, y+2, x+12, y+2, x+12, y+8, x+7, y+13, x+2, y+8)
		c.fill(ground, x+4, y+4, x+10, y+4, x+10, y+7.5, x+7, y+10.5, x+4, y+7.5)
	default:
		c.rect(x+1, y+6, x+13, y+8, col)
	}
}

type align int

const (
	left align = iota
	middle
)

type faceKey struct {
	size float64
	bold bool
}

var (
	facesMu sync.Mutex // faces are not safe for concurrent use
	faces   = map[faceKey]font.Face{}
)

func face(k faceKey) font.Face {
	if f := faces[k]; f != nil {
		return f
	}
	data := goregular.TTF
	if k.bold {
		data = gobold.TTF
	}
	parsed, err := opentype.Parse(data)
	if err != nil {
		panic(err) // the font is part of the program
	}
	f, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: k.size * scale, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		panic(err)
	}
	faces[k] = f
	return f
}

// text writes a line with its foot at y, cut where the picture ends.
func (c *canvas) text(x, y float64, s string, col color.RGBA, size float64, bold bool, how align) {
	facesMu.Lock()
	defer facesMu.Unlock()
	d := font.Drawer{Dst: c.img, Src: image.NewUniform(col), Face: face(faceKey{size, bold})}
	room := fixed.I(int((lineTo - x) * scale))
	if how == left {
		for cut := []rune(s); d.MeasureString(s) > room && len(cut) > 1; {
			cut = cut[:len(cut)-1]
			s = string(cut) + "…"
		}
	}
	px := fixed.I(int(x * scale))
	if how == middle {
		px -= d.MeasureString(s) / 2
	}
	d.Dot = fixed.Point26_6{X: px, Y: fixed.I(int(y * scale))}
	d.DrawString(s)
}

// few turns the picture into one of few colours, which takes a third of the bytes.
func (c *canvas) few(kept []color.RGBA) image.Image {
	pixel := func(i int) color.RGBA {
		return color.RGBA{c.img.Pix[i], c.img.Pix[i+1], c.img.Pix[i+2], c.img.Pix[i+3]}
	}
	count := map[color.RGBA]int{}
	for i := 0; i < len(c.img.Pix); {
		p, from := pixel(i), i // most pixels are like the one before
		for i < len(c.img.Pix) && pixel(i) == p {
			i += 4
		}
		count[p] += (i - from) / 4
	}
	out := image.NewPaletted(c.img.Rect, palette(count, kept))
	nearest := make(map[color.RGBA]uint8, len(count))
	for p := range count {
		nearest[p] = uint8(out.Palette.Index(p)) //nolint:gosec // below maxColours
	}
	last, n := pixel(0), nearest[pixel(0)]
	for i := range out.Pix {
		if p := pixel(4 * i); p != last {
			last, n = p, nearest[p]
		}
		out.Pix[i] = n
	}
	return out
}
