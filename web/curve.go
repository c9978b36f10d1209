package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Curve draws readings over time against a limit: a solid line through what was
// measured, a broken one to what is expected. With a fit the readings are dots
// alone and the line is the fitted curve within its band.
type Curve struct {
	Unit     string
	Points   []CurvePoint  // in order of time
	Fit      []CurveFit    // in order of time; empty for a line through the points
	Limit    float64       // 0 for no line
	LimitIs  string        // what the limit means: "may be glued"
	Air      bool          // the curve is of air or moisture
	Marked   string        // what is measured: "crack"
	Decimals int           // of the figures shown
	Window   *CurveWindow  // when it is likely over; nil for nobody knows
	Today    time.Time     // marked when it is set
	Second   *SecondUnit   // the figures in another unit as well; nil for none
	Levels   []CurveLevel  // further lines across, each with its word
	FromZero bool          // the foot of the drawing is 0
	Dense    bool          // too many points for dots: a line alone
	Gap      time.Duration // no line is drawn over a longer silence; 0 for none too long
	Words    string        // how to read a fit, in place of the usual words
	Dashed   string        // what the broken line means: "the meter was not within its calibration"; may be empty
}

// CurveLevel is a line across at one value, with its word at the right end.
type CurveLevel struct {
	Value float64
	Is    string // "band to 50 %"
}

// CurvePoint is one value at one moment.
type CurvePoint struct {
	At       time.Time
	Value    float64
	Expected bool
}

// CurveFit is the fitted curve at one moment with its band.
type CurveFit struct {
	At             time.Time
	Low, Mid, High float64
}

// CurveWindow is the stretch in which something is likely to happen.
type CurveWindow struct {
	From, Likely, To time.Time
	Is               string // what happens: "likely steady"
}

// SecondUnit shows figures in a second unit.
type SecondUnit struct {
	Unit     string
	Factor   float64 // of the second unit for one of the first
	Decimals int
}

// CurveDrawing is a curve laid out in percent.
type CurveDrawing struct {
	Segments    []CurveSegment
	Dots        []CurveDot
	LimitY      string // "" for no line
	LimitIs     string
	High, Low   string // figures at the upper and the lower edge
	First, Last time.Time
	Air         bool
	Past, Ahead string // the fitted line up to today and from it, as SVG points of 0 to 100
	Band        string // the band around it, as SVG points
	Window      *StripBlock
	WindowIs    string // "likely steady Sat 5 Dec, late Tue 8 Dec"
	Likely      string // where its likely day is
	Today       *StripMark
	Levels      []LaidLevel
}

// LaidLevel is a level as drawn. Its word stands above it, or below it at the
// upper edge.
type LaidLevel struct {
	Y, Is string
	Dy    int // px from the line to the foot of the word
}

// CurveSegment is a line between two points.
type CurveSegment struct {
	X1, Y1, X2, Y2 string
	Expected       bool
}

// CurveDot is one point.
type CurveDot struct {
	X, Y, Title string
	Expected    bool
}

// curveScale places moments and values on a drawing.
type curveScale struct {
	first, last time.Time
	low, high   float64
}

func (c curveScale) x(t time.Time) float64 {
	return share(t.Sub(c.first).Seconds(), c.last.Sub(c.first).Seconds()) * 100
}

func (c curveScale) y(v float64) float64 { return 100 - share(v-c.low, c.high-c.low)*100 }

// Lay computes the drawing; fewer than two points draw no line.
func (c Curve) Lay() CurveDrawing {
	d := CurveDrawing{LimitIs: c.LimitIs, Air: c.Air}
	if len(c.Points)+len(c.Fit) == 0 {
		return d
	}
	k := c.scale()
	d.First, d.Last = k.first, k.last
	d.High, d.Low = c.text(k.high), c.text(k.low)
	if c.Limit != 0 {
		d.LimitY = percent(k.y(c.Limit))
	}
	for i, p := range c.Points {
		dot := CurveDot{X: percent(k.x(p.At)), Y: percent(k.y(p.Value)), Title: Day(p.At) + ", " + c.text(p.Value), Expected: p.Expected}
		if i > 0 && len(c.Fit) == 0 && (c.Gap == 0 || p.At.Sub(c.Points[i-1].At) <= c.Gap) {
			last := d.Dots[i-1]
			d.Segments = append(d.Segments, CurveSegment{X1: last.X, Y1: last.Y, X2: dot.X, Y2: dot.Y, Expected: p.Expected})
		}
		d.Dots = append(d.Dots, dot)
	}
	if c.Dense {
		d.Dots = nil
	}
	for _, l := range c.Levels {
		laid := LaidLevel{Y: percent(k.y(l.Value)), Is: l.Is, Dy: -4}
		if k.y(l.Value) < 12 {
			laid.Dy = 13
		}
		d.Levels = append(d.Levels, laid)
	}
	c.layFit(&d, k)
	c.layWindow(&d, k)
	return d
}

