package workshop

import (
	"fmt"
	"strings"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// QuantityWords is a quantity with its unit: 2 each, 1.5 m, 300 mm.
func QuantityWords(q stock.Quantity, unit string) string { return q.Units().String() + " " + unit }

func stockAnswer(f StockFacts) string {
	kept := 0
	for _, r := range f.Rows {
		if r.Kept {
			kept++
		}
	}
	if kept == 0 {
		return "No stock is kept yet: it begins with the first receipt or count of a part."
	}
	var say []string
	if n := len(f.Short); n > 0 {
		say = append(say, fmt.Sprintf("Jobs wait for %s", namesOf(f.Short)))
	}
	if n := len(f.Low); n > 0 {
		say = append(say, inNumber(n, "part is", "parts are")+" to be ordered")
	}
	if n := len(f.Old); n > 0 {
		say = append(say, fmt.Sprintf("past its date: %s", namesOf(f.Old)))
	}
	worth := fmt.Sprintf("%s kept, worth %s at cost", inNumber(kept, "part is", "parts are"), f.Shop.Currency.Show(f.Value))
	if len(say) == 0 {
		return "Nothing is short or low: " + worth + "."
	}
	return domain.Capital(strings.Join(say, "; ")) + ". " + domain.Capital(worth) + "."
}

// namesOf lists up to three parts by name.
func namesOf(rows []ShelfRow) string {
	var names []string
	for _, r := range rows[:min(len(rows), 3)] {
		names = append(names, r.Name)
	}
	s := strings.Join(names, ", ")
	if more := len(rows) - len(names); more > 0 {
		s += fmt.Sprintf(" and %d more", more)
	}
	return s
}

// PartAnswer says how a part stands, in a sentence or two.
func PartAnswer(r ShelfRow, served []stock.Served) string {
	if !r.Kept {
		return "No stock is kept of it: that begins with its first receipt or count."
	}
	s := fmt.Sprintf("%s on the shelf, %s free", QuantityWords(r.Level.Quantity, r.Unit), max(r.Level.Free(), 0).Units())
	if r.OnOrder > 0 {
		s += fmt.Sprintf(", %s on order", r.OnOrder.Units())
		if r.Expected != "" {
			s += ", expected " + string(r.Expected)
		}
	}
	s += "."
	short, undated := 0, 0
	for _, v := range served {
		if v.Short > 0 {
			short++
			if v.On == "" {
				undated++
			}
		}
	}
	if short > 0 {
		s += " " + inNumber(short, "job waits", "jobs wait") + " for it"
		if undated > 0 {
			s += fmt.Sprintf(", %d of them without a day", undated)
		}
		s += "."
	}
	return s
}

// inNumber counts something in words.
func inNumber(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}
