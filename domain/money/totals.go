package money

import "github.com/shopspring/decimal"

// Totals is what Sum returns. The amounts shown always add up:
//
//   - each line: Gross - Discount + Charge = Net; the lines' Net add up to Sum
//   - prices without tax: Sum - Discount = Net, Net + Tax = Total
//   - prices with tax: the lines contain their tax, Sum - Discount = Total; the
//     tax is rounded and Net = Total - Tax
//   - the amounts of Taxes add up to Tax
//   - Total - Deposit = Due
//   - Due + CashDifference can be paid with the coins there are, and
//     Total + CashDifference = CashTotal
type Totals struct {
	Lines          []LineTotal `json:"lines"` // as in the bill
	Sum            Amount      `json:"sum"`   // of the lines
	Discount       Amount      `json:"discount"`
	Net            Amount      `json:"net"`    // without tax
	Taxes          []TaxTotal  `json:"taxes"`  // as in the bill, also those that come to nothing
	Groups         []TaxGroup  `json:"groups"` // the lines by the taxes on them, in order of first appearance
	Tax            Amount      `json:"tax"`
	Total          Amount      `json:"total"`           // with tax
	CashTotal      Amount      `json:"cash_total"`      // what the bill comes to if the balance is paid in cash
	CashDifference Amount      `json:"cash_difference"` // added when the balance is paid in cash; never part of a tax
	Deposit        Amount      `json:"deposit"`
	Due            Amount      `json:"due"` // the balance, not rounded for cash; negative: to be paid back
}

// LineTotal is one line of a bill, worked out. Where prices include tax its
// amounts contain the tax.
type LineTotal struct {
	Gross    Amount   `json:"gross"` // quantity x unit price
	Discount Amount   `json:"discount"`
	Charge   Amount   `json:"charge"`
	Net      Amount   `json:"net"`
	Share    Amount   `json:"share"` // this line's share of the document's discount; the shares add up to it
	Taxes    []string `json:"taxes"` // names of the taxes on this line
}

// TaxTotal is one tax of a bill.
type TaxTotal struct {
	Name    string          `json:"name"`
	Number  string          `json:"number"`
	Percent decimal.Decimal `json:"percent"`
	Base    Amount          `json:"base"` // without this tax; with the taxes it builds on
	Amount  Amount          `json:"amount"`
	Exempt  string          `json:"exempt,omitempty"` // why the customer is exempt, in whole or for some kinds of lines
}

// TaxGroup is the lines that carry the same taxes. An electronic invoice needs
// the document's discount by these groups.
type TaxGroup struct {
	Taxes    []string `json:"taxes"` // names; none for lines without tax
	Sum      Amount   `json:"sum"`
	Discount Amount   `json:"discount"`
	Net      Amount   `json:"net"` // Sum - Discount
}
