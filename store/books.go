package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/migrations"
)

// journalRow is a row of journal_entries.
type journalRow struct {
	ID         int64
	Dated      string
	Event      string
	Text       string
	CustomerID *int64
	JobID      *int64
	InvoiceID  *int64
	PaymentID  *int64
	MoveID     *int64
	Reverses   *int64
	MadeAt     moment
	MadeBy     string
}

func (journalRow) TableName() string { return "journal_entries" }
func (r *journalRow) key() *int64    { return &r.ID }

func rowOfJournal(e *billing.Entry) journalRow {
	return journalRow{
		ID: e.ID, Dated: string(e.Date), Event: string(e.Event), Text: e.Text, CustomerID: idOrNull(e.Customer), JobID: idOrNull(e.Job),
		InvoiceID: idOrNull(e.Invoice), PaymentID: idOrNull(e.Payment), MoveID: idOrNull(e.Move), Reverses: idOrNull(e.Reverses),
		MadeAt: at(e.At), MadeBy: e.By,
	}
}

// entry is the entry of a row, without its postings.
func (r *journalRow) entry() billing.Entry {
	return billing.Entry{
		ID: r.ID, Date: domain.Date(r.Dated), Event: billing.Event(r.Event), Text: r.Text,
		Customer: orZero[domain.CustomerID](r.CustomerID), Job: orZero[domain.JobID](r.JobID),
		Invoice: orZero[domain.InvoiceID](r.InvoiceID), Payment: orZero[domain.PaymentID](r.PaymentID),
		Move: orZero[int64](r.MoveID), Reverses: orZero[int64](r.Reverses), At: r.MadeAt.Time, By: r.MadeBy,
	}
}

// postingRow is a row of journal_postings.
type postingRow struct {
	EntryID int64
	Place   int
	Account string
	Detail  string
	Debit   int64
	Credit  int64
}

func (postingRow) TableName() string { return "journal_postings" }

func rowsOfPostings(e *billing.Entry) []postingRow {
	rows := make([]postingRow, len(e.Postings))
	for i, p := range e.Postings {
		rows[i] = postingRow{
			EntryID: e.ID, Place: i + 1, Account: string(p.Account), Detail: p.Detail, Debit: int64(p.Debit), Credit: int64(p.Credit),
		}
	}
	return rows
}

func (r *postingRow) posting() billing.Posting {
	return billing.Posting{
		Account: billing.Account(r.Account), Detail: r.Detail, Debit: money.Amount(r.Debit), Credit: money.Amount(r.Credit),
	}
}

// AddEntry writes an entry with its postings and sets its identity. The postings
// come first and the row of the entry seals them.
func (t *tx) AddEntry(ctx context.Context, e *billing.Entry) error {
	if e.ID != 0 {
		return fmt.Errorf("add to the journal: entry %d has an identity already", e.ID)
	}
	db := t.db.WithContext(ctx)
	made := *e
	if made.Customer == 0 && made.Job != 0 {
		if err := db.Raw("SELECT customer_id FROM jobs WHERE id = ?", int64(made.Job)).Scan(&made.Customer).Error; err != nil {
			return fmt.Errorf("add to the journal: %w", translate(err))
		}
	}
	var err error
	if made.ID, err = nextEntry(db); err != nil {
		return fmt.Errorf("add to the journal: %w", translate(err))
	}
	rows, row := rowsOfPostings(&made), rowOfJournal(&made)
	if err := db.Create(&rows).Error; err != nil {
		return fmt.Errorf("add postings to the journal: %w", translate(err))
	}
	if err := db.Create(&row).Error; err != nil {
		return fmt.Errorf("add to the journal: %w", translate(err))
	}
	e.ID, e.Customer = made.ID, made.Customer
	return nil
}

// nextEntry is the identity of the next entry, known before its row is. On SQLite
// one transaction writes at a time and rows are never removed.
func nextEntry(db *gorm.DB) (id int64, err error) {
	query := "SELECT coalesce(max(id), 0) + 1 FROM journal_entries"
	if migrations.Dialect(db.Name()) == migrations.Postgres {
		query = "SELECT nextval(pg_get_serial_sequence('journal_entries', 'id'))"
	}
	return id, db.Raw(query).Scan(&id).Error
}

// JournalEntry reads one entry with its postings.
func (t *tx) JournalEntry(ctx context.Context, id int64) (*billing.Entry, error) {
	return journalEntry(t.db.WithContext(ctx), id)
}

