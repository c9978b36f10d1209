package web

import (
	"fmt"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain/air"
	"winterbench/domain/wood"
)

// airSpans are how many days back a picture of the air may reach.
var airSpans = []int{14, 7, 90}

// spanIn reads how far back was chosen; the usual span for anything else.
func spanIn(c *gin.Context) int {
	for _, n := range airSpans {
		if c.Query("days") == strconv.Itoa(n) {
			return n
		}
	}
	return airSpans[0]
}

// spanLinks offers the spans, the shortest first, of an address that ends in ?
// or &.
func spanLinks(at string, days int) []SpanLink {
	out := make([]SpanLink, 0, len(airSpans))
	for _, n := range []int{7, 14, 90} {
		out = append(out, SpanLink{Link: Link{Href: at + "days=" + strconv.Itoa(n), Text: fmt.Sprintf("%d days", n)}, Here: n == days})
	}
	return out
}

// mostDots is how many readings are drawn one by one; more are thinned to a
// line.
const mostDots = 40

// mostPoints is how many points the line of a picture has at most.
const mostPoints = 240

// silence is how long a place may go unread before the line of its picture breaks.
const silence = 36 * time.Hour

// airPicture draws the humidity of a place over some days; nil for fewer than
// two readings.
func airPicture(p air.Place, rs []air.Reading, v *airView, days int) *Picture {
	rs = air.Standing(rs)
	if len(rs) < 2 {
		return nil
	}
	curve := &Curve{Unit: "%", Air: true, Marked: "Humidity", Decimals: 0, Gap: silence}
	for _, r := range thinned(rs, mostPoints) {
		curve.Points = append(curve.Points, CurvePoint{At: r.At, Value: r.RH.InexactFloat64(), Expected: !r.Trusted})
		if !r.Trusted {
			curve.Dashed = "the meter was not within its calibration, or nobody said which it was"
		}
	}
	curve.Dense = len(curve.Points) > mostDots
	if !p.Rules.High.IsZero() {
		low, high := p.Rules.Low, p.Rules.High
		curve.Levels = []CurveLevel{
			{Value: high.InexactFloat64(), Is: "band to " + high.String() + " %"}, {Value: low.InexactFloat64(), Is: "band from " + low.String() + " %"},
		}
	}
	table := dayTable(p, rs, v)
	return &Picture{Title: fmt.Sprintf("%s, %d days", p.Name, days), Text: airPictureText(p, rs), Curve: curve, Table: table}
}

// airPictureText says what the picture shows.
func airPictureText(p air.Place, rs []air.Reading) string {
	low, high, out := rs[0].RH, rs[0].RH, 0
	for _, r := range rs {
		if r.RH.LessThan(low) {
			low = r.RH
		}
		if r.RH.GreaterThan(high) {
			high = r.RH
		}
		if w := p.Rules.Where(r.RH); w == air.Below || w == air.Above {
			out++
		}
	}
	text := fmt.Sprintf("Humidity of %s from %s to %s %% over %s", p.Name, low.Round(1), high.Round(1), Plural(len(rs), "reading", "readings"))
	if !p.Rules.High.IsZero() {
		text += fmt.Sprintf("; %d of them outside the band of %s to %s %%", out, p.Rules.Low, p.Rules.High)
	}
	return text + "."
}

// thinned keeps of long series the lowest and the highest reading of each of
// equal stretches of time, so that no excursion is lost.
func thinned(rs []air.Reading, most int) []air.Reading {
	if len(rs) <= most {
		return rs
	}
	first, span := rs[0].At, rs[len(rs)-1].At.Sub(rs[0].At)
	step := span/time.Duration(most/2) + 1
	var out []air.Reading
	for i := 0; i < len(rs); {
		k, low, high := i, i, i
		for slot := rs[i].At.Sub(first) / step; k < len(rs) && rs[k].At.Sub(first)/step == slot; k++ {
			if rs[k].RH.LessThan(rs[low].RH) {
				low = k
			}
			if rs[k].RH.GreaterThan(rs[high].RH) {
				high = k
			}
		}
		a, b := min(low, high), max(low, high)
		out = append(out, rs[a])
		if b != a {
			out = append(out, rs[b])
		}
		i = k
	}
	return out
}

// dayTable sums readings up by day, the newest first.
func dayTable(p air.Place, rs []air.Reading, v *airView) Table {
	zone := v.moment.Location()
	t := Table{
		Caption: "Air of " + p.Name + " by day", Hidden: true,
		Columns: []Column{Head("Day"), Figures("Lowest", "%"), Figures("Highest", "%"), Figures("Temperature", warmUnit(v.shop.Units)), Figures("Readings", ""), Head("Outside the band")},
	}
	for end := len(rs); end > 0; {
		day := Day(rs[end-1].At.In(zone))
		start := end
		for start > 0 && Day(rs[start-1].At.In(zone)) == day {
			start--
		}
		t.Rows = append(t.Rows, dayRow(p, day, rs[start:end], v.shop.Units))
		end = start
	}
	return t
}

func dayRow(p air.Place, day string, rs []air.Reading, u wood.Units) Row {
	low, high, out, warm := rs[0].RH, rs[0].RH, 0, ""
	for _, r := range rs {
		if r.RH.LessThan(low) {
			low = r.RH
		}
		if r.RH.GreaterThan(high) {
			high = r.RH
		}
		if w := p.Rules.Where(r.RH); w == air.Below || w == air.Above {
			out++
		}
		if r.Celsius != nil {
			warm = warmFigure(r.Celsius, u)
		}
	}
	outside := "no"
	if out > 0 {
		outside = Plural(out, "reading", "readings")
	}
	if p.Rules.High.IsZero() {
		outside = "no band"
	}
	return Line(day, low.StringFixed(1), high.StringFixed(1), warm, strconv.Itoa(len(rs)), outside)
}
