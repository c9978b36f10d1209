package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// Journal reads all entries from one day to another, oldest first.
func (s *Store) Journal(ctx context.Context, from, to domain.Date) (all []billing.Entry, err error) {
	err = s.inReadTx(ctx, func(db *gorm.DB) error {
		all, err = entriesWhere(db, "dated BETWEEN ? AND ?", string(from), string(to))
		return err
	})
	return all, err
}

// EntryByID reads one entry with its postings.
func (s *Store) EntryByID(ctx context.Context, id int64) (*billing.Entry, error) {
	return journalEntry(s.db.WithContext(ctx), id)
}

// conditionOf is the condition for the postings that l chooses, on e and p.
func conditionOf(l billing.Lines) (where string, args []any) {
	parts := []string{"1 = 1"}
	for _, x := range []struct {
		asked bool
		part  string
		args  []any
	}{
		{l.From != "", "e.dated >= ?", []any{string(l.From)}},
		{l.To != "", "e.dated <= ?", []any{string(l.To)}},
		{len(l.Accounts) > 0, "p.account IN ?", []any{l.Accounts}},
		{l.Detail != "", "p.detail = ?", []any{l.Detail}},
		{len(l.Events) > 0, "e.event IN ?", []any{l.Events}},
		{len(l.Not) > 0, "e.event NOT IN ?", []any{l.Not}},
		{l.Customer != 0, "e.customer_id = ?", []any{int64(l.Customer)}},
		{l.Job != 0, "e.job_id = ?", []any{int64(l.Job)}},
		{l.Invoice != 0, "e.invoice_id = ?", []any{int64(l.Invoice)}},
		{l.NoInvoice, "e.invoice_id IS NULL", nil},
		{l.NoJob, "e.job_id IS NULL", nil},
		{l.NoCustomer, "e.customer_id IS NULL", nil},
		{l.NoDetail, "p.detail = ''", nil},
		{l.Sum == billing.DebitsOnly, "p.debit > 0", nil},
		{l.Sum == billing.CreditsOnly, "p.credit > 0", nil},
	} {
		if x.asked {
			parts, args = append(parts, x.part), append(args, x.args...)
		}
	}
	return strings.Join(parts, " AND "), args
}

// journalLineRow is a posting with what its entry tells.
type journalLineRow struct {
	Entry   journalRow `gorm:"embedded"`
	Place   int
	Account string
	Detail  string
	Debit   int64
	Credit  int64
	Tag     int
	Number  int
	Receipt int
	Name    string
	TakenBy int64
}

func (r *journalLineRow) line() billing.JournalLine {
	return billing.JournalLine{
		Posting: billing.Posting{Account: billing.Account(r.Account), Detail: r.Detail, Debit: money.Amount(r.Debit), Credit: money.Amount(r.Credit)},
		Entry:   r.Entry.entry(), Place: r.Place, Tag: r.Tag, Number: r.Number, Receipt: r.Receipt, Name: r.Name, Reversed: r.TakenBy,
	}
}

// creditAccounts are those that grow by credits.
func creditAccounts() (out []string) {
	for _, a := range billing.Accounts() {
		if a.Class() == billing.Liability || a.Class() == billing.Income {
			out = append(out, string(a))
		}
	}
	return out
}

// sumOf is how postings are added up.
func sumOf(s billing.Side) (amount string, args []any) {
	switch s {
	case billing.DebitsOnly, billing.Debits:
		return "p.debit - p.credit", nil
	case billing.CreditsOnly, billing.Credits:
		return "p.credit - p.debit", nil
	}
	return "CASE WHEN p.account IN ? THEN p.credit - p.debit ELSE p.debit - p.credit END", []any{creditAccounts()}
}

