package store

import (
	"database/sql"
	"fmt"
	"strings"

	"winterbench/domain/audit"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
	"winterbench/migrations"
)

// numbered says where the numbers of a series are.
var numbered = []struct {
	series      workshop.Series
	what, query string
}{
	{workshop.Tags, "tag", "SELECT tag, id FROM jobs ORDER BY tag, id"},
	{workshop.Quotes, "quote", "SELECT number, id FROM quotes WHERE number IS NOT NULL ORDER BY number, id"},
	{workshop.Invoices, "invoice", "SELECT number, id FROM invoices ORDER BY number, id"},
	{workshop.CreditNotes, "credit note", "SELECT number, id FROM credit_notes ORDER BY number, id"},
	{workshop.Receipts, "receipt", "SELECT receipt, id FROM payments ORDER BY receipt, id"},
	{"orders", "order", "SELECT number, id FROM purchase_orders ORDER BY number, id"},
}

// series gives the audit the numbers of each series, in their order.
func (r *auditReader) series() error {
	for _, n := range numbered {
		var stands int
		if err := r.db.Raw("SELECT last FROM series WHERE name = ?", string(n.series)).Scan(&stands).Error; err != nil {
			return err
		}
		if err := r.numbers(n.what, stands, n.query); err != nil {
			return fmt.Errorf("series %s: %w", n.series, err)
		}
	}
	return nil
}

func (r *auditReader) numbers(what string, stands int, query string) (err error) {
	rows, err := r.db.Raw(query).Rows()
	if err != nil {
		return err
	}
	defer rows.Close()
	var failed error
	r.audit.Series(what, stands, func() (n audit.Number, more bool) {
		if failed != nil || !rows.Next() {
			return n, false
		}
		failed = rows.Scan(&n.Number, &n.ID)
		return n, failed == nil
	})
	if failed != nil {
		return failed
	}
	return rows.Err()
}

// made says in which table the result of an action is, where its name tells.
var made = map[workshop.Action]string{
	workshop.ActArrive: "jobs", workshop.ActInvoice: "invoices", workshop.ActMoney: "payments", workshop.ActRefund: "payments",
	workshop.ActPayCredit: "store_credit_moves",
}

// keys gives the audit the idempotency keys that have no result.
func (r *auditReader) keys() error {
	var n int
	if err := r.db.Raw("SELECT count(*) FROM request_keys").Scan(&n).Error; err != nil {
		return err
	}
	r.audit.Keys(n)
	take := func(kept bool) func(rows *sql.Rows) error {
		return func(rows *sql.Rows) error {
			k := audit.Key{Kept: kept}
			if err := rows.Scan(&k.Staff, &k.Key, &k.Use, &k.Result); err != nil {
				return err
			}
			r.audit.Key(k)
			return nil
		}
	}
	const columns = "SELECT staff_id, request_key, used_for, coalesce(result, 0) FROM request_keys k WHERE "
	if err := r.rows(columns+"result IS NULL ORDER BY staff_id, request_key", nil, take(false)); err != nil {
		return err
	}
	for action, table := range made {
		query := columns + "used_for LIKE ? AND result IS NOT NULL AND NOT EXISTS (SELECT 1 FROM " + table + " x WHERE x.id = k.result) ORDER BY staff_id, request_key"
		if err := r.rows(query, []any{string(action) + " %"}, take(true)); err != nil {
			return err
		}
	}
	return nil
}

// strayLooks name rows whose job must be that of another row they name, beside
// those that are read with the jobs.
var strayLooks = []struct{ what, table, names, refers string }{
	{"part used", "parts_used", "task", "tasks"},
	{"check", "checks", "task", "tasks"},
	{"photo", "photos", "survey", "surveys"},
}

