package billing

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Owed is what stands on the receivables for one invoice at the end of a day.
type Owed struct {
	Invoice  domain.InvoiceID // 0 for what is on no invoice
	Number   int
	Date     domain.Date // of the invoice, or of the first entry
	Due      domain.Date // when it was to be paid; "" is the date
	Job      domain.JobID
	Tag      int
	Customer domain.CustomerID
	Name     string
	Amount   money.Amount // below zero when the shop owes
}

// Aged is an open invoice with how late it is.
type Aged struct {
	Owed
	Late int // days after it was to be paid; 0 when it is not late
	Age  int // its place in [AgeNames]
}

// AgeOwed sorts what is owed by customer, the oldest first, each with how late it is.
func AgeOwed(owed []Owed, on domain.Date) []Aged {
	var out []Aged
	for _, o := range owed {
		if o.Amount == 0 {
			continue
		}
		a := Aged{Owed: o}
		if o.Amount > 0 {
			a.Late = Open{Date: o.Date, Due: o.Due}.Late(on)
		}
		a.Age = AgeOf(a.Late)
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b Aged) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Customer, b.Customer), cmp.Compare(a.Date, b.Date), cmp.Compare(a.Invoice, b.Invoice))
	})
	return out
}

var ageColumns = []Column{
	{Name: "customer", Head: "Customer", Meaning: "the customer's name"},
	{Name: "invoice", Head: "Invoice", Meaning: "the invoice's number; empty for what is on no invoice"},
	{Name: "date", Head: "Issued", Meaning: "the invoice's date"},
	{Name: "late", Head: "Days late", Meaning: "from the day by which it was to be paid to the day of the report; 0 when it is not late"},
	{Name: "not_due", Head: "Not due", Meaning: "owed and not late, or owed to the customer", Money: true},
	{Name: "to_30", Head: "1 to 30", Meaning: "owed for 1 to 30 days too long", Money: true},
	{Name: "to_60", Head: "31 to 60", Meaning: "owed for 31 to 60 days too long", Money: true},
	{Name: "to_90", Head: "61 to 90", Meaning: "owed for 61 to 90 days too long", Money: true},
	{Name: "over_90", Head: "Over 90", Meaning: "owed for more than 90 days too long", Money: true},
	{Name: "owed", Head: "Owed", Meaning: "all that is owed on the invoice; below zero when the shop owes", Money: true},
}

// AgeTable is the ageing of the receivables at the end of a day.
func AgeTable(rows []Aged, on domain.Date) Table {
	out := Table{Name: "receivables", Title: "Receivables by age", Columns: ageColumns}
	for _, r := range rows {
		behind := Lines{To: on, Accounts: []Account{Receivables}, Invoice: r.Invoice, Customer: r.Customer, NoInvoice: r.Invoice == 0, NoCustomer: r.Customer == 0}
		cells := []Cell{{Text: r.Name, Customer: r.Customer}, {Invoice: r.Invoice}, text(string(r.Date)), text(strconv.Itoa(r.Late)), {}, {}, {}, {}, {}, sum(r.Amount, behind)}
		if r.Number != 0 {
			cells[1].Text = strconv.Itoa(r.Number)
		}
		cells[4+r.Age] = sum(r.Amount, behind)
		out.Rows = append(out.Rows, Row{Cells: cells})
	}
	out.Total = total("All", ageColumns, out.Rows)
	out.Answer = fmt.Sprintf("%d invoices are open at the end of %s.", len(rows), on)
	out.Notes = []string{"An invoice is to be paid on its own date unless another day was given."}
	return out
}

// InProgress is what was put into a job that is not billed yet, at the end of a day.
type InProgress struct {
	Job      domain.JobID // 0 for what is on no job
	Tag      int
	Customer domain.CustomerID
	Name     string
	Since    domain.Date // of the first entry
	Value    money.Amount
}

var progressColumns = []Column{
	{Name: "tag", Head: "Tag", Meaning: "the job's claim tag"},
	{Name: "customer", Head: "Customer", Meaning: "the customer's name"},
	{Name: "since", Head: "Since", Meaning: "the date of the first part"},
	{Name: "value", Head: "Value", Meaning: "the cost of the parts in the job that no invoice covers yet", Money: true},
}

// ProgressTable is the value of work in progress at the end of a day.
func ProgressTable(rows []InProgress, on domain.Date) Table {
	out := Table{Name: "work-in-progress", Title: "Work in progress", Columns: progressColumns}
	for _, r := range rows {
		behind := Lines{To: on, Accounts: []Account{WorkInProgress}, Job: r.Job, NoJob: r.Job == 0}
		tag := Cell{Job: r.Job}
		if r.Tag != 0 {
			tag.Text = strconv.Itoa(r.Tag)
		}
		out.Rows = append(out.Rows, Row{Cells: []Cell{tag, {Text: r.Name, Customer: r.Customer}, text(string(r.Since)), sum(r.Value, behind)}})
	}
	out.Total = total("All", progressColumns, out.Rows)
	out.Answer = fmt.Sprintf("Parts wait in %d jobs for their invoice at the end of %s.", len(rows), on)
	out.Notes = []string{"Work in progress is parts at cost. Hours on the clock are not valued."}
	return out
}

// OnShelf is what lay on the shelf of one part at the end of a day.
type OnShelf struct {
	Part     domain.PartID
	Code     string
	Name     string
	Shelf    string
	Unit     string
	Quantity string // in the unit, digits only
	Value    money.Amount
}

var shelfColumns = []Column{
	{Name: "code", Head: "Code", Meaning: "the part's code"},
	{Name: "name", Head: "Part", Meaning: "the part's name"},
	{Name: "shelf", Head: "Shelf", Meaning: "where it lies today"},
	{Name: "quantity", Head: "Quantity", Meaning: "what lay there, in the unit"},
	{Name: "unit", Head: "Unit", Meaning: "the unit of the quantity"},
	{Name: "value", Head: "Value", Meaning: "at cost, by moving average", Money: true},
}

// ShelfTable is the value of the stock at the end of a day, part by part; books is
// what the journal holds for it.
func ShelfTable(rows []OnShelf, books money.Amount, on domain.Date, c money.Currency) Table {
	out := Table{Name: "stock", Title: "Stock value", Columns: shelfColumns}
	for _, r := range rows {
		code := Cell{Text: r.Code, Part: r.Part}
		out.Rows = append(out.Rows, Row{Cells: []Cell{code, text(r.Name), text(r.Shelf), text(r.Quantity), text(r.Unit), {Amount: r.Value}}})
	}
	out.Total = total("All", shelfColumns, out.Rows)
	behind := Lines{To: on, Accounts: []Account{PartsStock, SuppliesStock}}
	out.Total[5].Behind = &behind
	value := out.Total[5].Amount
	out.Answer = fmt.Sprintf("The shelves are worth %s at the end of %s, and so the journal says.", c.Show(value), on)
	if value != books {
		out.Answer = fmt.Sprintf("The shelves are worth %s at the end of %s, but the journal says %s: a move was not posted.", c.Show(value), on, c.Show(books))
	}
	return out
}
