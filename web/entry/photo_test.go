package entry

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
)

// scene is a picture whose corners tell which way is up: red, green, blue and
// white from the top left clockwise.
func scene(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{255, 255, 255, 255}
			switch {
			case x < w/2 && y < h/2:
				c = color.RGBA{255, 0, 0, 255}
			case x >= w/2 && y < h/2:
				c = color.RGBA{0, 255, 0, 255}
			case x >= w/2:
				c = color.RGBA{0, 0, 255, 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func jpegOf(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}))
	return b.Bytes()
}

// exifOf builds EXIF data with an orientation, a camera's name and a place: 40° 42'
// 46" N, as the standard lays it out (CIPA DC-008).
func exifOf(order binary.AppendByteOrder, o int) []byte {
	var b []byte
	if order.String() == binary.LittleEndian.String() {
		b = append(b, "II*\x00"...)
	} else {
		b = append(b, "MM\x00*"...)
	}
	entry := func(tag, kind uint16, n, value uint32, short bool) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, n)
		if short {
			b = order.AppendUint16(b, uint16(value))
			b = append(b, 0, 0)
			return
		}
		b = order.AppendUint32(b, value)
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 3)
	entry(0x010F, 2, 12, 50, false)        // the maker's name, further on
	entry(0x0112, 3, 1, uint32(o), true)   // orientation
	entry(0x8825, 4, 1, 62, false)         // where the place stands
	b = order.AppendUint32(b, 0)           // no further part
	b = append(b, "SecretPhone\x00"...)    // at 50
	b = order.AppendUint16(b, 2)           // at 62
	entry(1, 2, 2, uint32('N')<<24, false) // north
	entry(2, 5, 3, 92, false)              // latitude
	b = order.AppendUint32(b, 0)
	for _, x := range []uint32{40, 1, 42, 1, 46, 1} {
		b = order.AppendUint32(b, x)
	}
	return append([]byte("Exif\x00\x00"), b...)
}

// withExif puts EXIF data into a JPEG, as a camera does.
func withExif(t testing.TB, m image.Image, order binary.AppendByteOrder, o int) []byte {
	plain, exif := jpegOf(t, m), exifOf(order, o)
	out := append([]byte{0xFF, 0xD8, 0xFF, 0xE1}, binary.BigEndian.AppendUint16(nil, uint16(len(exif)+2))...)
	return append(append(out, exif...), plain[2:]...)
}

// corner names the colour at one corner of a picture.
func corner(m image.Image, right, low bool) string {
	b := m.Bounds()
	x, y := b.Min.X+b.Dx()/8, b.Min.Y+b.Dy()/8
	if right {
		x = b.Max.X - 1 - b.Dx()/8
	}
	if low {
		y = b.Max.Y - 1 - b.Dy()/8
	}
	r, g, bl, _ := m.At(x, y).RGBA()
	switch {
	case r > 0xC000 && g > 0xC000:
		return "white"
	case r > 0xC000:
		return "red"
	case g > 0xC000:
		return "green"
	case bl > 0xC000:
		return "blue"
	}
	return "?"
}

// What each orientation does to the corners, by the standard's table of where row
// 0 and column 0 lie (CIPA DC-008, 4.6.4 A, Orientation): 1 top left, 2 top right,
// 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left
// bottom.
func TestPhotosStandUpright(t *testing.T) {
	for o, want := range map[int][4]string{ // top left, top right, bottom right, bottom left
		1: {"red", "green", "blue", "white"}, 2: {"green", "red", "white", "blue"}, 3: {"blue", "white", "red", "green"}, 4: {"white", "blue", "green", "red"},
		5: {"red", "white", "blue", "green"}, 6: {"white", "red", "green", "blue"}, 7: {"blue", "green", "red", "white"}, 8: {"green", "blue", "white", "red"},
	} {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			p, err := develop(withExif(t, scene(64, 32), order, o))
			require.NoError(t, err)
			m, err := jpeg.Decode(bytes.NewReader(p.body))
			require.NoError(t, err)
			got := [4]string{corner(m, false, false), corner(m, true, false), corner(m, true, true), corner(m, false, true)}
			assert.Equal(t, want, got, "orientation %d, %s", o, order)
			if o >= 5 {
				assert.Equal(t, [2]int{32, 64}, [2]int{p.width, p.high})
			}
		}
	}
}

// The place, the phone's name and all else that came with it are gone.
func TestThePlaceIsTakenOut(t *testing.T) {
	raw := withExif(t, scene(64, 32), binary.LittleEndian, 6)
	require.Contains(t, string(raw), "SecretPhone")
	p, err := develop(raw)
	require.NoError(t, err)
	for _, mark := range []string{"Exif", "SecretPhone", "http://ns.adobe.com", string([]byte{0xFF, 0xE1})} {
		assert.NotContains(t, string(p.body), mark)
	}
	for i := 2; i+4 <= len(p.body) && p.body[i] == 0xFF && p.body[i+1] != 0xDA; {
		marker := p.body[i+1]
		assert.False(t, marker >= 0xE0 && marker <= 0xEF || marker == 0xFE, "a part for applications or a comment: %x", marker)
		i += 2 + int(binary.BigEndian.Uint16(p.body[i+2:]))
	}
}

