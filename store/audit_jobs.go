package store

import (
	"database/sql"
	"fmt"

	"winterbench/domain"
	"winterbench/domain/audit"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/migrations"
	"winterbench/templates"
)

// jobs gives the audit every job, some hundred at a time: while one lot is read,
// the one before is looked at.
func (r *auditReader) jobs() error {
	lots, failed := make(chan *auditLot, 1), make(chan error, 1)
	go func() {
		var err error
		for lot := range lots {
			if err == nil {
				err = lot.hold(r.audit.Job)
			}
		}
		failed <- err
	}()
	err := r.byIndex(func() error { return r.readLots(lots) })
	close(lots)
	if looked := <-failed; err == nil {
		err = looked
	}
	return err
}

func (r *auditReader) readLots(lots chan<- *auditLot) error {
	for last := int64(0); ; {
		lot, err := r.lot(last)
		if err != nil || len(lot.order) == 0 {
			return err
		}
		last = lot.order[len(lot.order)-1]
		select {
		case lots <- lot:
		case <-r.ctx.Done():
			return r.ctx.Err()
		}
		r.done += len(lot.order)
		r.tell(r.done, r.total, "jobs")
	}
}

// auditLot are some jobs with what hangs on them, as rows.
type auditLot struct {
	order    []int64
	facts    map[int64]*audit.Facts
	holds    map[int64]holdPlace
	quotes   map[int64]*lotQuote
	invoices map[int64]*lotInvoice
	credits  map[int64]creditPlace
	entries  map[int64]entryPlace
}

// holdPlace is where a hold stands in its job.
type holdPlace struct {
	job   int64
	place int
}

// creditPlace is where a credit note stands on its invoice.
type creditPlace struct {
	invoice *billing.Invoice
	place   int
}

// entryPlace is where an entry of the journal stands in its job.
type entryPlace struct {
	job   int64
	place int
}

type lotQuote struct {
	quote *quote.Quote
	paper paperRow
}

type lotInvoice struct {
	invoice *billing.Invoice
	paper   paperRow
	facts   *audit.Facts // that it belongs to
}

// hold finishes the facts of a lot and holds them against the rules.
func (l *auditLot) hold(against func(*audit.Facts)) error {
	for _, q := range l.quotes {
		p, err := q.paper.paper()
		if err != nil {
			return fmt.Errorf("quote %d: %w", q.quote.ID, err)
		}
		q.quote.Discount, q.quote.Currency, q.quote.Rounding, q.quote.TaxInside, q.quote.Taxes, q.quote.Totals = p.discount, p.currency, p.rounding, p.taxInside, p.taxes, p.totals
	}
	for _, v := range l.invoices {
		p, err := v.paper.paper()
		if err != nil {
			return fmt.Errorf("invoice %d: %w", v.invoice.Number, err)
		}
		v.invoice.Discount, v.invoice.Currency, v.invoice.Rounding, v.invoice.TaxInside, v.invoice.Taxes, v.invoice.Totals = p.discount, p.currency, p.rounding, p.taxInside, p.taxes, p.totals
	}
	for _, id := range l.order {
		against(l.facts[id])
	}
	return nil
}

// lot reads the jobs after an identity with what hangs on them.
func (r *auditReader) lot(after int64) (*auditLot, error) {
	l := newLot()
	if err := r.rows(lotJobs, []any{after, jobsAtOnce}, l.job); err != nil || len(l.order) == 0 {
		return l, err
	}
	span := []any{l.order[0], l.order[len(l.order)-1]}
	return l, r.parts(span, []lotPart{
		{"tasks", lotTasks, l.task}, {"waits", lotWaits, l.wait}, {"holds", lotHolds, l.held}, {"readings", lotReadings, l.reading},
		{"clockings", lotClockings, l.clocking}, {"promises", lotPromises, l.promise}, {"quotes", lotQuotes, l.quote}, {"lines", lotQuoteLines, l.quoteLine},
		{"invoices", lotInvoices, l.invoice}, {"lines", lotInvoiceLines, l.invoiceLine}, {"payments", lotPayments, l.payment},
		{"credit notes", lotCredits, l.credit}, {"lines", lotCreditLines, l.creditLine}, {"debts", lotWriteOffs, l.writeOff},
		{"journal", lotEntries, l.entry}, {"postings", lotPostings, l.posting}, {"moves", lotMoves, l.move},
	})
}

func newLot() *auditLot {
	return &auditLot{
		facts: map[int64]*audit.Facts{}, holds: map[int64]holdPlace{}, quotes: map[int64]*lotQuote{}, invoices: map[int64]*lotInvoice{}, credits: map[int64]creditPlace{}, entries: map[int64]entryPlace{},
	}
}

// lotPart is one statement of a lot, and what takes its rows.
type lotPart struct {
	name, query string
	take        func(*sql.Rows) error
}

