package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// MonthState is a month that has entries, or was closed.
type MonthState struct {
	Month   string
	Entries int
	Debits  money.Amount
	Period  Period // its Closed is zero while it is open
}

// Unposted counts what should be in the journal up to a day and is not.
type Unposted struct {
	Invoices, Payments, Moves int
}

// Sum is all of it.
func (u Unposted) Sum() int { return u.Invoices + u.Payments + u.Moves }

// BooksQueries are the reads of the journal.
type BooksQueries interface {
	// Journal reads all entries from one day to another with their postings, oldest
	// first.
	Journal(ctx context.Context, from, to domain.Date) ([]billing.Entry, error)
	EntryByID(ctx context.Context, id int64) (*billing.Entry, error)
	// JournalLines reads postings, oldest first, how many there are, and the sum of
	// all of them on the accounts' own sides. A page of limit 0 reads all.
	JournalLines(ctx context.Context, l billing.Lines, p Page) ([]billing.JournalLine, int, money.Amount, error)

	// AccountSums adds up each account from one day to another and before.
	AccountSums(ctx context.Context, from, to domain.Date) ([]billing.AccountSum, error)
	// MonthSums adds up each account by month, detail and event.
	MonthSums(ctx context.Context, from, to domain.Date) ([]billing.MonthSum, error)
	// InvoiceMoves reads what every invoice that was billed or paid from one day to
	// another was billed at and what was paid of it, up to the second day; by invoice
	// and then oldest first. Before them come the moves of no invoice: the tax on
	// deposits that were taken or given back from one day to the other.
	InvoiceMoves(ctx context.Context, from, to domain.Date) ([]billing.InvoiceMove, error)
	OwedOn(ctx context.Context, on domain.Date) ([]billing.Owed, error)
	InProgressOn(ctx context.Context, on domain.Date) ([]billing.InProgress, error)
	OnShelfOn(ctx context.Context, on domain.Date) ([]billing.OnShelf, error)
	// BillsToCome reads the receipts of parts before a moment whose supplier's bill was
	// not noted before it, oldest first.
	BillsToCome(ctx context.Context, before time.Time) ([]billing.BillToCome, error)

	Months(ctx context.Context) ([]MonthState, error) // newest first
	PeriodChanges(ctx context.Context) ([]PeriodChange, error)
	// UnpostedUntil counts invoices, payments and stock moves up to a day that no entry
	// of the journal is about. A document of nothing needs none.
	UnpostedUntil(ctx context.Context, on domain.Date) (Unposted, error)
	// CheckedNotBilled counts the jobs whose work was checked up to a day and that
	// had no invoice by then.
	CheckedNotBilled(ctx context.Context, on domain.Date) (int, error)
}
