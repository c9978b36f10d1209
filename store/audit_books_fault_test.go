package store_test

import (
	"fmt"
	"time"
)

// post writes an entry of two postings into the journal of a job, round the program.
func (p planter) post(job int64, debit, credit string, amount int64) int64 {
	p.t.Helper()
	id := p.row("SELECT max(id) + 1 FROM journal_entries")[0]
	p.do(2, "INSERT INTO journal_postings (entry_id, place, account, detail, debit, credit) VALUES (?, 1, ?, '', ?, 0), (?, 2, ?, '', 0, ?)",
		id, debit, amount, id, credit, amount)
	p.do(1, "INSERT INTO journal_entries (id, dated, event, text, job_id, made_at, made_by) SELECT ?, dated, 'parts used', '', ?, made_at, '' FROM journal_entries WHERE id = ?", id, job, id-1)
	return id
}

// closeMonth closes a month as the program does, off entries short of what it has.
func (p planter) closeMonth(month string, at time.Time, off int64) {
	p.t.Helper()
	p.do(1, "INSERT INTO periods (month, closed_at, closed_by, version) VALUES (?, ?, 'Runa', 1)", month, at)
	p.do(1, `INSERT INTO period_changes (month, change, reason, entries, debits, changed_at, changed_by)
		SELECT CAST(? AS VARCHAR(7)), 'closed', '', count(DISTINCT e.id) - ?, sum(x.debit), CAST(? AS `+map[bool]string{true: "TEXT", false: "TIMESTAMPTZ"}[p.s.Dialect() == "sqlite"]+`), 'Runa'
		FROM journal_entries e JOIN journal_postings x ON x.entry_id = e.id WHERE e.dated LIKE ?`, month, off, at, month+"-%")
}

