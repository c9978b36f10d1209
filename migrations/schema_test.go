package migrations

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// column is what both engines must agree on.
type column struct {
	Type string // of those that sqliteType and postgresType share
	Null bool
	Key  int // place in the primary key from 1, 0 for none
}

// sqliteType and postgresType name what a column holds. A type that is missing
// here is one that the rules in the package's comment do not allow.
var (
	sqliteType   = map[string]string{"INTEGER": "whole", "TEXT": "text", "BLOB": "bytes"}
	postgresType = map[string]string{"bigint": "whole", "boolean": "whole", "text": "text", "timestamp with time zone": "text", "bytea": "bytes"}
)

const sqliteColumns = `
	SELECT t.name, c.name, c.type, c."notnull" = 0 AND c.pk = 0, c.pk
	FROM sqlite_master t, pragma_table_info(t.name) c
	WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite^_%' ESCAPE '^'
	ORDER BY t.name, c.cid`

const postgresColumns = `
	SELECT c.table_name, c.column_name, c.data_type, c.is_nullable = 'YES', coalesce((
		SELECT k.ordinal_position
		FROM information_schema.table_constraints p
		JOIN information_schema.key_column_usage k USING (constraint_schema, constraint_name)
		WHERE p.constraint_type = 'PRIMARY KEY' AND p.table_schema = c.table_schema
		AND p.table_name = c.table_name AND k.column_name = c.column_name), 0)
	FROM information_schema.columns c
	WHERE c.table_schema = current_schema()
	ORDER BY c.table_name, c.ordinal_position`

// These list the constraints and indexes that were given names. SQLite keeps a
// constraint's name in the table's text only; PostgreSQL makes up a name with one
// of three endings for a constraint that has none.
const (
	sqliteTables  = `SELECT sql FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite^_%' ESCAPE '^' AND name <> '` + Table + `'`
	sqliteIndexes = `SELECT name FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL ORDER BY name`
	postgresNames = `
	SELECT conname FROM pg_constraint c JOIN pg_class t ON t.oid = conrelid
	WHERE c.connamespace = current_schema()::regnamespace AND contype IN ('c', 'u', 'f')
	AND conname !~ '_(check|key|fkey)[0-9]*$' AND relname <> '` + Table + `' ORDER BY conname`
	postgresIndexes = `
	SELECT indexname FROM pg_indexes WHERE schemaname = current_schema()
	AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conname = indexname AND connamespace = current_schema()::regnamespace) ORDER BY indexname`
)

func TestBothEnginesGetTheSameTables(t *testing.T) {
	tables := map[Dialect]map[string][]string{}
	columns := map[Dialect]map[string]column{}
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		if err := Run(t.Context(), db, dialect, Options{}); err != nil {
			t.Fatal(err)
		}
		tables[dialect], columns[dialect] = readColumns(t, db, dialect)
	})
	if len(tables) < 2 {
		t.Skip("skipped: there is nothing to compare without PostgreSQL")
	}
	if len(tables[SQLite]) == 0 {
		t.Fatal("no tables to compare")
	}
	if diff := cmp.Diff(tables[SQLite], tables[Postgres]); diff != "" {
		t.Errorf("tables and the order of their columns (-sqlite +postgres):\n%s", diff)
	}
	if diff := cmp.Diff(columns[SQLite], columns[Postgres]); diff != "" {
		t.Errorf("columns (-sqlite +postgres):\n%s", diff)
	}
}

