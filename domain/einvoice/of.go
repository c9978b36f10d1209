package einvoice

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// Terms are what the shop's settings add to a document.
type Terms struct {
	IBAN     string // account for transfers; "" asks for none
	Untaxed  string // category of lines without tax: Z, E or O; "" is Z
	Reason   string // why, for E and O
	BuyerRef string // BT-10
}

// OfInvoice is an invoice as an electronic document, with the sums that were printed.
// buyer says what is kept of the customer besides the name and address that stand on
// the invoice.
//
// It returns an Invalid error that says what the standard cannot express, such as two
// taxes on one line, or names what is missing and where it is noted.
func OfInvoice(inv *billing.Invoice, seller, buyer Party, t Terms) (*Document, error) {
	b := builder{invoice: inv, terms: t, totals: inv.Totals}
	d := b.begin(seller, buyer)
	d.Type, d.Number, d.Date, d.Due, d.Note = TypeInvoice, strconv.Itoa(inv.Number), inv.Date, inv.DueOn, inv.Note
	if d.Due == "" {
		d.Due = inv.Date
	}
	if t.IBAN != "" {
		d.PayBy, d.IBAN = payByTransfer, t.IBAN
	}
	if inv.TaxInside {
		b.withoutTax(inv.Lines)
	} else {
		b.priced()
	}
	return b.done(d)
}

// payByTransfer is a transfer to an account, of UN/EDIFACT 4461.
const payByTransfer = "30"

// OfCreditNote is a credit note on an invoice as an electronic document.
func OfCreditNote(inv *billing.Invoice, c *billing.CreditNote, seller, buyer Party, t Terms) (*Document, error) {
	b := builder{invoice: inv, terms: t, totals: c.Totals}
	d := b.begin(seller, buyer)
	d.Type, d.Number, d.Date, d.Note = TypeCreditNote, strconv.Itoa(c.Number), c.Date, c.Reason
	d.Corrects, d.CorrectedOn = strconv.Itoa(inv.Number), inv.Date
	d.Terms = fmt.Sprintf("Set against invoice %d.", inv.Number)
	lines := make([]billing.Line, len(c.Lines))
	for i, l := range c.Lines {
		if l.Place < 1 || l.Place > len(inv.Lines) {
			return nil, domain.Invalidf("line %d of the credit note is no line of invoice %d", i+1, inv.Number)
		}
		lines[i] = inv.Lines[l.Place-1]
		lines[i].Count, lines[i].Detail = l.Count, ""
	}
	b.withoutTax(lines)
	return b.done(d)
}

// builder turns sums of ours into those of the standard.
type builder struct {
	invoice *billing.Invoice
	terms   Terms
	totals  money.Totals
	lines   []Line
	extras  []Adjustment
	wrong   error
}

func (b *builder) begin(seller, buyer Party) *Document {
	if buyer.Name == "" {
		rows := strings.Split(strings.TrimSpace(b.invoice.BilledTo), "\n")
		for i := range rows {
			rows[i] = strings.TrimSpace(rows[i])
		}
		buyer.Name = rows[0]
		rest := rows[1:]
		for _, into := range []*string{&buyer.Street, &buyer.Extra} {
			if len(rest) > 0 {
				*into, rest = rest[0], rest[1:]
			}
		}
		buyer.Line = strings.Join(rest, ", ")
	}
	return &Document{Currency: b.invoice.Currency.Code, BuyerRef: b.terms.BuyerRef, Seller: seller, Buyer: buyer}
}

// plain is an amount in the currency's major unit.
func (b *builder) plain(a money.Amount) decimal.Decimal { return b.invoice.Currency.Decimal(a) }

// category is how lines with those taxes are taxed, with the tax's name; "" for none.
func (b *builder) category(taxes []string) (Category, string) {
	var on []money.Tax
	for _, t := range b.invoice.Taxes {
		if slices.Contains(taxes, t.Name) {
			on = append(on, t)
		}
	}
	switch {
	case len(on) > 1:
		if b.wrong == nil {
			b.wrong = domain.Invalidf("an electronic invoice of EN 16931 has one tax on a line, and here %s stand on one: give the paper instead", names(on))
		}
		return Category{}, ""
	case len(on) == 1 && on[0].Percent.IsPositive():
		return Category{Code: Standard, Rate: on[0].Percent}, on[0].Name
	case len(on) == 1:
		return Category{Code: ZeroRated}, on[0].Name
	case b.exemption() != "":
		return Category{Code: Exempt}, ""
	case b.terms.Untaxed != "":
		return Category{Code: b.terms.Untaxed}, ""
	}
	return Category{Code: ZeroRated}, ""
}

func names(taxes []money.Tax) string {
	var out []string
	for _, t := range taxes {
		out = append(out, t.Name)
	}
	return strings.Join(out, " and ")
}

// exemption is why the customer is free of a tax; "" when nothing says so.
func (b *builder) exemption() string {
	for _, t := range b.totals.Taxes {
		if t.Exempt != "" {
			return t.Exempt
		}
	}
	return ""
}

// priced takes the lines as they were printed, without tax, and the document's
// discount as an allowance for each kind of tax.
func (b *builder) priced() {
	for i, l := range b.invoice.Lines {
		t := b.totals.Lines[i]
		k, _ := b.category(t.Taxes)
		x := b.line(i, l, l.Count, l.Price, k)
		x.Net = b.plain(t.Net)
		if t.Discount != 0 {
			x.Extras = append(x.Extras, Adjustment{Amount: b.plain(t.Discount), Base: b.plain(t.Gross), Percent: l.Off, Reason: "Reduced"})
		}
		if t.Charge != 0 {
			x.Extras = append(x.Extras, Adjustment{Charge: true, Amount: b.plain(t.Charge), Reason: "Added"})
		}
		b.lines = append(b.lines, x)
	}
	for _, g := range b.totals.Groups {
		if g.Discount == 0 {
			continue
		}
		k, _ := b.category(g.Taxes)
		a := Adjustment{Amount: b.plain(g.Discount.Abs()), Charge: g.Discount < 0, Reason: b.invoice.Reason, Category: k}
		if a.Reason == "" {
			a.Reason = "Discount"
		}
		b.extras = append(b.extras, a)
	}
}

