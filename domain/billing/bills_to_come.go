package billing

import (
	"fmt"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// BillToCome is a receipt of parts that has no supplier's bill.
type BillToCome struct {
	At       time.Time
	Day      domain.Date // of At in the shop's zone
	Supplier string      // "" when none was noted
	Order    int         // 0 without one
	Paper    string      // delivery note or bill
	Part     domain.PartID
	Code     string
	Name     string
	Quantity string // in the unit, digits only
	Unit     string
	Cost     money.Amount // at which it came on the shelf
}

var billColumns = []Column{
	{Name: "received", Head: "Received", Meaning: "the day on which the parts came"},
	{Name: "supplier", Head: "Supplier", Meaning: "the supplier's name; empty when none was noted"},
	{Name: "order", Head: "Order", Meaning: "the number of the order; empty without one"},
	{Name: "paper", Head: "Paper", Meaning: "delivery note or bill, as it was noted"},
	{Name: "code", Head: "Code", Meaning: "the part's code"},
	{Name: "name", Head: "Part", Meaning: "the part's name"},
	{Name: "quantity", Head: "Quantity", Meaning: "what came, in the unit"},
	{Name: "unit", Head: "Unit", Meaning: "the unit of the quantity"},
	{Name: "days", Head: "Days", Meaning: "from the receipt to the day of the report"},
	{Name: "cost", Head: "Cost", Meaning: "at which it came on the shelf, without tax that is recovered", Money: true},
}

// BillsToComeTable lists the receipts without a bill at the end of a day; books is what
// the journal holds as received and not invoiced. What the journal holds besides the
// receipts has a row of its own, so that the total is that of the journal.
func BillsToComeTable(rows []BillToCome, books money.Amount, on domain.Date, c money.Currency) Table {
	out := Table{Name: "bills-to-come", Title: "Bills to come", Columns: billColumns}
	var cost money.Amount
	for _, r := range rows {
		order := ""
		if r.Order != 0 {
			order = strconv.Itoa(r.Order)
		}
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			text(string(r.Day)), text(r.Supplier), text(order), text(r.Paper), {Text: r.Code, Part: r.Part}, text(r.Name), text(r.Quantity), text(r.Unit),
			text(strconv.Itoa(r.Day.DaysTo(on))), {Amount: r.Cost},
		}})
		cost += r.Cost
	}
	if rest := books - cost; rest != 0 {
		cells := make([]Cell, len(billColumns))
		cells[5].Text = "sent back and other entries"
		cells[9] = sum(rest, Lines{To: on, Accounts: []Account{NotInvoiced}, Not: []Event{PartsReceived, SupplierBilled}})
		out.Rows = append(out.Rows, Row{Cells: cells})
	}
	out.Total = total("All", billColumns, out.Rows)
	out.Total[9].Behind = &Lines{To: on, Accounts: []Account{NotInvoiced}}
	out.Answer = billsAnswer(rows, cost, on, c)
	out.Notes = []string{"Note a supplier's bill on the page of the part. It settles its receipt, and a difference changes the cost."}
	return out
}

func billsAnswer(rows []BillToCome, cost money.Amount, on domain.Date, c money.Currency) string {
	switch len(rows) {
	case 0:
		return fmt.Sprintf("Everything that came by the end of %s has its supplier's bill.", on)
	case 1:
		return fmt.Sprintf("One receipt for %s waits for its supplier's bill at the end of %s, since %s.", c.Show(cost), on, rows[0].Day)
	}
	return fmt.Sprintf("%d receipts for %s wait for their supplier's bill at the end of %s, the oldest since %s.", len(rows), c.Show(cost), on, rows[0].Day)
}
