package photo

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"

	"winterbench/domain"
)

// What a picture may be, and what it becomes.
const (
	MaxBytes  = 20 << 20   // of the file that is sent
	MaxPixels = 50_000_000 // width times height
	LongSide  = 2400       // of the large picture, px; smaller pictures stay as they are
	ThumbSide = 320        // of the small picture, px

	maxMemory    = 256 << 20 // that opening a picture may take, bytes
	fullQuality  = 85        // of JPEG, 1 to 100
	thumbQuality = 80
)

// Prepared is a picture made over: upright, not larger than needed, and with
// nothing in it but what can be seen.
type Prepared struct {
	Full, Thumb   []byte // JPEG files
	Width, Height int    // of Full, px
}

// Prepare opens a JPEG, PNG or WebP file, turns it upright, brings its long side
// down to LongSide and writes it anew, so that no metadata survives: neither
// where and when it was taken, nor with what. Colours are taken as sRGB; what
// can be seen through becomes white. The same file always becomes the same two.
//
// Opening a large picture takes up to 300 MB: have one goroutine do it at a time.
//
// Errors are Invalid and say what is wrong with the file.
func Prepare(raw []byte) (Prepared, error) {
	kind, err := check(raw)
	if err != nil {
		return Prepared{}, err
	}
	src, err := decode(raw, kind)
	if err != nil {
		return Prepared{}, unreadable(err)
	}
	full := turned(fitted(src, LongSide, draw.ApproxBiLinear), orientation(raw, kind))
	thumb := fitted(full, ThumbSide, draw.BiLinear) // weighs every pixel, so that fine cracks and strings do not flicker
	p := Prepared{Width: full.Rect.Dx(), Height: full.Rect.Dy()}
	if p.Full, err = encode(full, fullQuality); err != nil {
		return Prepared{}, err
	}
	p.Thumb, err = encode(thumb, thumbQuality)
	return p, err
}

// check refuses what must not be opened, before any pixel is read.
func check(raw []byte) (kind string, err error) {
	switch {
	case len(raw) == 0:
		return "", domain.Invalidf("the file is empty; send the picture again")
	case len(raw) > MaxBytes:
		return "", domain.Invalidf("the file has more than %d MB; send a smaller one", MaxBytes>>20)
	}
	if kind, err = kindOf(raw); err != nil {
		return "", err
	}
	config, err := decodeConfig(raw, kind)
	if err != nil {
		return "", unreadable(err)
	}
	if config.Width <= 0 || config.Height <= 0 {
		return "", domain.Invalidf("the picture is %d by %d pixels; there is nothing to see", config.Width, config.Height)
	}
	if pixels := int64(config.Width) * int64(config.Height); pixels > MaxPixels {
		return "", domain.Invalidf("the picture is %d by %d pixels, %d million; send at most %d million", config.Width, config.Height, pixels/1e6, MaxPixels/1_000_000)
	}
	if need := memory(raw, kind, config); need > maxMemory {
		return "", domain.Invalidf("the picture would take %d MB to open, more than %d; save it smaller or as plain JPEG and send that", need>>20, maxMemory>>20)
	}
	return kind, nil
}

// memory is about what the decoder takes for a picture, in bytes: a progressive
// JPEG keeps four bytes of coefficients for each sample beside the picture.
func memory(raw []byte, kind string, c image.Config) int64 {
	pixels := int64(c.Width) * int64(c.Height)
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model:
		return 8 * pixels
	case color.Gray16Model:
		return 2 * pixels
	case color.GrayModel:
		return pixels
	}
	each := 3.0 // of a colour picture whose colours are as fine as its light
	if kind == kindJPEG {
		frame := frameOf(raw)
		each = frame.samples
		if frame.progressive {
			each *= 5
		}
	} else if kind == kindPNG {
		each = 4
	}
	return int64(each * float64(pixels))
}

type frame struct {
	progressive bool
	samples     float64 // for each pixel: 1.5 when colours are half as fine both ways
}

