package season

import (
	"fmt"
	"math"
	"strings"
)

// modelText says in one sentence what the forecast went by.
func (p *records) modelText(o Options, dry bool) string {
	shape := "the usual shape of a heating season"
	if o.South {
		shape += " in the southern hemisphere"
	}
	if o.Shape != nil {
		shape = "the shape that you gave"
	}
	switch {
	case p.known == 0 && o.Guess > 0:
		return fmt.Sprintf("No week is in the books: %s around your %.4g jobs a week.", shape, o.Guess)
	case p.known == 0:
		return fmt.Sprintf("No week is in the books and you gave no guess: %s around %.0f jobs a week. Give how many you expect.", shape, usualGuess)
	case p.known < yearWeeks:
		return fmt.Sprintf("Your %s give the level, %s the course of the year: a whole year of your own is not in the books yet.", weeksText(p.known), shape)
	}
	text := fmt.Sprintf("A curve of the year through your %s, a regression of counts with two waves and a slow trend", weeksText(p.known))
	if o.Shape != nil {
		text += " around " + shape
	}
	if dry {
		text += ", moved by how dry the indoor air was"
	}
	return text + "."
}

func weeksText(n int) string {
	if n == 1 {
		return "one week"
	}
	return fmt.Sprintf("%d weeks", n)
}

// whyText says what was odd and how well the model does.
func (p *records) whyText(out Forecast, without Score, o Options) string {
	var say []string
	say = append(say, p.odd[:min(3, len(p.odd))]...)
	if n := len(p.odd) - 3; n > 0 {
		say = append(say, fmt.Sprintf("So are %s more.", weeksText(n)))
	}
	if n := p.absent - len(p.odd); n > 0 {
		say = append(say, fmt.Sprintf("%s without a count: left out, not taken for 0.", strings.ToUpper(weeksText(n)[:1])+weeksText(n)[1:]))
	}
	if p.known > 0 && p.jobs == 0 {
		say = append(say, fmt.Sprintf("Not one job came in %s: the forecast is near 0 and says little.", weeksText(p.known)))
	}
	if !o.NoScore {
		say = append(say, out.Score.text(), out.Dry.text(without))
	}
	if p.known >= yearWeeks {
		say = append(say, out.crossText(p.total))
	}
	return strings.Join(strings.Fields(strings.Join(say, " ")), " ")
}

// text says how well the last year was foretold.
func (s Score) text() string {
	if s.Weeks == 0 {
		return "How well this does shows after a second year."
	}
	word := "better than"
	if s.MASE >= s.NaiveMASE {
		word = "no better than"
	}
	text := fmt.Sprintf("Foretold 13 weeks at a time, the last %s came out %s the same week a year before: scaled error %.2f against %.2f, loss of the range %.2f against %.2f; %.0f in 100 weeks lay in the range that should hold 80.",
		weeksText(s.Weeks), word, s.MASE, s.NaiveMASE, s.Pinball, s.NaivePinball, 100*s.Covered)
	if s.MASE >= s.NaiveMASE {
		text += " Trust it little."
	}
	return text
}

// crossText compares the first 13 weeks with the plain mean of the five weeks around
// the same week of earlier years; it speaks when they lie a quarter apart.
func (out Forecast) crossText(total []float64) string {
	model, plain := 0.0, 0.0
	for i := range min(13, len(out.Weeks)) {
		if five := fivePoint(total, len(total)+i, yearWeeks); !math.IsNaN(five) {
			model, plain = model+out.Weeks[i].All.Mean, plain+five
		}
	}
	if plain == 0 || math.Abs(model/plain-1) <= 0.25 {
		return ""
	}
	return fmt.Sprintf("The plain mean of the weeks around the same ones of earlier years gives %.0f jobs in the next 13 weeks, this forecast %.0f: look at both.", plain, model)
}
