package wood

import (
	"math"
	"slices"
)

// Cut is how the growth rings stand in a board.
type Cut string

// The cuts. A quartersawn top moves radially across its width, a flatsawn back
// tangentially. Real boards often lie between: then both bounds count.
const (
	Radial     Cut = "radial"
	Tangential Cut = "tangential"
	Between    Cut = "between"
)

// Cuts lists the cuts.
func Cuts() []Cut { return []Cut{Radial, Tangential, Between} }

// The moisture, in %, between which the coefficients hold (Wood Handbook, text at
// eq. 13-2).
const (
	LeastForCoefficient = 6.0
	MostForCoefficient  = 14.0
)

// Change returns how much a piece widthMM wide across the grain changes, in mm,
// when its moisture goes from mcFrom to mcTo per cent. Shrinkage is negative.
//
// When both moistures lie from 6 to 14 % and the wood has a coefficient C:
// width x C x (to - from), eq. 13-2 of the Wood Handbook. Otherwise eq. 13-3 with
// the shrinkage S and the saturation F of the wood:
// width x (to - from) / (F x 100/S - F + from). The two differ by about 0.3 % where
// one takes over. Moisture below 0 counts as 0 and above the saturation as the
// saturation: wood above it does not move. [Between], and any other cut, is the
// mean of radial and tangential. Along the grain wood hardly moves (0.1 to 0.2 %
// from green to ovendry): see [Board].
//
// It describes a free board. A width below 0 or a value that is not a finite
// number gives NaN.
func Change(sp Species, cut Cut, widthMM, mcFrom, mcTo float64) float64 {
	if !(widthMM >= 0) || math.IsInf(widthMM+mcFrom+mcTo, 0) || math.IsNaN(mcFrom+mcTo) {
		return math.NaN()
	}
	switch cut {
	case Radial:
		return changed(sp.CR, sp.Radial, sp.Saturation, widthMM, mcFrom, mcTo)
	case Tangential:
		return changed(sp.CT, sp.Tangential, sp.Saturation, widthMM, mcFrom, mcTo)
	}
	return (Change(sp, Radial, widthMM, mcFrom, mcTo) + Change(sp, Tangential, widthMM, mcFrom, mcTo)) / 2
}

// changed is [Change] in one direction: c the coefficient or 0, s the shrinkage in
// %, f the saturation in %.
func changed(c, s, f, width, from, to float64) float64 {
	if c > 0 && CoefficientHolds(from, to) {
		return width * c * (to - from)
	}
	from, to = min(max(from, 0), f), min(max(to, 0), f)
	return width * (to - from) / (f*100/fitting(c, s, f) - f + from)
}

// CoefficientHolds reports whether both moistures lie in the range of eq. 13-2.
func CoefficientHolds(from, to float64) bool {
	return min(from, to) >= LeastForCoefficient && max(from, to) <= MostForCoefficient
}

// coefficient is the C that the shrinkage s, in %, gives at 10 % moisture when
// shrinkage is linear below the saturation f: with f = 30 it is S/(3000 - 20 S).
func coefficient(s, f float64) float64 { return 1 / (f*100/s - f + 10) }

// fitting returns the shrinkage that goes with the coefficient. For mahogany,
// khaya and teak the handbook's two tables come from different boards and are up to
// 40 % apart; a board would jump at 6 % moisture if each table had its own range.
// There the coefficient, which covers most of an instrument's life, is followed
// beyond it, and the spread of the wood takes in the other table.
func fitting(c, s, f float64) float64 {
	if c == 0 || math.Abs(coefficient(s, f)/c-1) < 0.05 {
		return s
	}
	return 100 * f / (1/c + f - 10)
}

// Span is a range with its likeliest value: Low <= Likely <= High. Low and High
// are honest bounds by judgement, not a statistical interval.
type Span struct{ Low, Likely, High float64 }

// times multiplies by the span of a factor that is not negative. What is large may
// be multiplied by what is large: the result is as wide as the two allow.
func (s Span) times(f Span) Span {
	ends := []float64{s.Low * f.Low, s.Low * f.High, s.High * f.Low, s.High * f.High}
	return Span{slices.Min(ends), s.Likely * f.Likely, slices.Max(ends)}
}

// opposite is the span of the negative.
func (s Span) opposite() Span { return Span{0 - s.High, 0 - s.Likely, 0 - s.Low} }

// Laminating is the part of a solid board's movement that a plate of crossed
// layers keeps. Common practice, no source; the figures are our judgement. The
// handbook's coefficients do not hold for such plates: crossed layers hold each
// other.
var Laminating = Span{0.05, 0.2, 0.5}

// Board is a piece that moves: a top, a back, a fingerboard.
type Board struct {
	Wood      string  // by a name that [Find] knows; any other is [Unknown]
	Cut       Cut     // "" is [Between]
	Width     float64 // across the grain, mm
	Along     bool    // measured along the grain: it does not move
	Laminated bool    // crossed layers, a plywood plate; see [Laminating]
}

// Change returns how much the board changes, in mm, when it comes from rest in one
// air to rest in another: shrinkage negative. The span takes in the cut, how far
// boards of the wood differ, and laminating. Along the grain it is 0.
//
// It is the movement of a free board and so an upper bound for one that braces and
// edges hold.
func (b Board) Change(from, to Air) Span {
	return b.mover().change(from.Moisture(), to.Moisture())
}

// mover is a board whose wood was looked up.
type mover struct {
	wood   Species
	cuts   []Cut
	width  float64
	factor Span
}

func (b Board) mover() mover {
	sp, _ := Find(b.Wood)
	m := mover{wood: sp, cuts: []Cut{b.Cut}, width: b.Width, factor: Span{1 - sp.Spread, 1, 1 + sp.Spread}}
	if b.Cut != Radial && b.Cut != Tangential {
		m.cuts = []Cut{Radial, Tangential}
	}
	if b.Laminated {
		m.factor = m.factor.times(Laminating)
	}
	if b.Along {
		m.factor = Span{}
	}
	return m
}

// change is the change in mm between two moistures.
func (m mover) change(from, to float64) Span {
	s := Span{Low: math.Inf(1), High: math.Inf(-1)}
	for _, cut := range m.cuts {
		d := Change(m.wood, cut, m.width, from, to)
		s = Span{min(s.Low, d), s.Likely + d/float64(len(m.cuts)), max(s.High, d)}
	}
	return s.times(m.factor)
}
