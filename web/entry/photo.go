package entry

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"net/http"
	"strconv"
	"time"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"

	"plotwarden/store"
)

// PhotoLimit is how large a picture may come in, bytes.
const PhotoLimit = 8 << 20

const (
	maxPhotos  = 3        // of one entry
	maxSide    = 1600     // pixels of a kept picture
	maxPixels  = 26 << 20 // of one that comes in: a decoder may want 12 bytes for each
	maxDeep    = 12 << 20 // the same for formats with 4 and 8 bytes for each
	longest    = 16384    // pixels of a side
	jpegAmount = 82       // quality of what is kept
)

// picture is a photo as it is kept: a JPEG without anything that came with it, and
// so without place, time and name of the phone.
type picture struct {
	body        []byte
	width, high int
}

var (
	errFormat = errors.New("not a picture in JPEG, PNG or WebP")
	errLarge  = errors.New("too large")
)

// develop makes a picture of what came in. It looks at the dimensions before it
// decodes, turns the picture upright and scales it down to maxSide.
func develop(raw []byte) (picture, error) {
	if len(raw) > PhotoLimit {
		return picture{}, errLarge
	}
	kind := http.DetectContentType(raw)
	var config func(io.Reader) (image.Config, error)
	var decode func(io.Reader) (image.Image, error)
	switch kind {
	case "image/jpeg":
		config, decode = jpeg.DecodeConfig, jpeg.Decode
	case "image/png":
		config, decode = png.DecodeConfig, png.Decode
	case "image/webp":
		config, decode = webp.DecodeConfig, webp.Decode
	default:
		return picture{}, errFormat
	}
	c, err := config(bytes.NewReader(raw))
	if err != nil {
		return picture{}, fmt.Errorf("%w: %v", errFormat, err) //nolint:errorlint // one cause is enough
	}
	most := maxDeep
	if kind == "image/jpeg" {
		most = maxPixels
	}
	if c.Width < 1 || c.Height < 1 || c.Width > longest || c.Height > longest || c.Width*c.Height > most {
		return picture{}, errLarge
	}
	m, err := decode(bytes.NewReader(raw))
	if err != nil {
		return picture{}, fmt.Errorf("%w: %v", errFormat, err) //nolint:errorlint // one cause is enough
	}
	turn := 1
	if kind == "image/jpeg" {
		turn = orientation(raw)
	}
	return fix(upright(scale(m), turn))
}

// scale fits a picture into maxSide, over white where it is transparent.
func scale(m image.Image) *image.RGBA {
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	if long := max(w, h); long > maxSide {
		w, h = max(1, w*maxSide/long), max(1, h*maxSide/long)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	if w == b.Dx() && h == b.Dy() {
		draw.Draw(out, out.Bounds(), m, b.Min, draw.Over)
	} else {
		draw.CatmullRom.Scale(out, out.Bounds(), m, b, draw.Over, nil)
	}
	return out
}

func fix(m *image.RGBA) (picture, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: jpegAmount}); err != nil {
		return picture{}, fmt.Errorf("encode a photo: %w", err)
	}
	return picture{b.Bytes(), m.Bounds().Dx(), m.Bounds().Dy()}, nil
}

// pictures reads the photos of a form, and says in f what is wrong with them.
func (s *server) pictures(f *sheet, r *http.Request) []picture {
	if r.MultipartForm == nil {
		return nil
	}
	defer func() { _ = r.MultipartForm.RemoveAll() }() // temporary files; the system removes them too
	var raws [][]byte
	for _, h := range r.MultipartForm.File["photo"] {
		if h.Size == 0 {
			continue // the field was left empty
		}
		file, err := h.Open()
		if err != nil {
			f.badPhoto(errFormat)
			return nil
		}
		raw, err := io.ReadAll(io.LimitReader(file, PhotoLimit+1))
		_ = file.Close() // it was only read
		if err != nil {
			f.badPhoto(errFormat)
			return nil
		}
		raws = append(raws, raw)
	}
	return s.develop(f, raws)
}

func (s *server) develop(f *sheet, raws [][]byte) []picture {
	if len(raws) > maxPhotos {
		f.bad("photo", f.t("Photo"), f.t("At most %d photos with one entry.", maxPhotos))
		return nil
	}
	var out []picture
	for _, raw := range raws {
		s.decode <- struct{}{}
		p, err := develop(raw)
		<-s.decode
		if err != nil {
			f.badPhoto(err)
			return nil
		}
		out = append(out, p)
	}
	return out
}

func (f *sheet) badPhoto(err error) {
	text := f.t("This is no photo that can be read. Take a JPEG, PNG or WebP.")
	if errors.Is(err, errLarge) {
		text = f.t("The photo is too large. At most 8 MB and 26 million points; choose a smaller size in the camera.")
	}
	f.bad("photo", f.t("Photo"), text)
}

func names(entry string, ps []picture) []string {
	var out []string
	for i := range ps {
		out = append(out, entry+"-p"+strconv.Itoa(i+1))
	}
	return out
}

func (s *server) keepPictures(ctx context.Context, site, by, entry string, at time.Time, ps []picture) error {
	for i, id := range names(entry, ps) {
		p := store.Photo{ID: id, Site: site, By: by, At: at, Type: "image/jpeg", Body: ps[i].body, Width: ps[i].width, High: ps[i].high}
		err := s.Data.AddPhoto(ctx, p)
		if errors.Is(err, store.ErrConflict) {
			// It came in before, and its entry did not.
			if have, e := s.Data.Photo(ctx, id); e == nil && have.Site == site && bytes.Equal(have.Body, p.Body) {
				continue
			}
		}
		if err != nil {
			return fmt.Errorf("keep a photo: %w", err)
		}
	}
	return nil
}

// photo answers with a picture to whoever may read its entry.
func (s *server) photo(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	p, err := s.Data.Photo(r.Context(), r.PathValue("photo"))
	if err != nil && !notFound(err) {
		s.Kit.Fail(w, r, fmt.Errorf("read a photo of %s: %w", site.ID, err))
		return
	}
	may := err == nil && p.Site == site.ID
	if may {
		if may, err = s.mayReadPhoto(r, &p); err != nil {
			s.Kit.Fail(w, r, err)
			return
		}
	}
	if !may {
		s.Kit.NotFound(w, r, "There is no such photo here.")
		return
	}
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Content-Disposition", "inline; filename=\"photo.jpg\"")
	h.Set("Cache-Control", "private, max-age=86400")
	h.Set("Vary", "Cookie")
	http.ServeContent(w, r, "", p.At, bytes.NewReader(p.Body))
}
