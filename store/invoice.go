package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// invoiceRow is a row of invoices.
type invoiceRow struct {
	ID          int64
	Number      int
	JobID       *int64
	CustomerID  *int64
	QuoteID     *int64
	IssuedOn    string
	BilledTo    string
	Paper       paperRow `gorm:"embedded"`
	Agreed      int64
	AgreedLimit int64
	Note        string
	IssuedBy    string
	IssuedAt    moment
	DueOn       *string
	PayerID     *int64
	OwnPart     int64
	PayerRef    string `gorm:"column:payer_reference"`
}

func (invoiceRow) TableName() string { return "invoices" }
func (r *invoiceRow) key() *int64    { return &r.ID }

func rowOfInvoice(v *billing.Invoice) (invoiceRow, error) {
	paper, err := rowOfPaper(paper{
		discount: v.Discount, reason: v.Reason, currency: v.Currency, rounding: v.Rounding, taxInside: v.TaxInside, taxes: v.Taxes, totals: v.Totals,
	})
	return invoiceRow{
		ID: int64(v.ID), Number: v.Number, JobID: idOrNull(v.Job), CustomerID: idOrNull(v.Customer), QuoteID: idOrNull(v.Quote),
		IssuedOn: string(v.Date), BilledTo: v.BilledTo, Paper: paper, Agreed: int64(v.Agreed), AgreedLimit: int64(v.Limit),
		Note: v.Note, IssuedBy: v.IssuedBy, IssuedAt: at(v.IssuedAt),
		DueOn: textOrNull(v.DueOn), PayerID: idOrNull(v.Payer), OwnPart: int64(v.OwnPart), PayerRef: v.PayerRef,
	}, err
}

// invoice makes the invoice of a row, without its lines.
func (r *invoiceRow) invoice() (*billing.Invoice, error) {
	p, err := r.Paper.paper()
	return &billing.Invoice{
		ID: domain.InvoiceID(r.ID), Number: r.Number, Job: orZero[domain.JobID](r.JobID), Customer: orZero[domain.CustomerID](r.CustomerID),
		Quote: orZero[domain.QuoteID](r.QuoteID), Date: domain.Date(r.IssuedOn), BilledTo: r.BilledTo,
		Discount: p.discount, Reason: p.reason, Currency: p.currency, Rounding: p.rounding, TaxInside: p.taxInside, Taxes: p.taxes,
		Totals: p.totals, Agreed: money.Amount(r.Agreed), Limit: money.Amount(r.AgreedLimit),
		Note: r.Note, IssuedBy: r.IssuedBy, IssuedAt: r.IssuedAt.Time,
		DueOn: dateOrNone(r.DueOn), Payer: orZero[domain.CustomerID](r.PayerID), OwnPart: money.Amount(r.OwnPart), PayerRef: r.PayerRef,
	}, err
}

// invoiceLineRow is a row of invoice_lines.
type invoiceLineRow struct {
	ID        int64
	InvoiceID int64
	Place     int
	Kind      string
	Name      string
	Detail    string
	TaskID    *int64
	PartID    *int64
	MoveID    *int64
	Count     string
	Unit      string
	Price     string
	Off       string
	Minutes   int
	Net       int64
}

func (invoiceLineRow) TableName() string { return "invoice_lines" }

// rowsOfInvoiceLines makes the rows of an invoice's lines, in places from 1.
func rowsOfInvoiceLines(id int64, v *billing.Invoice) []invoiceLineRow {
	rows := make([]invoiceLineRow, len(v.Lines))
	for i, l := range v.Lines {
		rows[i] = invoiceLineRow{
			InvoiceID: id, Place: i + 1, Kind: string(l.Kind), Name: l.Name, Detail: l.Detail, TaskID: idOrNull(l.Task), PartID: idOrNull(l.Part), MoveID: idOrNull(l.Move),
			Count: l.Count.String(), Unit: l.Unit, Price: l.Price.String(), Off: l.Off.String(), Minutes: l.Minutes, Net: int64(l.Net),
		}
	}
	return rows
}

func (r *invoiceLineRow) line() (billing.Line, error) {
	l := billing.Line{
		Kind: money.LineKind(r.Kind), Name: r.Name, Detail: r.Detail, Task: orZero[domain.TaskID](r.TaskID), Part: orZero[domain.PartID](r.PartID), Move: orZero[int64](r.MoveID),
		Unit: r.Unit, Minutes: r.Minutes, Net: money.Amount(r.Net),
	}
	return l, readDigits(digits{&l.Count, r.Count}, digits{&l.Price, r.Price}, digits{&l.Off, r.Off})
}

// InvoiceByID reads one invoice with its lines.
func (s *Store) InvoiceByID(ctx context.Context, id domain.InvoiceID) (*billing.Invoice, error) {
	db := s.db.WithContext(ctx)
	var row invoiceRow
	if err := takeRow(db, &row, id, "invoice"); err != nil {
		return nil, err
	}
	return withInvoiceLines(db, &row)
}

// InvoiceOfJob reads the invoice of a job.
func (s *Store) InvoiceOfJob(ctx context.Context, id domain.JobID) (*billing.Invoice, error) {
	return invoiceOf(s.db.WithContext(ctx), id)
}

// InvoiceOf reads the invoice of a job.
func (t *tx) InvoiceOf(ctx context.Context, id domain.JobID) (*billing.Invoice, error) {
	return invoiceOf(t.db.WithContext(ctx), id)
}