// line is a line without its net. A price below zero turns the quantity round.
func (b *builder) line(i int, l billing.Line, count, price decimal.Decimal, k Category) Line {
	if price.IsNegative() {
		count, price = count.Neg(), price.Neg()
	}
	return Line{ID: strconv.Itoa(i + 1), Name: l.Name, Detail: l.Detail, Count: count, Unit: unitCode(l.Unit), Price: price, Category: k}
}

// priceDecimals is how fine a price is that is worked out from a line's net.
const priceDecimals = 8

// withoutTax takes each line's net after its share of the discount and without tax.
// What rounding leaves stands on the largest line of its tax, so that the lines come
// to the base that was taxed.
func (b *builder) withoutTax(lines []billing.Line) {
	nets := make([]money.Amount, len(lines))
	rest, largest := map[string]money.Amount{}, map[string]int{}
	keys := make([]string, len(lines))
	for _, g := range b.totals.Groups {
		_, name := b.category(g.Taxes)
		rest[name] += b.base(g, name)
	}
	for i := range lines {
		t := b.totals.Lines[i]
		k, name := b.category(t.Taxes)
		net := t.Net - t.Share
		if b.invoice.TaxInside {
			whole := decimal.NewFromInt(100).Add(k.Rate)
			net = money.Amount(decimal.NewFromInt(int64(net)).Mul(decimal.NewFromInt(100)).DivRound(whole, 0).IntPart())
		}
		nets[i], keys[i] = net, name
		rest[name] -= net
		if at, there := largest[name]; !there || net.Abs() > nets[at].Abs() {
			largest[name] = i
		}
	}
	for name, i := range largest {
		nets[i] += rest[name]
	}
	for i, l := range lines {
		k, _ := b.category(b.totals.Lines[i].Taxes)
		count, net := l.Count, b.plain(nets[i])
		if count.IsZero() {
			count = decimal.NewFromInt(1)
		}
		x := b.line(i, l, count, net.DivRound(count, priceDecimals), k)
		x.Net = net
		b.lines = append(b.lines, x)
	}
}

// base is what the lines of a group come to without tax.
func (b *builder) base(g money.TaxGroup, name string) money.Amount {
	for _, t := range b.totals.Taxes {
		if name != "" && t.Name == name {
			return t.Base
		}
	}
	return g.Net
}

// done adds the sums by tax and the totals, and holds the document against the rules.
func (b *builder) done(d *Document) (*Document, error) {
	d.Lines, d.Extras = b.lines, b.extras
	for _, g := range b.totals.Groups {
		k, name := b.category(g.Taxes)
		part := Breakdown{Category: k, Base: b.plain(b.base(g, name))}
		for _, t := range b.totals.Taxes {
			if name != "" && t.Name == name {
				part.Tax = b.plain(t.Amount)
			}
		}
		if k.Code == Exempt || k.Code == NotSubject {
			part.Reason = b.exemption()
			if part.Reason == "" {
				part.Reason = b.terms.Reason
			}
		}
		b.add(d, part)
	}
	if b.wrong != nil {
		return nil, b.wrong
	}
	t := b.totals
	d.Totals = Totals{Net: b.plain(t.Net), Tax: b.plain(t.Tax), Total: b.plain(t.Total), Paid: b.plain(t.Deposit), Due: b.plain(t.Total - t.Deposit)}
	for _, l := range d.Lines {
		d.Totals.Lines = d.Totals.Lines.Add(l.Net)
	}
	for _, x := range d.Extras {
		if x.Charge {
			d.Totals.Charges = d.Totals.Charges.Add(x.Amount)
		} else {
			d.Totals.Allowances = d.Totals.Allowances.Add(x.Amount)
		}
	}
	return d, refuse(Check(d))
}

// add puts taxes of one category and rate together.
func (b *builder) add(d *Document, part Breakdown) {
	for i := range d.Taxes {
		if d.Taxes[i].Category.same(part.Category) {
			d.Taxes[i].Base, d.Taxes[i].Tax = d.Taxes[i].Base.Add(part.Base), d.Taxes[i].Tax.Add(part.Tax)
			return
		}
	}
	d.Taxes = append(d.Taxes, part)
}

// refuse turns broken rules into an Invalid error that names them all.
func refuse(found []Broken) error {
	if len(found) == 0 {
		return nil
	}
	var texts []string
	for _, b := range found {
		if text := b.Text + " (" + b.Rule + ")"; !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	return domain.Invalidf("there is no electronic invoice of this yet: %s. The shop's part stands in the settings of electronic invoices, the customer's on their own page.", strings.Join(texts, "; "))
}

// unitCodes are the codes of UN/ECE recommendation 20 for our units, from memory.
var unitCodes = map[string]string{
	"hour": "HUR", "hours": "HUR", "h": "HUR", "min": "MIN", "minutes": "MIN", "day": "DAY", "days": "DAY",
	"each": "C62", "set": "SET", "mm": "MMT", "m": "MTR", "ml": "MLT", "g": "GRM", "sheet": "C62", "half sheet": "C62",
}

// unitCode is the code of a unit; C62, one, for those that have none.
func unitCode(unit string) string {
	if code, known := unitCodes[unit]; known {
		return code
	}
	return "C62"
}