// JournalLines reads postings, oldest first, how many there are and their sum.
func (s *Store) JournalLines(ctx context.Context, l billing.Lines, p workshop.Page) ([]billing.JournalLine, int, money.Amount, error) {
	where, args := conditionOf(l)
	from := " FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE " + where
	var rows []journalLineRow
	var all struct {
		N   int
		Sum int64
	}
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		sum, first := sumOf(l.Sum)
		err := db.Raw("SELECT count(*) AS n, CAST(coalesce(sum("+sum+"), 0) AS BIGINT) AS sum"+from, append(first, args...)...).Scan(&all).Error
		if err != nil {
			return err
		}
		page := ""
		if p.Limit > 0 {
			page, args = " LIMIT ? OFFSET ?", withPage(args, p)
		}
		return db.Raw(`SELECT x.*, coalesce(j.tag, 0) AS tag, coalesce(v.number, 0) AS number, coalesce(y.receipt, 0) AS receipt,
			coalesce(c.name, '') AS name, coalesce(r.id, 0) AS taken_by
			FROM (SELECT e.*, p.place, p.account, p.detail, p.debit, p.credit`+from+` ORDER BY e.dated, e.id, p.place`+page+`) x
			LEFT JOIN jobs j ON j.id = x.job_id LEFT JOIN invoices v ON v.id = x.invoice_id LEFT JOIN payments y ON y.id = x.payment_id
			LEFT JOIN customers c ON c.id = x.customer_id LEFT JOIN journal_entries r ON r.reverses = x.id
			ORDER BY x.dated, x.id, x.place`, args...).Scan(&rows).Error
	})
	if err != nil {
		return nil, 0, 0, fmt.Errorf("read the journal: %w", err)
	}
	return each(rows, (*journalLineRow).line), all.N, money.Amount(all.Sum), nil
}

// AccountSums adds up each account from one day to another and before.
func (s *Store) AccountSums(ctx context.Context, from, to domain.Date) ([]billing.AccountSum, error) {
	return accountSums(s.db.WithContext(ctx), from, to)
}

// AccountSums adds them up as the transaction sees them.
func (t *tx) AccountSums(ctx context.Context, from, to domain.Date) ([]billing.AccountSum, error) {
	return accountSums(t.db.WithContext(ctx), from, to)
}

func accountSums(db *gorm.DB, from, to domain.Date) ([]billing.AccountSum, error) {
	var rows []billing.AccountSum
	err := db.Raw(`SELECT p.account,
		CAST(sum(CASE WHEN e.dated < ? THEN p.debit - p.credit ELSE 0 END) AS BIGINT) AS before,
		CAST(sum(CASE WHEN e.dated >= ? THEN p.debit ELSE 0 END) AS BIGINT) AS debit,
		CAST(sum(CASE WHEN e.dated >= ? THEN p.credit ELSE 0 END) AS BIGINT) AS credit
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE e.dated <= ? GROUP BY p.account ORDER BY p.account`,
		string(from), string(from), string(from), string(to)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("add up the accounts: %w", translate(err))
	}
	return rows, nil
}

// MonthSums adds up each account by month, detail and event.
func (s *Store) MonthSums(ctx context.Context, from, to domain.Date) ([]billing.MonthSum, error) {
	var rows []billing.MonthSum
	err := s.db.WithContext(ctx).Raw(`SELECT substr(e.dated, 1, 7) AS month, p.account, p.detail, e.event,
		CAST(sum(p.debit) AS BIGINT) AS debit, CAST(sum(p.credit) AS BIGINT) AS credit
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE e.dated BETWEEN ? AND ?
		GROUP BY substr(e.dated, 1, 7), p.account, p.detail, e.event ORDER BY 1, 2, 3, 4`, string(from), string(to)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("add up the months: %w", translate(err))
	}
	return rows, nil
}

// invoiceMoveRow is a posting to the receivables or the output tax of an invoice.
type invoiceMoveRow struct {
	ID        int64
	InvoiceID int64
	Number    int
	Dated     computedDay
	Event     string
	Account   string
	Detail    string
	Place     int
	Credits   int64 // credit less debit
}

