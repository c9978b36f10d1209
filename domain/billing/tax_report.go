package billing

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// MonthSum is what was posted to an account in a month by one kind of event.
type MonthSum struct {
	Month         string // 2026-11
	Account       Account
	Detail        string
	Event         Event
	Debit, Credit money.Amount
}

func (m MonthSum) side() money.Amount {
	return m.Account.signed(Posting{Debit: m.Debit, Credit: m.Credit})
}

// MonthDays returns the first and the last day of a month such as 2026-11. What is no
// month gives no days.
func MonthDays(month string) (first, last domain.Date) {
	t, err := time.Parse("2006-01", month)
	if err != nil {
		return "", ""
	}
	return domain.DateOf(t), domain.DateOf(t.AddDate(0, 1, -1))
}

// TaxRow is one component of output tax in one month, by invoice date.
type TaxRow struct {
	Month                                           string
	Tax                                             string
	Invoiced, Credited, WrittenOff, Other, Remitted money.Amount
}

// Owed is the output tax of the month: on invoices and otherwise, such as deposits
// that are taxed when taken or kept, less credit notes and what was recovered on
// debts written off. How customers paid never changes it.
// Source: rule 3 of the worked ledger.
func (r TaxRow) Owed() money.Amount { return r.Invoiced + r.Other - r.Credited - r.WrittenOff }

// SalesTax adds up output tax by component and month, by invoice date. What was
// remitted to the authority stands apart.
func SalesTax(sums []MonthSum) []TaxRow {
	var out []TaxRow
	for _, s := range sums {
		if s.Account != OutputTax {
			continue
		}
		i := slices.IndexFunc(out, func(r TaxRow) bool { return r.Month == s.Month && r.Tax == s.Detail })
		if i < 0 {
			i = len(out)
			out = append(out, TaxRow{Month: s.Month, Tax: s.Detail})
		}
		r, a := &out[i], s.side()
		switch s.Event {
		case InvoiceIssued:
			r.Invoiced += a
		case CreditIssued:
			r.Credited -= a
		case DebtWrittenOff:
			r.WrittenOff -= a
		case TaxRemitted:
			r.Remitted -= a
		default:
			r.Other += a
		}
	}
	slices.SortFunc(out, func(a, b TaxRow) int { return cmp.Or(cmp.Compare(a.Month, b.Month), cmp.Compare(a.Tax, b.Tax)) })
	return out
}

var taxColumns = []Column{
	{Name: "month", Head: "Month", Meaning: "the month of the entry's date: 2026-11"},
	{Name: "tax", Head: "Tax", Meaning: "the component's name, as on the invoice"},
	{Name: "invoiced", Head: "On invoices", Meaning: "output tax of invoices issued in the month", Money: true},
	{Name: "credited", Head: "Credit notes", Meaning: "output tax taken back by credit notes of the month", Money: true},
	{Name: "written_off", Head: "Written off", Meaning: "output tax recovered on debts written off in the month", Money: true},
	{Name: "other", Head: "Other", Meaning: "output tax of other entries: on deposits when they are taken, less when they are used or given back, of debts that came in after all, and reversals", Money: true},
	{Name: "owed", Head: "Owed", Meaning: "invoiced and other, less credited and written off", Money: true},
	{Name: "remitted", Head: "Remitted", Meaning: "paid to the authority in the month", Money: true},
}

// TaxNote is the caution under every report of tax.
const TaxNote = "Which tax is owed, when, and on which basis is the law of the place: have your own adviser check it before you file."

// TaxTable is the sales tax by component and month, by invoice date.
func TaxTable(rows []TaxRow) Table {
	out := Table{Name: "sales-tax", Title: "Sales tax by invoice date", Columns: taxColumns, Notes: []string{TaxNote}}
	named := []Event{InvoiceIssued, CreditIssued, DebtWrittenOff, TaxRemitted}
	for _, r := range rows {
		first, last := MonthDays(r.Month)
		of := func(sum Side, events ...Event) Lines {
			return Lines{From: first, To: last, Accounts: []Account{OutputTax}, Detail: r.Tax, NoDetail: r.Tax == "", Events: events, Sum: sum}
		}
		other, owed := of(OwnSide), of(OwnSide)
		other.Not, owed.Not = named, []Event{TaxRemitted}
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			text(r.Month), text(r.Tax), sum(r.Invoiced, of(OwnSide, InvoiceIssued)), sum(r.Credited, of(Debits, CreditIssued)),
			sum(r.WrittenOff, of(Debits, DebtWrittenOff)), sum(r.Other, other), sum(r.Owed(), owed), sum(r.Remitted, of(Debits, TaxRemitted)),
		}})
	}
	out.Total = total("All", taxColumns, out.Rows)
	out.Answer = fmt.Sprintf("%d components in %d months.", len(distinct(rows, func(r TaxRow) string { return r.Tax })), len(distinct(rows, func(r TaxRow) string { return r.Month })))
	return out
}