func invoiceOf(db *gorm.DB, id domain.JobID) (*billing.Invoice, error) {
	var row invoiceRow
	err := db.Take(&row, "job_id = ?", id).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("job %d has no invoice yet", id)
	}
	if err != nil {
		return nil, fmt.Errorf("read the invoice of job %d: %w", id, translate(err))
	}
	return withInvoiceLines(db, &row)
}

// withInvoiceLines makes the invoice of a row. Lines never change, so they need
// not be read at the same moment as the row.
func withInvoiceLines(db *gorm.DB, row *invoiceRow) (*billing.Invoice, error) {
	v, err := row.invoice()
	if err != nil {
		return nil, fmt.Errorf("read invoice %d: %w", row.Number, err)
	}
	var lines []invoiceLineRow
	if err := db.Where("invoice_id = ?", row.ID).Order("place").Find(&lines).Error; err != nil {
		return nil, fmt.Errorf("read the lines of invoice %d: %w", row.Number, translate(err))
	}
	for i := range lines {
		l, err := lines[i].line()
		if err != nil {
			return nil, fmt.Errorf("read the lines of invoice %d: %w", row.Number, err)
		}
		v.Lines = append(v.Lines, l)
	}
	return v, withCredits(db, v)
}

// AddInvoice inserts an invoice with its lines and sets its identity. A second
// invoice for a job, and a number given before, are conflicts.
func (t *tx) AddInvoice(ctx context.Context, v *billing.Invoice) error {
	row, err := rowOfInvoice(v)
	if err != nil {
		return err
	}
	db := t.db.WithContext(ctx)
	if err := addRow(db, &row); err != nil {
		return fmt.Errorf("invoice %d: %w", v.Number, err)
	}
	if lines := rowsOfInvoiceLines(row.ID, v); len(lines) > 0 {
		if err := db.CreateInBatches(&lines, rowsAtOnce).Error; err != nil {
			return fmt.Errorf("add the lines of invoice %d: %w", v.Number, translate(err))
		}
	}
	v.ID = domain.InvoiceID(row.ID)
	return nil
}

// invoiceListRow is an invoice in a list.
type invoiceListRow struct {
	ID       int64
	Number   int
	IssuedOn string
	JobID    *int64
	Tag      int
	Name     string
	Total    int64
	Paid     int64
	Credited int64

	WrittenOff int64
}

func (r *invoiceListRow) row() workshop.InvoiceRow {
	return workshop.InvoiceRow{
		ID: domain.InvoiceID(r.ID), Number: r.Number, Date: domain.Date(r.IssuedOn), Job: orZero[domain.JobID](r.JobID), Tag: r.Tag, Name: r.Name,
		Total: money.Amount(r.Total), Paid: money.Amount(r.Paid), Credited: noLongerOwed(r.Total, r.Paid, r.Credited, r.WrittenOff),
	}
}

// noLongerOwed is what of a total was credited or given up, less what came in of the
// latter after all.
func noLongerOwed(total, paid, credited, writtenOff int64) money.Amount {
	if writtenOff == 0 {
		return money.Amount(credited)
	}
	return money.Amount(min(credited+writtenOff, max(total-paid, credited)))
}

// paidOnInvoice is what was paid on invoice v: on its job, deposits too, or on the sale.
const paidOnInvoice = `CASE WHEN v.job_id IS NULL
	THEN (SELECT CAST(coalesce(sum(p.amount + p.rounding), 0) AS BIGINT) FROM payments p WHERE p.invoice_id = v.id)
	ELSE (SELECT CAST(coalesce(sum(p.amount + p.rounding), 0) AS BIGINT) FROM payments p WHERE p.job_id = v.job_id) END`

// Invoices reads one page of the invoices, newest first, and how many there are
// in all. What was paid counts deposits and cash rounding.
func (s *Store) Invoices(ctx context.Context, p workshop.Page) ([]workshop.InvoiceRow, int, error) {
	return s.listInvoices(ctx, "", nil, p)
}

func (s *Store) listInvoices(ctx context.Context, which string, args []any, p workshop.Page) ([]workshop.InvoiceRow, int, error) {
	var rows []invoiceListRow
	var total int
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		if err := db.Raw("SELECT count(*) FROM invoices "+which, args...).Scan(&total).Error; err != nil {
			return err
		}
		return db.Raw(`SELECT v.id, v.number, v.issued_on, v.job_id, coalesce(j.tag, 0) AS tag, coalesce(c.name, '') AS name, v.total,
			(SELECT CAST(coalesce(sum(n.total), 0) AS BIGINT) FROM credit_notes n WHERE n.invoice_id = v.id) AS credited,
			coalesce((SELECT o.amount FROM write_offs o WHERE o.invoice_id = v.id), 0) AS written_off,
			`+paidOnInvoice+` AS paid
			FROM (SELECT * FROM invoices `+which+` ORDER BY number DESC LIMIT ? OFFSET ?) v
			LEFT JOIN jobs j ON j.id = v.job_id
			LEFT JOIN customers c ON c.id = v.customer_id
			ORDER BY v.number DESC`, withPage(args, p)...).Scan(&rows).Error
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list invoices: %w", err)
	}
	return each(rows, (*invoiceListRow).row), total, nil
}
