package store

import (
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"winterbench/migrations"
)

// notCopied are the tables that a copy of the shop leaves out: sign-ins, which a
// restored shop must not have, and what the engine and the migrations keep.
var notCopied = []string{"sessions", "stays", "throttles", "first_codes", "sqlite_sequence", migrations.Table}

// turned are the references that a copy fills the other way round: the postings of
// an entry come before the entry, which seals them.
var turned = map[string]string{"journal_postings": "journal_entries"}

// after are the tables that a copy fills after others though they do not refer to
// them: a month that is closed takes no entry.
var after = map[string]string{"periods": "journal_entries"}

// table is a table of the database as its catalogue tells.
type table struct {
	name    string
	columns []column
	refers  []string // other tables that must be filled before it
}

// column is what a copy must know of a column.
type column struct {
	name string
	kind columnKind
}

// columnKind says how an engine keeps a column that both have.
type columnKind int

const (
	plainColumn  columnKind = iota // whole numbers, texts, bytes
	yesNoColumn                    // a boolean of PostgreSQL
	momentColumn                   // a timestamp of PostgreSQL
	textColumn                     // a text of PostgreSQL, which has an order of its own
)

// tables lists the tables to copy, each after those that it refers to.
func (s *Store) tables(db *gorm.DB) ([]table, error) {
	var rows []struct{ T, C, Kind string }
	columns := `SELECT t.name AS t, c.name AS c, c.type AS kind FROM sqlite_master t, pragma_table_info(t.name) c WHERE t.type = 'table' ORDER BY t.name, c.cid`
	refers := `SELECT t.name AS t, f."table" AS c, '' AS kind FROM sqlite_master t, pragma_foreign_key_list(t.name) f WHERE t.type = 'table'`
	if s.dialect == migrations.Postgres {
		columns = `SELECT table_name AS t, column_name AS c, data_type AS kind FROM information_schema.columns WHERE table_schema = current_schema() ORDER BY table_name, ordinal_position`
		refers = `SELECT a.relname AS t, b.relname AS c, '' AS kind FROM pg_constraint k JOIN pg_class a ON a.oid = k.conrelid JOIN pg_class b ON b.oid = k.confrelid
			WHERE k.contype = 'f' AND k.connamespace = current_schema()::regnamespace`
	}
	if err := db.Raw(columns).Scan(&rows).Error; err != nil {
		return nil, fmt.Errorf("list columns: %w", err)
	}
	var all []table
	for _, r := range rows {
		if slices.Contains(notCopied, r.T) {
			continue
		}
		if len(all) == 0 || all[len(all)-1].name != r.T {
			all = append(all, table{name: r.T})
		}
		kind := map[string]columnKind{"boolean": yesNoColumn, "timestamp with time zone": momentColumn, "text": textColumn}[r.Kind]
		all[len(all)-1].columns = append(all[len(all)-1].columns, column{r.C, kind})
	}
	rows = nil
	if err := db.Raw(refers).Scan(&rows).Error; err != nil {
		return nil, fmt.Errorf("list references: %w", err)
	}
	for i := range all {
		for _, r := range rows {
			if r.C != r.T && turned[r.T] == r.C {
				r.T, r.C = r.C, r.T
			}
			if r.T == all[i].name && r.C != r.T {
				all[i].refers = append(all[i].refers, r.C)
			}
		}
		if first := after[all[i].name]; first != "" {
			all[i].refers = append(all[i].refers, first)
		}
	}
	return inOrder(all)
}

// inOrder puts each table after those that it refers to, otherwise by name.
func inOrder(all []table) ([]table, error) {
	var out []table
	placed := map[string]bool{}
	for len(out) < len(all) {
		before := len(out)
		for _, t := range all {
			ready := !placed[t.name] && !slices.ContainsFunc(t.refers, func(name string) bool { return !placed[name] })
			if ready {
				out = append(out, t)
				placed[t.name] = true
			}
		}
		if len(out) == before {
			return nil, fmt.Errorf("tables refer to each other in a circle, after %d of %d", len(out), len(all))
		}
	}
	return out, nil
}

// names are the columns of the table.
func (t table) names() []string {
	out := make([]string, len(t.columns))
	for i, c := range t.columns {
		out[i] = c.name
	}
	return out
}

// orderOf is a clause by which rows come so that one that refers to another of
// its table stands after it, and alike on both engines. A table without an
// identity is told apart by its first two columns.
func (t table) orderOf() string {
	if slices.Contains(t.names(), "id") {
		return " ORDER BY id"
	}
	var by []string
	for _, c := range t.columns[:min(2, len(t.columns))] {
		name := `"` + c.name + `"`
		if c.kind == textColumn {
			name += ` COLLATE "C"` // by bytes, as SQLite has it
		}
		by = append(by, name)
	}
	return " ORDER BY " + strings.Join(by, ", ")
}