// InvoiceMoves reads what invoices were billed at and what was paid of them, after the
// tax on deposits of no invoice.
func (s *Store) InvoiceMoves(ctx context.Context, from, to domain.Date) ([]billing.InvoiceMove, error) {
	var rows []invoiceMoveRow
	err := s.db.WithContext(ctx).Raw(`SELECT e.id, e.invoice_id, v.number, e.dated, e.event, p.account, p.detail, p.place, p.credit - p.debit AS credits
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id JOIN invoices v ON v.id = e.invoice_id
		WHERE e.invoice_id IN (SELECT t.invoice_id FROM journal_entries t WHERE t.dated BETWEEN ? AND ? AND t.invoice_id IS NOT NULL)
		AND e.dated <= ? AND p.account IN ?
		UNION ALL SELECT e.id, 0, 0, e.dated, e.event, p.account, p.detail, p.place, p.credit - p.debit
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id
		WHERE e.invoice_id IS NULL AND e.dated BETWEEN ? AND ? AND e.event IN ? AND p.account = ?
		ORDER BY invoice_id, dated, id, place`,
		string(from), string(to), string(to), []billing.Account{billing.Receivables, billing.OutputTax},
		string(from), string(to), billing.DepositEvents(), string(billing.OutputTax)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read what was paid of invoices: %w", translate(err))
	}
	var out []billing.InvoiceMove
	for _, r := range rows {
		if len(out) == 0 || out[len(out)-1].Entry != r.ID {
			out = append(out, billing.InvoiceMove{
				Invoice: domain.InvoiceID(r.InvoiceID), Number: r.Number, Entry: r.ID, Date: domain.Date(r.Dated), Event: billing.Event(r.Event),
			})
		}
		out[len(out)-1].Take(billing.Account(r.Account), r.Detail, money.Amount(r.Credits))
	}
	return out, nil
}

// OwedOn reads what stood on the receivables of each invoice at the end of a day.
func (s *Store) OwedOn(ctx context.Context, on domain.Date) ([]billing.Owed, error) {
	var rows []owedRow
	err := s.db.WithContext(ctx).Raw(`SELECT x.invoice, coalesce(v.number, 0) AS number, coalesce(v.issued_on, x.begun) AS dated, coalesce(v.due_on, '') AS due,
		coalesce(j.id, 0) AS job, coalesce(j.tag, 0) AS tag, x.customer, coalesce(c.name, '') AS name, x.amount FROM (
			SELECT coalesce(e.invoice_id, 0) AS invoice, coalesce(e.customer_id, 0) AS customer, min(e.dated) AS begun, CAST(sum(p.debit - p.credit) AS BIGINT) AS amount
			FROM journal_postings p JOIN journal_entries e ON e.id = p.entry_id WHERE p.account = ? AND e.dated <= ?
			GROUP BY coalesce(e.invoice_id, 0), coalesce(e.customer_id, 0) HAVING sum(p.debit - p.credit) <> 0) x
		LEFT JOIN invoices v ON v.id = x.invoice LEFT JOIN jobs j ON j.id = v.job_id LEFT JOIN customers c ON c.id = x.customer
		ORDER BY x.invoice, x.customer`, string(billing.Receivables), string(on)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read what is owed: %w", translate(err))
	}
	return each(rows, (*owedRow).owed), nil
}

// computedDay is a civil date that a query computed: the SQLite driver hands such a
// text out as a moment, because the column has no type of its own.
type computedDay domain.Date

// Scan takes what either driver read.
func (d *computedDay) Scan(read any) error {
	switch v := read.(type) {
	case time.Time:
		*d = computedDay(domain.DateOf(v))
	case string:
		*d = computedDay(v)
	case nil:
		*d = ""
	default:
		return fmt.Errorf("read a date: got %T, want a text or a moment", read)
	}
	return nil
}

// owedRow is what stands on the receivables for one invoice.
type owedRow struct {
	Invoice  int64
	Number   int
	Dated    computedDay
	Due      computedDay
	Job      int64
	Tag      int
	Customer int64
	Name     string
	Amount   int64
}

