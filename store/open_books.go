package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/migrations"
)

// booksWait is how long another program is waited for that opens the books.
const booksWait = 3 * time.Minute

// openBooks posts all invoices and payments of a shop that had no journal yet, in
// the order of their dates, all or nothing. Books that are open already, and a shop
// without a document, are left as they are; so two programs may start at once.
func (s *Store) openBooks(ctx context.Context) error {
	began := time.Now()
	for {
		there, err := toOpen(s.db.WithContext(ctx))
		if err != nil || !there {
			return err
		}
		err = s.inTx(ctx, s.openBooksIn)
		if err == nil || domain.KindOf(err) != domain.Conflict || time.Since(began) > booksWait {
			return err
		}
	}
}

// toOpen reports whether there are documents and no journal.
func toOpen(db *gorm.DB) (there bool, err error) {
	return there, db.Raw(`SELECT NOT EXISTS (SELECT 1 FROM journal_entries)
		AND (EXISTS (SELECT 1 FROM invoices) OR EXISTS (SELECT 1 FROM payments))`).Scan(&there).Error
}

// openBooksIn opens the books in a transaction that nobody else posts beside.
func (s *Store) openBooksIn(db *gorm.DB) error {
	if s.dialect == migrations.Postgres {
		for _, do := range []string{"SET LOCAL statement_timeout = 0", "SET LOCAL lock_timeout = 0", "LOCK TABLE journal_entries IN SHARE ROW EXCLUSIVE MODE"} {
			if err := db.Exec(do).Error; err != nil {
				return fmt.Errorf("open the books: %w", err)
			}
		}
	}
	there, err := toOpen(db)
	if err != nil || !there {
		return err
	}
	shop, err := readShop(db)
	if err != nil {
		return fmt.Errorf("open the books: %w", err)
	}
	o := opening{db: db, zone: shop.Location(), jobs: map[domain.JobID]billing.Standing{}, write: journalWriter{db: db}}
	if err := o.run(); err != nil {
		return fmt.Errorf("open the books: %w", err)
	}
	return s.countersForward(db)
}

// opening posts what happened before the books were open.
type opening struct {
	db    *gorm.DB
	zone  *time.Location
	jobs  map[domain.JobID]billing.Standing
	write journalWriter
}

// happened is an invoice or a payment by the moment at which it was made.
type happened struct {
	ID      int64
	JobID   int64
	Invoice bool
	At      moment
}

func (o *opening) run() error {
	var all []happened
	err := o.db.Raw(`SELECT id, coalesce(job_id, 0) AS job_id, true AS invoice, issued_at AS at FROM invoices
		UNION ALL SELECT id, coalesce(job_id, 0) AS job_id, false AS invoice, paid_at AS at FROM payments`).Scan(&all).Error
	if err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b happened) int {
		return cmp.Or(a.At.Compare(b.At.Time), cmp.Compare(yes(b.Invoice), yes(a.Invoice)), cmp.Compare(a.ID, b.ID))
	})
	for some := range slices.Chunk(all, 4*rowsAtOnce) {
		if err := o.post(some); err != nil {
			return err
		}
	}
	return o.write.flush()
}

func yes(b bool) int {
	if b {
		return 1
	}
	return 0
}

// post posts some documents in order.
func (o *opening) post(some []happened) error {
	invoices, err := o.invoices(some)
	if err != nil {
		return err
	}
	payments, err := o.payments(some)
	if err != nil {
		return err
	}
	for _, h := range some {
		job := domain.JobID(h.JobID)
		at := o.jobs[job]
		var entries []billing.Entry
		if h.Invoice {
			if entries, err = at.Issued(invoices[h.ID]); err != nil {
				return err
			}
		} else {
			p := payments[h.ID]
			e, err := at.Paid(p.Payment.payment(), domain.DateOf(p.Payment.PaidAt.In(o.zone)))
			if err != nil {
				return err
			}
			e.Customer = domain.CustomerID(p.CustomerID)
			entries = []billing.Entry{e}
		}
		o.jobs[job] = at
		if err := o.write.add(entries...); err != nil {
			return err
		}
	}
	return nil
}