// readColumns returns the columns' names by table, and the columns by
// "table.column". The table of steps belongs to the runner and is left out.
func readColumns(t *testing.T, db *sql.DB, dialect Dialect) (map[string][]string, map[string]column) {
	t.Helper()
	query, known := sqliteColumns, sqliteType
	if dialect == Postgres {
		query, known = postgresColumns, postgresType
	}
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	tables, columns := map[string][]string{}, map[string]column{}
	for rows.Next() {
		var table, name string
		var c column
		if err := rows.Scan(&table, &name, &c.Type, &c.Null, &c.Key); err != nil {
			t.Fatal(err)
		}
		if table == Table {
			continue
		}
		if known[c.Type] == "" {
			t.Errorf("%s.%s is %s; the rules for a step do not know that type", table, name, c.Type)
		}
		c.Type = known[c.Type]
		tables[table] = append(tables[table], name)
		columns[table+"."+name] = c
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return tables, columns
}

func TestSQLiteTablesAreStrict(t *testing.T) {
	db := openSQLite(t, t.TempDir()+"/shop.db")
	if err := Run(t.Context(), db, SQLite, Options{}); err != nil {
		t.Fatal(err)
	}
	names := readNames(t, db, `SELECT name FROM pragma_table_list WHERE schema = 'main' AND strict = 0 AND type = 'table' AND name NOT LIKE 'sqlite^_%' ESCAPE '^'`)
	if diff := cmp.Diff([]string{Table}, names); diff != "" {
		t.Errorf("tables that are not STRICT (-want +got):\n%s", diff)
	}
}

// Constraints about what only one engine needs, such as that a number is 0 or 1
// where the other has a type for yes and no.
func oneEngineOnly(name string) bool { return strings.HasSuffix(name, "_yes_no") }

func TestBothEnginesGetTheSameConstraintsAndIndexes(t *testing.T) {
	constraints, indexes := map[Dialect][]string{}, map[Dialect][]string{}
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		if err := Run(t.Context(), db, dialect, Options{}); err != nil {
			t.Fatal(err)
		}
		if dialect == Postgres {
			constraints[dialect] = readNames(t, db, postgresNames)
			indexes[dialect] = readNames(t, db, postgresIndexes)
			return
		}
		constraints[dialect] = namesIn(readNames(t, db, sqliteTables))
		indexes[dialect] = readNames(t, db, sqliteIndexes)
	})
	if len(constraints) < 2 {
		t.Skip("skipped: there is nothing to compare without PostgreSQL")
	}
	if diff := cmp.Diff(constraints[SQLite], constraints[Postgres]); diff != "" || len(constraints[SQLite]) == 0 {
		t.Errorf("constraints (-sqlite +postgres):\n%s", diff)
	}
	if diff := cmp.Diff(indexes[SQLite], indexes[Postgres]); diff != "" {
		t.Errorf("indexes (-sqlite +postgres):\n%s", diff)
	}
}

// namesIn returns the names of the constraints in tables' texts, sorted.
func namesIn(tables []string) []string {
	var names []string
	for _, text := range tables {
		words := strings.Fields(text)
		for i, w := range words {
			if w == "CONSTRAINT" && !oneEngineOnly(words[i+1]) {
				names = append(names, words[i+1])
			}
		}
	}
	slices.Sort(names)
	return names
}

func readNames(t *testing.T, db *sql.DB, query string) []string {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var names []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return names
}

// The civil date's CHECK of the rules, on both engines.
func TestCivilDateRule(t *testing.T) {
	rule := map[Dialect]string{
		SQLite:   "CREATE TABLE days (d TEXT CHECK (d IS date(d))) STRICT;",
		Postgres: "CREATE TABLE days (d TEXT CHECK (d ~ '^[0-9]{4}-[0-9]{2}-[0-9]{2}$' AND to_char(d::date, 'YYYY-MM-DD') = d));",
	}
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		if err := run(t.Context(), db, dialect, steps(rule[dialect]), Options{}); err != nil {
			t.Fatal(err)
		}
		for _, good := range []string{"'2026-11-25'", "'2028-02-29'", "NULL"} {
			exec(t, db, fmt.Sprintf("INSERT INTO days VALUES (%s)", good))
		}
		for _, bad := range []string{"''", "'now'", "'2026-02-30'", "'2026-02-29'", "'2026-13-01'", "'2026-1-1'", "'2026-11-25 10:00'", "'20261125'"} {
			if _, err := db.Exec(fmt.Sprintf("INSERT INTO days VALUES (%s)", bad)); err == nil {
				t.Errorf("%s was taken as a date", bad)
			}
		}
	})
}
