package invoices

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"strings"

	"github.com/boombuler/barcode/qr"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// TagDoc is what a claim tag is printed from.
type TagDoc struct {
	Shop       workshop.Shop
	Customer   customer.Customer
	Instrument customer.Instrument
	Job        *job.Job
	URL        string // opens the job; at most 1,000 letters
}

// Tag writes a claim tag as PDF on one page to cut apart: the upper half for
// the customer, the lower for the case and the instrument, with a QR code of
// the job's address. It returns an invalid error when the address is empty or
// too long, and an error when the writer or the PDF library fails.
func Tag(w io.Writer, d TagDoc) error {
	picture, err := qrPicture(d.URL)
	if err != nil {
		return fmt.Errorf("print tag %d: %w", d.Job.Tag, err)
	}
	about := about{title: fmt.Sprintf("Claim tag %d", d.Job.Tag), at: d.Job.Arrival.At, tag: d.Job.Tag}
	return write(w, &d.Shop, about, func(s *sheet) { d.draw(s, picture) })
}

const maxURL = 1000

// quiet is the white border that a QR code needs, in modules. Source: ISO/IEC
// 18004, from memory.
const quiet = 4

// moduleDots is the side of a module in dots, so many that a viewer which
// smooths pictures leaves its edges sharp.
const moduleDots = 8

// qrPicture draws the code of an address.
func qrPicture(url string) ([]byte, error) {
	if url == "" || len(url) > maxURL {
		return nil, domain.Invalidf("the address on a tag must have from 1 to %d letters", maxURL)
	}
	code, err := qr.Encode(url, qr.M, qr.Auto)
	if err != nil {
		return nil, err
	}
	n := code.Bounds().Dx()
	side := (n + 2*quiet) * moduleDots
	img := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range n * moduleDots {
		for x := range n * moduleDots {
			if color.GrayModel.Convert(code.At(x/moduleDots, y/moduleDots)).(color.Gray).Y < 128 {
				img.SetColorIndex(x+quiet*moduleDots, y+quiet*moduleDots, 1)
			}
		}
	}
	var out bytes.Buffer
	err = png.Encode(&out, img)
	return out.Bytes(), err
}

func (d TagDoc) draw(s *sheet, picture []byte) {
	room := s.room() - 1
	half := room * 0.55
	upper := d.customerPart(s)
	s.together(beside(upper), gap(max(half-heightOf(upper), 0.5)))
	s.together(d.cutLine(s))
	s.together(d.shopPart(s, picture, room-half-8))
}

// cutLine is a dashed line with its word.
func (d TagDoc) cutLine(s *sheet) line {
	l := textLine(0, "cut here", plain, small-1)
	l = greyed(l)[0]
	x := wide("cut here", plain, small-1) + 2
	l.pieces = append(l.pieces, piece{x: x, y: 2.2, w: s.width - x, thick: 0.25, dashed: true})
	l.height = 6
	return l
}

// customerPart is what the customer takes home.
func (d TagDoc) customerPart(s *sheet) []line {
	j := d.Job
	number := s.bigNumber(0, s.width*0.45, 150, j.Tag)
	x := s.width * 0.5
	width := s.width - x
	facts := greyed(textLine(x, "Claim tag · customer's part", plain, small))
	facts = append(facts, named(x, width, d.Customer.Name, 2)...)
	facts = append(facts, gap(1.5))
	facts = append(facts, s.instrument(x, width, d.Instrument, nil)...)
	facts = append(facts, textLine(x, "brought in "+s.dayHour(j.Arrival.At), plain, body))
	if j.Arrival.SurveyFee > 0 {
		facts = append(facts, paragraph(x, width, "survey fee agreed: "+show(s.shop.Currency, j.Arrival.SurveyFee), plain, body)...)
	}
	if j.Arrival.StorageFee {
		facts = append(facts, paragraph(x, width, "storage fee agreed in writing", plain, body)...)
	}
	out := s.tagHead()
	out = append(out, beside(number, facts), gap(3))
	out = append(out, s.few("What you told us", j.Arrival.Complaint, 3)...)
	out = append(out, s.few("Damage that was there before", d.marks(), 5)...)
	out = append(out, s.few("In the case", j.Arrival.Contents, 2)...)
	out = append(out, gap(2))
	return append(out, paragraph(0, s.width, "Bring this part when you collect the instrument.", bold, body)...)
}

