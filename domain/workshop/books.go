package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// Period is a month of the journal.
type Period struct {
	Month   string    // 2026-11
	Closed  time.Time // zero while it takes entries
	By      string    // who closed it
	Version int
}

// PeriodChange is a line of the log of what was closed and opened again.
type PeriodChange struct {
	ID      int64
	Month   string
	Change  string // "closed" or "opened again"
	Reason  string // never "" when it was opened again
	Entries int    // of the month at that moment
	Debits  money.Amount
	At      time.Time
	By      string
}

// The two changes of a period.
const (
	PeriodClosed = "closed"
	PeriodOpened = "opened again"
)

// BooksTx reads and writes the journal.
type BooksTx interface {
	// AddEntry writes an entry with its postings and sets its identity. The customer
	// of its job is filled in when the entry names none. The database refuses an
	// entry that does not balance, and one of a closed month.
	AddEntry(ctx context.Context, e *billing.Entry) error
	// JournalEntry reads one entry with its postings.
	JournalEntry(ctx context.Context, id int64) (*billing.Entry, error)
	// EntriesOfInvoice and EntriesOfPayment read what was posted for a document,
	// oldest first.
	EntriesOfInvoice(ctx context.Context, id domain.InvoiceID) ([]billing.Entry, error)
	EntriesOfPayment(ctx context.Context, id domain.PaymentID) ([]billing.Entry, error)
	// ReversedBy returns the entry that takes another back, 0 for none.
	ReversedBy(ctx context.Context, id int64) (int64, error)
	// StandsOn returns what stands on an account, above zero on the account's own side;
	// StandsOnJob by the entries of a job, StandsOnCustomer by those of a customer.
	StandsOn(ctx context.Context, a billing.Account) (money.Amount, error)
	StandsOnJob(ctx context.Context, a billing.Account, id domain.JobID) (money.Amount, error)
	StandsOnCustomer(ctx context.Context, a billing.Account, id domain.CustomerID) (money.Amount, error)
	// TaxOnDeposits adds up the output tax that the entries of a job posted with its
	// deposits and did not take back, by name; see [billing.TaxOnDeposits].
	TaxOnDeposits(ctx context.Context, id domain.JobID) ([]billing.TaxPart, error)

	// PeriodFor reads a month for whoever posts into it: it cannot be closed before
	// the transaction ends. A month without a record is open.
	PeriodFor(ctx context.Context, month string) (*Period, error)
	// Period reads a month to close it or open it again: it waits for whoever posts
	// into it, and nobody posts into it before the transaction ends.
	Period(ctx context.Context, month string) (*Period, error)
	SavePeriod(ctx context.Context, p *Period, c *PeriodChange) error
	// MonthTotals counts the entries of a month and adds up their debits.
	MonthTotals(ctx context.Context, month string) (int, money.Amount, error)
	booksReads
}

// MonthOf is the period that a date belongs to.
func MonthOf(d domain.Date) string {
	if len(d) < 7 {
		return ""
	}
	return string(d[:7])
}

// post writes an entry into the journal. Every use case that moves money, or parts
// that cost money, ends in it, in the same transaction: then the books are right
// whenever the documents are. An entry without postings, such as that of a bill of
// nothing, is none.
//
// It returns an Invalid error for an entry that does not balance, and a conflict for
// a date in a month that was closed: a correction belongs to an open month, see
// [billing.Entry.Reversed].
func (w *Workshop) post(ctx context.Context, tx Tx, e billing.Entry) error {
	_, err := w.postEntry(ctx, tx, e)
	return err
}

// postEntry is post that returns the number of the entry, 0 for none.
func (w *Workshop) postEntry(ctx context.Context, tx Tx, e billing.Entry) (int64, error) {
	if len(e.Postings) == 0 {
		return 0, nil
	}
	if e.At.IsZero() {
		e.At = w.Now()
	}
	if err := e.Check(); err != nil {
		return 0, err
	}
	p, err := tx.PeriodFor(ctx, MonthOf(e.Date))
	if err != nil {
		return 0, err
	}
	if !p.Closed.IsZero() {
		return 0, closedMonth(ctx, tx, p, e.Date)
	}
	err = tx.AddEntry(ctx, &e)
	return e.ID, err
}

// closedMonth says which month is closed and what would be right.
func closedMonth(ctx context.Context, tx Tx, p *Period, d domain.Date) error {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return err
	}
	return domain.Conflictf("%s is in %s, which was closed on %s by %s and takes no more entries: date it in a month that is open, or have an owner open %s again",
		d, MonthWords(p.Month), shop.Today(p.Closed), p.By, MonthWords(p.Month))
}

// MonthWords is a month for people: November 2026. What is no month comes back as
// it is.
func MonthWords(month string) string {
	t, err := time.Parse("2006-01", month)
	if err != nil {
		return month
	}
	return t.Format("January 2006")
}
