package workshop

import (
	"context"
	"slices"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/einvoice"
)

// Electronic is what an electronic invoice says of the shop besides its name, phone
// and mail. All of it may be empty; an invoice says what is missing.
type Electronic struct {
	Country      string `json:"country"` // two letters of ISO 3166-1
	Street       string `json:"street"`
	Postcode     string `json:"postcode"`
	Town         string `json:"town"`
	TaxNumber    string `json:"tax_number"`   // with the letters of its country
	Registration string `json:"registration"` // in a register of companies
	Address      string `json:"address"`      // electronic
	Scheme       string `json:"scheme"`       // of the address, four digits
	IBAN         string `json:"iban"`         // account for transfers
	Untaxed      string `json:"untaxed"`      // category of lines without tax: Z, E or O; "" is Z
	Reason       string `json:"reason"`       // why, for E and O
}

// Check trims the fields and returns an Invalid error that names each wrong one.
func (e *Electronic) Check() error {
	f := domain.Fields{}
	e.Country = customer.CheckCountry(f, "country", e.Country)
	e.Street, e.Town = domain.Line(f, "street", e.Street, 120, false), domain.Line(f, "town", e.Town, 80, false)
	e.Postcode, e.Registration = domain.Line(f, "postcode", e.Postcode, 20, false), domain.Line(f, "registration", e.Registration, 60, false)
	e.TaxNumber = customer.CheckTaxNumber(f, "tax_number", e.TaxNumber)
	e.Address, e.Scheme = customer.CheckAddress(f, "address", e.Address, "scheme", e.Scheme)
	e.IBAN = customer.CheckIBAN(f, "iban", e.IBAN)
	domain.OneOf(f, "untaxed", e.Untaxed, []string{"", einvoice.ZeroRated, einvoice.Exempt, einvoice.NotSubject})
	e.Reason = domain.Line(f, "reason", e.Reason, 200, e.Untaxed == einvoice.Exempt || e.Untaxed == einvoice.NotSubject)
	return f.Err()
}

// seller is the shop on an electronic invoice. Its address stands in the settings of
// electronic invoices, for the one on paper is not in parts.
func (s *Shop) seller() einvoice.Party {
	e := s.Electronic
	return einvoice.Party{
		Name: s.Name, Street: e.Street, Town: e.Town, Postcode: e.Postcode, Country: e.Country, TaxNumber: e.TaxNumber, Registration: e.Registration,
		Address: e.Address, Scheme: e.Scheme, Phone: s.Phone, Email: s.Email,
	}
}

// buyerOf is what is kept of the customer; name and address stand on the invoice.
func buyerOf(c *customer.Customer) (einvoice.Party, string) {
	if c.Electronic == nil {
		return einvoice.Party{}, ""
	}
	e := c.Electronic
	return einvoice.Party{Country: e.Country, TaxNumber: e.TaxNumber, Address: e.Address, Scheme: e.Scheme}, e.BuyerRef
}

// InvoiceDocument is an issued invoice as an electronic document of EN 16931, with
// the sums of the paper. It returns an Invalid error that says what is missing or
// cannot be expressed.
func InvoiceDocument(ctx context.Context, q Queries, by domain.Actor, id domain.InvoiceID) (*einvoice.Document, error) {
	inv, shop, c, err := documentOf(ctx, q, by, func() (*billing.Invoice, error) { return q.InvoiceByID(ctx, id) })
	if err != nil {
		return nil, err
	}
	buyer, ref := buyerOf(c)
	return einvoice.OfInvoice(inv, shop.seller(), buyer, shop.documentTerms(ref))
}

// CreditNoteDocument is a credit note as an electronic document, see [InvoiceDocument].
func CreditNoteDocument(ctx context.Context, q Queries, by domain.Actor, id domain.CreditNoteID) (*einvoice.Document, error) {
	inv, shop, c, err := documentOf(ctx, q, by, func() (*billing.Invoice, error) { return q.InvoiceOfCreditNote(ctx, id) })
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(inv.Credits, func(n billing.CreditNote) bool { return n.ID == id })
	buyer, ref := buyerOf(c)
	return einvoice.OfCreditNote(inv, &inv.Credits[at], shop.seller(), buyer, shop.documentTerms(ref))
}

func documentOf(ctx context.Context, q Queries, by domain.Actor, read func() (*billing.Invoice, error)) (*billing.Invoice, *Shop, *customer.Customer, error) {
	if err := May(by, ActRead); err != nil {
		return nil, nil, nil, err
	}
	inv, err := read()
	if err != nil {
		return nil, nil, nil, err
	}
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	if inv.Customer == 0 {
		return nil, nil, nil, domain.Conflictf("%s was sold to somebody without a name: an electronic invoice needs a buyer", inv.Label())
	}
	c, err := q.CustomerByID(ctx, inv.Customer)
	return inv, shop, c, err
}

// documentTerms are what the settings add to an electronic invoice.
func (s *Shop) documentTerms(ref string) einvoice.Terms {
	return einvoice.Terms{IBAN: s.Electronic.IBAN, Untaxed: s.Electronic.Untaxed, Reason: s.Electronic.Reason, BuyerRef: ref}
}
