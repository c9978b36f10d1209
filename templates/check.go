package templates

import (
	"fmt"
	"regexp"
	"slices"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Limits of the figures; beyond them a figure is a slip of the keyboard.
const (
	maxMinutes  = 10000
	maxDays     = 400
	maxAmount   = 100000
	maxName     = 80
	maxClamp    = 40 // as in the shop's settings
	maxSentence = 400
	maxRows     = 40
)

var (
	codeShape = regexp.MustCompile(`^[A-Z][A-Z0-9]{0,7}$`)
	slugShape = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

	countUnits    = []string{"cleats", "frets", "braces", "splices", "strings", "pins", "places", "pieces"}
	runUnits      = []string{"runs", "edges"}
	materialUnits = []string{"each", "set", "sheet", "half sheet", "ml", "g", "mm", "m", "cm3"}
	checkUnits    = []string{"", "mm", "%", "g", "cents", "frets", "days", "h", "deg C", "turns"}
)

// Validate checks one template by itself. The Invalid error names every wrong
// field, such as labour.low or waits[0].kind, with what would be right.
func (t Template) Validate() error {
	f := domain.Fields{}
	t.checkWords(f)
	t.checkOrder(f)
	t.checkLearned(f)
	t.checkFigures(f)
	t.checkPrice(f)
	t.checkWaits(f)
	t.checkMaterials(f)
	t.checkChecks(f)
	return f.Err()
}

func (t Template) checkWords(f domain.Fields) {
	if !codeShape.MatchString(t.Code) {
		f.Add("code", "got %q, must be 1 to 8 capital letters and digits, a letter first, such as CG", t.Code)
	}
	line(f, "name", t.Name, maxName, true)
	line(f, "summary", t.Summary, maxSentence, true)
	line(f, "comeback_risk", t.ComebackRisk, maxSentence, false)
	line(f, "source", t.Source, maxSentence, true)
	lists := []struct {
		field string
		lines []string
	}{{"synonyms", t.Synonyms}, {"tools", t.Tools}, {"tell", t.Tell}, {"refuse", t.Refuse}, {"cautions", t.Cautions}}
	for _, l := range lists {
		rows(f, l.field, len(l.lines))
		for i, s := range l.lines {
			line(f, fmt.Sprintf("%s[%d]", l.field, i), s, maxSentence, true)
		}
	}
	if t.Revision < 1 {
		f.Add("revision", "got %d, must be 1 or more", t.Revision)
	}
}

// line is domain.Line for text that is already stored: spaces around it are
// wrong too, because they would not come back from a form.
func line(f domain.Fields, field, text string, max int, required bool) {
	if domain.Line(f, field, text, max, required) != text {
		f.Add(field, "must not begin or end with a space")
	}
}

func rows(f domain.Fields, field string, n int) {
	if n > maxRows {
		f.Add(field, "has %d rows, must have at most %d", n, maxRows)
	}
}

func (t Template) checkOrder(f domain.Fields) {
	if !t.Phase.valid() {
		f.Add("phase", "is needed, one of the phases from survey to follow-up")
	}
	if t.NeedsHold && t.Phase.valid() && t.Phase <= PhaseHold {
		f.Add("needs_hold", "is true, but the phase %s does not come after the hold", t.Phase)
	}
	rows(f, "after", len(t.After))
	for i, code := range t.After {
		field := fmt.Sprintf("after[%d]", i)
		switch {
		case !codeShape.MatchString(code):
			f.Add(field, "got %q, must be the code of a template, such as CG", code)
		case code == t.Code:
			f.Add(field, "is the template itself, must be another")
		case slices.Contains(t.After[:i], code):
			f.Add(field, "names %s twice", code)
		}
	}
}

func (t Template) checkFigures(f domain.Fields) {
	checkRange(f, "setup", t.Setup)
	checkRange(f, "labour", t.Labour)
	if t.Setup.High == 0 && t.Labour.High == 0 {
		f.Add("labour", "has no minutes and set-up has none; one of them must")
	}
	checkInt(f, "per_check", t.PerCheck, 0, maxMinutes)
	checkInt(f, "skill", t.Skill, 1, 4)
	line(f, "clamp", t.Clamp, maxClamp, false)
	if t.Clamp != "" && slices.ContainsFunc(t.Waits, func(w Wait) bool { return w.Kind == WaitHold }) {
		f.Add("clamp", "got %q, must be empty for a hold: it has a place in the cabinet", t.Clamp)
	}
	domain.OneOf(f, "driver", t.Driver, Drivers())
	checkInt(f, "per_unit", t.PerUnit, 1, MaxQuantity)
	if t.Driver != Length && t.PerUnit > 1 {
		f.Add("per_unit", "got %d, must be 1 unless the driver is length", t.PerUnit)
	}
	switch t.Driver {
	case Each:
		if t.Unit != "" {
			f.Add("unit", "got %q, must be empty for the driver each", t.Unit)
		}
	case Length:
		oneOf(f, "unit", t.Unit, []string{"mm"})
	case Count:
		oneOf(f, "unit", t.Unit, countUnits)
	case Run:
		oneOf(f, "unit", t.Unit, runUnits)
	}
}

// oneOf is domain.OneOf that also says what was got.
func oneOf(f domain.Fields, field, got string, allowed []string) {
	why := domain.Fields{}
	domain.OneOf(why, field, got, allowed)
	if text, wrong := why[field]; wrong {
		f.Add(field, "got %q, %s", got, text)
	}
}

func checkInt(f domain.Fields, field string, got, low, high int) {
	if got < low || got > high {
		f.Add(field, "got %d, must be %d to %d", got, low, high)
	}
}

func checkRange(f domain.Fields, field string, r Range) {
	checkInt(f, field+".low", r.Low, 0, maxMinutes)
	checkInt(f, field+".typical", r.Typical, 0, maxMinutes)
	checkInt(f, field+".high", r.High, 0, maxMinutes)
	if r.Low > r.Typical {
		f.Add(field+".low", "got %d, must not be above typical, which is %d", r.Low, r.Typical)
	}
	if r.Typical > r.High {
		f.Add(field+".typical", "got %d, must not be above high, which is %d", r.Typical, r.High)
	}
}

// number checks that 0 <= d <= max with at most three decimal places, and
// reports whether it is so. The exponent is looked at first: to compare 1 with
// 1e999999999 would write out all its zeros.
func number(f domain.Fields, field string, d decimal.Decimal, max int64) bool {
	switch {
	case d.Exponent() < -9 || d.Exponent() > 9 || d.Coefficient().BitLen() > 100:
		f.Add(field, "is too long or too large, must be 0 to %d with at most three decimal places", max)
	case d.IsNegative() || d.GreaterThan(decimal.NewFromInt(max)):
		f.Add(field, "got %s, must be 0 to %d", d, max)
	case !d.Equal(d.Truncate(3)):
		f.Add(field, "got %s, must have at most three decimal places", d)
	default:
		return true
	}
	return false
}

func (t Template) checkPrice(f domain.Fields) {
	oneOf(f, "price.basis", t.Price.Basis, []string{Flat, Time})
	if !number(f, "price.flat", t.Price.Flat, 100) {
		return
	}
	priced := t.Price.Flat.IsPositive()
	switch {
	case t.Price.Free && priced:
		f.Add("price.flat", "got %s, must be 0 when the task is free", t.Price.Flat)
	case t.Price.Basis == Flat && !t.Price.Free && !priced:
		f.Add("price.flat", "must be above 0, in hours of the shop's rate, or free must be true")
	case t.Price.Basis == Time && priced:
		f.Add("price.flat", "got %s, must be 0 when the basis is time", t.Price.Flat)
	}
}

func (t Template) checkWaits(f domain.Fields) {
	rows(f, "waits", len(t.Waits))
	for i, w := range t.Waits {
		at := fmt.Sprintf("waits[%d]", i)
		oneOf(f, at+".kind", w.Kind, WaitKinds())
		ok := number(f, at+".low", w.Low, maxDays)
		ok = number(f, at+".typical", w.Typical, maxDays) && ok
		ok = number(f, at+".high", w.High, maxDays) && ok
		if !ok {
			continue
		}
		if w.Low.GreaterThan(w.Typical) {
			f.Add(at+".low", "got %s, must not be above typical, which is %s", w.Low, w.Typical)
		}
		if w.Typical.GreaterThan(w.High) {
			f.Add(at+".typical", "got %s, must not be above high, which is %s", w.Typical, w.High)
		}
	}
}

func (t Template) checkMaterials(f domain.Fields) {
	rows(f, "materials", len(t.Materials))
	for i, m := range t.Materials {
		at := fmt.Sprintf("materials[%d]", i)
		line(f, at+".name", m.Name, maxName, true)
		if number(f, at+".quantity", m.Quantity, maxAmount) && m.Quantity.IsZero() {
			f.Add(at+".quantity", "must be above 0")
		}
		oneOf(f, at+".unit", m.Unit, materialUnits)
		oneOf(f, at+".per", m.Per, []string{PerJob, PerUnit})
		oneOf(f, at+".kind", m.Kind, []string{KindPart, KindSupplies, KindRetail})
		if billed := m.Kind != KindSupplies; m.Billed != billed {
			f.Add(at+".billed", "got %t, must be %t for %s", m.Billed, billed, m.Kind)
		}
		switch {
		case m.Part != "" && !slugShape.MatchString(m.Part):
			f.Add(at+".part", "got %q, must be small letters, digits and hyphens, such as strings-set", m.Part)
		case m.Part == "" && m.Billed:
			f.Add(at+".part", "is needed for what is billed, such as strings-set")
		}
	}
}

func (t Template) checkChecks(f domain.Fields) {
	rows(f, "checks", len(t.Checks))
	for i, c := range t.Checks {
		at := fmt.Sprintf("checks[%d]", i)
		line(f, at+".what", c.What, maxSentence, true)
		line(f, at+".method", c.Method, maxSentence, true)
		oneOf(f, at+".unit", c.Unit, checkUnits)
		if (c.Unit == "") == c.Measured() {
			f.Add(at+".unit", "got %q: a limit needs a unit and a unit needs a limit", c.Unit)
		}
		ok := limit(f, at+".at_most", c.AtMost)
		ok = limit(f, at+".at_least", c.AtLeast) && ok
		if ok && c.AtMost != nil && c.AtLeast != nil && c.AtLeast.GreaterThan(*c.AtMost) {
			f.Add(at+".at_least", "got %s, must not be above at_most, which is %s", c.AtLeast, c.AtMost)
		}
	}
}

// limit is number for a limit that may be absent or negative, as an arch may be.
func limit(f domain.Fields, field string, d *decimal.Decimal) bool {
	return d == nil || number(f, field, d.Abs(), maxAmount)
}
