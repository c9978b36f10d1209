package einvoice

import (
	"fmt"

	"github.com/shopspring/decimal"
)

// Broken is a rule of the standard that a document breaks.
type Broken struct {
	Rule string // the standard's name of it, such as BR-CO-15
	Text string // what is wrong, in words
}

// slack is how far the published checks let a tax and its base be off, for many
// invoices round the tax line by line.
var slack = decimal.NewFromInt(1)

// Check holds a document against those rules of EN 16931 that a repair shop's
// document can meet: what must be there, the sums, and the tax categories S, Z, E
// and O.
//
// Source: rules and their names in the validation artefacts of CEN/TC 434
// (ConnectingEurope/eInvoicing-EN16931); the sums as in docs/e-invoice.md.
func Check(d *Document) []Broken {
	c := &checker{d: d}
	c.present()
	c.parties()
	for _, l := range d.Lines {
		c.line(l)
	}
	c.sums()
	c.taxes()
	return c.found
}

type checker struct {
	d     *Document
	found []Broken
}

// want notes a rule that does not hold.
func (c *checker) want(holds bool, rule, format string, args ...any) {
	if !holds {
		c.found = append(c.found, Broken{rule, fmt.Sprintf(format, args...)})
	}
}

func (c *checker) present() {
	d := c.d
	c.want(d.Number != "", "BR-02", "the document has no number")
	c.want(d.Date != "", "BR-03", "the document has no date")
	c.want(d.Type != "", "BR-04", "the document has no type")
	c.want(d.Currency != "", "BR-05", "the document has no currency")
	c.want(len(d.Lines) > 0, "BR-16", "the document has no line")
	c.want(len(d.Taxes) > 0, "BR-CO-18", "the document has no sums by tax")
	c.want(!d.Totals.Due.IsPositive() || d.Due != "" || d.Terms != "", "BR-CO-25", "something is due, and neither a day nor terms are named")
	c.want(d.PayBy != "30" && d.PayBy != "58" || d.IBAN != "", "BR-61", "a transfer is asked for without an account")
	c.want(d.CorrectedOn == "" || d.Corrects != "", "BR-55", "the invoice before has a date and no number")
}

func (c *checker) parties() {
	s, b := c.d.Seller, c.d.Buyer
	c.want(s.Name != "", "BR-06", "the seller has no name")
	c.want(s.Country != "", "BR-09", "the seller has no country")
	c.want(b.Name != "", "BR-07", "the buyer has no name")
	c.want(b.Country != "", "BR-11", "the buyer has no country")
	c.want(s.TaxNumber != "" || s.Registration != "", "BR-CO-26", "the seller has neither a tax number nor a registration")
	for _, p := range []Party{s, b} {
		c.want(p.TaxNumber == "" || countryLetters(p.TaxNumber), "BR-CO-09", "the tax number %q does not begin with the two letters of a country", p.TaxNumber)
	}
	c.want(s.Address == "" || s.Scheme != "", "BR-62", "the seller's electronic address has no scheme")
	c.want(b.Address == "" || b.Scheme != "", "BR-63", "the buyer's electronic address has no scheme")
}

// countryLetters reports whether a tax number begins with two capital letters.
func countryLetters(number string) bool {
	capital := func(c byte) bool { return c >= 'A' && c <= 'Z' }
	return len(number) > 2 && capital(number[0]) && capital(number[1])
}

func (c *checker) line(l Line) {
	c.want(l.ID != "", "BR-21", "a line has no identity")
	c.want(l.Unit != "", "BR-23", "line %s has no unit", l.ID)
	c.want(l.Name != "", "BR-25", "line %s has no name", l.ID)
	c.want(!l.Price.IsNegative(), "BR-27", "the price of line %s is below zero", l.ID)
	c.want(l.Category.Code != "", "BR-CO-04", "line %s has no tax category", l.ID)
	c.want(cents(l.Net), "BR-DEC-23", "the net of line %s has more than two decimals", l.ID)
	c.rate(l.Category, "line "+l.ID, map[string]string{Standard: "BR-S-05", ZeroRated: "BR-Z-05", Exempt: "BR-E-05", NotSubject: "BR-O-05"})
	for _, x := range l.Extras {
		rule := map[bool]string{false: "BR-42", true: "BR-44"}[x.Charge]
		c.want(x.Reason != "" || x.Code != "", rule, "what is added to or taken off line %s has no reason", l.ID)
		c.want(cents(x.Amount), "BR-DEC-24", "what is added to or taken off line %s has more than two decimals", l.ID)
	}
}

// rate holds the rate of a category against what the category allows.
func (c *checker) rate(k Category, what string, rules map[string]string) {
	switch k.Code {
	case Standard:
		c.want(k.Rate.IsPositive(), rules[k.Code], "%s is taxed, at a rate of %s %%", what, k.Rate)
	case ZeroRated, Exempt, NotSubject:
		c.want(k.Rate.IsZero(), rules[k.Code], "%s is not taxed, and has a rate of %s %%", what, k.Rate)
	}
}

