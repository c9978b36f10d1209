package web

import (
	"fmt"
	"math"
	"strings"
)

// StepCurve draws what share is left as time goes by: one solid line that falls in
// steps, within its band, or two lines to compare, the second thin and without bands.
type StepCurve struct {
	What  string // "Still holds"
	Start string // what stands at the left end: "hand-over"
	End   string // and at the right: "after 365 days"
	Until float64
	Lines []StepLine // one or two
}

// StepLine is one line. It begins at a share of 1 and stops at its own end.
type StepLine struct {
	Name   string
	Falls  []StepFall // in order
	Until  float64
	Second bool
}

// StepFall is where a line falls: the share that is left, 0 to 1, and its limits.
type StepFall struct{ At, Share, Low, High float64 }

// StepDrawing is a step curve laid out on a square of 0 to 100.
type StepDrawing struct {
	Foot  string // the share at the lower edge
	Lines []LaidSteps
}

// LaidSteps is a drawn line with its band, as SVG points; the band is "" for none.
type LaidSteps struct {
	Line, Band string
	Second     bool
}

// Lay computes the drawing. The upper edge is 100 %, the lower one the ten below the
// lowest share that is drawn.
func (s StepCurve) Lay() StepDrawing {
	foot := 0.9
	for _, l := range s.Lines {
		for _, f := range l.Falls {
			low := f.Share
			if len(s.Lines) == 1 {
				low = f.Low
			}
			foot = min(foot, math.Floor(low*10)/10)
		}
	}
	foot = max(foot, 0)
	d := StepDrawing{Foot: fmt.Sprintf("%.0f %%", 100*foot)}
	y := func(v float64) float64 { return 100 - share(v-foot, 1-foot)*100 }
	x := func(v float64) float64 { return share(v, s.Until) * 100 }
	for _, l := range s.Lines {
		laid := LaidSteps{Second: l.Second, Line: strings.Join(l.stairs(x, y, func(f StepFall) float64 { return f.Share }), " ")}
		if len(s.Lines) == 1 {
			upper := l.stairs(x, y, func(f StepFall) float64 { return f.High })
			lower := l.stairs(x, y, func(f StepFall) float64 { return f.Low })
			for i := len(lower) - 1; i >= 0; i-- {
				upper = append(upper, lower[i])
			}
			laid.Band = strings.Join(upper, " ")
		}
		d.Lines = append(d.Lines, laid)
	}
	return d
}

// stairs are the corners of a line through one of the values of each fall.
func (l StepLine) stairs(x, y func(float64) float64, value func(StepFall) float64) []string {
	point := func(at, v float64) string { return fmt.Sprintf("%.2f,%.2f", x(at), y(v)) }
	last := 1.0
	out := []string{point(0, last)}
	for _, f := range l.Falls {
		out = append(out, point(f.At, last), point(f.At, value(f)))
		last = value(f)
	}
	return append(out, point(l.Until, last))
}

// Bars draws amounts as solid bars from one line, each with its figure, and with a
// mark for the same thing at another time. Amounts below nothing go to the left.
type Bars struct {
	Rows  []BarRow
	Other string // what the mark means: "the same week last winter"; "" for no marks
}

// BarRow is one bar.
type BarRow struct {
	Name   string
	Href   string // may be empty
	Value  float64
	Text   string // the figure with its unit
	Other  float64
	Marked bool   // Other is known
	Note   string // "last winter 12"; may be empty
	Scale  float64
}

// LaidBar is one drawn bar, in percent of the width.
type LaidBar struct {
	BarRow
	X, Width, At float64
	Below        bool // the amount is below nothing
}

// LaidBars are drawn bars with where nothing is.
type LaidBars struct {
	Zero  float64
	Rows  []LaidBar
	Other string
}

// Lay computes the drawing. Bars share one scale; one with a Scale of its own, for
// amounts that do not compare, is drawn against that.
func (b Bars) Lay() LaidBars {
	low, high := 0.0, 0.0
	for _, r := range b.Rows {
		if r.Scale == 0 {
			low, high = min(low, r.Value), max(high, r.Value)
			if r.Marked {
				low, high = min(low, r.Other), max(high, r.Other)
			}
		}
	}
	span := high - low
	out := LaidBars{Other: b.Other}
	if span > 0 {
		out.Zero = -low / span * 100
	}
	for _, r := range b.Rows {
		lo, of := low, span
		if r.Scale > 0 {
			lo, of = 0, r.Scale
		}
		at := func(v float64) float64 {
			if of <= 0 {
				return 0
			}
			return min(max((v-lo)/of*100, 0), 100)
		}
		l := LaidBar{BarRow: r, X: min(at(0), at(r.Value)), Below: r.Value < 0}
		l.Width = max(at(0), at(r.Value)) - l.X
		if r.Marked {
			l.At = min(max(at(r.Other), 0.2), 99.8)
		}
		out.Rows = append(out.Rows, l)
	}
	return out
}
