package billing

import (
	"fmt"
	"strconv"

	"winterbench/domain"
	"winterbench/domain/money"
)

var journalColumns = []Column{
	{Name: "entry", Head: "Entry", Meaning: "the entry's number; numbers rise, some may be left out"},
	{Name: "date", Head: "Date", Meaning: "the day that the entry belongs to, in the shop's zone"},
	{Name: "event", Head: "Event", Meaning: "what happened"},
	{Name: "text", Head: "Text", Meaning: "in words"},
	{Name: "customer", Head: "Customer", Meaning: "the customer's name"},
	{Name: "tag", Head: "Tag", Meaning: "the job's claim tag"},
	{Name: "invoice", Head: "Invoice", Meaning: "the invoice's number"},
	{Name: "receipt", Head: "Receipt", Meaning: "the payment's receipt number"},
	{Name: "reverses", Head: "Takes back", Meaning: "the entry that this one takes back"},
	{Name: "account", Head: "Account", Meaning: "the account's name"},
	{Name: "detail", Head: "Detail", Meaning: "what of the account, such as the name of a tax"},
	{Name: "debit", Head: "Debit", Meaning: "amount on the left; 0 when it is on the right", Money: true},
	{Name: "credit", Head: "Credit", Meaning: "amount on the right; 0 when it is on the left", Money: true},
	{Name: "by", Head: "By", Meaning: "who did it"},
}

// counted is a number for people, "" for none.
func counted[N ~int | ~int64](n N) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(int64(n), 10)
}

// JournalTable is the journal posting by posting.
func JournalTable(lines []JournalLine) Table {
	out := Table{Name: "journal", Title: "Journal", Columns: journalColumns}
	entries := map[int64]bool{}
	for _, l := range lines {
		e := l.Entry
		entries[e.ID] = true
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			text(counted(e.ID)), text(string(e.Date)), text(string(e.Event)), text(e.Text), {Text: l.Name, Customer: e.Customer},
			{Text: counted(l.Tag), Job: e.Job}, {Text: counted(l.Number), Invoice: e.Invoice}, text(counted(l.Receipt)), text(counted(e.Reverses)),
			text(string(l.Account)), text(l.Detail), {Amount: l.Debit}, {Amount: l.Credit}, text(e.By),
		}})
	}
	out.Total = total("All", journalColumns, out.Rows)
	out.Answer = fmt.Sprintf("%d postings of %d entries.", len(lines), len(entries))
	return out
}

// StatementAccounts are the accounts that a customer's statement shows: what they owe,
// and what the shop holds for them, of which the tax on deposits is a part.
func StatementAccounts() []Account {
	return []Account{Receivables, CustomerDeposits, StoreCredit, OutputTax}
}

// Owing is a line as a customer's statement counts it: above zero when the customer
// owes more by it. Output tax counts only where it is part of a deposit.
func (l JournalLine) Owing() money.Amount {
	if l.Account == OutputTax && !l.Entry.Event.OnDeposits() {
		return 0
	}
	return l.Debit - l.Credit
}

var statementColumns = []Column{
	{Name: "date", Head: "Date", Meaning: "the day of the entry"},
	{Name: "what", Head: "What", Meaning: "what happened, in words"},
	{Name: "tag", Head: "Tag", Meaning: "the job's claim tag"},
	{Name: "charged", Head: "Charged", Meaning: "what the customer owes more by it", Money: true},
	{Name: "paid", Head: "Paid", Meaning: "what the customer owes less by it", Money: true},
	{Name: "balance", Head: "Balance", Meaning: "what the customer owes after it; below zero is held for them", Money: true},
}

// StatementTable is a customer's statement from one day to another. before is what they
// owed before the first day; lines are those of [StatementAccounts], oldest first. An
// entry that moves from one of the accounts to another, such as a deposit that an
// invoice uses, changes nothing and is left out.
func StatementTable(customer string, before money.Amount, lines []JournalLine, from, to domain.Date, c money.Currency) Table {
	out := Table{Name: "statement", Title: "Statement of " + customer, Columns: statementColumns, Total: make([]Cell, len(statementColumns))}
	balance := before
	out.Rows = append(out.Rows, Row{Cells: []Cell{text(string(from)), text("before"), {}, {}, {}, {Amount: before}}})
	for len(lines) > 0 {
		n := 0
		var change money.Amount
		for n < len(lines) && lines[n].Entry.ID == lines[0].Entry.ID {
			change += lines[n].Owing()
			n++
		}
		l := lines[0]
		lines = lines[n:]
		if change == 0 {
			continue
		}
		balance += change
		cells := []Cell{
			text(string(l.Entry.Date)), text(string(l.Entry.Event) + ": " + l.Entry.Text), {Text: counted(l.Tag), Job: l.Entry.Job},
			{Amount: max(change, 0)}, {Amount: max(-change, 0)}, {Amount: balance},
		}
		out.Total[3].Amount += cells[3].Amount
		out.Total[4].Amount += cells[4].Amount
		out.Rows = append(out.Rows, Row{Cells: cells})
	}
	out.Total[0].Text, out.Total[5].Amount = "All", balance
	switch {
	case balance > 0:
		out.Answer = fmt.Sprintf("%s owes %s at the end of %s.", customer, c.Show(balance), to)
	case balance < 0:
		out.Answer = fmt.Sprintf("The shop holds %s for %s at the end of %s.", c.Show(-balance), customer, to)
	default:
		out.Answer = fmt.Sprintf("Nothing is open for %s at the end of %s.", customer, to)
	}
	return out
}

// SplitLines adds up what a customer owed by the lines before a day and returns the
// rest.
func SplitLines(lines []JournalLine, from domain.Date) (before money.Amount, rest []JournalLine) {
	for i, l := range lines {
		if l.Entry.Date >= from {
			return before, lines[i:]
		}
		before += l.Owing()
	}
	return before, nil
}
