package web

import (
	"math"
	"strconv"
)

// Picture is a drawing or a photo with its words, and a table of what it
// shows. One of Balance, Curve, Steps, Bars and Photo is set.
type Picture struct {
	Title   string
	Text    string // what it shows, in a sentence, for those who cannot see it
	Balance *Balance
	Curve   *Curve
	Steps   *StepCurve
	Bars    *Bars
	Photo   *Photo
	Table   Table  // the same figures; without rows there is no table
	CSV     string // path of the same figures as CSV; may be empty
}

// Photo is a picture taken by a person.
type Photo struct {
	Src           string
	Width, Height int // px
}

// Balance draws load against what there is, week by week: hands above a
// middle line, waits below it.
type Balance struct {
	Above, Below Side
	Weeks        []BalanceWeek
	Stepped      bool // what there is differs by week, and each label stands where it is given
}

// Side is one half of a balance.
type Side struct {
	Name  string
	Unit  string
	Limit float64 // what there is; 0 for no line
}

// BalanceWeek is one week. Last year's figures are negative when there are none.
type BalanceWeek struct {
	Label                  string
	Above, Below           float64
	LastAbove, LastBelow   float64
	HighAbove, HighBelow   float64 // passed one time in ten; 0 when not known
	AboveThere, BelowThere float64 // what there is in this week, when it differs by week
	Expected               bool    // still to come
	Mark                   string  // a word over the week; "" for none
}

// BalanceDrawing is a balance laid out in percent of its width and height.
type BalanceDrawing struct {
	Bars               []BalanceBar
	AboveAt, BelowAt   string // heights of the two limits; "" for none
	AboveTop, BelowLow string // what the full height of each half stands for
	Above, Below       Side
	High               bool // bad luck is drawn
	Last               bool // last year is drawn
	Limited            bool // what there is is drawn
	Stepped            bool
}

// BalanceBar is one drawn week.
type BalanceBar struct {
	X, Width              string
	AboveY, AboveH        string
	BelowH                string
	LastAbove, LastBelow  string // heights of last year's outline; "" for none
	Over                  bool   // above what there is, on either side
	Expected              bool
	Label                 string // "" where labels would touch
	Middle                string
	HighAbove, HighAboveH string // bad luck: the top and its height; "" for none
	HighBelowH            string
	AboveAt, BelowAt      string // what there is in this week; "" for the same in all
	Mark                  string // a word; "" under the same word as the week before
	Marked                bool
}

// Lay computes the drawing. The halves have their own scales, each as high as
// its greatest figure.
func (b Balance) Lay() BalanceDrawing {
	up, down := b.Above.Limit, b.Below.Limit
	for _, w := range b.Weeks {
		up = max(up, w.Above, w.LastAbove, w.HighAbove, w.AboveThere)
		down = max(down, w.Below, w.LastBelow, w.HighBelow, w.BelowThere)
	}
	d := BalanceDrawing{Above: b.Above, Below: b.Below, AboveTop: figure(math.Round(up*10) / 10), BelowLow: figure(math.Round(down*10) / 10)}
	if d.Stepped = b.Stepped; d.Stepped {
		d.AboveTop, d.BelowLow = figure(math.Ceil(up)), figure(math.Ceil(down))
	}
	d.Limited = b.Stepped || b.Above.Limit > 0 || b.Below.Limit > 0
	if b.Above.Limit > 0 {
		d.AboveAt = percent(50 - half(b.Above.Limit, up))
	}
	if b.Below.Limit > 0 {
		d.BelowAt = percent(50 + half(b.Below.Limit, down))
	}
	step := 100 / math.Max(float64(len(b.Weeks)), 1)
	every := (len(b.Weeks) + 5) / 6
	worded := -len(b.Weeks) // the last week with a word, which needs a third of the width
	for i, w := range b.Weeks {
		bar := b.bar(w, up, down)
		x := float64(i) * step
		if i > 0 && w.Mark == b.Weeks[i-1].Mark {
			bar.Mark = ""
		}
		switch {
		case bar.Mark != "" && 3*(i-worded) < len(b.Weeks):
			bar.Mark = ""
		case bar.Mark != "":
			worded = i
		}
		bar.X, bar.Width, bar.Middle = percent(x+step*0.12), percent(step*0.76), percent(x+step/2)
		if b.Stepped || i%every == 0 {
			bar.Label = w.Label
		}
		d.High = d.High || bar.HighAbove != "" || bar.HighBelowH != ""
		d.Last = d.Last || bar.LastAbove != "" || bar.LastBelow != ""
		d.Bars = append(d.Bars, bar)
	}
	return d
}

func (b Balance) bar(w BalanceWeek, up, down float64) BalanceBar {
	bar := BalanceBar{
		AboveY: percent(50 - half(w.Above, up)), AboveH: percent(half(w.Above, up)),
		BelowH: percent(half(w.Below, down)), Expected: w.Expected,
		Over: b.Above.Limit > 0 && w.Above > b.Above.Limit || b.Below.Limit > 0 && w.Below > b.Below.Limit,
	}
	bar.Mark, bar.Marked = w.Mark, w.Mark != ""
	if b.Stepped {
		bar.Over = w.Mark != ""
		bar.AboveAt, bar.BelowAt = percent(50-half(w.AboveThere, up)), percent(50+half(w.BelowThere, down))
	}
	if w.HighAbove > w.Above {
		bar.HighAbove, bar.HighAboveH = percent(50-half(w.HighAbove, up)), percent(half(w.HighAbove, up))
	}
	if w.HighBelow > w.Below {
		bar.HighBelowH = percent(half(w.HighBelow, down))
	}
	if w.LastAbove >= 0 {
		bar.LastAbove = percent(50 - half(w.LastAbove, up))
	}
	if w.LastBelow >= 0 {
		bar.LastBelow = percent(50 + half(w.LastBelow, down))
	}
	return bar
}

// half scales v to at most half the height, in percent.
func half(v, most float64) float64 {
	if most <= 0 {
		return 0
	}
	return min(max(v/most, 0), 1) * 50
}

func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// share is part of whole between 0 and 1; of nothing it is one half.
func share(part, whole float64) float64 {
	if whole <= 0 {
		return 0.5
	}
	return min(max(part/whole, 0), 1)
}
