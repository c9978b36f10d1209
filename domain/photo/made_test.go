package photo_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

// quarters is a picture whose quarters are red, green (above), blue and white
// (below), so that every way of turning it looks different.
func quarters(w, h int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetNRGBA(x, y, colourOf(x < w/2, y < h/2))
		}
	}
	return img
}

var (
	red   = color.NRGBA{R: 255, A: 255}
	green = color.NRGBA{G: 255, A: 255}
	blue  = color.NRGBA{B: 255, A: 255}
	white = color.NRGBA{R: 255, G: 255, B: 255, A: 255}
)

func colourOf(left, upper bool) color.NRGBA {
	switch {
	case left && upper:
		return red
	case upper:
		return green
	case left:
		return blue
	}
	return white
}

func asJPEG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exifBlock is a TIFF block with a maker, the orientation and a pointer to GPS
// data, laid out as TIFF 6.0, section 2 says.
func exifBlock(order binary.AppendByteOrder, turn uint16) []byte {
	b := []byte("II*\x00")
	if order == binary.AppendByteOrder(binary.BigEndian) {
		b = []byte("MM\x00*")
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 3)
	entry := func(tag, kind uint16, count, value uint32) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, count)
		b = order.AppendUint32(b, value)
	}
	entry(0x010F, 2, 12, 100)
	b = order.AppendUint16(b, 0x0112)
	b = order.AppendUint16(b, 3)
	b = order.AppendUint32(b, 1)
	b = order.AppendUint16(b, turn)
	b = order.AppendUint16(b, 0)
	entry(0x8825, 4, 1, 60)
	b = append(b, make([]byte, 100-len(b))...)
	return append(b, "SECRET-MAKER\x00"...)
}

// segment is a segment of a JPEG file.
func segment(marker byte, body []byte) []byte {
	head := binary.BigEndian.AppendUint16([]byte{0xFF, marker}, uint16(len(body)+2))
	return append(head, body...)
}

// inJPEG puts segments behind the beginning of a JPEG file.
func inJPEG(file []byte, segments ...[]byte) []byte {
	out := bytes.Clone(file[:2])
	for _, s := range segments {
		out = append(out, s...)
	}
	return append(out, file[2:]...)
}

// turnedJPEG is a JPEG file that says it must be turned.
func turnedJPEG(file []byte, turn int) []byte {
	return inJPEG(file, segment(0xE1, append([]byte("Exif\x00\x00"), exifBlock(binary.LittleEndian, uint16(turn))...)))
}

// inPNG puts a chunk behind the header of a PNG file.
func inPNG(file []byte, kind string, body []byte) []byte {
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	chunk = append(chunk, kind...)
	chunk = append(chunk, body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	const header = 8 + 25
	return append(append(bytes.Clone(file[:header]), chunk...), file[header:]...)
}

// inPNGHeader puts the check sum of a PNG file's header right.
func inPNGHeader(file []byte) []byte {
	binary.BigEndian.PutUint32(file[29:], crc32.ChecksumIEEE(file[12:29]))
	return file
}

// claims16 is claims for a picture of 16 bits and transparency.
func claims16(t *testing.T, w, h uint32) []byte {
	file := claims(t, w, h)
	file[24], file[25] = 16, 6
	return inPNGHeader(file)
}
