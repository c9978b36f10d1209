package photo_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/photo"
)

func open(t *testing.T, file []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatalf("what was made is no JPEG: %v", err)
	}
	return img
}

func near(a, b color.Color) bool {
	ar, ag, ab, _ := a.RGBA()
	br, bg, bb, _ := b.RGBA()
	close := func(x, y uint32) bool { return max(x, y)-min(x, y) < 0x2000 }
	return close(ar, br) && close(ag, bg) && close(ab, bb)
}

// corners are the colours of the four quarters: above left, above right, below
// left, below right.
func corners(img image.Image) [4]color.Color {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	return [4]color.Color{img.At(w/4, h/4), img.At(3*w/4, h/4), img.At(w/4, 3*h/4), img.At(3*w/4, 3*h/4)}
}

// Where the quarters of the stored picture stand once it is upright. Source:
// Exif 2.32 (CIPA DC-008), tag 274, which says for each value at which side of
// what is seen the stored first row and first column lie.
var uprightQuarters = map[int][4]color.Color{
	1: {red, green, blue, white}, // first row above, first column left
	2: {green, red, white, blue}, // above, right
	3: {white, blue, green, red}, // below, right
	4: {blue, white, red, green}, // below, left
	5: {red, blue, green, white}, // left, above
	6: {blue, red, white, green}, // right, above
	7: {white, green, blue, red}, // right, below
	8: {green, white, red, blue}, // left, below
}

func TestAPictureIsTurnedUpright(t *testing.T) {
	plain := quarters(64, 32)
	for turn, want := range uprightQuarters {
		files := map[string][]byte{
			"JPEG": turnedJPEG(asJPEG(t, plain), turn),
			"PNG":  inPNG(asPNG(t, plain), "eXIf", exifBlock(binary.BigEndian, uint16(turn))),
		}
		for kind, file := range files {
			p, err := photo.Prepare(file)
			if err != nil {
				t.Fatalf("%s, turn %d: %v", kind, turn, err)
			}
			w, h := 64, 32
			if turn >= 5 {
				w, h = 32, 64
			}
			img := open(t, p.Full)
			if p.Width != w || p.Height != h || img.Bounds().Dx() != w || img.Bounds().Dy() != h {
				t.Errorf("%s, turn %d: got %d by %d (%v), want %d by %d", kind, turn, p.Width, p.Height, img.Bounds(), w, h)
			}
			for i, got := range corners(img) {
				if !near(got, want[i]) {
					t.Errorf("%s, turn %d: quarter %d is %v, want %v", kind, turn, i, got, want[i])
				}
			}
		}
	}
}

func TestATurnThatMakesNoSenseIsNone(t *testing.T) {
	for _, turn := range []int{0, 9, 65535} {
		p, err := photo.Prepare(turnedJPEG(asJPEG(t, quarters(64, 32)), turn))
		if err != nil || p.Width != 64 {
			t.Errorf("turn %d: got %d wide and %v, want 64 as it was", turn, p.Width, err)
		}
	}
}