func TestLargePhotosShrinkAndBombsAreRefused(t *testing.T) {
	p, err := develop(jpegOf(t, scene(3200, 1000)))
	require.NoError(t, err)
	assert.Equal(t, [2]int{1600, 500}, [2]int{p.width, p.high})

	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, scene(40, 30)))
	p, err = develop(b.Bytes())
	require.NoError(t, err)
	assert.Equal(t, "image/jpeg", http.DetectContentType(p.body))

	// A few bytes that say they are 60 000 times 60 000 points.
	bomb := bytes.Clone(b.Bytes())
	binary.BigEndian.PutUint32(bomb[16:], 60000)
	binary.BigEndian.PutUint32(bomb[20:], 60000)
	binary.BigEndian.PutUint32(bomb[29:], crc32.ChecksumIEEE(bomb[12:29]))
	_, err = develop(bomb)
	assert.ErrorIs(t, err, errLarge)
	bigJPEG := jpegOf(t, scene(64, 32))
	at := bytes.Index(bigJPEG, []byte{0xFF, 0xC0})
	binary.BigEndian.PutUint16(bigJPEG[at+5:], 60000)
	binary.BigEndian.PutUint16(bigJPEG[at+7:], 60000)
	_, err = develop(bigJPEG)
	assert.ErrorIs(t, err, errLarge)

	_, err = develop(make([]byte, PhotoLimit+1))
	assert.ErrorIs(t, err, errLarge)
	for _, raw := range [][]byte{nil, []byte("GIF89a"), []byte("<svg onload=alert(1)>"), []byte("\xFF\xD8\xFFnothing")} {
		_, err = develop(raw)
		assert.ErrorIs(t, err, errFormat)
	}
}

func TestPhotosOfAnEntry(t *testing.T) {
	g := newGround(t)
	w := g.send("/site/mill-lane/log", look("11111111-p", "found"), withExif(t, scene(64, 32), binary.LittleEndian, 1), jpegOf(t, scene(20, 20)))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, []string{"11111111-p-p1", "11111111-p-p2"}, g.looks()[0].Photos)
	w = g.get("/site/mill-lane/log/photo/11111111-p-p1")
	require.Equal(t, http.StatusOK, w.Code)
	assert.Equal(t, "image/jpeg", w.Header().Get("Content-Type"))
	assert.Equal(t, "nosniff", w.Header().Get("X-Content-Type-Options"))
	assert.Contains(t, w.Header().Get("Content-Security-Policy"), "sandbox")
	assert.NotContains(t, w.Body.String(), "SecretPhone")
	assert.Equal(t, http.StatusNotFound, g.get("/site/mill-lane/log/photo/none").Code)

	g.as("elm", access.Grower)
	assert.Equal(t, http.StatusNotFound, g.get("/site/mill-lane/log/photo/11111111-p-p1").Code, "a neighbour, not shared")
	g.as("ash", access.Grower)
	w = g.send("/site/mill-lane/log", look("22222222-p", "found", "replaces", "11111111-p", "why", "to share it", "share", "yes"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	g.as("elm", access.Grower)
	assert.Equal(t, http.StatusOK, g.get("/site/mill-lane/log/photo/11111111-p-p1").Code, "shared, and still with the entry")
	g.garden.People[1].Sites = nil
	g.as("elm", access.Grower)
	assert.Equal(t, http.StatusNotFound, g.get("/site/mill-lane/log/photo/11111111-p-p1").Code)

	g.as("ash", access.Grower)
	w = g.send("/site/mill-lane/log", look("33333333-p", "found"), []byte("no photo"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "no photo that can be read")
	small := jpegOf(t, scene(8, 8))
	w = g.send("/site/mill-lane/log", look("33333333-p", "found"), small, small, small, small)
	assert.Contains(t, w.Body.String(), "At most 3 photos")
	w = g.send("/site/mill-lane/log", look("33333333-p", "found"), make([]byte, formLimit))
	assert.Equal(t, http.StatusRequestEntityTooLarge, w.Code)
	assert.Len(t, g.looks(), 2)
}

// Whatever bytes come in: no panic, and what is kept is a JPEG within its bounds
// that holds nothing but the picture.
func FuzzDevelop(f *testing.F) {
	var b bytes.Buffer
	_ = png.Encode(&b, scene(9, 7))
	f.Add(b.Bytes())
	f.Add(jpegOf(f, scene(16, 8)))
	f.Add(withExif(f, scene(16, 8), binary.BigEndian, 6))
	f.Add([]byte("RIFF\x1a\x00\x00\x00WEBPVP8L\x0d\x00\x00\x00\x2f\x00\x00\x00\x10\x07\x10\x11\x11\x88\x88\xfe\x07\x00"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		// A fuzzer's picture of many points is slow and shows nothing new.
		if c, _, err := image.DecodeConfig(bytes.NewReader(raw)); err == nil && c.Width*c.Height > 1<<20 {
			return
		}
		begun := time.Now()
		p, err := develop(raw)
		if err != nil {
			return
		}
		c, kind, err := image.DecodeConfig(bytes.NewReader(p.body))
		if err != nil || kind != "jpeg" || c.Width != p.width || c.Height != p.high || max(c.Width, c.Height) > maxSide {
			t.Fatalf("%s %dx%d, said %dx%d: %v after %s", kind, c.Width, c.Height, p.width, p.high, err, time.Since(begun))
		}
		if bytes.Contains(p.body, []byte("Exif\x00\x00")) {
			t.Fatal("what came with the picture is still there")
		}
	})
}

func FuzzOrientation(f *testing.F) {
	f.Add(withExif(f, scene(8, 8), binary.LittleEndian, 8))
	f.Add([]byte{0xFF, 0xD8, 0xFF, 0xE1, 0, 8, 'E', 'x', 'i', 'f', 0, 0})
	f.Fuzz(func(t *testing.T, raw []byte) {
		if o := orientation(raw); o < 1 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
	})
}
