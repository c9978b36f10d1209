// Package einvoice holds invoices and credit notes as electronic documents after the
// European standard EN 16931, and writes and reads them as UBL 2.1.
//
// Terms of the standard stand in brackets: BT-1 is its business term 1. A document
// carries its sums as they were printed; [Check] works them out again by the
// standard's formulas.
package einvoice

import (
	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Codes of a document's type (BT-3), of UN/EDIFACT 1001.
const (
	TypeInvoice    = "380"
	TypeCreditNote = "381"
)

// Categories of tax (BT-151), of UN/EDIFACT 5305.
const (
	Standard   = "S" // taxed at a rate above zero
	ZeroRated  = "Z"
	Exempt     = "E"
	NotSubject = "O" // outside the tax
)

// Document is an invoice or a credit note. Amounts are in the currency's major unit.
type Document struct {
	Type        string // BT-3; TypeCreditNote is written as a credit note, all else as an invoice
	Number      string // BT-1
	Date        domain.Date
	Due         domain.Date // BT-9; may be empty
	Currency    string      // BT-5, code of ISO 4217
	Note        string      // BT-22
	BuyerRef    string      // BT-10, what the buyer asks to be named
	Corrects    string      // BT-25, number of the invoice before
	CorrectedOn domain.Date // BT-26
	Seller      Party
	Buyer       Party
	PayBy       string // BT-81, code of UN/EDIFACT 4461; "" says nothing
	IBAN        string // BT-84
	Terms       string // BT-20, in words
	Extras      []Adjustment
	Lines       []Line
	Taxes       []Breakdown
	Totals      Totals
}

// Party is the seller or the buyer.
type Party struct {
	Name         string // BT-27, BT-44
	Street       string
	Extra        string // second line of the street
	Line         string // further lines of the address
	Town         string
	Postcode     string
	Country      string // BT-40, BT-55, code of ISO 3166-1
	TaxNumber    string // BT-31, BT-48, with the letters of its country
	Registration string // BT-30, BT-47, in a register of companies
	Address      string // BT-34, BT-49, electronic
	Scheme       string // of the electronic address
	Phone, Email string
}

// Category is how a line is taxed.
type Category struct {
	Code string          // S, Z, E, O or another of the list
	Rate decimal.Decimal // percent; 0 for O, where none is written
}

// same reports whether both are one category at one rate.
func (c Category) same(o Category) bool { return c.Code == o.Code && c.Rate.Equal(o.Rate) }

// Adjustment is an allowance or a charge, on the document or on a line. Base and
// percent come together or not at all.
type Adjustment struct {
	Charge   bool // else it is taken off
	Amount   decimal.Decimal
	Base     decimal.Decimal
	Percent  decimal.Decimal
	Code     string // of the reason
	Reason   string
	Category Category // of one on the document
}

// signed is the amount, below zero when it is taken off.
func (a Adjustment) signed() decimal.Decimal {
	if a.Charge {
		return a.Amount
	}
	return a.Amount.Neg()
}

// Line is one line.
type Line struct {
	ID       string          // BT-126
	Name     string          // BT-153
	Detail   string          // BT-154
	Count    decimal.Decimal // BT-129
	Unit     string          // BT-130, code of UN/ECE recommendation 20
	Price    decimal.Decimal // BT-146, without tax
	Per      decimal.Decimal // BT-149, how many the price is for; 0 is 1
	Extras   []Adjustment
	Net      decimal.Decimal // BT-131
	Category Category
}

// Breakdown is the tax of one category and rate.
type Breakdown struct {
	Category Category
	Base     decimal.Decimal // BT-116
	Tax      decimal.Decimal // BT-117
	Reason   string          // BT-120, why there is none
}

// Totals are the sums of a document.
type Totals struct {
	Lines      decimal.Decimal // BT-106
	Allowances decimal.Decimal // BT-107
	Charges    decimal.Decimal // BT-108
	Net        decimal.Decimal // BT-109
	Tax        decimal.Decimal // BT-110
	Total      decimal.Decimal // BT-112
	Paid       decimal.Decimal // BT-113
	Rounding   decimal.Decimal // BT-114
	Due        decimal.Decimal // BT-115
}

// CreditNote reports whether the document takes something back.
func (d *Document) CreditNote() bool { return d.Type == TypeCreditNote }