// strays gives the audit the rows that name a row of another job.
func (r *auditReader) strays() error {
	for _, l := range strayLooks {
		var n int
		if err := r.db.Raw("SELECT count(*) FROM " + l.table).Scan(&n).Error; err != nil {
			return err
		}
		r.audit.Strays(n)
		query := fmt.Sprintf("SELECT x.id, x.job_id, x.%[2]s_id, o.job_id FROM %[1]s x JOIN %[3]s o ON o.id = x.%[2]s_id WHERE o.job_id <> x.job_id ORDER BY x.id",
			l.table, l.names, l.refers)
		err := r.rows(query, nil, func(rows *sql.Rows) error {
			s := audit.Stray{What: l.what, Names: l.names}
			if err := rows.Scan(&s.ID, &s.Job, &s.Named, &s.Others); err != nil {
				return err
			}
			r.audit.Stray(s)
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// reference is a column that names rows of another table.
type reference struct{ Table, Column, Refers, To string }

// referring lists the references that the database itself knows.
func (r *auditReader) referring() ([]reference, error) {
	query := `SELECT t.name AS "table", f."from" AS "column", f."table" AS refers, coalesce(f."to", 'id') AS "to"
		FROM sqlite_master t, pragma_foreign_key_list(t.name) f WHERE t.type = 'table' ORDER BY 1, 2`
	if r.store.dialect == migrations.Postgres {
		query = `SELECT a.relname AS "table", x.attname AS "column", b.relname AS refers, y.attname AS "to"
			FROM pg_constraint k JOIN pg_class a ON a.oid = k.conrelid JOIN pg_class b ON b.oid = k.confrelid
			JOIN pg_attribute x ON x.attrelid = a.oid AND x.attnum = k.conkey[1] JOIN pg_attribute y ON y.attrelid = b.oid AND y.attnum = k.confkey[1]
			WHERE k.contype = 'f' AND k.connamespace = current_schema()::regnamespace ORDER BY 1, 2`
	}
	var all []reference
	if err := r.db.Raw(query).Scan(&all).Error; err != nil {
		return nil, fmt.Errorf("list references: %w", err)
	}
	return append(all, reference{"tasks", "line_id", "quote_lines", "id"}, reference{"journal_entries", "move_id", "stock_moves", "id"}), nil
}

// orphans gives the audit the rows that refer to one that is not there.
func (r *auditReader) orphans() error {
	all, err := r.referring()
	if err != nil {
		return err
	}
	keys, err := r.rowNames()
	if err != nil {
		return err
	}
	for _, f := range all {
		if keys[f.Table] == "" { // sign-ins, which are no part of the books
			continue
		}
		r.audit.References(1)
		query := fmt.Sprintf(`SELECT %[5]s, CAST(x.%[2]s AS VARCHAR(40)) FROM %[1]s x WHERE x.%[2]s IS NOT NULL AND NOT EXISTS (SELECT 1 FROM %[3]s o WHERE o.%[4]s = x.%[2]s) ORDER BY 1 LIMIT %[6]d`,
			f.Table, f.Column, f.Refers, f.To, keys[f.Table], audit.MostBreaks)
		err := r.rows(query, nil, func(rows *sql.Rows) error {
			o := audit.Orphan{Table: f.Table, Column: f.Column, Refers: f.Refers}
			if err := rows.Scan(&o.Row, &o.Value); err != nil {
				return err
			}
			r.audit.Orphan(o)
			return nil
		})
		if err != nil {
			return fmt.Errorf("%s of %s: %w", f.Column, f.Table, err)
		}
	}
	return nil
}

// rowNames says for each table the expression that names a row in a text: its
// identity, or its first two columns. Tables of sign-ins have none.
func (r *auditReader) rowNames() (map[string]string, error) {
	tables, err := r.store.tables(r.db)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, t := range tables {
		names := t.names()
		of := names[:min(2, len(names))]
		for _, n := range names {
			if n == "id" {
				of = []string{n}
			}
		}
		parts := make([]string, len(of))
		for i, n := range of {
			parts[i] = "CAST(x." + n + " AS VARCHAR(120))"
		}
		out[t.name] = strings.Join(parts, " || ' ' || ")
	}
	return out, nil
}

// photos gives the audit each photo with what is wrong with its files. Without a
// folder there is nothing to look at.
func (r *auditReader) photos() error {
	if r.store.pictures.dir == "" {
		return nil
	}
	var n int
	if err := r.db.Raw("SELECT count(*) FROM photos").Scan(&n).Error; err != nil {
		return err
	}
	r.total += n
	return r.rows("SELECT id, job_id, content, thumb, size FROM photos ORDER BY id", nil, func(rows *sql.Rows) error {
		var p audit.Photo
		var content, thumb string
		var size int
		if err := rows.Scan(&p.ID, &p.Job, &content, &thumb, &size); err != nil {
			return err
		}
		if err := r.ctx.Err(); err != nil {
			return err
		}
		p.Trouble = append(r.fileTrouble("its file", content, size), r.fileTrouble("its small picture", thumb, 0)...)
		r.audit.Photo(p)
		r.done++
		r.tell(r.done, r.total, "photos")
		return nil
	})
}

// fileTrouble says what is wrong with a picture's file, nothing when it is as it
// was kept. A size of 0 is not looked at.
func (r *auditReader) fileTrouble(what, name string, size int) []string {
	data, err := r.store.pictures.Read(name)
	switch {
	case err != nil:
		return []string{fmt.Sprintf("%s %s cannot be read: %v", what, name, err)}
	case photo.Name(data) != name:
		return []string{fmt.Sprintf("%s %s was changed: its content is %s now", what, name, photo.Name(data))}
	case size != 0 && len(data) != size:
		return []string{fmt.Sprintf("%s %s has %d bytes; %d were kept", what, name, len(data), size)}
	}
	return nil
}
