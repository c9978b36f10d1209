package einvoice

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"regexp"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Limits of a document that is read.
const (
	MostBytes = 10 << 20
	MostLines = 10_000
)

// Read reads an invoice or a credit note out of UBL 2.1. It returns an Invalid error
// that names each value that is none; what is missing is left to [Check]. What stands
// in the document besides what [Document] holds is passed over.
func Read(data []byte) (*Document, error) {
	if len(data) > MostBytes {
		return nil, domain.Invalidf("the document has more than %d MB", MostBytes>>20)
	}
	var u ublDocument
	if err := xml.NewDecoder(bytes.NewReader(data)).Decode(&u); err != nil {
		return nil, domain.Invalidf("this is no XML that can be read: %s", short(err.Error()))
	}
	credit := false
	switch u.XMLName {
	case xml.Name{Space: invoiceSpace, Local: "Invoice"}:
	case xml.Name{Space: creditNoteSpace, Local: "CreditNote"}:
		credit = true
	default:
		return nil, domain.Invalidf("this is no invoice and no credit note of UBL 2.1: it begins with %s", short(u.XMLName.Local))
	}
	if n := len(u.InvoiceLines) + len(u.CreditLines); n > MostLines {
		return nil, domain.Invalidf("the document has %d lines; %d are the most", n, MostLines)
	}
	r := reader{domain.Fields{}}
	d := r.document(&u, credit)
	if err := r.fields.Err(); err != nil {
		return nil, err
	}
	return d, nil
}

// short cuts a foreign text for a message.
func short(s string) string {
	if runes := []rune(s); len(runes) > 80 {
		return string(runes[:80]) + "…"
	}
	return s
}

// reader turns texts into values and notes what is none.
type reader struct{ fields domain.Fields }

// number is a decimal as XML Schema has it, of a length that sums can bear.
var number = regexp.MustCompile(`^[+-]?([0-9]{1,15}(\.[0-9]{0,12})?|\.[0-9]{1,12})$`)

// decimal reads a number; "" is zero.
func (r reader) decimal(field, text string) decimal.Decimal {
	text = strings.TrimSpace(text)
	if text == "" {
		return decimal.Decimal{}
	}
	if !number.MatchString(text) {
		r.fields.Add(field, "%q is no number of at most 15 digits and 12 decimals", short(text))
		return decimal.Decimal{}
	}
	d, err := decimal.NewFromString(text)
	r.fields.AddErr(field, err)
	return d
}

func (r reader) amount(field string, a *ublAmount) decimal.Decimal {
	if a == nil {
		return decimal.Decimal{}
	}
	return r.decimal(field, a.Value)
}

func (r reader) document(u *ublDocument, credit bool) *Document {
	d := &Document{
		Type: u.InvoiceType, Number: u.ID, Date: date(r.fields, "IssueDate", u.IssueDate), Due: date(r.fields, "DueDate", u.DueDate), Currency: u.Currency,
		Note: u.Note, BuyerRef: u.BuyerReference, Seller: u.Seller.party(), Buyer: u.Buyer.party(),
	}
	if credit {
		d.Type = u.CreditType
	}
	if u.Before != nil {
		d.Corrects, d.CorrectedOn = u.Before.Document.ID, date(r.fields, "BillingReference.IssueDate", u.Before.Document.IssueDate)
	}
	if u.Means != nil {
		d.PayBy = u.Means.Code
		if u.Means.Account != nil {
			d.IBAN = u.Means.Account.ID
		}
		if credit {
			d.Due = date(r.fields, "PaymentDueDate", u.Means.DueDate)
		}
	}
	if u.Terms != nil {
		d.Terms = u.Terms.Note
	}
	for i, x := range u.Extras {
		a := r.extra(fmt.Sprintf("AllowanceCharge[%d]", i+1), x)
		if x.Category != nil {
			a.Category = r.category(fmt.Sprintf("AllowanceCharge[%d]", i+1), *x.Category)
		}
		d.Extras = append(d.Extras, a)
	}
	r.taxes(d, u)
	d.Totals.Lines, d.Totals.Net, d.Totals.Total = r.amount("LineExtensionAmount", &u.Totals.Lines), r.amount("TaxExclusiveAmount", &u.Totals.Net), r.amount("TaxInclusiveAmount", &u.Totals.Total)
	d.Totals.Allowances, d.Totals.Charges = r.amount("AllowanceTotalAmount", u.Totals.Allowances), r.amount("ChargeTotalAmount", u.Totals.Charges)
	d.Totals.Paid, d.Totals.Rounding, d.Totals.Due = r.amount("PrepaidAmount", u.Totals.Paid), r.amount("PayableRoundingAmount", u.Totals.Rounding), r.amount("PayableAmount", &u.Totals.Due)
	for i, l := range append(u.InvoiceLines, u.CreditLines...) {
		d.Lines = append(d.Lines, r.line(fmt.Sprintf("line[%d]", i+1), l))
	}
	return d
}

