package money

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Limits of a profile and a bill.
const (
	MaxTaxes    = 10   // taxes of one profile or one bill
	MaxLines    = 2000 // lines of one bill
	maxRates    = 200  // rates of one component
	maxName     = 60   // letters of a name
	maxStep     = 100_000
	ratePlaces  = 6
	whole       = 100 * 1_000_000 // one hundred per cent, in millionths of a per cent
	maxQuantity = 1_000_000_000
)

// parts returns a checked percentage in millionths of a per cent.
func parts(percent decimal.Decimal) uint64 {
	return uint64(percent.Shift(ratePlaces).IntPart())
}

// checkPercent notes under field a percentage that is not 0 to 100 or too fine.
func checkPercent(f domain.Fields, field string, p decimal.Decimal) {
	if !tame(p) || p.Sign() < 0 || p.GreaterThan(decimal.New(100, 0)) || finer(p, ratePlaces) {
		f.Add(field, "must be from 0 to 100 with at most %d decimal places, such as 9.975", ratePlaces)
	}
}

func checkDate(f domain.Fields, field string, d domain.Date) {
	_, err := domain.ParseDate(string(d))
	f.AddErr(field, err)
}

// checkEnd notes under field a last day that is no date or before the first day.
func checkEnd(f domain.Fields, field string, from, to domain.Date) {
	if to == "" {
		return
	}
	checkDate(f, field, to)
	if to < from {
		f.Add(field, "must not be before the first day, %s", from)
	}
}

// checkKinds notes kinds that are unknown or named twice.
func checkKinds(f domain.Fields, field string, kinds []LineKind) {
	for i, k := range kinds {
		at := fmt.Sprintf("%s[%d]", field, i)
		domain.OneOf(f, at, k, LineKinds())
		if slices.Contains(kinds[:i], k) {
			f.Add(at, "%s is named twice; once is enough", k)
		}
	}
}

func (r Rounding) check(f domain.Fields, field string) {
	if !r.Mode.Valid() {
		domain.OneOf(f, field+".mode", r.Mode, Modes())
	}
	if !r.Level.Valid() {
		domain.OneOf(f, field+".level", r.Level, []Level{ByDocument, ByLine})
	}
}

// checkCash notes a smallest coin or a mode that is wrong.
func checkCash(f domain.Fields, step Amount, mode Mode) {
	if step < 0 || step > maxStep {
		f.Add("cash_step", "must be from 0 to %d minor units", maxStep)
	}
	if !mode.Valid() {
		domain.OneOf(f, "cash_mode", mode, Modes())
	}
}

// Validate returns an Invalid error that names every wrong field: among others
// rates that overlap or leave a gap, and components that build on one that is
// not earlier.
func (p Profile) Validate() error {
	f := domain.Fields{}
	domain.Line(f, "name", p.Name, maxName, true)
	domain.Paragraph(f, "caution", p.Caution, 1000, false)
	_, err := CurrencyOf(p.Currency)
	f.AddErr("currency", err)
	p.Rounding.check(f, "rounding")
	domain.OneOf(f, "deposit_tax", p.DepositTax, []string{OnApplication, OnReceipt})
	checkCash(f, p.CashStep, p.CashMode)
	if len(p.Components) > MaxTaxes {
		f.Add("components", "are too many; at most %d", MaxTaxes)
		return f.Err()
	}
	for i, c := range p.Components {
		c.check(f, fmt.Sprintf("components[%d].", i), p.Components[:i])
	}
	return f.Err()
}

// check notes what is wrong with a component; earlier are those before it.
func (c Component) check(f domain.Fields, at string, earlier []Component) {
	names := make([]string, len(earlier))
	for i, e := range earlier {
		names[i] = e.Name
	}
	checkName(f, at+"name", c.Name, names)
	domain.Line(f, at+"number", c.Number, maxName, false)
	checkAfter(f, at+"after", c.After, names)
	if len(c.On) == 0 {
		f.Add(at+"on", "needs at least one kind of line")
	}
	checkKinds(f, at+"on", c.On)
	checkRates(f, at+"rates", c.Rates)
}

func checkName(f domain.Fields, field, name string, earlier []string) {
	if domain.Line(f, field, name, maxName, true) != name {
		f.Add(field, "must not begin or end with a space")
	}
	if slices.Contains(earlier, name) {
		f.Add(field, "%q is there already; each tax needs a name of its own", name)
	}
}

func checkAfter(f domain.Fields, field string, after, earlier []string) {
	for i, name := range after {
		at := fmt.Sprintf("%s[%d]", field, i)
		if !slices.Contains(earlier, name) {
			f.Add(at, "%q is no earlier tax; a tax can build only on one above it", clip(name))
		}
		if slices.Contains(after[:i], name) {
			f.Add(at, "%q is named twice; once is enough", clip(name))
		}
	}
}

// checkRates notes rates that are wrong in themselves, overlap or leave a gap.
func checkRates(f domain.Fields, field string, rates []Rate) {
	if len(rates) == 0 || len(rates) > maxRates {
		f.Add(field, "must be from 1 to %d", maxRates)
		return
	}
	before := len(f)
	for i, r := range rates {
		at := fmt.Sprintf("%s[%d].", field, i)
		checkDate(f, at+"from", r.From)
		checkEnd(f, at+"to", r.From, r.To)
		checkPercent(f, at+"percent", r.Percent)
	}
	if len(f) == before {
		checkSeams(f, field, rates)
	}
}

// checkSeams looks at each pair of rates that follow each other in time.
func checkSeams(f domain.Fields, field string, rates []Rate) {
	order := make([]int, len(rates))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return strings.Compare(string(rates[i].From), string(rates[j].From))
	})
	for n, i := range order[1:] {
		last, next := rates[order[n]], rates[i]
		at := fmt.Sprintf("%s[%d].from", field, i)
		switch {
		case last.To == "" || next.From <= last.To:
			f.Add(at, "overlaps the rate from %s; end that one the day before, on %s", last.From, next.From.AddDays(-1))
		case next.From > last.To.AddDays(1):
			f.Add(at, "leaves a gap after %s; begin on %s, with 0 percent if there was no tax", last.To, last.To.AddDays(1))
		}
	}
}
