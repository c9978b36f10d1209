package store

import (
	"database/sql"
	"fmt"

	"winterbench/domain"
	"winterbench/domain/audit"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

func (l *auditLot) entry(rows *sql.Rows) error {
	var id int64
	var row journalRow
	if err := rows.Scan(&id, &row.ID, &row.Dated, &row.Event, &row.InvoiceID, &row.PaymentID, &row.MoveID, &row.Reverses); err != nil {
		return err
	}
	f := l.facts[id]
	if f == nil {
		return nil
	}
	row.JobID = &id
	l.entries[row.ID] = entryPlace{id, len(f.Entries)}
	f.Entries = append(f.Entries, row.entry())
	return nil
}

func (l *auditLot) posting(rows *sql.Rows) error {
	var row postingRow
	if err := rows.Scan(&row.EntryID, &row.Account, &row.Detail, &row.Debit, &row.Credit); err != nil {
		return err
	}
	at, there := l.entries[row.EntryID]
	if !there {
		return nil
	}
	e := &l.facts[at.job].Entries[at.place]
	e.Postings = append(e.Postings, row.posting())
	return nil
}

func (l *auditLot) move(rows *sql.Rows) error {
	var m stock.Move
	if err := rows.Scan(&m.Job, &m.ID, &m.Part, &m.Kind, &m.Value); err != nil {
		return err
	}
	if f := l.facts[int64(m.Job)]; f != nil {
		f.Moves = append(f.Moves, m)
	}
	return nil
}

// entries gives the audit the entries of no job, in the order of the identities.
func (r *auditReader) entries() error {
	var e *billing.Entry
	err := r.rows("SELECT "+entryColumns+`, p.account, p.debit, p.credit FROM journal_entries e LEFT JOIN journal_postings p ON p.entry_id = e.id
		WHERE e.job_id IS NULL ORDER BY e.id, p.place`, nil,
		func(rows *sql.Rows) error {
			var row journalRow
			var account *string
			var debit, credit *int64
			if err := rows.Scan(&row.ID, &row.Dated, &row.Event, &row.InvoiceID, &row.PaymentID, &row.MoveID, &row.Reverses, &account, &debit, &credit); err != nil {
				return err
			}
			if e == nil || e.ID != row.ID {
				if e != nil {
					r.audit.Entry(e)
				}
				now := row.entry()
				e = &now
			}
			if account != nil {
				e.Postings = append(e.Postings, billing.Posting{Account: billing.Account(*account), Debit: money.Amount(*debit), Credit: money.Amount(*credit)})
			}
			return nil
		})
	if e != nil && err == nil {
		r.audit.Entry(e)
	}
	return err
}

// months gives the audit the closed months with what they were closed with and what
// they hold, and the entries that came after.
func (r *auditReader) months() error {
	err := r.rows(`SELECT p.month, p.closed_at, p.closed_by,
			coalesce((SELECT c.entries FROM period_changes c WHERE c.month = p.month AND c.change = 'closed' ORDER BY c.id DESC LIMIT 1), 0),
			coalesce((SELECT c.debits FROM period_changes c WHERE c.month = p.month AND c.change = 'closed' ORDER BY c.id DESC LIMIT 1), 0),
			(SELECT count(*) FROM journal_entries e WHERE e.dated BETWEEN p.month || '-01' AND p.month || '-31'),
			(SELECT CAST(coalesce(sum(x.debit), 0) AS BIGINT) FROM journal_entries e JOIN journal_postings x ON x.entry_id = e.id WHERE e.dated BETWEEN p.month || '-01' AND p.month || '-31')
		FROM periods p WHERE p.closed_at IS NOT NULL ORDER BY p.month`, nil,
		func(rows *sql.Rows) error {
			var m audit.Month
			var closed moment
			var by string
			if err := rows.Scan(&m.Month, &closed, &by, &m.Entries, &m.Debits, &m.HasEntries, &m.Sums); err != nil {
				return err
			}
			m.Closed = fmt.Sprintf("on %s by %s", domain.DateOf(closed.Time), by)
			r.audit.Month(m)
			return nil
		})
	if err != nil {
		return err
	}
	return r.rows(`SELECT e.id, coalesce(e.job_id, 0), e.dated, p.month, e.made_at FROM periods p
		JOIN journal_entries e ON e.dated BETWEEN p.month || '-01' AND p.month || '-31'
		WHERE p.closed_at IS NOT NULL AND e.made_at > p.closed_at ORDER BY e.id`, nil,
		func(rows *sql.Rows) error {
			var l audit.Late
			var made moment
			if err := rows.Scan(&l.Entry, &l.Job, &l.Date, &l.Month, &made); err != nil {
				return err
			}
			l.Made = string(domain.DateOf(made.Time))
			r.audit.Late(l)
			return nil
		})
}

// kept gives the audit the moves of store credit and of tips, each beside the one
// before it, and their accounts.
func (r *auditReader) kept() error {
	for _, k := range []struct {
		query, of string
		account   billing.Account
	}{
		{"SELECT customer_id, place, amount, balance FROM store_credit_moves ORDER BY customer_id, place", "store credit of customer %d", billing.StoreCredit},
		{"SELECT 0, place, amount, balance FROM tip_moves ORDER BY place", "tips", billing.TipsHeld},
	} {
		var before audit.Kept
		var sum money.Amount
		err := r.rows(k.query, nil, func(rows *sql.Rows) error {
			m := audit.Kept{What: k.of}
			var of int64
			if err := rows.Scan(&of, &m.Place, &m.Amount, &m.Balance); err != nil {
				return err
			}
			if of != 0 {
				m.What = fmt.Sprintf(k.of, of)
			}
			r.audit.Kept(before, m)
			before, sum = m, sum+m.Amount
			return nil
		})
		if err != nil {
			return err
		}
		stands, err := r.stands(k.account)
		if err != nil {
			return err
		}
		r.audit.KeptAccount(audit.Account{Account: k.account, Stands: -stands, Of: "the sum of its moves", Sum: sum})
	}
	return nil
}

// stands is what the journal has on an account, debits above zero.
func (r *auditReader) stands(a billing.Account) (money.Amount, error) {
	var sum money.Amount
	return sum, r.db.Raw("SELECT CAST(coalesce(sum(debit - credit), 0) AS BIGINT) FROM journal_postings WHERE account = ?", string(a)).Scan(&sum).Error
}

// shelf gives the audit the moves of parts, the levels and the reservations.
func (r *auditReader) shelf() error {
	for _, do := range []func() error{r.moves, r.levels, r.reservations} {
		if err := do(); err != nil {
			return err
		}
	}
	stands, err := r.stands(billing.PartsStock)
	if err != nil {
		return err
	}
	var value money.Amount
	if err := r.db.Raw("SELECT CAST(coalesce(sum(value), 0) AS BIGINT) FROM stock_levels").Scan(&value).Error; err != nil {
		return err
	}
	r.audit.ShelfAccount(audit.Account{Account: billing.PartsStock, Stands: stands, Of: "the shelf", Sum: value})
	return nil
}

func (r *auditReader) moves() error {
	return r.rows(`SELECT m.id, m.part_id, m.kind, m.quantity, m.value, coalesce(m.job_id, 0), m.left_quantity, m.left_value, coalesce(e.n, 0), coalesce(e.posted, 0)
		FROM stock_moves m LEFT JOIN (
			SELECT e.move_id, count(DISTINCT e.id) AS n, CAST(sum(CASE WHEN p.account = ? THEN p.debit - p.credit ELSE 0 END) AS BIGINT) AS posted
			FROM journal_entries e JOIN journal_postings p ON p.entry_id = e.id WHERE e.move_id IS NOT NULL AND e.event <> ? GROUP BY e.move_id
		) e ON e.move_id = m.id ORDER BY m.part_id, m.id`, []any{string(billing.PartsStock), string(billing.SupplierBilled)},
		func(rows *sql.Rows) error {
			var m audit.Move
			if err := rows.Scan(&m.ID, &m.Part, &m.Kind, &m.Quantity, &m.Value, &m.Job, &m.LeftQuantity, &m.LeftValue, &m.Entries, &m.Posted); err != nil {
				return err
			}
			r.audit.Move(m)
			return nil
		})
}

func (r *auditReader) levels() error {
	return r.rows(`SELECT l.part_id, l.quantity, l.value, l.reserved,
			(SELECT CAST(coalesce(sum(open), 0) AS BIGINT) FROM reservations v WHERE v.part_id = l.part_id), m.left_quantity, m.left_value
		FROM stock_levels l LEFT JOIN stock_moves m ON m.id = (SELECT max(id) FROM stock_moves x WHERE x.part_id = l.part_id) ORDER BY l.part_id`, nil,
		func(rows *sql.Rows) error {
			var l, last audit.Level
			var q *stock.Quantity
			var v *money.Amount
			if err := rows.Scan(&l.Part, &l.Quantity, &l.Value, &l.Reserved, &l.Open, &q, &v); err != nil {
				return err
			}
			if q != nil && v != nil {
				last.Quantity, last.Value = *q, *v
			}
			r.audit.Level(l, last)
			return nil
		})
}

func (r *auditReader) reservations() error {
	return r.rows("SELECT v.id, v.part_id, j.id, j.tag, j.stage FROM reservations v JOIN jobs j ON j.id = v.job_id WHERE v.open > 0 ORDER BY v.id", nil,
		func(rows *sql.Rows) error {
			var v audit.Reserved
			if err := rows.Scan(&v.ID, &v.Part, &v.Job, &v.Tag, &v.Stage); err != nil {
				return err
			}
			r.audit.Reserved(v)
			return nil
		})
}
