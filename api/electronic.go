package api

import (
	"context"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/einvoice"
	"winterbench/domain/workshop"
)

// electronicShop is what electronic invoices say of the shop.
type electronicShop struct {
	Country      string `json:"country,omitempty" doc:"Two letters of ISO 3166-1"`
	Street       string `json:"street,omitempty"`
	Postcode     string `json:"postcode,omitempty"`
	Town         string `json:"town,omitempty"`
	TaxNumber    string `json:"tax_number,omitempty" doc:"With the letters of its country"`
	Registration string `json:"registration,omitempty" doc:"In a register of companies"`
	Address      string `json:"address,omitempty" doc:"Electronic"`
	Scheme       string `json:"scheme,omitempty" doc:"Of the electronic address, four digits"`
	IBAN         string `json:"iban,omitempty" doc:"Account for transfers"`
	Untaxed      string `json:"untaxed,omitempty" doc:"Category of lines without tax: Z zero rated, E exempt, O outside the tax; Z when left out"`
	Reason       string `json:"reason,omitempty" doc:"Why, for E and O"`
}

// electronicCustomer is what electronic invoices say of a customer.
type electronicCustomer struct {
	Country   string `json:"country" doc:"Two letters of ISO 3166-1"`
	TaxNumber string `json:"tax_number,omitempty" doc:"With the letters of its country"`
	BuyerRef  string `json:"buyer_ref,omitempty" doc:"What the customer asks to be named"`
	Address   string `json:"address,omitempty" doc:"Electronic"`
	Scheme    string `json:"scheme,omitempty" doc:"Of the electronic address, four digits"`
}

func electronicShopOf(e workshop.Electronic) *electronicShop {
	if e == (workshop.Electronic{}) {
		return nil
	}
	n := electronicShop(e)
	return &n
}

func (n *electronicShop) domain() workshop.Electronic {
	if n == nil {
		return workshop.Electronic{}
	}
	return workshop.Electronic(*n)
}

func electronicCustomerOf(e *customer.Electronic) *electronicCustomer {
	if e == nil {
		return nil
	}
	n := electronicCustomer(*e)
	return &n
}

func (n *electronicCustomer) domain() *customer.Electronic {
	if n == nil {
		return nil
	}
	e := customer.Electronic(*n)
	return &e
}

// xmlOut is a document as XML.
type xmlOut struct {
	ContentType string `header:"Content-Type" doc:"application/xml"`
	Body        []byte
}

func (a *API) electronicRoutes(read operation) {
	o := read
	o.about = "Refused with what is missing, in the shop's settings or on the customer, or with what the standard cannot express, such as two taxes on one line."
	o.path, o.id, o.summary = "/invoices/{invoice}/electronic", "get_electronic_invoice", "An invoice as XML of EN 16931 (UBL 2.1)"
	add(a, o, func(ctx context.Context, in *OnInvoice) (*xmlOut, error) {
		return xmlOf(workshop.InvoiceDocument(ctx, a.read, by(ctx), domain.InvoiceID(in.Invoice)))
	})
	o.path, o.id, o.summary = "/credit-notes/{note}/electronic", "get_electronic_credit_note", "A credit note as XML of EN 16931 (UBL 2.1)"
	add(a, o, func(ctx context.Context, in *OnCreditNote) (*xmlOut, error) {
		return xmlOf(workshop.CreditNoteDocument(ctx, a.read, by(ctx), domain.CreditNoteID(in.Note)))
	})
}

func xmlOf(d *einvoice.Document, err error) (*xmlOut, error) {
	if err != nil {
		return nil, err
	}
	data, err := einvoice.Write(d)
	return &xmlOut{ContentType: "application/xml; charset=utf-8", Body: data}, err
}
