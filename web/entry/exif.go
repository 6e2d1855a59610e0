package entry

import (
	"bytes"
	"encoding/binary"
	"image"
)

// orientation reads how a camera was held from the EXIF data of a JPEG: 1 to 8 as
// the standard numbers them (CIPA DC-008, tag 0x0112); 1 when nothing is said or
// what is said cannot be read.
func orientation(b []byte) int {
	const none = 1
	if len(b) < 4 || b[0] != 0xFF || b[1] != 0xD8 {
		return none
	}
	for i := 2; i+4 <= len(b) && b[i] == 0xFF; {
		marker, size := b[i+1], int(binary.BigEndian.Uint16(b[i+2:]))
		if marker == 0xDA || size < 2 || i+2+size > len(b) { // the picture itself begins
			return none
		}
		if part := b[i+4 : i+2+size]; marker == 0xE1 && bytes.HasPrefix(part, []byte("Exif\x00\x00")) {
			return tiffOrientation(part[6:])
		}
		i += 2 + size
	}
	return none
}

func tiffOrientation(b []byte) int {
	const none = 1
	if len(b) < 8 {
		return none
	}
	var order binary.ByteOrder
	switch string(b[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return none
	}
	at := int64(order.Uint32(b[4:]))
	if at < 8 || at+2 > int64(len(b)) {
		return none
	}
	n := int64(order.Uint16(b[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(b)) {
			return none
		}
		if order.Uint16(b[e:]) == 0x0112 && order.Uint16(b[e+2:]) == 3 { // a short
			if o := int(order.Uint16(b[e+8:])); o >= 1 && o <= 8 {
				return o
			}
			return none
		}
	}
	return none
}

// upright turns and mirrors a picture that a camera wrote with an orientation.
func upright(m *image.RGBA, o int) *image.RGBA {
	if o == 1 {
		return m
	}
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if o >= 5 {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range out.Bounds().Dy() {
		for x := range out.Bounds().Dx() {
			sx, sy := source(o, x, y, w, h)
			copy(out.Pix[out.PixOffset(x, y):][:4], m.Pix[m.PixOffset(sx, sy):][:4])
		}
	}
	return out
}

// source returns where the point of the upright picture lies in the written one,
// which is w wide and h high.
func source(o, x, y, w, h int) (int, int) {
	switch o {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}