// taxes reads the tax in the document's own currency: a second sum, in the currency
// that the tax is accounted in, is passed over.
func (r reader) taxes(d *Document, u *ublDocument) {
	for _, t := range u.Tax {
		if t.Amount.Currency != "" && t.Amount.Currency != u.Currency {
			continue
		}
		d.Totals.Tax = r.amount("TaxTotal", &t.Amount)
		for i, p := range t.Parts {
			at := fmt.Sprintf("TaxSubtotal[%d]", i+1)
			d.Taxes = append(d.Taxes, Breakdown{
				Category: r.category(at, p.Category), Base: r.amount(at+".TaxableAmount", &p.Base), Tax: r.amount(at+".TaxAmount", &p.Tax), Reason: p.Category.Reason,
			})
		}
	}
}

func (r reader) category(at string, c ublCategory) Category {
	return Category{Code: strings.TrimSpace(c.Code), Rate: r.decimal(at+".Percent", c.Percent)}
}

func (r reader) extra(at string, x ublExtra) Adjustment {
	return Adjustment{
		Charge: x.Charge, Amount: r.amount(at+".Amount", &x.Amount), Base: r.amount(at+".BaseAmount", x.Base),
		Percent: r.decimal(at+".MultiplierFactorNumeric", x.Percent), Code: x.Code, Reason: x.Reason,
	}
}

func (r reader) line(at string, u ublLine) Line {
	l := Line{
		ID: u.ID, Name: u.Item.Name, Detail: u.Item.Detail, Price: r.amount(at+".PriceAmount", &u.Price.Amount), Net: r.amount(at+".LineExtensionAmount", &u.Net),
		Category: r.category(at, u.Item.Category),
	}
	for _, q := range []*ublQuantity{u.Invoiced, u.Credited} {
		if q != nil {
			l.Count, l.Unit = r.decimal(at+".quantity", q.Value), q.Unit
		}
	}
	if u.Price.Per != nil {
		l.Per = r.decimal(at+".BaseQuantity", u.Price.Per.Value)
	}
	for i, x := range u.Extras {
		l.Extras = append(l.Extras, r.extra(fmt.Sprintf("%s.AllowanceCharge[%d]", at, i+1), x))
	}
	return l
}

// party reads who sells or buys.
func (a ublActor) party() Party {
	u := a.Party
	p := Party{
		Name: u.Legal.Name, Registration: u.Legal.Registration, Street: u.Address.Street, Extra: u.Address.Extra, Town: u.Address.Town, Postcode: u.Address.Postcode,
	}
	if u.Endpoint != nil {
		p.Address, p.Scheme = u.Endpoint.Value, u.Endpoint.Scheme
	}
	if u.Address.Line != nil {
		p.Line = u.Address.Line.Line
	}
	if u.Address.Country != nil {
		p.Country = u.Address.Country.Code
	}
	for _, t := range u.Tax {
		if t.Scheme.ID == "VAT" {
			p.TaxNumber = t.Number
		}
	}
	if u.Contact != nil {
		p.Phone, p.Email = u.Contact.Phone, u.Contact.Email
	}
	return p
}