func (r *owedRow) owed() billing.Owed {
	return billing.Owed{
		Invoice: domain.InvoiceID(r.Invoice), Number: r.Number, Date: domain.Date(r.Dated), Due: domain.Date(r.Due), Job: domain.JobID(r.Job), Tag: r.Tag,
		Customer: domain.CustomerID(r.Customer), Name: r.Name, Amount: money.Amount(r.Amount),
	}
}

// InProgressOn reads what stood as work in progress on each job at the end of a day.
func (s *Store) InProgressOn(ctx context.Context, on domain.Date) ([]billing.InProgress, error) {
	var rows []inProgressRow
	err := s.db.WithContext(ctx).Raw(`SELECT x.job, coalesce(j.tag, 0) AS tag, coalesce(c.id, 0) AS customer, coalesce(c.name, '') AS name, x.since, x.value FROM (
			SELECT coalesce(e.job_id, 0) AS job, min(e.dated) AS since, CAST(sum(p.debit - p.credit) AS BIGINT) AS value
			FROM journal_postings p JOIN journal_entries e ON e.id = p.entry_id WHERE p.account = ? AND e.dated <= ?
			GROUP BY coalesce(e.job_id, 0) HAVING sum(p.debit - p.credit) <> 0) x
		LEFT JOIN jobs j ON j.id = x.job LEFT JOIN customers c ON c.id = j.customer_id ORDER BY x.job`, string(billing.WorkInProgress), string(on)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read work in progress: %w", translate(err))
	}
	return each(rows, (*inProgressRow).job), nil
}

// inProgressRow is what stood as work in progress on a job.
type inProgressRow struct {
	Job      int64
	Tag      int
	Customer int64
	Name     string
	Since    computedDay
	Value    int64
}

func (r *inProgressRow) job() billing.InProgress {
	return billing.InProgress{
		Job: domain.JobID(r.Job), Tag: r.Tag, Customer: domain.CustomerID(r.Customer), Name: r.Name, Since: domain.Date(r.Since), Value: money.Amount(r.Value),
	}
}

// endOf is the moment at which a day of the shop ends.
func endOf(db *gorm.DB, on domain.Date) (moment, error) {
	shop, err := readShop(db)
	zone := time.UTC
	if err == nil {
		zone = shop.Location()
	} else if domain.KindOf(err) != domain.NotFound {
		return moment{}, err
	}
	return at(on.AddDays(1).Time(zone)), nil
}

// onShelfRow is what the moves of a part came to.
type onShelfRow struct {
	Part     int64
	Code     string
	Name     string
	Shelf    string
	Unit     string
	Quantity int64
	Value    int64
}

// OnShelfOn reads what lay on the shelf of each part at the end of a day.
func (s *Store) OnShelfOn(ctx context.Context, on domain.Date) ([]billing.OnShelf, error) {
	db := s.db.WithContext(ctx)
	end, err := endOf(db, on)
	if err != nil {
		return nil, err
	}
	var rows []onShelfRow
	err = db.Raw(`SELECT p.id AS part, p.code, p.name, p.shelf, p.unit, x.quantity, x.value FROM (
			SELECT part_id, CAST(sum(quantity) AS BIGINT) AS quantity, CAST(sum(value) AS BIGINT) AS value
			FROM stock_moves WHERE moved_at < ? GROUP BY part_id HAVING sum(quantity) <> 0 OR sum(value) <> 0) x
		JOIN parts p ON p.id = x.part_id ORDER BY p.code`, end).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the shelves of %s: %w", on, translate(err))
	}
	return each(rows, (*onShelfRow).shelf), nil
}

func (r *onShelfRow) shelf() billing.OnShelf {
	return billing.OnShelf{
		Part: domain.PartID(r.Part), Code: r.Code, Name: r.Name, Shelf: r.Shelf, Unit: r.Unit,
		Quantity: decimal.New(r.Quantity, -3).String(), Value: money.Amount(r.Value),
	}
}