func distinct[T any](all []T, key func(T) string) map[string]bool {
	out := map[string]bool{}
	for _, v := range all {
		out[key(v)] = true
	}
	return out
}

// InvoiceMove is what one entry did to an invoice: what it is billed at, its taxes,
// or what was paid of it.
type InvoiceMove struct {
	Invoice domain.InvoiceID
	Number  int
	Entry   int64
	Date    domain.Date
	Event   Event
	Billed  money.Amount // of an invoice, below zero of a credit note
	Paid    money.Amount // below zero when it was given back
	Taxes   []TaxPart    // of Billed
	Held    []TaxPart    // on deposits that were taken, below zero when they were used or given back
}

// Take adds a posting of the entry, as credits less debits: what a bill and a credit
// note do to the receivable is billed, what else does is paid, but for a debt that was
// written off, or put back when it came in after all, and the tax that went with it.
func (m *InvoiceMove) Take(a Account, detail string, credits money.Amount) {
	bill := m.Event == InvoiceIssued || m.Event == CreditIssued
	switch {
	case m.Event == DebtWrittenOff || m.Event == DebtRecovered:
	case a == Receivables && bill:
		m.Billed -= credits
	case a == Receivables:
		m.Paid += credits
	case a == OutputTax && bill:
		m.Taxes = append(m.Taxes, TaxPart{Name: detail, Amount: credits})
	case a == OutputTax && m.Event.OnDeposits():
		m.Held = append(m.Held, TaxPart{Name: detail, Amount: credits})
	}
}

// TaxPaidLine is the tax that became due by one entry, where tax follows payment.
type TaxPaidLine struct {
	InvoiceMove
	Tax    string
	Amount money.Amount // below zero when money went back
}

// TaxPaidLines shares the taxes of invoices over the payments on them: after each
// entry as much of each tax counts as of the invoice was paid, rounded to the nearest
// minor unit, halves away from zero, so that an invoice that is paid has its whole tax
// to the cent. A deposit counts on the day its invoice uses it. Where its tax was posted
// when it was taken, that tax counts on that day, and the day of its use has only the
// rest; what goes back takes it away. A credit note lowers what there is to pay; a debt
// written off was never paid. moves are by invoice, those of none first, and then in
// the order of time.
func TaxPaidLines(moves []InvoiceMove) []TaxPaidLine {
	var out []TaxPaidLine
	for len(moves) > 0 {
		n := slices.IndexFunc(moves, func(m InvoiceMove) bool { return m.Invoice != moves[0].Invoice })
		if n < 0 {
			n = len(moves)
		}
		out = append(out, taxPaidOf(moves[:n])...)
		moves = moves[n:]
	}
	return out
}

func taxPaidOf(moves []InvoiceMove) []TaxPaidLine {
	var out []TaxPaidLine
	var billed, paid money.Amount
	taxes, counted := map[string]money.Amount{}, map[string]money.Amount{}
	for _, m := range moves {
		billed, paid = billed+m.Billed, paid+m.Paid
		for _, t := range m.Taxes {
			taxes[t.Name] += t.Amount
		}
		due := map[string]money.Amount{}
		for _, t := range m.Held {
			due[t.Name] += t.Amount
		}
		for name, tax := range taxes {
			now := partPaid(tax, paid, billed)
			due[name] += now - counted[name]
			counted[name] = now
		}
		for _, name := range sortedNames(due) {
			if due[name] != 0 {
				out = append(out, TaxPaidLine{InvoiceMove: m, Tax: name, Amount: due[name]})
			}
		}
	}
	return out
}