var bookFaults = []fault{
	{"an entry that does not balance", "journal", func(p planter) []string {
		id := p.row("SELECT entry_id, place FROM journal_postings WHERE account = 'labour revenue' ORDER BY entry_id, place LIMIT 1")
		p.do(1, "UPDATE journal_postings SET credit = credit + 1 WHERE entry_id = ? AND place = ?", id[0], id[1])
		return []string{fmt.Sprintf("entry %d", id[0]), "balance"}
	}, nil},
	{"an invoice posted twice", "posted", func(p planter) []string {
		id := p.row("SELECT e.id, e.invoice_id, e.job_id, v.number, (SELECT max(id) + 1 FROM journal_entries) FROM journal_entries e JOIN invoices v ON v.id = e.invoice_id WHERE e.event = 'invoice issued' ORDER BY e.id LIMIT 1")
		p.do(p.row("SELECT count(*) FROM journal_postings WHERE entry_id = ?", id[0])[0],
			"INSERT INTO journal_postings (entry_id, place, account, detail, debit, credit) SELECT ?, place, account, detail, debit, credit FROM journal_postings WHERE entry_id = ?", id[4], id[0])
		p.do(1, `INSERT INTO journal_entries (id, dated, event, text, customer_id, job_id, invoice_id, made_at, made_by)
			SELECT ?, dated, event, text, customer_id, job_id, invoice_id, made_at, made_by FROM journal_entries WHERE id = ?`, id[4], id[0])
		return []string{fmt.Sprintf("(job %d), invoice %d: it has 2 entries, %d, %d, want 1", id[2], id[3], id[0], id[4])}
	}, []string{"receivables"}},
	{"a payment that was never posted", "posted", func(p planter) []string {
		id := p.row("SELECT e.id, e.payment_id, e.job_id FROM journal_entries e WHERE e.event = 'payment taken' ORDER BY e.id LIMIT 1")
		p.do(1, "DELETE FROM journal_entries WHERE id = ?", id[0])
		p.do(p.row("SELECT count(*) FROM journal_postings WHERE entry_id = ?", id[0])[0], "DELETE FROM journal_postings WHERE entry_id = ?", id[0])
		return []string{fmt.Sprintf("(job %d)", id[2]), fmt.Sprintf("(payment %d): it has no entry, want 1", id[1])}
	}, []string{"receivables"}},
	{"money on a debt given up that was not put back", "posted", func(p planter) []string {
		id := p.row(`SELECT p.job_id, p.invoice_id, v.number, p.amount FROM payments p JOIN invoices v ON v.id = p.invoice_id WHERE p.kind = 'payment' AND p.rounding = 0 AND p.job_id IS NOT NULL
			AND NOT EXISTS (SELECT 1 FROM payments o WHERE o.job_id = p.job_id AND o.id > p.id) ORDER BY p.id LIMIT 1`)
		p.do(1, `INSERT INTO write_offs (invoice_id, job_id, amount, tax, reason, written_on, written_at, written_by)
			SELECT id, job_id, ?, 0, 'gone', issued_on, issued_at, '' FROM invoices WHERE id = ?`, id[3], id[1])
		e := p.post(id[0], "impairment loss on trade receivables", "trade receivables", id[3])
		p.do(1, "UPDATE journal_entries SET event = 'debt written off', invoice_id = ? WHERE id = ?", id[1], e)
		return []string{fmt.Sprintf("(job %d), what came in after invoice %d was given up: it has no entry, want 1", id[0], id[2])}
	}, []string{"receivables"}},
	{"a deposit that was posted as owed", "receivables", func(p planter) []string {
		id := p.row("SELECT id, tag FROM jobs WHERE stage = 'collected' ORDER BY id LIMIT 1")
		p.post(id[0], "trade receivables", "contract liability: customer deposits", 700)
		return []string{fmt.Sprintf("tag %d (job %d)", id[1], id[0]), "7.00", "must be used first"}
	}, nil},
	{"tax that went without its deposit", "receivables", func(p planter) []string {
		id := p.row("SELECT id, tag FROM jobs WHERE stage = 'collected' ORDER BY id LIMIT 1")
		e := p.post(id[0], "output tax payable", "contract liability: customer deposits", 700)
		p.do(1, "UPDATE journal_entries SET event = 'deposit applied' WHERE id = ?", e)
		return []string{fmt.Sprintf("tag %d (job %d)", id[1], id[0]), "as output tax -7.00", "tax goes with the deposits"}
	}, nil},
	{"parts left in a job that is gone", "work in progress", func(p planter) []string {
		id := p.row("SELECT id, tag FROM jobs WHERE stage = 'collected' ORDER BY id LIMIT 1")
		p.post(id[0], "contract fulfilment costs", "cost of sales: parts", 300)
		return []string{fmt.Sprintf("tag %d (job %d) has left, but 3.00", id[1], id[0])}
	}, nil},
	{"more on the shelf than came", "shelf", func(p planter) []string {
		id := p.row("SELECT part_id FROM stock_levels WHERE quantity > 0 ORDER BY part_id LIMIT 1")
		p.do(1, "UPDATE stock_levels SET quantity = quantity + 1000 WHERE part_id = ?", id[0])
		return []string{fmt.Sprintf("part %d stands at", id[0])}
	}, nil},
	{"a shelf that is worth more", "shelf", func(p planter) []string {
		id := p.row("SELECT part_id FROM stock_levels WHERE quantity > 0 ORDER BY part_id LIMIT 1")
		p.do(1, "UPDATE stock_levels SET value = value + 7 WHERE part_id = ?", id[0])
		return []string{fmt.Sprintf("part %d stands at", id[0])}
	}, []string{"shelf in the books"}},
	{"a move that leaves another value", "shelf", func(p planter) []string {
		id := p.row("SELECT m.id, m.part_id FROM stock_moves m WHERE m.left_quantity > 0 AND EXISTS (SELECT 1 FROM stock_moves n WHERE n.part_id = m.part_id AND n.id > m.id) ORDER BY m.id LIMIT 1")
		p.do(1, "UPDATE stock_moves SET left_value = left_value + 5 WHERE id = ?", id[0])
		return []string{fmt.Sprintf("part %d, move %d", id[1], id[0])}
	}, []string{"shelf"}}, // and the move after it
	{"a move without an entry", "shelf in the books", func(p planter) []string {
		id := p.row("SELECT m.id, m.part_id, e.id FROM stock_moves m JOIN journal_entries e ON e.move_id = m.id WHERE m.kind = 'received' AND m.value > 0 ORDER BY m.id LIMIT 1")
		p.do(1, "UPDATE journal_entries SET move_id = NULL WHERE id = ?", id[2])
		return []string{fmt.Sprintf("part %d, move %d (received)", id[1], id[0]), "has 0 entries"}
	}, nil},
	{"more reserved than anybody asked for", "reservations", func(p planter) []string {
		id := p.row("SELECT part_id FROM stock_levels ORDER BY part_id LIMIT 1")
		p.do(1, "UPDATE stock_levels SET reserved = reserved + 1000 WHERE part_id = ?", id[0])
		return []string{fmt.Sprintf("part %d has", id[0])}
	}, nil},
	{"parts reserved for a job that is gone", "reservations", func(p planter) []string {
		id := p.row("SELECT l.part_id, j.id, j.tag, q.id FROM stock_levels l, jobs j, quote_lines q WHERE j.stage = 'collected' ORDER BY l.part_id, j.id, q.id LIMIT 1")
		p.do(1, "INSERT INTO reservations (part_id, job_id, line_id, asked, open, made_at, made_by, ended) SELECT ?, id, ?, 2000, 2000, arrived_at, '', '' FROM jobs WHERE id = ?", id[0], id[3], id[1])
		p.do(1, "UPDATE stock_levels SET reserved = reserved + 2000 WHERE part_id = ?", id[0])
		return []string{fmt.Sprintf("of part %d is open for tag %d (job %d), which is collected", id[0], id[2], id[1])}
	}, nil},
	{"a tip that is in no journal", "kept money", func(p planter) []string {
		p.do(1, "INSERT INTO tip_moves (place, amount, balance, payment_id, tender, paid_to, moved_at, moved_by) SELECT 1, 500, 500, id, tender, '', paid_at, '' FROM payments ORDER BY id LIMIT 1")
		return []string{"tips held for staff stands at 0.00", "5.00"}
	}, nil},
	{"store credit out of nothing", "kept money", func(p planter) []string {
		p.do(1, "INSERT INTO store_credit_moves (customer_id, place, amount, balance, payment_id, moved_at, moved_by) SELECT j.customer_id, 1, 500, 900, p.id, p.paid_at, '' FROM payments p JOIN jobs j ON j.id = p.job_id ORDER BY p.id LIMIT 1")
		return []string{"move 1 of 5.00", "leaves 9.00"}
	}, []string{"kept money"}},
	{"store credit paid out that is in no journal", "kept money", func(p planter) []string {
		who := p.row("SELECT j.customer_id FROM payments p JOIN jobs j ON j.id = p.job_id ORDER BY p.id LIMIT 1")[0]
		p.do(1, "INSERT INTO store_credit_moves (customer_id, place, amount, balance, payment_id, moved_at, moved_by) SELECT ?, 1, 500, 500, p.id, p.paid_at, '' FROM payments p ORDER BY p.id LIMIT 1", who)
		p.do(1, "INSERT INTO store_credit_moves (customer_id, place, amount, balance, payment_id, tender, paid_to, moved_at, moved_by) SELECT ?, 2, -500, 0, NULL, 'cash', 'Mara', p.paid_at, '' FROM payments p ORDER BY p.id LIMIT 1", who)
		id := p.row("SELECT id, job_id FROM journal_entries WHERE job_id IS NOT NULL ORDER BY id LIMIT 1")
		p.post(id[1], "card clearing", "contract liability: store credit", 500)
		return []string{"contract liability: store credit stands at 5.00", "comes to 0.00"}
	}, nil},
	{"more store credit paid out than there was", "kept money", func(p planter) []string {
		id := p.row("SELECT j.customer_id FROM payments p JOIN jobs j ON j.id = p.job_id ORDER BY p.id LIMIT 1")
		p.dropCheck("store_credit_moves", "store_credit_moves_balance_not_negative")
		p.do(1, "INSERT INTO store_credit_moves (customer_id, place, amount, balance, payment_id, tender, paid_to, moved_at, moved_by) SELECT ?, 1, -500, -500, NULL, 'cash', 'Mara', p.paid_at, '' FROM payments p ORDER BY p.id LIMIT 1", id[0])
		return []string{fmt.Sprintf("store credit of customer %d: move 1 of -5.00", id[0]), "leaves -5.00"}
	}, []string{"kept money"}}, // and the account
	{"a closed month that lacks an entry", "months", func(p planter) []string {
		p.closeMonth("2024-01", time.Date(2026, 2, 1, 9, 0, 0, 0, time.UTC), -1)
		return []string{"2024-01 was closed on 2026-02-01 by Runa"}
	}, nil},
	{"an entry into a closed month", "months", func(p planter) []string {
		id := p.row("SELECT id FROM journal_entries WHERE dated LIKE '2024-01-%' ORDER BY id LIMIT 1")[0]
		p.closeMonth("2024-01", time.Date(2026, 2, 1, 9, 0, 0, 0, time.UTC), 0)
		p.do(1, "UPDATE journal_entries SET made_at = ? WHERE id = ?", time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC), id)
		return []string{fmt.Sprintf("entry %d is dated 2024-01-", id), "made on 2026-03-01"}
	}, nil},
}
