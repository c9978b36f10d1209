package quote

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Charges are the shop's rules for lines that it adds to a quote. Zeros: none. Whether
// and how such lines may be charged differs from place to place.
type Charges struct {
	Rush        decimal.Decimal `json:"rush"`         // percent of labour; it buys hours, never a shorter wait
	Supplies    decimal.Decimal `json:"supplies"`     // percent of labour
	SuppliesCap money.Amount    `json:"supplies_cap"` // the most for supplies; 0: no limit
	Minimum     money.Amount    `json:"minimum"`      // the least that the lines come to, before discounts on the whole and taxes
}

// Check returns an Invalid error that names each wrong field.
func (c Charges) Check() error {
	f := domain.Fields{}
	for name, p := range map[string]decimal.Decimal{"rush": c.Rush, "supplies": c.Supplies} {
		if p.Sign() < 0 || p.GreaterThan(decimal.NewFromInt(100)) || !p.Equal(p.Round(3)) {
			f.Add(name, "must be from 0 to 100 percent, with at most three decimals")
		}
	}
	for name, a := range map[string]money.Amount{"supplies_cap": c.SuppliesCap, "minimum": c.Minimum} {
		if a < 0 {
			f.Add(name, "must not be negative")
		}
		f.AddErr(name, a.Check())
	}
	return f.Err()
}

// Extra names a line that the shop's rules can add.
type Extra string

// The extra lines.
const (
	Supplies Extra = "supplies"
	Rush     Extra = "rush"
	Minimum  Extra = "minimum"
)

// Extras lists them in the order in which they are reckoned.
func Extras() []Extra { return []Extra{Supplies, Rush, Minimum} }

// extraLines says what the lines are called and taxed as.
var extraLines = map[Extra]struct {
	name string
	kind money.LineKind
}{
	Supplies: {"Shop supplies", money.ShopSupplies}, Rush: {"Rush surcharge", money.Surcharge}, Minimum: {"Up to the minimum charge", money.Labour},
}

// ExtraName is the name of the line of an extra.
func ExtraName(x Extra) string { return extraLines[x].name }

// ExtraRow works out a line of the shop's rules for the quote that stands: a share of
// what its labour comes to, or what its lines lack of the minimum. It becomes a row of
// its own on the sheet, which can be changed like any other. It returns an Invalid
// error when the shop has no such rule, when the line stands already or when there is
// nothing to add.
//
// A rush line is a price and nothing else: no template, so no minutes, no days and no
// wait change by it.
func ExtraRow(x Extra, q *Quote, c Charges, mode money.Mode) (Row, error) {
	line, known := extraLines[x]
	if !known {
		return Row{}, extraError("%q is none of the lines that can be added: supplies, rush or minimum", x)
	}
	if slices.ContainsFunc(q.Lines, func(l Line) bool { return l.Name == line.name && l.Kind == line.kind }) {
		return Row{}, extraError("%s stands on the sheet already; change or remove that line", line.name)
	}
	var a money.Amount
	var err error
	switch x {
	case Supplies:
		if a, err = shareOf(q.labour(), c.Supplies, mode); err == nil && c.SuppliesCap > 0 {
			a = min(a, c.SuppliesCap)
		}
	case Rush:
		a, err = shareOf(q.labour(), c.Rush, mode)
	case Minimum:
		a = max(c.Minimum-q.Totals.Sum, 0)
	}
	if err != nil {
		return Row{}, err
	}
	if a == 0 {
		return Row{}, extraError("%s comes to nothing: the settings have no such rule, or the lines give nothing to reckon it from", line.name)
	}
	return Row{Name: line.name, Kind: line.kind, Price: q.Currency.Text(a)}, nil
}

func extraError(format string, args ...any) error {
	f := domain.Fields{}
	f.Add("add", format, args...)
	return fmt.Errorf("add a line: %w", f.Err())
}

func shareOf(a money.Amount, percent decimal.Decimal, mode money.Mode) (money.Amount, error) {
	return money.MulRound(a, percent.Shift(-2), mode)
}

// labour is what the lines of work come to.
func (q *Quote) labour() money.Amount {
	var sum money.Amount
	for _, l := range q.Lines {
		if l.Kind == money.Labour {
			sum += l.Net
		}
	}
	return sum
}