func (c *checker) sums() {
	d, t := c.d, c.d.Totals
	var lines, off, on, tax decimal.Decimal
	for _, l := range d.Lines {
		lines = lines.Add(l.Net)
	}
	for _, x := range d.Extras {
		if x.Charge {
			on = on.Add(x.Amount)
		} else {
			off = off.Add(x.Amount)
		}
	}
	for _, b := range d.Taxes {
		tax = tax.Add(b.Tax)
	}
	equal := func(rule, what string, got, want decimal.Decimal) {
		c.want(got.Equal(want.Round(2)), rule, "%s is %s, it comes to %s", what, got, want.Round(2))
	}
	equal("BR-CO-10", "the sum of the lines", t.Lines, lines)
	equal("BR-CO-11", "the sum of what is taken off", t.Allowances, off)
	equal("BR-CO-12", "the sum of what is added", t.Charges, on)
	equal("BR-CO-13", "the total without tax", t.Net, t.Lines.Sub(t.Allowances).Add(t.Charges))
	if len(d.Taxes) > 0 {
		equal("BR-CO-14", "the tax", t.Tax, tax)
	}
	equal("BR-CO-15", "the total with tax", t.Total, t.Net.Add(t.Tax))
	equal("BR-CO-16", "what is due", t.Due, t.Total.Sub(t.Paid).Add(t.Rounding))
	for i, a := range []decimal.Decimal{t.Lines, t.Allowances, t.Charges, t.Net, t.Tax, t.Total, t.Paid, t.Rounding, t.Due} {
		c.want(cents(a), decimalRules[i], "a sum of the document has more than two decimals: %s", a)
	}
}

// decimalRules are the rules on the decimals of the sums, as sums lists them.
var decimalRules = []string{"BR-DEC-09", "BR-DEC-10", "BR-DEC-11", "BR-DEC-12", "BR-DEC-13", "BR-DEC-14", "BR-DEC-16", "BR-DEC-17", "BR-DEC-18"}

// cents reports whether an amount has at most two decimals.
func cents(a decimal.Decimal) bool { return a.Equal(a.Round(2)) }

// numbered are the rules of a category that the standard numbers alike: its place in
// the sums by tax, its base, its tax and its reason.
func numbered(code, rule string) string { return "BR-" + code + "-" + rule }

func (c *checker) taxes() {
	for i, b := range c.d.Taxes {
		code := b.Category.Code
		for _, before := range c.d.Taxes[:i] {
			c.want(!before.Category.same(b.Category), numbered(code, "01"), "the tax %s at %s %% has two sums", code, b.Category.Rate)
		}
		c.want(cents(b.Base), "BR-DEC-19", "the base of the tax %s has more than two decimals", code)
		c.want(cents(b.Tax), "BR-DEC-20", "the tax %s has more than two decimals", code)
		switch code {
		case Standard:
			c.rateOf(b)
			c.base(b, slack)
			c.want(b.Reason == "", "BR-S-10", "the tax S has a reason for not being there")
		case ZeroRated, Exempt, NotSubject:
			c.base(b, decimal.Decimal{})
			c.want(b.Tax.IsZero(), numbered(code, "09"), "the category %s is not taxed, and has a tax of %s", code, b.Tax)
			c.want((b.Reason != "") == (code != ZeroRated), numbered(code, "10"), "the category %s must have %s", code, map[bool]string{true: "no reason", false: "a reason"}[code == ZeroRated])
		default:
			c.rateOf(b)
		}
	}
	used := map[string]bool{}
	for _, k := range c.categories() {
		used[k.Code] = true
		there := false
		for _, b := range c.d.Taxes {
			there = there || b.Category.same(k)
		}
		c.want(there, numbered(k.Code, "01"), "the tax %s at %s %% is on a line and has no sum", k.Code, k.Rate)
	}
	c.want(!used[NotSubject] || len(used) == 1, "BR-O-11", "lines outside the tax stand with others that are not")
	for _, code := range []string{Standard, ZeroRated, Exempt} {
		c.want(!used[code] || c.d.Seller.TaxNumber != "", numbered(code, "02"), "there are lines of the category %s, and the seller has no tax number", code)
	}
	c.want(!used[NotSubject] || c.d.Seller.TaxNumber == "" && c.d.Buyer.TaxNumber == "", "BR-O-02", "lines are outside the tax, and a tax number is named")
}

// categories are those on lines and on what is added or taken off.
func (c *checker) categories() []Category {
	var out []Category
	for _, l := range c.d.Lines {
		out = append(out, l.Category)
	}
	for _, x := range c.d.Extras {
		rule := map[bool]string{false: "BR-33", true: "BR-38"}[x.Charge]
		c.want(x.Reason != "" || x.Code != "", rule, "what is added to or taken off the document has no reason")
		c.want(x.Category.Code != "", map[bool]string{false: "BR-32", true: "BR-37"}[x.Charge], "what is added to or taken off the document has no tax category")
		out = append(out, x.Category)
	}
	return out
}

// rateOf holds a tax against its base and rate.
func (c *checker) rateOf(b Breakdown) {
	want := b.Base.Mul(b.Category.Rate).Shift(-2).Round(2)
	far := b.Tax.Sub(want).Abs()
	rule := "BR-CO-17"
	if b.Category.Code == Standard {
		rule = "BR-S-09"
	}
	c.want(far.LessThan(slack), rule, "the tax of %s at %s %% is %s, it comes to %s", b.Base, b.Category.Rate, b.Tax, want)
}

// base holds the base of a tax against the lines of its category; with a rate, only
// against those of that rate.
func (c *checker) base(b Breakdown, slack decimal.Decimal) {
	var sum decimal.Decimal
	for _, l := range c.d.Lines {
		if l.Category.same(b.Category) {
			sum = sum.Add(l.Net)
		}
	}
	for _, x := range c.d.Extras {
		if x.Category.same(b.Category) {
			sum = sum.Add(x.signed())
		}
	}
	far := b.Base.Sub(sum).Abs()
	c.want(far.IsZero() || far.LessThan(slack), numbered(b.Category.Code, "08"), "the base of the tax %s at %s %% is %s, its lines come to %s", b.Category.Code, b.Category.Rate, b.Base, sum)
}