func journalEntry(db *gorm.DB, id int64) (*billing.Entry, error) {
	var row journalRow
	if err := takeRow(db, &row, id, "journal entry"); err != nil {
		return nil, err
	}
	all, err := withPostings(db, []journalRow{row})
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// EntriesOfInvoice reads what was posted for an invoice, oldest first.
func (t *tx) EntriesOfInvoice(ctx context.Context, id domain.InvoiceID) ([]billing.Entry, error) {
	return entriesWhere(t.db.WithContext(ctx), "invoice_id = ?", int64(id))
}

// EntriesOfPayment reads what was posted for a payment, oldest first.
func (t *tx) EntriesOfPayment(ctx context.Context, id domain.PaymentID) ([]billing.Entry, error) {
	return entriesWhere(t.db.WithContext(ctx), "payment_id = ?", int64(id))
}

// entriesWhere reads the entries that a condition chooses, oldest first.
func entriesWhere(db *gorm.DB, where string, args ...any) ([]billing.Entry, error) {
	var rows []journalRow
	if err := db.Where(where, args...).Order("dated, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the journal: %w", translate(err))
	}
	return withPostings(db, rows)
}

// withPostings makes the entries of rows.
func withPostings(db *gorm.DB, rows []journalRow) ([]billing.Entry, error) {
	out := make([]billing.Entry, len(rows))
	place := map[int64]int{}
	for i := range rows {
		out[i] = rows[i].entry()
		place[rows[i].ID] = i
	}
	for some := range slices.Chunk(rows, rowsAtOnce) {
		ids := make([]int64, len(some))
		for i := range some {
			ids[i] = some[i].ID
		}
		var postings []postingRow
		if err := db.Where("entry_id IN ?", ids).Order("entry_id, place").Find(&postings).Error; err != nil {
			return nil, fmt.Errorf("read postings of the journal: %w", translate(err))
		}
		for i := range postings {
			e := &out[place[postings[i].EntryID]]
			e.Postings = append(e.Postings, postings[i].posting())
		}
	}
	return out, nil
}

// ReversedBy returns the entry that takes another back, 0 for none.
func (t *tx) ReversedBy(ctx context.Context, id int64) (int64, error) {
	var by int64
	err := t.db.WithContext(ctx).Raw("SELECT coalesce(max(id), 0) FROM journal_entries WHERE reverses = ?", id).Scan(&by).Error
	return by, translate(err)
}

// StandsOn returns what stands on an account.
func (t *tx) StandsOn(ctx context.Context, a billing.Account) (money.Amount, error) {
	return standsOn(t.db.WithContext(ctx), a, "e.id > ?", 0)
}

// StandsOnJob returns what stands on an account by the entries of a job.
func (t *tx) StandsOnJob(ctx context.Context, a billing.Account, id domain.JobID) (money.Amount, error) {
	return standsOn(t.db.WithContext(ctx), a, "e.job_id = ?", int64(id))
}

// StandsOnCustomer returns what stands on an account by the entries of a customer.
func (t *tx) StandsOnCustomer(ctx context.Context, a billing.Account, id domain.CustomerID) (money.Amount, error) {
	return standsOn(t.db.WithContext(ctx), a, "e.customer_id = ?", int64(id))
}

func standsOn(db *gorm.DB, a billing.Account, where string, id int64) (money.Amount, error) {
	var debits int64
	err := db.Raw(`SELECT CAST(coalesce(sum(p.debit - p.credit), 0) AS BIGINT)
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE `+where+` AND p.account = ?`, id, string(a)).Scan(&debits).Error
	if err != nil {
		return 0, fmt.Errorf("add up %s: %w", a, translate(err))
	}
	if a.Class() == billing.Liability || a.Class() == billing.Income {
		debits = -debits
	}
	return money.Amount(debits), nil
}

// TaxOnDeposits adds up the output tax that entries of a job posted with its deposits,
// by name.
func (t *tx) TaxOnDeposits(ctx context.Context, id domain.JobID) ([]billing.TaxPart, error) {
	var taxes []billing.TaxPart
	err := t.db.WithContext(ctx).Raw(`SELECT p.detail AS name, CAST(sum(p.credit - p.debit) AS BIGINT) AS amount
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE e.job_id = ? AND p.account = ? AND e.event IN ?
		GROUP BY p.detail HAVING sum(p.credit - p.debit) <> 0`, int64(id), string(billing.OutputTax), billing.DepositEvents()).Scan(&taxes).Error
	if err != nil {
		return nil, fmt.Errorf("add up the tax on deposits of job %d: %w", id, translate(err))
	}
	slices.SortFunc(taxes, func(a, b billing.TaxPart) int { return cmp.Compare(a.Name, b.Name) })
	return taxes, nil
}