func jobsIn(some []happened, invoice bool) (ids []int64) {
	for _, h := range some {
		if h.Invoice == invoice {
			ids = append(ids, h.ID)
		}
	}
	return ids
}

// invoices reads invoices with what of their lines is posted: the kinds.
func (o *opening) invoices(some []happened) (map[int64]*billing.Invoice, error) {
	out := map[int64]*billing.Invoice{}
	ids := jobsIn(some, true)
	if len(ids) == 0 {
		return out, nil
	}
	var heads []invoiceRow
	if err := o.db.Where("id IN ?", ids).Find(&heads).Error; err != nil {
		return nil, err
	}
	for i := range heads {
		inv, err := heads[i].invoice()
		if err != nil {
			return nil, fmt.Errorf("read invoice %d: %w", heads[i].Number, err)
		}
		out[heads[i].ID] = inv
	}
	var lines []struct {
		InvoiceID int64
		Kind      string
	}
	if err := o.db.Raw("SELECT invoice_id, kind FROM invoice_lines WHERE invoice_id IN ? ORDER BY invoice_id, place", ids).Scan(&lines).Error; err != nil {
		return nil, err
	}
	for _, l := range lines {
		inv := out[l.InvoiceID]
		inv.Lines = append(inv.Lines, billing.Line{Kind: money.LineKind(l.Kind)})
	}
	return out, nil
}

// paymentOf is a payment with the customer of its job or sale, 0 for none.
type paymentOf struct {
	Payment    paymentRow `gorm:"embedded"`
	CustomerID int64
}

func (o *opening) payments(some []happened) (map[int64]*paymentOf, error) {
	out := map[int64]*paymentOf{}
	ids := jobsIn(some, false)
	if len(ids) == 0 {
		return out, nil
	}
	var rows []paymentOf
	err := o.db.Raw("SELECT p.*, coalesce(j.customer_id, v.customer_id, 0) AS customer_id FROM payments p LEFT JOIN jobs j ON j.id = p.job_id LEFT JOIN invoices v ON v.id = p.invoice_id WHERE p.id IN ?", ids).Scan(&rows).Error
	for i := range rows {
		out[rows[i].Payment.ID] = &rows[i]
	}
	return out, err
}

// journalWriter numbers entries from 1 and writes many at a time, the postings
// before the entries that seal them. It is for a journal that is empty.
type journalWriter struct {
	db       *gorm.DB
	last     int64
	entries  []any
	postings []any
}

const (
	journalColumns = 12
	postingColumns = 6
)

func (w *journalWriter) add(entries ...billing.Entry) error {
	for i := range entries {
		w.last++
		entries[i].ID = w.last
		r := rowOfJournal(&entries[i])
		w.entries = append(w.entries, r.ID, r.Dated, r.Event, r.Text, r.CustomerID, r.JobID, r.InvoiceID, r.PaymentID, r.MoveID, r.Reverses, r.MadeAt, r.MadeBy)
		for _, p := range rowsOfPostings(&entries[i]) {
			w.postings = append(w.postings, p.EntryID, p.Place, p.Account, p.Detail, p.Debit, p.Credit)
		}
	}
	if len(w.entries) > mostParams/2 || len(w.postings) > mostParams/2 {
		return w.flush()
	}
	return nil
}

func (w *journalWriter) flush() error {
	if err := insertMany(w.db, "journal_postings (entry_id, place, account, detail, debit, credit)", postingColumns, w.postings); err != nil {
		return err
	}
	err := insertMany(w.db, "journal_entries (id, dated, event, text, customer_id, job_id, invoice_id, payment_id, move_id, reverses, made_at, made_by)",
		journalColumns, w.entries)
	w.entries, w.postings = w.entries[:0], w.postings[:0]
	return err
}

// insertMany inserts rows of so many columns in one statement.
func insertMany(db *gorm.DB, into string, columns int, args []any) error {
	if len(args) == 0 {
		return nil
	}
	one := "(" + strings.Repeat("?, ", columns-1) + "?)"
	rows := strings.Repeat(one+", ", len(args)/columns-1) + one
	return db.Exec("INSERT INTO "+into+" VALUES "+rows, args...).Error
}
