package invoices

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// Resolution and look of the printed strip, in dots.
const (
	dots      = 8 // a mm
	stripHigh = 48
	hatchStep = 14
	hatchWide = 3
	leastWide = 10 // so that ten minutes of hands can be seen beside ten days
)

// benchDay is how many bench minutes an ordinary day gives to one job. It only
// scales the drawing and is the figure the pages draw with.
const benchDay = 240

// stripOf draws the work of a quote as a picture: solid for hands, hatched for
// waiting. It returns nil when there is no task. The lengths are those of a
// usual course; the same quote gives the same bytes.
func stripOf(q *quote.Quote, width float64) []byte {
	var tasks []job.Task
	for _, l := range q.Lines {
		if l.Template != "" {
			tasks = append(tasks, job.Task{Name: l.Name, Minutes: l.Minutes, WaitDays: l.Days, Hold: l.Hold})
		}
	}
	var spans []span
	for _, p := range job.PlanPieces(tasks, time.Time{}, benchDay) {
		spans = append(spans, span{length: p.To.Sub(p.From), hands: p.Kind == job.Hands})
	}
	return drawStrip(spans, int(width*dots))
}

// span is a stretch of the strip.
type span struct {
	length time.Duration
	hands  bool
}

func drawStrip(spans []span, wide int) []byte {
	widths := share(spans, wide)
	if len(widths) == 0 {
		return nil
	}
	img := image.NewPaletted(image.Rect(0, 0, wide, stripHigh), color.Palette{color.White, color.Black})
	x := 0
	for i, w := range widths {
		fill(img, x, min(x+w, wide), spans[i].hands)
		x += w
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		panic(err) // a picture of that kind in memory can be encoded
	}
	return out.Bytes()
}

// share gives each span its part of the width, no hands less than leastWide.
// Spans of no length get nothing.
func share(spans []span, wide int) []int {
	var sum time.Duration
	least := 0
	for _, s := range spans {
		if s.length > 0 {
			sum += s.length
			least += leastWide
		}
	}
	if sum == 0 || least > wide {
		return nil
	}
	out := make([]int, len(spans))
	for i, s := range spans {
		if s.length > 0 {
			out[i] = leastWide + int(float64(wide-least)*(float64(s.length)/float64(sum)))
		}
	}
	return out
}

// fill draws one span from left to right: black, or slanting lines in a frame.
func fill(img *image.Paletted, from, to int, hands bool) {
	for x := from; x < to; x++ {
		for y := range stripHigh {
			edge := y < 2 || y >= stripHigh-2 || x >= to-2
			if hands || edge || (x+y)%hatchStep < hatchWide {
				img.SetColorIndex(x, y, 1)
			}
		}
	}
}
