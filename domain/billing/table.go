package billing

import (
	"winterbench/domain"
	"winterbench/domain/money"
)

// Table is a report for the accountant: the page, the JSON and the CSV file all show
// this one value, so that they agree to the cent.
type Table struct {
	Name    string // of the address and the file, such as "sales-tax"
	Title   string
	Answer  string // the report in one sentence
	Columns []Column
	Rows    []Row
	Total   []Cell // one for each column; nil when the columns cannot be added up
	Notes   []string
}

// Column is a column of a report.
type Column struct {
	Name    string // in JSON and CSV: snake_case
	Head    string // on the page
	Meaning string // for the column list
	Money   bool   // amounts in minor units; on the page, in JSON and CSV in the currency
}

// Row is a row of a report.
type Row struct {
	Cells []Cell
}

// Cell is a text, or in a column of money an amount.
type Cell struct {
	Text   string
	Amount money.Amount
	Behind *Lines // the postings that add up to it; nil for a text
	Blank  bool   // of a total: the column is not added up
	Job    domain.JobID
	// Customer, Invoice and Part name what a text is about; at most one is not 0.
	Customer domain.CustomerID
	Invoice  domain.InvoiceID
	Part     domain.PartID
}

// Lines chooses postings of the journal. Empty fields choose all.
type Lines struct {
	From, To   domain.Date // whole days, both inside
	Accounts   []Account
	Detail     string // such as the name of a tax
	NoDetail   bool   // only what has no detail
	Events     []Event
	Not        []Event
	Customer   domain.CustomerID
	Job        domain.JobID
	Invoice    domain.InvoiceID
	NoInvoice  bool // only what is on no invoice
	NoJob      bool // only what is on no job
	NoCustomer bool // only what is of no customer
	Paid       bool // the report of tax by payment: see [TaxPaidLines]
	Sum        Side // how they are added up
}

// Side says how postings are added up.
type Side string

// The sides.
const (
	OwnSide     Side = ""        // above zero when the account grows
	DebitsOnly  Side = "debit"   // only the debits are chosen
	CreditsOnly Side = "credit"  // only the credits are chosen
	Debits      Side = "debits"  // debits less credits
	Credits     Side = "credits" // credits less debits
)

// JournalLine is a posting with what its entry tells.
type JournalLine struct {
	Posting
	Entry    Entry  // without its postings
	Place    int    // in the entry, from 1
	Tag      int    // of the job; 0 for none
	Number   int    // of the invoice; 0 for none
	Receipt  int    // of the payment; 0 for none
	Name     string // of the customer
	Reversed int64  // the entry that takes this one back; 0 for none
}

// text and sum make cells.
func text(s string) Cell { return Cell{Text: s} }

func sum(a money.Amount, behind Lines) Cell { return Cell{Amount: a, Behind: &behind} }

// total adds up the columns of money of rows; head stands in the first column.
func total(head string, columns []Column, rows []Row) []Cell {
	out := make([]Cell, len(columns))
	out[0].Text = head
	for _, r := range rows {
		for i, c := range columns {
			if c.Money {
				out[i].Amount += r.Cells[i].Amount
			}
		}
	}
	return out
}

// ReportColumns lists the columns of every report, for the documentation: tables
// without rows.
func ReportColumns() []Table {
	return []Table{
		{Name: "trial-balance", Columns: trialColumns}, {Name: "sales-tax", Columns: taxColumns}, {Name: "sales-tax-paid", Columns: taxPaidColumns},
		{Name: "sales-tax-paid-lines", Columns: taxPaidLineColumns}, {Name: "receivables", Columns: ageColumns}, {Name: "stock", Columns: shelfColumns},
		{Name: "bills-to-come", Columns: billColumns}, {Name: "work-in-progress", Columns: progressColumns}, {Name: "margin", Columns: marginColumns}, {Name: "journal", Columns: journalColumns},
		{Name: "statement", Columns: statementColumns},
	}
}