// tagHead is the shop in few lines.
func (s *sheet) tagHead() []line {
	out := named(0, s.width, s.shop.Name, 2)
	where := joinFilled(" · ", append(linesOf(s.shop.Address), s.shop.Phone, s.shop.Email)...)
	for _, l := range wrap(where, plain, small, s.width, 2) {
		out = append(out, greyed(textLine(0, l, plain, small))...)
	}
	return append(out, ruleLine(0, s.width, 1.5, 2))
}

// marks are the condition marks in a line of words.
func (d TagDoc) marks() string {
	var out []string
	for _, m := range d.Job.Marks {
		out = append(out, joinFilled(", ", m.What, m.Place, m.Note))
	}
	text := strings.Join(out, " · ")
	if text != "" && d.Job.Arrival.MarksSeenBy != "" {
		text += " · seen by " + d.Job.Arrival.MarksSeenBy
	}
	return text
}

// few sets a titled text on at most so many lines.
func (s *sheet) few(title, text string, most int) []line {
	lines := wrap(clean(text), plain, body, s.width, most)
	if clean(text) == "" {
		return nil
	}
	out := []line{textLine(0, title, bold, small)}
	for _, l := range lines {
		out = append(out, textLine(0, l, plain, body))
	}
	return append(out, gap(1.5))
}

// shopPart holds two tags side by side, for the case and for the instrument.
func (d TagDoc) shopPart(s *sheet, picture []byte, height float64) line {
	middle := s.width / 2
	out := beside(d.small(s, 0, middle-6, "case", picture), d.small(s, middle+6, middle-6, "instrument", picture))
	out.height = height
	out.pieces = append(out.pieces, piece{x: middle, h: height - 2, thick: 0.25, dashed: true})
	return out
}

// small is one of the two tags that stay in the shop. It names the customer but
// not how to reach them: it hangs in the open.
func (d TagDoc) small(s *sheet, x, width float64, on string, picture []byte) []line {
	out := greyed(textLine(x, "for the "+on, plain, small))
	out = append(out, s.bigNumber(x, width, 150, d.Job.Tag)...)
	side := 30.0
	facts := named(x+side+2, width-side-2, d.Customer.Name, 2)
	for i, l := range wrap(clean(d.Instrument.Title()), plain, body, width-side-2, 3) {
		if i == 0 {
			facts = append(facts, gap(1))
		}
		facts = append(facts, textLine(x+side+2, l, plain, body))
	}
	if d.Instrument.Serial != "" {
		facts = append(facts, textLine(x+side+2, shorten("serial "+clean(d.Instrument.Serial), plain, body, width-side-2), plain, body))
	}
	facts = append(facts, textLine(x+side+2, s.day(d.Job.Arrival.At), plain, body))
	code := line{height: side, pieces: []piece{{x: x - 1, w: side, h: side, picture: picture}}}
	return append(out, beside([]line{code}, facts))
}

// bigNumber sets a number as large as the width allows, at most size points.
func (s *sheet) bigNumber(x, width, size float64, n int) []line {
	text := fmt.Sprint(n)
	if room := wide(text, bold, size); room > width {
		size *= width / room
	}
	l := textLine(x, text, bold, size)
	for i := range l.pieces {
		l.pieces[i].y = size * point * 0.8 // figures have no descender and are lower than the size
	}
	l.height = size * point * 0.9
	return []line{l}
}
