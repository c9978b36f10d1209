package invoices

import (
	"math"
	"sync"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	widefonts "github.com/hajimehoshi/ebiten/v2/examples/resources/fonts"
	"github.com/johnfercher/maroto/v2/pkg/consts/fontstyle"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// point is a typographic point in mm.
const point = 25.4 / 72

// missing is printed for a letter that no font has.
const missing = '□'

// face is one font file and how wide its letters are.
type face struct {
	family  string
	style   fontstyle.Type
	ttf     []byte
	advance []uint16 // by rune, thousandths of the size plus 1; 0: it has no such letter
}

func (f *face) has(r rune) bool { return int(r) < len(f.advance) && f.advance[r] > 0 }

// width is that of a letter, in sizes.
func (f *face) width(r rune) float64 {
	if !f.has(r) {
		return 0
	}
	return float64(f.advance[r]-1) / 1000
}

// faces are the text font, its bold, and the wide font that steps in for
// letters they lack: kana and kanji above all. It comes in one weight.
var faces = sync.OnceValue(func() []*face {
	return []*face{
		newFace("text", fontstyle.Normal, liberationsansregular.TTF),
		newFace("text", fontstyle.Bold, liberationsansbold.TTF),
		newFace("wide", fontstyle.Normal, widefonts.MPlus1pRegular_ttf),
	}
})

// newFace reads the widths of all letters. It panics on a file that is no font,
// which a test would find: the files are part of the program.
func newFace(family string, style fontstyle.Type, ttf []byte) *face {
	parsed, err := sfnt.Parse(ttf)
	if err != nil {
		panic("invoices: font " + family + ": " + err.Error())
	}
	f := &face{family: family, style: style, ttf: ttf, advance: make([]uint16, math.MaxUint16+1)}
	var buf sfnt.Buffer
	for r := rune(' '); r <= math.MaxUint16; r++ {
		glyph, err := parsed.GlyphIndex(&buf, r)
		if err != nil || glyph == 0 {
			continue
		}
		if wide, err := parsed.GlyphAdvance(&buf, glyph, fixed.I(1000), font.HintingNone); err == nil {
			f.advance[r] = uint16(min(wide.Round(), math.MaxUint16-1)) + 1
		}
	}
	return f
}

// weight chooses between the text fonts.
type weight int

const (
	plain weight = iota
	bold
)

// choose returns the face for a letter and the letter to print: the text face
// of the weight, else the wide one, else a box.
func choose(r rune, w weight) (*face, rune) {
	all := faces()
	own, wide := all[w], all[2]
	switch {
	case own.has(r):
		return own, r
	case wide.has(r):
		return wide, r
	}
	return own, missing
}

// run is a stretch of text in one face.
type run struct {
	face  *face
	text  string
	width float64 // mm
}

// set lays out cleaned text of one line in faces that have its letters, from
// left to right as it is seen.
func set(text string, w weight, size float64) []run {
	var out []run
	for _, r := range visual(text) {
		f, letter := choose(r, w)
		if n := len(out); n > 0 && (out[n-1].face == f || r == ' ' && out[n-1].face.has(r)) {
			f = out[n-1].face
		} else {
			out = append(out, run{face: f})
		}
		last := &out[len(out)-1]
		last.text += string(letter)
		last.width += f.width(letter) * size * point
	}
	return out
}

// wide is how many mm a line of text takes.
func wide(text string, w weight, size float64) float64 {
	var sum float64
	for _, r := range text {
		f, letter := choose(r, w)
		sum += f.width(letter)
	}
	return sum * size * point
}