func TestNothingButThePictureSurvives(t *testing.T) {
	secrets := [][]byte{
		segment(0xE1, append([]byte("Exif\x00\x00"), exifBlock(binary.LittleEndian, 1)...)),
		segment(0xE1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>SECRET-XMP 60.17 N</x:xmpmeta>")),
		segment(0xE2, []byte("ICC_PROFILE\x00\x01\x01SECRET-PROFILE")),
		segment(0xED, []byte("Photoshop 3.0\x00SECRET-CAPTION")),
		segment(0xFE, []byte("SECRET-COMMENT")),
	}
	file := append(inJPEG(asJPEG(t, quarters(400, 300)), secrets...), "SECRET-TAIL"...)
	fromPNG := inPNG(inPNG(asPNG(t, quarters(400, 300)), "tEXt", []byte("Location\x00SECRET-TEXT")), "eXIf", exifBlock(binary.BigEndian, 1))
	for _, raw := range [][]byte{file, fromPNG} {
		if !bytes.Contains(raw, []byte("SECRET")) {
			t.Fatal("the file of the test holds no secret")
		}
		p, err := photo.Prepare(raw)
		if err != nil {
			t.Fatal(err)
		}
		for name, made := range map[string][]byte{"full": p.Full, "thumb": p.Thumb} {
			for _, trace := range []string{"SECRET", "Exif", "ICC", "xmp", "Photoshop", "adobe"} {
				if bytes.Contains(made, []byte(trace)) {
					t.Errorf("%s holds %q", name, trace)
				}
			}
			onlyPicture(t, name, made)
		}
	}
}

// onlyPicture checks that a JPEG file has segments for the picture itself only.
// Source: ITU-T T.81, table B.1: APPn are FFE0 to FFEF, comments FFFE.
func onlyPicture(t *testing.T, name string, file []byte) {
	t.Helper()
	for at := 2; at+4 <= len(file) && file[at+1] != 0xDA; at += 2 + int(binary.BigEndian.Uint16(file[at+2:])) {
		if m := file[at+1]; file[at] != 0xFF || m >= 0xE0 {
			t.Errorf("%s has a segment %x", name, file[at:at+2])
		}
	}
	if !bytes.HasSuffix(file, []byte{0xFF, 0xD9}) {
		t.Errorf("%s goes on behind its end", name)
	}
}

func TestALargePictureIsBroughtDown(t *testing.T) {
	cases := []struct{ w, h, wantW, wantH, thumbW, thumbH int }{
		{3000, 1500, 2400, 1200, 320, 160},
		{1200, 2500, 1152, 2400, 154, 320},
		{100, 50, 100, 50, 100, 50},
		{5000, 1, 2400, 1, 320, 1},
		{1, 1, 1, 1, 1, 1},
	}
	for _, c := range cases {
		p, err := photo.Prepare(asJPEG(t, image.NewGray(image.Rect(0, 0, c.w, c.h))))
		if err != nil {
			t.Fatal(err)
		}
		full, thumb := open(t, p.Full).Bounds(), open(t, p.Thumb).Bounds()
		if p.Width != c.wantW || p.Height != c.wantH || full != image.Rect(0, 0, c.wantW, c.wantH) || thumb != image.Rect(0, 0, c.thumbW, c.thumbH) {
			t.Errorf("%d by %d: got %v and %v, want %d by %d and %d by %d", c.w, c.h, full, thumb, c.wantW, c.wantH, c.thumbW, c.thumbH)
		}
	}
}

func TestWhatCanBeSeenThroughBecomesWhite(t *testing.T) {
	p, err := photo.Prepare(asPNG(t, image.NewNRGBA(image.Rect(0, 0, 16, 16))))
	if err != nil {
		t.Fatal(err)
	}
	if got := open(t, p.Full).At(8, 8); !near(got, white) {
		t.Errorf("got %v, want white", got)
	}
}

func TestTheSameFileBecomesTheSame(t *testing.T) {
	raw := turnedJPEG(asJPEG(t, quarters(3000, 2000)), 6)
	a, errA := photo.Prepare(raw)
	b, errB := photo.Prepare(raw)
	if errA != nil || errB != nil || !bytes.Equal(a.Full, b.Full) || !bytes.Equal(a.Thumb, b.Thumb) {
		t.Errorf("two runs differ (%v, %v)", errA, errB)
	}
	again, err := photo.Prepare(a.Full)
	if err != nil || again.Width != a.Width || again.Height != a.Height {
		t.Errorf("what was made cannot be made over: %v", err)
	}
}

// redWebP is one red pixel, written bit by bit by hand: RIFF and the lossless
// format of RFC 9649, section 3, with five prefix codes of one symbol each.
const redWebP = "RIFF\x16\x00\x00\x00WEBPVP8L\x0a\x00\x00\x00\x2f\x00\x00\x00\x00\x88\xfe\x47\xff\x03"

func TestWebPIsRead(t *testing.T) {
	p, err := photo.Prepare([]byte(redWebP))
	if err != nil {
		t.Fatal(err)
	}
	if got := open(t, p.Full).At(0, 0); !near(got, red) {
		t.Errorf("got %v, want red", got)
	}
}

// claims is a PNG file whose header claims a size that its data do not have.
func claims(t *testing.T, w, h uint32) []byte {
	file := bytes.Clone(asPNG(t, image.NewGray(image.Rect(0, 0, 1, 1))))
	binary.BigEndian.PutUint32(file[16:], w)
	binary.BigEndian.PutUint32(file[20:], h)
	return inPNGHeader(file)
}

func TestWhatIsRefused(t *testing.T) {
	whole := asJPEG(t, quarters(400, 300))
	box := func(brand string) []byte {
		return []byte("\x00\x00\x00\x18ftyp" + brand + "\x00\x00\x00\x00more of it")
	}
	cases := []struct {
		name string
		raw  []byte
		want string
	}{
		{"nothing", nil, "the file is empty"},
		{"a HEIC picture", box("heic"), "this is a HEIC picture: set the phone to send JPEG"},
		{"another brand of it", box("mif1"), "HEIC"},
		{"an AVIF picture", box("avif"), "AVIF"},
		{"a film", box("isom"), "a film"},
		{"a GIF", []byte("GIF89a\x01\x00\x01\x00"), "GIF"},
		{"a raw picture", []byte("II*\x00\x08\x00\x00\x00"), "TIFF"},
		{"a paper", []byte("%PDF-1.7"), "PDF"},
		{"a text named like a picture", []byte("this is photo.jpg"), "no picture"},
		{"a page", []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), "no picture"},
		{"half a JPEG", whole[:len(whole)/2], "damaged or was cut off"},
		{"only the start of a JPEG", whole[:3], "damaged or was cut off"},
		{"half a PNG", asPNG(t, noise(200, 200))[:20000], "damaged or was cut off"},
		{"a damaged PNG", damaged(asPNG(t, noise(50, 50))), "damaged or was cut off"},
		{"a bomb", claims(t, 60000, 60000), "3600 million; send at most 50 million"},
		{"a wide one", claims(t, 50_000_001, 1), "50 million"},
		{"a deep one", claims16(t, 7000, 7000), "save it smaller"},
		{"no width", claims(t, 0, 10), "damaged or was cut off"},
		{"too large a file", append(bytes.Clone(whole), make([]byte, photo.MaxBytes)...), "more than 20 MB"},
	}
	for _, c := range cases {
		_, err := photo.Prepare(c.raw)
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(domain.TextOf(err), c.want) {
			t.Errorf("%s: got %v, want one that says %q", c.name, err, c.want)
		}
	}
}

func noise(w, h int) *image.NRGBA {
	img, r := image.NewNRGBA(image.Rect(0, 0, w, h)), rand.New(rand.NewPCG(1, 2))
	for i := range img.Pix {
		img.Pix[i] = byte(r.Uint32()) | byte(i%4/3*255)
	}
	return img
}

func damaged(file []byte) []byte {
	file[len(file)/2] ^= 0xFF
	return file
}

func BenchmarkPrepare12Megapixels(b *testing.B) {
	img := image.NewYCbCr(image.Rect(0, 0, 4000, 3000), image.YCbCrSubsampleRatio420)
	r := rand.New(rand.NewPCG(1, 2))
	for y := range 3000 {
		for x := range 4000 {
			img.Y[y*img.YStride+x] = byte((x*y)>>13) + byte(r.Uint32()&15)
		}
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 110, 150
	}
	raw := turnedJPEG(asJPEG(b, img), 6)
	b.ReportMetric(float64(len(raw))/1e6, "MB-in")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := photo.Prepare(raw); err != nil {
			b.Fatal(err)
		}
	}
}

func ExamplePhoto_What() {
	p := photo.Photo{Subject: "before", Place: "treble lower bout"}
	fmt.Println(p.What())
	// Output: before, treble lower bout
}