func (r *auditReader) parts(span []any, all []lotPart) error {
	for _, part := range all {
		if err := r.rows(part.query, span, part.take); err != nil {
			return fmt.Errorf("%s: %w", part.name, err)
		}
	}
	return nil
}

// lotPlans are settings of PostgreSQL for the statements of lots. A lot is a small part
// of each table, and there is an index for it. Left to itself, the database read all
// lines or postings anew for each lot, and the time grew with the square of the books.
var lotPlans = []struct{ name, value string }{
	{"enable_seqscan", "off"}, {"enable_hashjoin", "off"}, {"enable_mergejoin", "off"}, {"max_parallel_workers_per_gather", "0"}, {"jit", "off"},
}

// byIndex reads lots with [lotPlans], which hold for nothing else.
func (r *auditReader) byIndex(read func() error) error {
	if r.store.dialect != migrations.Postgres {
		return read()
	}
	for _, p := range lotPlans {
		if err := r.db.Exec("SET LOCAL " + p.name + " = " + p.value).Error; err != nil {
			return err
		}
	}
	if err := read(); err != nil {
		return err
	}
	for _, p := range lotPlans {
		if err := r.db.Exec("SET LOCAL " + p.name + " = DEFAULT").Error; err != nil {
			return err
		}
	}
	return nil
}