func sortedNames(m map[string]money.Amount) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// partPaid is the part of a tax that belongs to what was paid.
func partPaid(tax, paid, billed money.Amount) money.Amount {
	paid = min(max(paid, 0), max(billed, 0))
	if billed <= 0 || paid == 0 {
		return 0
	}
	if paid == billed {
		return tax
	}
	if tax < 0 {
		return -partPaid(-tax, paid, billed)
	}
	n := new(big.Int).Mul(big.NewInt(2*int64(tax)), big.NewInt(int64(paid)))
	n.Add(n, big.NewInt(int64(billed)))
	return money.Amount(n.Quo(n, big.NewInt(2*int64(billed))).Int64())
}

// TaxPaidRow is what became due of one component in one month, by payment date.
type TaxPaidRow struct {
	Month string
	Tax   string
	Due   money.Amount
}

// TaxPaid adds lines up by component and month, those from one day to another.
func TaxPaid(lines []TaxPaidLine, from, to domain.Date) []TaxPaidRow {
	var out []TaxPaidRow
	for _, l := range lines {
		if l.Date < from || l.Date > to {
			continue
		}
		month := string(l.Date[:7])
		i := slices.IndexFunc(out, func(r TaxPaidRow) bool { return r.Month == month && r.Tax == l.Tax })
		if i < 0 {
			i = len(out)
			out = append(out, TaxPaidRow{Month: month, Tax: l.Tax})
		}
		out[i].Due += l.Amount
	}
	slices.SortFunc(out, func(a, b TaxPaidRow) int { return cmp.Or(cmp.Compare(a.Month, b.Month), cmp.Compare(a.Tax, b.Tax)) })
	return out
}

var taxPaidColumns = []Column{
	{Name: "month", Head: "Month", Meaning: "the month in which it was paid: 2026-11"},
	{Name: "tax", Head: "Tax", Meaning: "the component's name, as on the invoice"},
	{Name: "due", Head: "Due", Meaning: "the part of the tax that belongs to what was paid in the month, less what was given back", Money: true},
}

// TaxPaidTable is the sales tax by component and month, by payment date.
func TaxPaidTable(rows []TaxPaidRow) Table {
	out := Table{Name: "sales-tax-paid", Title: "Sales tax by payment date", Columns: taxPaidColumns, Notes: []string{TaxNote}}
	for _, r := range rows {
		first, last := MonthDays(r.Month)
		behind := Lines{From: first, To: last, Detail: r.Tax, Paid: true}
		out.Rows = append(out.Rows, Row{Cells: []Cell{text(r.Month), text(r.Tax), sum(r.Due, behind)}})
	}
	out.Total = total("All", taxPaidColumns, out.Rows)
	out.Answer = "Of each tax as much as its invoice was paid; a deposit counts on the day its invoice uses it. " +
		"Where the tax on a deposit was posted when it was taken, it counts on that day, and the day of its use has only the rest."
	return out
}

var taxPaidLineColumns = []Column{
	{Name: "date", Head: "Date", Meaning: "of the payment, the credit note, the deposit's use, or of a deposit that is taxed when taken"},
	{Name: "invoice", Head: "Invoice", Meaning: "the invoice's number; empty for a deposit before it"},
	{Name: "event", Head: "What", Meaning: "what happened"},
	{Name: "entry", Head: "Entry", Meaning: "the number of the journal entry"},
	{Name: "tax", Head: "Tax", Meaning: "the component's name"},
	{Name: "paid", Head: "Paid", Meaning: "of the invoice, by this entry; below zero when given back", Money: true},
	{Name: "due", Head: "Tax due", Meaning: "the tax that became due by it", Money: true},
}

// TaxPaidLineTable is what stands behind a figure of [TaxPaidTable].
func TaxPaidLineTable(lines []TaxPaidLine, l Lines) Table {
	out := Table{Name: "sales-tax-paid-lines", Title: "Sales tax by payment date, line by line", Columns: taxPaidLineColumns, Notes: []string{TaxNote}}
	for _, x := range lines {
		if x.Date < l.From || x.Date > l.To || l.Detail != "" && x.Tax != l.Detail {
			continue
		}
		invoice := text(counted(x.Number))
		invoice.Invoice = x.Invoice
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			text(string(x.Date)), invoice, text(string(x.Event)), text(strconv.FormatInt(x.Entry, 10)), text(x.Tax), {Amount: x.Paid}, {Amount: x.Amount},
		}})
	}
	slices.SortStableFunc(out.Rows, func(a, b Row) int { return cmp.Compare(a.Cells[0].Text, b.Cells[0].Text) })
	out.Total = total("All", taxPaidLineColumns, out.Rows)
	out.Answer = fmt.Sprintf("%d lines.", len(out.Rows))
	return out
}