// periodRow is a row of periods.
type periodRow struct {
	Month    string
	ClosedAt *moment
	ClosedBy string
	Version  int
}

func (periodRow) TableName() string { return "periods" }

func (r *periodRow) period() workshop.Period {
	return workshop.Period{Month: r.Month, Closed: r.ClosedAt.orZero(), By: r.ClosedBy, Version: r.Version}
}

// PeriodFor reads a month for whoever posts into it.
func (t *tx) PeriodFor(ctx context.Context, month string) (*workshop.Period, error) {
	return period(t.db.WithContext(ctx), month, "SHARE")
}

// Period reads a month to close it or open it again.
func (t *tx) Period(ctx context.Context, month string) (*workshop.Period, error) {
	return period(t.db.WithContext(ctx), month, "UPDATE")
}

// period reads a month with a lock on its row, which is made when it is missing: a
// row that is not there cannot be locked.
func period(db *gorm.DB, month, lock string) (*workshop.Period, error) {
	for range 2 {
		var rows []periodRow
		err := db.Clauses(clause.Locking{Strength: lock}).Where("month = ?", month).Find(&rows).Error
		if err != nil {
			return nil, fmt.Errorf("read period %s: %w", month, translate(err))
		}
		if len(rows) == 1 {
			p := rows[0].period()
			return &p, nil
		}
		err = db.Exec("INSERT INTO periods (month, closed_by, version) VALUES (?, '', 1) ON CONFLICT DO NOTHING", month).Error
		if err != nil {
			return nil, fmt.Errorf("begin period %s: %w", month, translate(err))
		}
	}
	return nil, fmt.Errorf("begin period %s: it cannot be read", month)
}

// periodChangeRow is a row of period_changes.
type periodChangeRow struct {
	ID        int64
	Month     string
	Change    string
	Reason    string
	Entries   int
	Debits    int64
	ChangedAt moment
	ChangedBy string
}

func (periodChangeRow) TableName() string { return "period_changes" }
func (r *periodChangeRow) key() *int64    { return &r.ID }

func (r *periodChangeRow) change() workshop.PeriodChange {
	return workshop.PeriodChange{
		ID: r.ID, Month: r.Month, Change: r.Change, Reason: r.Reason, Entries: r.Entries, Debits: money.Amount(r.Debits), At: r.ChangedAt.Time, By: r.ChangedBy,
	}
}

// SavePeriod writes a month over the version that was read, raises it, and logs the
// change.
func (t *tx) SavePeriod(ctx context.Context, p *workshop.Period, c *workshop.PeriodChange) error {
	db := t.db.WithContext(ctx)
	row := periodRow{Month: p.Month, ClosedAt: atOrNull(p.Closed), ClosedBy: p.By, Version: p.Version + 1}
	res := db.Model(&periodRow{}).Where("month = ? AND version = ?", p.Month, p.Version).Select("closed_at", "closed_by", "version").Updates(&row)
	if res.Error != nil {
		return fmt.Errorf("save period %s: %w", p.Month, translate(res.Error))
	}
	if res.RowsAffected == 0 {
		return domain.Conflictf("somebody else closed %s or opened it meanwhile; look at it again", workshop.MonthWords(p.Month))
	}
	change := periodChangeRow{
		Month: p.Month, Change: c.Change, Reason: c.Reason, Entries: c.Entries, Debits: int64(c.Debits), ChangedAt: at(c.At), ChangedBy: c.By,
	}
	if err := addRow(db, &change); err != nil {
		return err
	}
	p.Version, c.ID = row.Version, change.ID
	return nil
}

// MonthTotals counts the entries of a month and adds up their debits.
func (t *tx) MonthTotals(ctx context.Context, month string) (int, money.Amount, error) {
	var row struct {
		Entries int
		Debits  int64
	}
	err := t.db.WithContext(ctx).Raw(`SELECT count(DISTINCT e.id) AS entries, CAST(coalesce(sum(p.debit), 0) AS BIGINT) AS debits
		FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE e.dated BETWEEN ? AND ?`, month+"-01", month+"-31").Scan(&row).Error
	if err != nil {
		return 0, 0, fmt.Errorf("add up %s: %w", month, translate(err))
	}
	return row.Entries, money.Amount(row.Debits), nil
}
