package workshop

import (
	"fmt"
	"math"
	"strings"

	"winterbench/domain"
	"winterbench/templates"
)

// Text says what the shop's own work tells of a template: "Your fret-end dress takes
// 52 min, you quote 40 (31 done)."
func (l Learned) Text() string {
	name := lowerFirst(l.Name)
	switch {
	case !l.Adopted.IsZero() && !l.Told():
		return fmt.Sprintf("Your %s has minutes adopted from the shop’s own work on %s; %d done since, %d are needed to say more.", name, l.Adopted.Format("2 Jan 2006"), l.N, fewTasks)
	case l.N == 0:
		return fmt.Sprintf("Nothing was clocked on your %s yet.", name)
	case !l.Told():
		return fmt.Sprintf("Nothing can be said of your %s yet: %d done, %d are needed.", name, l.N, fewTasks)
	case l.Flagged():
		return fmt.Sprintf("Your %s takes %d min%s, you quote %d (%d done).", name, wholeMinutes(l.Typical.Is), l.per(), l.Quoted.Typical, l.N)
	case l.Off <= 1-offChance:
		return fmt.Sprintf("Your %s holds: it takes %d min%s, you quote %d (%d done).", name, wholeMinutes(l.Typical.Is), l.per(), l.Quoted.Typical, l.N)
	}
	return fmt.Sprintf("Your %s takes perhaps %d min%s, you quote %d: %d done are too few to be sure.", name, wholeMinutes(l.Typical.Is), l.per(), l.Quoted.Typical, l.N)
}

// Verdict is [Learned.Text] beside the figures: "off", "holds", or why nothing can be
// said.
func (l Learned) Verdict() string {
	switch {
	case !l.Told():
		return l.Text()
	case l.Flagged():
		return "▲ off"
	case l.Off <= 1-offChance:
		return "holds"
	}
	return "too few to be sure"
}

// per is the usual quantity in words, "" for each.
func (l Learned) per() string {
	if l.Unit == "" {
		return ""
	}
	return fmt.Sprintf(" for %d %s", l.Quantity, domain.UnitFor(l.Quantity, l.Unit))
}

func wholeMinutes(v float64) int { return int(math.Round(v)) }

// PriceText says what adopting does to the price of the usual quantity.
func (o *LearnedOffer) PriceText(shop *Shop) string {
	if o.Fixed {
		return "The price is set flat and stays; only the bench’s time is planned anew."
	}
	return fmt.Sprintf("Priced by time, the usual quantity goes from %s to %s.", shop.Currency.Show(o.PriceWas), shop.Currency.Show(o.PriceNow))
}

// learnAnswer says in a sentence or two how the templates do.
func learnAnswer(all []Learned) string {
	told, off := 0, 0
	for _, l := range all {
		if l.Told() {
			told++
		}
		if l.Flagged() {
			off++
		}
	}
	switch {
	case told == 0:
		return fmt.Sprintf("Nothing can be said yet: no template has %d finished tasks with a clock on them.", fewTasks)
	case off == 0 && told == 1:
		return "The one template that was done often enough is not off."
	case off == 0:
		return fmt.Sprintf("None of the %d templates that were done often enough is off.", told)
	case off == 1:
		return all[0].Text() + fmt.Sprintf(" It is the one template that is off, of %d done often enough.", told)
	}
	return all[0].Text() + fmt.Sprintf(" It is one of %d templates that are off, of %d done often enough.", off, told)
}

// learnedNote is the diary's line about minutes that were adopted.
func learnedNote(l Learned) editionChange {
	o := l.Offer
	return editionChange{
		What:   fmt.Sprintf("adopted the shop’s own minutes for the template %s %s, learned from %d finished tasks", l.Code, l.Name, l.N),
		Before: rangeWords(o.Was) + l.per(), After: rangeWords(o.Now) + l.per(),
	}
}

func rangeWords(r templates.Range) string {
	return strings.Join([]string{fmt.Sprint(r.Low), fmt.Sprint(r.Typical), fmt.Sprint(r.High)}, "–") + " min"
}
