package money

import (
	"fmt"
	"slices"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Level says on what a tax is rounded.
type Level string

// The levels. The empty level is ByDocument.
const (
	ByDocument Level = "document" // each tax once on the document, per rate
	ByLine     Level = "line"     // each tax on each line, then only added
)

// Valid reports whether the level is known. The empty level is.
func (l Level) Valid() bool { return l == "" || l == ByDocument || l == ByLine }

// Rounding is how a bill is rounded.
type Rounding struct {
	Mode  Mode  `json:"mode"`  // for every rounding of the bill; "" is half_up
	Level Level `json:"level"` // for the taxes; "" is document
}

// Values of Profile.DepositTax.
const (
	OnApplication = "on_application" // a deposit is taxed when it is applied to a bill
	OnReceipt     = "on_receipt"     // a deposit is taxed when it is received
)

// Profile is how a shop is taxed. It is stored as JSON. It is a setting: the
// owner checks it against the law of the place.
type Profile struct {
	Name             string      `json:"name"`
	Caution          string      `json:"caution,omitempty"` // what the owner must check; shown beside the profile
	Currency         string      `json:"currency"`          // code of ISO 4217
	PricesIncludeTax bool        `json:"prices_include_tax"`
	Rounding         Rounding    `json:"rounding"`
	Components       []Component `json:"components"`  // in the order they are printed; none: no tax
	DepositTax       string      `json:"deposit_tax"` // on_application or on_receipt
	CashStep         Amount      `json:"cash_step"`   // smallest coin in minor units; 0 or 1: cash is not rounded
	CashMode         Mode        `json:"cash_mode"`   // "" is half_up
}

// Component is one tax of a profile.
type Component struct {
	Name   string     `json:"name"`            // printed; unique in the profile
	Number string     `json:"number"`          // registration number to print; may be empty
	On     []LineKind `json:"on"`              // the kinds of lines it is on; at least one
	After  []string   `json:"after,omitempty"` // earlier components whose amount is part of its base
	Rates  []Rate     `json:"rates"`           // at least one; no gap and no overlap between them
}

// Rate is a component's percentage for a stretch of time. Before its first rate
// and after its last a component is not in force and is left out.
type Rate struct {
	From    domain.Date     `json:"from"`         // first day
	To      domain.Date     `json:"to,omitempty"` // last day; "" is open
	Percent decimal.Decimal `json:"percent"`      // 0 to 100, at most six decimal places
}

// Tax is a component as it stands on one day for one customer.
type Tax struct {
	Name    string          `json:"name"`
	Number  string          `json:"number"`
	Percent decimal.Decimal `json:"percent"`          // 0 to 100, at most six decimal places
	On      []LineKind      `json:"on"`               // the kinds it is on, without those that are exempt
	After   []string        `json:"after,omitempty"`  // names of earlier taxes whose amount is part of its base
	Exempt  string          `json:"exempt,omitempty"` // why the customer is exempt from it, in whole or for some kinds; "" is not
}

// Values of Exemption.Reason.
const (
	ReasonExempt = "exempt" // the customer does not pay the tax
	ReasonResale = "resale" // the customer sells on and taxes the end customer
)

// Exemption frees a customer from taxes. The paper behind it is the owner's to
// check and keep.
type Exemption struct {
	Reason      string      `json:"reason"`               // exempt or resale
	Certificate string      `json:"certificate"`          // number of the paper
	From        domain.Date `json:"from,omitempty"`       // first day; "" is since ever
	To          domain.Date `json:"to,omitempty"`         // last day; "" is open
	Components  []string    `json:"components,omitempty"` // names of the taxes it lifts; none: all
	Kinds       []LineKind  `json:"kinds,omitempty"`      // the kinds of lines it is for; none: all
}

// within reports whether date is in from..to, where "" is open.
func within(date, from, to domain.Date) bool {
	return from <= date && (to == "" || date <= to)
}

// Lifts reports whether the exemption stands on that day for the tax of that name.
func (e *Exemption) Lifts(date domain.Date, name string) bool {
	if e == nil || !within(date, e.From, e.To) {
		return false
	}
	return len(e.Components) == 0 || slices.Contains(e.Components, name)
}

// Validate returns an Invalid error that names every wrong field.
func (e Exemption) Validate() error {
	f := domain.Fields{}
	domain.OneOf(f, "reason", e.Reason, []string{ReasonExempt, ReasonResale})
	domain.Line(f, "certificate", e.Certificate, 80, true)
	if e.From != "" {
		checkDate(f, "from", e.From)
	}
	checkEnd(f, "to", e.From, e.To)
	for i, name := range e.Components {
		domain.Line(f, fmt.Sprintf("components[%d]", i), name, maxName, true)
	}
	checkKinds(f, "kinds", e.Kinds)
	return f.Err()
}

// TaxesOn returns the taxes in force on date, the tax point, in the order of the
// components. A component outside its rates is left out. One from which ex frees
// the customer stays in the list with the reason; the kinds of lines that are
// freed are no longer in its On. ex may be nil.
//
// It returns an Invalid error for a date or a profile that is wrong.
func (p Profile) TaxesOn(date domain.Date, ex *Exemption) ([]Tax, error) {
	if _, err := domain.ParseDate(string(date)); err != nil {
		return nil, err
	}
	if err := p.Validate(); err != nil {
		return nil, err
	}
	taxes := []Tax{}
	for _, c := range p.Components {
		rate, ok := c.rateOn(date)
		if !ok {
			continue
		}
		t := Tax{Name: c.Name, Number: c.Number, Percent: rate, On: slices.Clone(c.On), After: inForce(c.After, taxes)}
		if ex.Lifts(date, c.Name) {
			t.lift(ex)
		}
		taxes = append(taxes, t)
	}
	return taxes, nil
}

// Bill returns a bill without lines as this profile makes it on date for a
// customer with that exemption, which may be nil. The errors are those of TaxesOn.
func (p Profile) Bill(date domain.Date, ex *Exemption) (Bill, error) {
	taxes, err := p.TaxesOn(date, ex)
	if err != nil {
		return Bill{}, err
	}
	c, err := CurrencyOf(p.Currency)
	return Bill{
		Currency:         c,
		Rounding:         p.Rounding,
		PricesIncludeTax: p.PricesIncludeTax,
		Taxes:            taxes,
		CashStep:         p.CashStep,
		CashMode:         p.CashMode,
	}, err
}

// lift takes the exempt kinds away and notes why.
func (t *Tax) lift(ex *Exemption) {
	left := slices.DeleteFunc(t.On, func(k LineKind) bool {
		return len(ex.Kinds) == 0 || slices.Contains(ex.Kinds, k)
	})
	if len(left) < len(t.On) {
		t.Exempt = ex.Reason
	}
	t.On = left
}

// inForce keeps the names of those that are among taxes.
func inForce(names []string, taxes []Tax) []string {
	var kept []string
	for _, name := range names {
		if slices.ContainsFunc(taxes, func(t Tax) bool { return t.Name == name }) {
			kept = append(kept, name)
		}
	}
	return kept
}

// rateOn returns the percentage on that day, and false when none is in force.
func (c Component) rateOn(date domain.Date) (decimal.Decimal, bool) {
	for _, r := range c.Rates {
		if within(date, r.From, r.To) {
			return r.Percent, true
		}
	}
	return decimal.Decimal{}, false
}
