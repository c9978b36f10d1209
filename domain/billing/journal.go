package billing

import (
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Posting is one row of an entry: an amount on one side of one account.
type Posting struct {
	Account Account
	Detail  string       // what of the account, such as the name of a tax; may be ""
	Debit   money.Amount // never below 0; one of the two is 0
	Credit  money.Amount
}

// Entry is one event in the journal: postings whose debits equal their credits.
// Entries are added, never edited; a slip is put right by [Entry.Reversed] and a
// new entry.
type Entry struct {
	ID       int64
	Date     domain.Date // of the period that it belongs to
	Event    Event
	Text     string // for a person
	Customer domain.CustomerID
	Job      domain.JobID
	Invoice  domain.InvoiceID
	Payment  domain.PaymentID
	Move     int64 // of stock; 0 for none
	Reverses int64 // the entry that this one takes back; 0 for none
	Postings []Posting
	At       time.Time
	By       string
}

// Event says what happened.
type Event string

// The events that make an entry. A quote, an estimate, a job, an instrument and a
// part that the customer brings make none.
const (
	DepositTaken     Event = "deposit taken"
	DepositApplied   Event = "deposit applied"
	DepositForfeited Event = "deposit forfeited"
	DepositReturned  Event = "deposit returned"
	InvoiceIssued    Event = "invoice issued"
	CreditIssued     Event = "credit note issued"
	PaymentTaken     Event = "payment taken"
	PaymentReturned  Event = "payment returned"
	CardSettled      Event = "card takings settled"
	DebtWrittenOff   Event = "debt written off"
	DebtRecovered    Event = "debt recovered"
	AllowanceMade    Event = "loss allowance made"
	PartsReceived    Event = "parts received"
	PartsSentBack    Event = "parts sent back"
	SupplierBilled   Event = "supplier's bill"
	PartsUsed        Event = "parts used"
	PartsPutBack     Event = "parts put back"
	PartsSold        Event = "parts sold"
	PartsLost        Event = "parts lost"
	PartsCounted     Event = "parts counted"
	PartsWrittenDown Event = "parts written down"
	CostOfJob        Event = "cost of an invoiced job"
	WarrantyPut      Event = "warranty provision made"
	WarrantyUsed     Event = "warranty work"
	SuppliesConsumed Event = "supplies used"
	TaxRemitted      Event = "tax remitted"
	SupplierPaid     Event = "supplier paid"
	CashBanked       Event = "cash taken to the bank"
	EntryReversed    Event = "entry reversed"
)

// Check returns an Invalid error unless the entry balances, each posting has one
// side above zero, and the accounts are known.
func (e Entry) Check() error {
	f := domain.Fields{}
	if _, err := domain.ParseDate(string(e.Date)); err != nil {
		f.AddErr("date", err)
	}
	if len(e.Postings) < 2 {
		f.Add("postings", "must be two or more")
	}
	var debit, credit money.Amount
	for i, p := range e.Postings {
		if p.Account.Class() == "" {
			f.Add(fmt.Sprintf("postings[%d].account", i), "%q is no account of the journal", p.Account)
		}
		if p.Debit < 0 || p.Credit < 0 || (p.Debit == 0) == (p.Credit == 0) {
			f.Add(fmt.Sprintf("postings[%d]", i), "must have a debit or a credit above 0, not both")
		}
		f.AddErr(fmt.Sprintf("postings[%d]", i), (p.Debit + p.Credit).Check())
		debit, credit = debit+p.Debit, credit+p.Credit
	}
	if debit != credit {
		f.Add("postings", "do not balance: debits come to %d and credits to %d in the smallest unit", debit, credit)
	}
	return f.Err()
}

// Reversed is the entry that takes e back, on a date in an open period.
func (e Entry) Reversed(on domain.Date, why string) Entry {
	r := e
	r.ID, r.Reverses, r.Date, r.Event, r.Text = 0, e.ID, on, EntryReversed, why
	r.Postings = make([]Posting, len(e.Postings))
	for i, p := range e.Postings {
		r.Postings[i] = Posting{Account: p.Account, Detail: p.Detail, Debit: p.Credit, Credit: p.Debit}
	}
	return r
}

// BalanceSheet is what stands on each account with its details: above zero on the
// account's own side.
type BalanceSheet map[Account]money.Amount

// Balances adds entries up.
func Balances(entries []Entry) BalanceSheet {
	out := BalanceSheet{}
	for _, e := range entries {
		for _, p := range e.Postings {
			out[p.Account] += p.Account.signed(p)
		}
	}
	return out
}

// signed is a posting with the sign that it has on the account.
func (a Account) signed(p Posting) money.Amount {
	if c := a.Class(); c == Asset || c == Expense {
		return p.Debit - p.Credit
	}
	return p.Credit - p.Debit
}

// posts collects the postings of one entry.
type posts []Posting

// debit adds an amount on the left, on the right when it is below zero, and
// nothing when it is zero.
func (p *posts) debit(a Account, detail string, amount money.Amount) {
	switch {
	case amount > 0:
		*p = append(*p, Posting{Account: a, Detail: detail, Debit: amount})
	case amount < 0:
		*p = append(*p, Posting{Account: a, Detail: detail, Credit: -amount})
	}
}

func (p *posts) credit(a Account, detail string, amount money.Amount) { p.debit(a, detail, -amount) }

// merged adds up postings of the same account, detail and side, in order of first
// appearance.
func (p posts) merged() []Posting {
	var out []Posting
	for _, x := range p {
		i := slices.IndexFunc(out, func(y Posting) bool {
			return y.Account == x.Account && y.Detail == x.Detail && (y.Debit > 0) == (x.Debit > 0)
		})
		if i < 0 {
			out = append(out, x)
			continue
		}
		out[i].Debit += x.Debit
		out[i].Credit += x.Credit
	}
	return out
}