// layFit draws the fitted line, broken from today on, within its band.
func (c Curve) layFit(d *CurveDrawing, k curveScale) {
	if len(c.Fit) < 2 {
		return
	}
	point := func(t time.Time, v float64) string { return fmt.Sprintf("%.2f,%.2f", k.x(t), k.y(v)) }
	var past, ahead, upper, lower []string
	for _, p := range c.Fit {
		at := point(p.At, p.Mid)
		if !p.At.After(c.Today) {
			past, ahead = append(past, at), []string{at}
		} else {
			ahead = append(ahead, at)
		}
		upper = append(upper, point(p.At, p.High))
		lower = append(lower, point(p.At, p.Low))
	}
	for i := len(lower) - 1; i >= 0; i-- {
		upper = append(upper, lower[i])
	}
	d.Past, d.Ahead, d.Band = strings.Join(past, " "), strings.Join(ahead, " "), strings.Join(upper, " ")
}

func (c Curve) layWindow(d *CurveDrawing, k curveScale) {
	if !c.Today.IsZero() && !c.Today.Before(k.first) && !c.Today.After(k.last) {
		x := k.x(c.Today)
		d.Today = &StripMark{X: x, Label: "today", Anchor: anchor(x)}
	}
	if c.Window == nil {
		return
	}
	from := k.x(c.Window.From)
	d.Window = &StripBlock{X: from, Width: max(k.x(c.Window.To)-from, 0.8)}
	d.Likely = percent(k.x(c.Window.Likely))
	d.WindowIs = fmt.Sprintf("%s %s, late %s", c.Window.Is, Day(c.Window.Likely), Day(c.Window.To))
}

// text writes a value with its unit, and with the second one behind it.
func (c Curve) text(v float64) string {
	s := strconv.FormatFloat(v, 'f', c.Decimals, 64) + " " + c.Unit
	if c.Second != nil {
		s += " (" + strconv.FormatFloat(v*c.Second.Factor, 'f', c.Second.Decimals, 64) + " " + c.Second.Unit + ")"
	}
	return s
}

// scale spans all that is drawn, in time and in value.
func (c Curve) scale() curveScale {
	var k curveScale
	if n := len(c.Points); n > 0 {
		k = curveScale{first: c.Points[0].At, last: c.Points[n-1].At, low: c.Points[0].Value, high: c.Points[0].Value}
	} else {
		k = curveScale{first: c.Fit[0].At, last: c.Fit[0].At, low: c.Fit[0].Low, high: c.Fit[0].High}
	}
	if c.FromZero {
		k.low = min(k.low, 0)
	}
	value := func(v float64) { k.low, k.high = min(k.low, v), max(k.high, v) }
	for _, p := range c.Points {
		value(p.Value)
	}
	if c.Limit != 0 {
		value(c.Limit)
	}
	for _, l := range c.Levels {
		value(l.Value)
	}
	for _, p := range c.Fit {
		value(p.Low)
		value(p.High)
	}
	until := []time.Time{c.Today}
	if len(c.Fit) > 0 {
		until = append(until, c.Fit[len(c.Fit)-1].At)
	}
	if c.Window != nil {
		until = append(until, c.Window.To)
	}
	for _, t := range until {
		if t.After(k.last) {
			k.last = t
		}
	}
	return k
}

// In returns the curve with its times in zone.
func (c Curve) In(zone *time.Location) Curve {
	points, fit := make([]CurvePoint, len(c.Points)), make([]CurveFit, len(c.Fit))
	for i, p := range c.Points {
		p.At = p.At.In(zone)
		points[i] = p
	}
	for i, p := range c.Fit {
		p.At = p.At.In(zone)
		fit[i] = p
	}
	c.Points, c.Fit = points, fit
	if !c.Today.IsZero() {
		c.Today = c.Today.In(zone)
	}
	if c.Window != nil {
		c.Window = &CurveWindow{From: c.Window.From.In(zone), Likely: c.Window.Likely.In(zone), To: c.Window.To.In(zone), Is: c.Window.Is}
	}
	return c
}
