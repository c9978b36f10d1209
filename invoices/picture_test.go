package invoices

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"testing"
	"time"

	"github.com/boombuler/barcode/qr"

	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// spot is where a piece stands on a page, in mm from its upper left corner.
type spot struct{ x, y, w, h float64 }

// pictureSpots finds the pictures on the first page as laid out.
func pictureSpots(shop *workshop.Shop, draw func(*sheet)) []spot {
	s := newSheet(shop, about{title: "any"})
	draw(s)
	var out []spot
	y := marginTop
	for _, l := range s.pages()[0] {
		for _, p := range l.pieces {
			if p.picture != nil {
				out = append(out, spot{margin + p.x, y + p.y, p.w, p.h})
			}
		}
		y += l.height
	}
	return out
}

func TestQuoteShowsHandsSolidAndWaitingHatched(t *testing.T) {
	d := sampleQuoteDoc(t, quebec, quote.Estimate)
	img := pictureOf(t, printed(t, func(w io.Writer) error { return Quote(w, d) }), 1)
	spots := pictureSpots(&d.Shop, d.draw)
	if len(spots) != 1 {
		t.Fatalf("got %d pictures, want the strip alone", len(spots))
	}
	// The hold comes first: about an hour of hands, then ten days of waiting.
	at := spots[0]
	if ink := inkIn(img, at.x+0.5, at.y+0.5, 2, at.h-1); ink < 0.95 {
		t.Errorf("hands: %.0f %% of the block is inked, want all of it", ink*100)
	}
	if ink := inkIn(img, at.x+20, at.y+0.7, 80, at.h-1.4); ink < 0.1 || ink > 0.5 {
		t.Errorf("waiting: %.0f %% of the block is inked, want slanting lines: 10 to 50 %%", ink*100)
	}
	// What is on a page: the letterhead left, the label right, nothing in the margins.
	for _, c := range []struct {
		says        string
		x, y, w, h  float64
		least, most float64
	}{
		{"name of the shop", margin, marginTop, 60, 6, 0.05, 0.5},
		{"label of the document", 215.9 - margin - 60, marginTop, 60, 7, 0.05, 0.5},
		{"left margin", 0, 0, margin - 1, 279, 0, 0},
		{"right margin", 215.9 - margin + 1, 0, margin - 2, 279, 0, 0},
		{"above the letterhead", 0, 0, 215, marginTop - 1, 0, 0},
		{"foot", margin, 279.4 - marginBottom - footHeight, 60, footHeight, 0.01, 0.4},
	} {
		if ink := inkIn(img, c.x, c.y, c.w, c.h); ink < c.least || ink > c.most {
			t.Errorf("%s: %.3f of it is inked, want from %.2f to %.2f", c.says, ink, c.least, c.most)
		}
	}
}

// Letters found as text may still be drawn as nothing: this looks for their ink.
func TestKanjiAreDrawn(t *testing.T) {
	d := sampleReceiptDoc(t, british)
	d.Customer.Name = "山田太郎"
	img := pictureOf(t, printed(t, func(w io.Writer) error { return Receipt(w, d) }), 1)
	s := newSheet(&d.Shop, about{title: d.Payment.Label()})
	d.draw(s)
	y := marginTop
	for _, l := range s.pages()[0] {
		for _, p := range l.pieces {
			if len(p.runs) == 0 || p.runs[0].text != d.Customer.Name {
				continue
			}
			if p.runs[0].face.family != "wide" {
				t.Errorf("the name is set in %s, want the wide font", p.runs[0].face.family)
			}
			size := p.size * point
			if ink := inkIn(img, margin+p.x, y+p.y-size*0.85, 4*size, size); ink < 0.08 || ink > 0.6 {
				t.Errorf("%.2f of the name is inked, want strokes: 0.08 to 0.60", ink)
			}
			return
		}
		y += l.height
	}
	t.Fatal("the name is not on the page")
}

// Every module of the code as printed is compared with the code of the library.
func TestTagShowsTheCode(t *testing.T) {
	d := sampleTagDoc(t, british)
	img := pictureOf(t, printed(t, func(w io.Writer) error { return Tag(w, d) }), 1)
	code, err := qr.Encode(d.URL, qr.M, qr.Auto)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := qrPicture(d.URL)
	if err != nil {
		t.Fatal(err)
	}
	spots := pictureSpots(&d.Shop, func(s *sheet) { d.draw(s, picture) })
	if len(spots) != 2 {
		t.Fatalf("got %d codes, want one for the case and one for the instrument", len(spots))
	}
	n := code.Bounds().Dx()
	for _, at := range spots {
		module, wrong := at.w/float64(n+2*quiet), 0
		for y := range n {
			for x := range n {
				px := int((at.x + (float64(x+quiet)+0.5)*module) * dpi / 25.4)
				py := int((at.y + (float64(y+quiet)+0.5)*module) * dpi / 25.4)
				printed := img.GrayAt(px, py).Y < 128
				if want := color.GrayModel.Convert(code.At(x, y)).(color.Gray).Y < 128; printed != want {
					wrong++
				}
			}
		}
		if wrong > 0 {
			t.Errorf("%d of %d modules are printed wrong", wrong, n*n)
		}
	}
}

func TestDrawStrip(t *testing.T) {
	const wide = 1000
	spans := []span{{time.Hour, true}, {240 * time.Hour, false}, {0, true}, {2 * time.Hour, true}}
	img, err := png.Decode(bytes.NewReader(drawStrip(spans, wide)))
	if err != nil {
		t.Fatal(err)
	}
	strip, ok := img.(*image.Paletted)
	if !ok || strip.Bounds().Dx() != wide || strip.Bounds().Dy() != stripHigh {
		t.Fatalf("got a %T of %v, want a palette picture of %d x %d", img, img.Bounds(), wide, stripHigh)
	}
	columnInk := func(x int) (dark int) {
		for y := range stripHigh {
			dark += int(strip.ColorIndexAt(x, y))
		}
		return dark
	}
	for x := range leastWide { // the first hour, though it is 1/243 of the length
		if got := columnInk(x); got != stripHigh {
			t.Errorf("hands: column %d has %d dark dots, want %d", x, got, stripHigh)
		}
	}
	for x := 100; x < 900; x++ {
		if got := columnInk(x); got < stripHigh/8 || got > stripHigh/2 {
			t.Fatalf("waiting: column %d has %d dark dots, want some and not most of %d", x, got, stripHigh)
		}
	}
	if got := drawStrip(nil, wide); got != nil {
		t.Errorf("no tasks: got %d bytes, want no picture", len(got))
	}
}
