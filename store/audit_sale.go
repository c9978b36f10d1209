package store

import (
	"database/sql"

	"winterbench/domain/audit"
	"winterbench/domain/job"
)

// The statements of a lot of sales over the counter. They are those of a lot of jobs
// with the identity of the invoice where that of the job stands.
const (
	saleInvoices = "SELECT id, id, number, coalesce(customer_id, 0), quote_id, agreed, agreed_limit, payer_id, own_part, issued_at, " + lotPaper +
		" FROM invoices WHERE job_id IS NULL AND id > ? ORDER BY id LIMIT ?"
	saleLines = `SELECT l.invoice_id, l.id, l.task_id, l.kind, l.count, l.price, l.off, l.net FROM invoice_lines l
		WHERE l.invoice_id IN (SELECT id FROM invoices WHERE job_id IS NULL AND id BETWEEN ? AND ?) ORDER BY l.invoice_id, l.place`
	salePayments = "SELECT invoice_id, id, invoice_id, kind, tender, amount, rounding, given, change_given, receipt, paid_at, tip, kept_as_credit, by_payer, coin_step FROM payments WHERE job_id IS NULL AND invoice_id BETWEEN ? AND ? ORDER BY id"
	saleCredits  = "SELECT invoice_id, id, coalesce(job_id, 0), number, reason, totals, total, issued_at FROM credit_notes WHERE job_id IS NULL AND invoice_id BETWEEN ? AND ? ORDER BY id"
	saleBack     = `SELECT l.credit_note_id, l.place, l.count, l.net FROM credit_note_lines l
		WHERE l.credit_note_id IN (SELECT id FROM credit_notes WHERE job_id IS NULL AND invoice_id BETWEEN ? AND ?) ORDER BY l.credit_note_id, l.place`
	saleWriteOffs = "SELECT invoice_id, id, amount, tax, written_at FROM write_offs WHERE job_id IS NULL AND invoice_id BETWEEN ? AND ? ORDER BY id"
	saleEntries   = "SELECT invoice_id, " + entryColumns + " FROM journal_entries e WHERE e.job_id IS NULL AND e.invoice_id BETWEEN ? AND ? ORDER BY e.id"
	salePostings  = `SELECT p.entry_id, p.account, p.detail, p.debit, p.credit FROM journal_postings p
		WHERE p.entry_id IN (SELECT id FROM journal_entries WHERE job_id IS NULL AND invoice_id BETWEEN ? AND ?) ORDER BY p.entry_id, p.place`
)

// sales gives the audit every sale over the counter, some hundred at a time, and what
// they took off the shelf.
func (r *auditReader) sales() error {
	if err := r.byIndex(r.saleLots); err != nil {
		return err
	}
	if err := r.misplaced(); err != nil {
		return err
	}
	return r.sold()
}

func (r *auditReader) saleLots() error {
	for last := int64(0); ; {
		l, err := r.saleLot(last)
		if err != nil || len(l.order) == 0 {
			return err
		}
		last = l.order[len(l.order)-1]
		if err := l.hold(r.audit.Sale); err != nil {
			return err
		}
	}
}

func (r *auditReader) saleLot(after int64) (*auditLot, error) {
	l := newLot()
	if err := r.rows(saleInvoices, []any{after, jobsAtOnce}, l.sale); err != nil || len(l.order) == 0 {
		return l, err
	}
	span := []any{l.order[0], l.order[len(l.order)-1]}
	return l, r.parts(span, []lotPart{
		{"lines", saleLines, l.invoiceLine}, {"payments", salePayments, l.payment}, {"credit notes", saleCredits, l.credit}, {"lines", saleBack, l.creditLine},
		{"debts", saleWriteOffs, l.writeOff}, {"journal", saleEntries, l.entry}, {"postings", salePostings, l.posting},
	})
}

// sale makes the facts of a sale out of the row of its invoice.
func (l *auditLot) sale(rows *sql.Rows) error {
	id, v, err := scanInvoice(rows)
	if err != nil {
		return err
	}
	v.invoice.Job = 0
	l.order = append(l.order, id)
	l.facts[id] = &audit.Facts{Job: &job.Job{}}
	l.addInvoice(l.facts[id], v)
	return nil
}

// misplaced gives the audit payments without a job on the invoice of one.
func (r *auditReader) misplaced() error {
	return r.rows(`SELECT p.id, p.receipt, v.number FROM payments p JOIN invoices v ON v.id = p.invoice_id
		WHERE p.job_id IS NULL AND v.job_id IS NOT NULL ORDER BY p.id`, nil,
		func(rows *sql.Rows) error {
			var m audit.Misplaced
			if err := rows.Scan(&m.Payment, &m.Receipt, &m.Number); err != nil {
				return err
			}
			r.audit.Misplaced(m)
			return nil
		})
}

// sold gives the audit what was sold off the shelf with the lines that say so.
func (r *auditReader) sold() error {
	return r.rows(`SELECT m.id, m.part_id, m.kind, m.quantity, (SELECT CAST(coalesce(sum(b.quantity), 0) AS BIGINT) FROM stock_moves b WHERE b.undoes = m.id),
			coalesce(l.id, 0), coalesce(l.part_id, 0), coalesce(l.count, ''), coalesce(v.number, 0)
		FROM stock_moves m LEFT JOIN invoice_lines l ON l.move_id = m.id LEFT JOIN invoices v ON v.id = l.invoice_id
		WHERE m.kind = 'sold' OR l.id IS NOT NULL ORDER BY m.id`, nil,
		func(rows *sql.Rows) error {
			var s audit.Sold
			if err := rows.Scan(&s.Move, &s.Part, &s.Kind, &s.Quantity, &s.Back, &s.Line, &s.LinePart, &s.Count, &s.Invoice); err != nil {
				return err
			}
			r.audit.Sold(s)
			return nil
		})
}