// The statements of a lot. Columns are only those that the rules look at. Rows of a
// job, quote or invoice that is not there are passed over: the rule of references
// names them.
const (
	lotJobs = `SELECT id, tag, customer_id, instrument_id, comeback_of, arrived_at, surveyed_at, quoted_at, approved_at, declined_at, promised,
		checked_at, ready_at, collected_at, unclaimed_at, stage, stage_since FROM jobs WHERE id > ? ORDER BY id LIMIT ?`
	lotTasks     = "SELECT job_id, id, name, phase, hold, dry, done_at, dropped_at FROM tasks WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotWaits     = "SELECT job_id, id, task_id, started_at, ended_at FROM waits WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotHolds     = "SELECT job_id, id, task_id, place, started_at, ended_at FROM holds WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotReadings  = "SELECT r.hold_id, r.id, r.noted_at, r.replaces FROM readings r WHERE r.hold_id IN (SELECT id FROM holds WHERE job_id BETWEEN ? AND ?) ORDER BY r.id"
	lotClockings = "SELECT job_id, id, task_id, staff_id, name, started_at, ended_at, replaces FROM clockings WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotPromises  = "SELECT job_id, id, quote_id, said FROM promises WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotPaper     = "discount, currency, currency_digits, rounding, tax_inside, taxes, totals, total"
	lotQuotes    = "SELECT job_id, id, version, basis, ceiling, answer_outcome, yes_total, yes_limit, " + lotPaper +
		" FROM quotes WHERE job_id BETWEEN ? AND ? ORDER BY job_id, version"
	lotQuoteLines = `SELECT l.quote_id, l.id, l.task_id, l.kind, l.count, l.price, l.off, l.net, l.agreed FROM quote_lines l
		WHERE l.quote_id IN (SELECT id FROM quotes WHERE job_id BETWEEN ? AND ?) ORDER BY l.quote_id, l.place`
	lotInvoices     = "SELECT job_id, id, number, customer_id, quote_id, agreed, agreed_limit, payer_id, own_part, issued_at, " + lotPaper + " FROM invoices WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotInvoiceLines = `SELECT l.invoice_id, l.id, l.task_id, l.kind, l.count, l.price, l.off, l.net FROM invoice_lines l
		WHERE l.invoice_id IN (SELECT id FROM invoices WHERE job_id BETWEEN ? AND ?) ORDER BY l.invoice_id, l.place`
	lotPayments    = "SELECT job_id, id, invoice_id, kind, tender, amount, rounding, given, change_given, receipt, paid_at, tip, kept_as_credit, by_payer, coin_step FROM payments WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotCredits     = "SELECT invoice_id, id, job_id, number, reason, totals, total, issued_at FROM credit_notes WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotCreditLines = `SELECT l.credit_note_id, l.place, l.count, l.net FROM credit_note_lines l
		WHERE l.credit_note_id IN (SELECT id FROM credit_notes WHERE job_id BETWEEN ? AND ?) ORDER BY l.credit_note_id, l.place`
	lotWriteOffs = "SELECT invoice_id, id, amount, tax, written_at FROM write_offs WHERE job_id BETWEEN ? AND ? ORDER BY id"
	lotEntries   = "SELECT job_id, " + entryColumns + " FROM journal_entries e WHERE e.job_id BETWEEN ? AND ? ORDER BY e.id"
	lotPostings  = `SELECT p.entry_id, p.account, p.detail, p.debit, p.credit FROM journal_postings p
		WHERE p.entry_id IN (SELECT id FROM journal_entries WHERE job_id BETWEEN ? AND ?) ORDER BY p.entry_id, p.place`
	lotMoves     = "SELECT job_id, id, part_id, kind, value FROM stock_moves WHERE job_id BETWEEN ? AND ? ORDER BY id"
	entryColumns = "e.id, e.dated, e.event, e.invoice_id, e.payment_id, e.move_id, e.reverses"
)

func (l *auditLot) job(rows *sql.Rows) error {
	j := &job.Job{}
	f := &audit.Facts{Job: j, Totals: map[domain.QuoteID]money.Amount{}}
	var comeback *int64
	var arrived, since moment
	var surveyed, quoted, approved, declined, checked, ready, collected, unclaimed *moment
	var promised *string
	err := rows.Scan(&j.ID, &j.Tag, &j.Customer, &j.Instrument, &comeback, &arrived, &surveyed, &quoted, &approved, &declined, &promised,
		&checked, &ready, &collected, &unclaimed, &f.Stage, &since)
	if err != nil {
		return err
	}
	j.ComebackOf, j.Arrival.At, j.Promised = orZero[domain.JobID](comeback), arrived.Time, orEmpty[domain.Date](promised)
	j.Surveyed, j.Quoted, j.Approved, j.Declined = surveyed.orZero(), quoted.orZero(), approved.orZero(), declined.orZero()
	j.Checked, j.Ready, j.Collected, j.Unclaimed = checked.orZero(), ready.orZero(), collected.orZero(), unclaimed.orZero()
	f.Since = since.Time
	l.order = append(l.order, int64(j.ID))
	l.facts[int64(j.ID)] = f
	return nil
}

func (l *auditLot) task(rows *sql.Rows) error {
	var id int64
	var t job.Task
	var phase int
	var done, dropped *moment
	if err := rows.Scan(&id, &t.ID, &t.Name, &phase, &t.Hold, &t.Dry, &done, &dropped); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	t.Phase, t.Done, t.Dropped = templates.Phase(phase), done.orZero(), dropped.orZero()
	f.Job.Tasks = append(f.Job.Tasks, t)
	return nil
}

func (l *auditLot) wait(rows *sql.Rows) error {
	var id int64
	var w job.Wait
	var task *int64
	var start moment
	var end *moment
	if err := rows.Scan(&id, &w.ID, &task, &start, &end); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	w.Task, w.Start, w.End = orZero[domain.TaskID](task), start.Time, end.orZero()
	f.Job.Waits = append(f.Job.Waits, w)
	f.Named = append(f.Named, audit.Named{What: "wait", ID: int64(w.ID), Task: w.Task})
	return nil
}

func (l *auditLot) held(rows *sql.Rows) error {
	var id int64
	var h job.Hold
	var start moment
	var end *moment
	if err := rows.Scan(&id, &h.ID, &h.Task, &h.Place, &start, &end); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	h.Start, h.End = start.Time, end.orZero()
	l.holds[int64(h.ID)] = holdPlace{id, len(f.Job.Holds)}
	f.Job.Holds = append(f.Job.Holds, h)
	f.Named = append(f.Named, audit.Named{What: "hold", ID: int64(h.ID), Task: h.Task})
	return nil
}

func (l *auditLot) reading(rows *sql.Rows) error {
	var id int64
	var r job.Reading
	var noted moment
	var replaces *int64
	if err := rows.Scan(&id, &r.ID, &noted, &replaces); err != nil {
		return err
	}
	r.At, r.Replaces = noted.Time, orZero[domain.ReadingID](replaces)
	at, there := l.holds[id]
	if !there {
		return nil
	}
	h := &l.facts[at.job].Job.Holds[at.place]
	h.Readings = append(h.Readings, r)
	return nil
}

func (l *auditLot) clocking(rows *sql.Rows) error {
	var id int64
	var c job.Clocking
	var start moment
	var end *moment
	var replaces *int64
	if err := rows.Scan(&id, &c.ID, &c.Task, &c.Staff, &c.Name, &start, &end, &replaces); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	c.Start, c.End, c.Replaces = start.Time, end.orZero(), orZero[domain.ClockingID](replaces)
	f.Job.Clockings = append(f.Job.Clockings, c)
	f.Named = append(f.Named, audit.Named{What: "clocking", ID: int64(c.ID), Task: c.Task})
	return nil
}

func (l *auditLot) promise(rows *sql.Rows) error {
	var id int64
	var p audit.Promise
	var quote *int64
	var said *string
	if err := rows.Scan(&id, &p.ID, &quote, &said); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	p.Quote, p.Said = orZero[domain.QuoteID](quote), orEmpty[domain.Date](said)
	f.Promises = append(f.Promises, p)
	return nil
}