// frameOf reads the frame header of a JPEG file. Source: ITU-T T.81, B.2.2.
func frameOf(raw []byte) frame {
	f := frame{samples: 3}
	segments(raw, func(marker byte, body []byte) bool {
		if marker < 0xC0 || marker > 0xC2 {
			return true
		}
		f.progressive = marker == 0xC2
		if len(body) < 6 || len(body) < 6+3*int(body[5]) {
			return false
		}
		sum, most := 0, 1
		for i := range int(body[5]) {
			area := int(body[7+3*i]>>4) * int(body[7+3*i]&15)
			sum, most = sum+area, max(most, area)
		}
		f.samples = float64(sum) / float64(most)
		return false
	})
	return f
}

func decodeConfig(raw []byte, kind string) (image.Config, error) {
	r := bytes.NewReader(raw)
	switch kind {
	case kindPNG:
		return png.DecodeConfig(r)
	case kindWebP:
		return webp.DecodeConfig(r)
	}
	return jpeg.DecodeConfig(r)
}

func decode(raw []byte, kind string) (image.Image, error) {
	r := bytes.NewReader(raw)
	switch kind {
	case kindPNG:
		return png.Decode(r)
	case kindWebP:
		return webp.Decode(r)
	}
	return jpeg.Decode(r)
}

// unreadable says what is wrong with a file that a decoder refused. The
// decoders do not always tell a damaged file from one that ends too early.
func unreadable(err error) error {
	if _, ok := errors.AsType[jpeg.UnsupportedError](err); ok {
		return domain.Invalidf("this way of writing JPEG cannot be read here; save the picture again as plain JPEG")
	}
	return domain.Invalidf("the file is damaged or was cut off on its way; send it again")
}

// fitted is src brought down so that its long side is at most side px, on white.
func fitted(src image.Image, side int, by draw.Interpolator) *image.RGBA {
	b := src.Bounds()
	w, h := fit(b.Dx(), b.Dy(), side)
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	op := draw.Src
	if o, ok := src.(interface{ Opaque() bool }); !ok || !o.Opaque() {
		draw.Draw(dst, dst.Rect, image.White, image.Point{}, draw.Src)
		op = draw.Over
	}
	if w == b.Dx() && h == b.Dy() {
		draw.Draw(dst, dst.Rect, src, b.Min, op)
		return dst
	}
	by.Scale(dst, dst.Rect, src, b, op, nil)
	return dst
}

// fit returns the size of a picture whose long side is brought down to at most
// side. Both stay at least 1.
func fit(w, h, side int) (int, int) {
	long := max(w, h)
	if long <= side {
		return w, h
	}
	scale := func(n int) int { return max(int(math.Round(float64(n)*float64(side)/float64(long))), 1) }
	return scale(w), scale(h)
}

// turned is src set upright.
func turned(src *image.RGBA, turn int) *image.RGBA {
	if turn == upright {
		return src
	}
	w, h := src.Rect.Dx(), src.Rect.Dy()
	size := image.Pt(w, h)
	if turn >= 5 {
		size = image.Pt(h, w)
	}
	dst := image.NewRGBA(image.Rectangle{Max: size})
	for y := range size.Y {
		for x := range size.X {
			sx, sy := from(turn, x, y, w, h)
			copy(dst.Pix[y*dst.Stride+4*x:][:4], src.Pix[sy*src.Stride+4*sx:][:4])
		}
	}
	return dst
}

// from tells where in a picture of w by h the pixel comes from that stands at x,
// y once it is upright. Source: Exif 2.32, tag 274: 2 mirrored, 3 on its head,
// 4 mirrored on its head, 5 to 8 with rows and columns exchanged.
func from(turn, x, y, w, h int) (int, int) {
	switch turn {
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

func encode(img image.Image, quality int) ([]byte, error) {
	var out bytes.Buffer
	err := jpeg.Encode(&out, img, &jpeg.Options{Quality: quality})
	return out.Bytes(), err
}
