package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Strip is a job's life on one line: solid blocks where hands work, hatched
// where it waits, a thin line where nobody touched it.
//
// From and To bound the drawing. Times may be in any zone: the template moves
// them to the shop's. Today and Promised may be zero. Stretches between pieces that no piece covers are
// drawn as idle.
type Strip struct {
	From, To time.Time
	Today    time.Time
	Promised time.Time
	Pieces   []StripPiece
	Size     StripSize
	Weekly   bool   // mark each Monday
	Name     string // what the strip is of, for its text: "Tag 318"
}

// StripSize is how large a strip is drawn.
type StripSize string

// The sizes. Large has its dates and a table; Small is one line for lists.
const (
	Large StripSize = "large"
	Small StripSize = "small"
)

// PieceKind is what happens in a stretch.
type PieceKind string

// The kinds. Air is a wait in the cabinet, which is hatched the other way and
// in the cold colour.
const (
	Hands PieceKind = "hands"
	Waits PieceKind = "wait"
	Air   PieceKind = "air"
	Idle  PieceKind = "idle"
)

// Word says the kind to a person.
func (k PieceKind) Word() string {
	switch k {
	case Hands:
		return "hands"
	case Waits:
		return "waiting"
	case Air:
		return "waiting in the cabinet"
	}
	return "nobody touched it"
}

// StripPiece is one stretch. Certain is true for what happened, false for what
// is expected: those ends fade.
type StripPiece struct {
	Kind     PieceKind
	From, To time.Time
	Label    string
	Certain  bool
}

// StripDrawing is a strip laid out; lengths are in percent of the width.
type StripDrawing struct {
	Large    bool
	Height   int // px
	Top, Bar int // px: upper edge and height of the bar
	Middle   int // px: where the thin line runs
	Blocks   []StripBlock
	Ticks    []StripMark
	Mondays  []StripMark
	Today    *StripMark
	Promised *StripMark
	Cabinet  bool   // some of it is time in the cabinet
	Text     string // the whole strip in words
}

// StripBlock is one drawn piece.
type StripBlock struct {
	X, Width float64
	Kind     PieceKind
	Faint    bool
	Title    string
}

// Work returns the blocks of hands; they are drawn last, or short work would
// vanish under the wait after it.
func (d StripDrawing) Work() []StripBlock { return d.only(true) }

// Rest returns the other blocks.
func (d StripDrawing) Rest() []StripBlock { return d.only(false) }

func (d StripDrawing) only(hands bool) (out []StripBlock) {
	for _, b := range d.Blocks {
		if (b.Kind == Hands) == hands {
			out = append(out, b)
		}
	}
	return out
}

// Left, Right and Wide write the lengths for SVG.
func (b StripBlock) Left() string  { return percent(b.X) }
func (b StripBlock) Right() string { return percent(b.X + b.Width) }
func (b StripBlock) Wide() string  { return percent(b.Width) }

// StripMark is one day marked on the strip.
type StripMark struct {
	X      float64
	Label  string
	Anchor string // start, middle or end
}

// Left writes the place for SVG.
func (m StripMark) Left() string { return percent(m.X) }

func percent(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) + "%" }

// leastHands is the width, in percent, below which a block of hands could not
// be seen: 40 minutes in three weeks would be a seventh of a percent.
const leastHands = 1.2

// Lay computes the drawing. A strip whose To is not after From draws nothing
// but its line.
func (s Strip) Lay() StripDrawing {
	d := StripDrawing{Large: true, Height: 86, Top: 26, Bar: 26, Middle: 39}
	if s.Size == Small {
		d = StripDrawing{Height: 26, Top: 7, Bar: 14, Middle: 14}
	}
	d.Text = s.words()
	if !s.To.After(s.From) {
		return d
	}
	for _, p := range s.filled() {
		if b, ok := s.block(p); ok {
			d.Blocks = append(d.Blocks, b)
			d.Cabinet = d.Cabinet || b.Kind == Air
		}
	}
	d.Today = s.mark(s.Today, "today")
	d.Promised = s.mark(s.Promised, "say "+Day(s.Promised))
	if s.Size != Small {
		d.Ticks = s.ticks(d.Today)
	}
	if s.Weekly {
		d.Mondays = s.mondays()
	}
	return d
}

// In returns the strip with its times in zone.
func (s Strip) In(zone *time.Location) Strip {
	move := func(t time.Time) time.Time {
		if t.IsZero() {
			return t
		}
		return t.In(zone)
	}
	s.From, s.To, s.Today, s.Promised = move(s.From), move(s.To), move(s.Today), move(s.Promised)
	s.Pieces = slices.Clone(s.Pieces)
	for i, p := range s.Pieces {
		s.Pieces[i].From, s.Pieces[i].To = move(p.From), move(p.To)
	}
	return s
}

// filled returns the pieces in order of their start, with idle pieces in the
// gaps. Of pieces that start together, hands come last and so lie on top.
func (s Strip) filled() []StripPiece {
	in := slices.Clone(s.Pieces)
	slices.SortStableFunc(in, func(a, b StripPiece) int {
		return cmp.Or(a.From.Compare(b.From), cmp.Compare(rank(a.Kind), rank(b.Kind)))
	})
	var out []StripPiece
	var end time.Time
	for _, p := range in {
		if !end.IsZero() && p.From.After(end) {
			out = append(out, StripPiece{Kind: Idle, From: end, To: p.From, Certain: p.Certain})
		}
		out = append(out, p)
		if p.To.After(end) {
			end = p.To
		}
	}
	return out
}

func rank(k PieceKind) int {
	return slices.Index([]PieceKind{Idle, Waits, Air, Hands}, k)
}

// at places a moment on the strip, in percent.
func (s Strip) at(t time.Time) float64 {
	share := float64(t.Sub(s.From)) / float64(s.To.Sub(s.From))
	return min(max(share, 0), 1) * 100
}

func (s Strip) block(p StripPiece) (StripBlock, bool) {
	if p.To.Before(s.From) || p.From.After(s.To) || p.To.Before(p.From) {
		return StripBlock{}, false
	}
	b := StripBlock{X: s.at(p.From), Kind: p.Kind, Faint: !p.Certain, Title: pieceTitle(p)}
	b.Width = s.at(p.To) - b.X
	if p.Kind == Hands && b.Width < leastHands {
		b.Width = leastHands
		b.X = min(b.X, 100-leastHands)
	}
	return b, b.Width > 0
}

func pieceTitle(p StripPiece) string {
	label := p.Label
	if label == "" {
		label = p.Kind.Word()
	}
	text := label + ", " + Day(p.From)
	if to := Day(p.To); to != Day(p.From) {
		text += " to " + to
	}
	return text
}

// mark places a day, nil when it is not set or lies outside.
func (s Strip) mark(t time.Time, label string) *StripMark {
	if t.IsZero() || t.Before(s.From) || t.After(s.To) {
		return nil
	}
	return &StripMark{X: s.at(t), Label: label, Anchor: anchor(s.at(t))}
}

// anchor keeps a label inside the drawing at both ends.
func anchor(x float64) string {
	switch {
	case x < 12:
		return "start"
	case x > 88:
		return "end"
	}
	return "middle"
}

// ticks marks up to five midnights at even steps of days, leaving out those
// whose label would touch today's.
func (s Strip) ticks(today *StripMark) []StripMark {
	first := time.Date(s.From.Year(), s.From.Month(), s.From.Day(), 0, 0, 0, 0, s.From.Location())
	days := int(s.To.Sub(first).Hours()/24) + 1
	step := 1
	for _, step = range []int{1, 2, 7, 14, 28, 91, 365} {
		if days/step < 5 {
			break
		}
	}
	var out []StripMark
	for i := step; ; i += step {
		t := first.AddDate(0, 0, i)
		if !t.Before(s.To) || len(out) == 5 {
			return out
		}
		x := s.at(t)
		if today == nil || math.Abs(x-today.X) > 16 {
			out = append(out, StripMark{X: x, Label: t.Format("2 Jan"), Anchor: anchor(x)})
		}
	}
}

// mondays marks the beginning of each week.
func (s Strip) mondays() []StripMark {
	var out []StripMark
	t := time.Date(s.From.Year(), s.From.Month(), s.From.Day(), 0, 0, 0, 0, s.From.Location())
	for ; t.Before(s.To); t = t.AddDate(0, 0, 1) {
		if t.Weekday() == time.Monday && t.After(s.From) {
			out = append(out, StripMark{X: s.at(t)})
		}
	}
	return out
}

// words tells the whole strip as text.
func (s Strip) words() string {
	var b strings.Builder
	if s.Name != "" {
		b.WriteString(s.Name + ": ")
	}
	fmt.Fprintf(&b, "%s to %s.", Day(s.From), Day(s.To))
	for _, p := range s.filled() {
		if p.Kind == Idle && p.Label == "" {
			continue
		}
		sure := ""
		if !p.Certain {
			sure = ", expected"
		}
		fmt.Fprintf(&b, " %s (%s%s).", pieceTitle(p), p.Kind.Word(), sure)
	}
	if !s.Today.IsZero() {
		fmt.Fprintf(&b, " Today is %s.", Day(s.Today))
	}
	if !s.Promised.IsZero() {
		fmt.Fprintf(&b, " Promised for %s.", Day(s.Promised))
	}
	return b.String()
}

// Table lists the pieces, for those who would rather read than look.
func (s Strip) Table() Table {
	t := Table{
		Caption: "The strip in words", Hidden: true,
		Columns: []Column{Head("what"), Head("kind"), Head("from"), Head("to"), Head("sure")},
	}
	for _, p := range s.filled() {
		sure := "happened"
		if !p.Certain {
			sure = "expected"
		}
		label := p.Label
		if label == "" {
			label = p.Kind.Word()
		}
		t.Rows = append(t.Rows, Line(label, p.Kind.Word(), DayHour(p.From), DayHour(p.To), sure))
	}
	return t
}
