package migrations

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	_ "modernc.org/sqlite"             // the driver "sqlite"

	"winterbench/domain"
)

// eachEngine runs a body on an empty database of each engine. connect opens it
// anew, as another program would.
func eachEngine(t *testing.T, fn func(t *testing.T, dialect Dialect, connect func() *sql.DB)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) {
		file := filepath.Join(t.TempDir(), "shop.db")
		fn(t, SQLite, func() *sql.DB { return openSQLite(t, file) })
	})
	t.Run("postgres", func(t *testing.T) {
		schema := freshSchema(t)
		fn(t, Postgres, func() *sql.DB { return open(t, "pgx", schema) })
	})
}

func open(t *testing.T, driver, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func openSQLite(t *testing.T, file string) *sql.DB {
	t.Helper()
	return open(t, "sqlite", "file:"+file+"?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_txlock=immediate&_timezone=UTC")
}

// freshSchema returns the address of an empty schema on the tests' server.
func freshSchema(t *testing.T) string {
	t.Helper()
	server := os.Getenv("WINTERBENCH_TEST_POSTGRES")
	if server == "" && os.Getenv("CI") == "true" {
		t.Fatal("WINTERBENCH_TEST_POSTGRES is not set: CI must test on PostgreSQL too")
	}
	if server == "" {
		t.Skip("skipped on PostgreSQL: WINTERBENCH_TEST_POSTGRES is not set; make test starts a server")
	}
	schema := "migrations_" + strings.ToLower(rand.Text()[:12])
	db := open(t, "pgx", server)
	exec(t, db, "CREATE SCHEMA "+schema)
	t.Cleanup(func() { exec(t, db, "DROP SCHEMA "+schema+" CASCADE") })
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	query := u.Query()
	query.Set("search_path", schema)
	u.RawQuery = query.Encode()
	return u.String()
}

func exec(t *testing.T, db *sql.DB, statement string) {
	t.Helper()
	if _, err := db.Exec(statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

// steps makes files 0001_a.sql, 0002_a.sql and so on of the statements.
func steps(statements ...string) fs.FS {
	files := fstest.MapFS{}
	for i, s := range statements {
		files[fmt.Sprintf("%04d_a.sql", i+1)] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + s + "\n")}
	}
	return files
}

// beside lists the files in the folder of a database, but those that SQLite
// keeps for itself.
func beside(t *testing.T, db *sql.DB) []string {
	t.Helper()
	file, err := fileOf(context.Background(), db)
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), "-wal") && !strings.HasSuffix(e.Name(), "-shm") {
			names = append(names, e.Name())
		}
	}
	return names
}

func TestBothFoldersHoldTheSameSteps(t *testing.T) {
	var names [2][]string
	for i, d := range Dialects() {
		found, err := fs.Glob(Files(d), "*")
		if err != nil {
			t.Fatal(err)
		}
		for n, name := range found {
			if step, err := stepOf(name); err != nil || step != int64(n+1) {
				t.Errorf("%s: %s stands at place %d: %v", d, name, n+1, err)
			}
		}
		names[i] = found
	}
	if diff := cmp.Diff(names[0], names[1]); diff != "" || len(names[0]) == 0 {
		t.Errorf("the folders differ, or are empty (-sqlite +postgres):\n%s", diff)
	}
	if Latest() != int64(len(names[0])) {
		t.Errorf("Latest: got %d, want %d", Latest(), len(names[0]))
	}
}

func TestStepOfRefuses(t *testing.T) {
	for _, name := range []string{"1_a.sql", "0000_a.sql", "-001_a.sql", "0001.sql", "0001_", "00012_a.sql", "a_0001.sql"} {
		if n, err := stepOf(name); err == nil {
			t.Errorf("%s: got step %d and no error", name, n)
		}
	}
}

func TestRunTwice(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		for range 2 {
			if err := Run(t.Context(), db, dialect, Options{}); err != nil {
				t.Fatal(err)
			}
		}
		if v, err := Version(t.Context(), db, dialect); err != nil || v != Latest() {
			t.Errorf("got version %d and %v, want %d", v, err, Latest())
		}
		if dialect == SQLite {
			if diff := cmp.Diff([]string{"shop.db", "shop.db-upgrade.lock"}, beside(t, db)); diff != "" {
				t.Errorf("a new file needs no copy (-want +got):\n%s", diff)
			}
		}
	})
}

func TestNewerDatabaseIsRefused(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		if err := run(t.Context(), db, dialect, steps("CREATE TABLE a (id BIGINT);", "CREATE TABLE b (id BIGINT);"), Options{}); err != nil {
			t.Fatal(err)
		}
		err := run(t.Context(), connect(), dialect, steps("CREATE TABLE a (id BIGINT);"), Options{})
		if domain.KindOf(err) != domain.Conflict {
			t.Fatalf("got %v, want a conflict", err)
		}
		for _, want := range []string{"version 2", "version 1"} {
			if !strings.Contains(domain.TextOf(err), want) {
				t.Errorf("got %q, want %q in it", domain.TextOf(err), want)
			}
		}
	})
}

func TestFailingStepRollsBackWhole(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db := connect()
		files := steps("CREATE TABLE a (id BIGINT);",
			"CREATE TABLE b (id BIGINT);\nINSERT INTO a VALUES (1);\nINSERT INTO tuba VALUES (1);")
		err := run(t.Context(), db, dialect, files, Options{})
		if err == nil || !strings.Contains(err.Error(), "0002_a.sql") {
			t.Fatalf("got %v, want an error that names the file", err)
		}
		var rows int
		if err := db.QueryRow("SELECT count(*) FROM a").Scan(&rows); err != nil || rows != 0 {
			t.Errorf("table a: got %d rows and %v, want it empty", rows, err)
		}
		if err := db.QueryRow("SELECT count(*) FROM b").Scan(&rows); err == nil {
			t.Error("table b of the failed step is there")
		}
		if v, err := Version(t.Context(), db, dialect); err != nil || v != 1 {
			t.Errorf("got version %d and %v, want 1", v, err)
		}
		mended := steps("CREATE TABLE a (id BIGINT);", "CREATE TABLE b (id BIGINT);")
		if err := run(t.Context(), db, dialect, mended, Options{}); err != nil {
			t.Errorf("the mended program: %v", err)
		}
	})
}

func TestConcurrentStarts(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		var wg sync.WaitGroup
		for range 4 {
			db := connect()
			wg.Go(func() {
				if err := Run(t.Context(), db, dialect, Options{}); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		db := connect()
		if v, err := Version(t.Context(), db, dialect); err != nil || v != Latest() {
			t.Errorf("got version %d and %v, want %d", v, err, Latest())
		}
		var twice int
		err := db.QueryRow("SELECT count(*) - count(DISTINCT version_id) FROM " + Table).Scan(&twice)
		if err != nil || twice != 0 {
			t.Errorf("got %d steps noted twice and %v", twice, err)
		}
	})
}

func TestWaitingEndsWithTheContext(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		holder := upgrade{db: connect(), dialect: dialect}
		err := holder.locked(t.Context(), func() error {
			ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
			defer cancel()
			return Run(ctx, connect(), dialect, Options{})
		})
		if err == nil || !strings.Contains(err.Error(), context.DeadlineExceeded.Error()) {
			t.Errorf("got %v, want the deadline", err)
		}
	})
}

func TestSQLiteIsCopiedFirst(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	db := openSQLite(t, file)
	clock := domain.FixedClock(time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC))
	one, two := "CREATE TABLE a (id BIGINT);", "UPDATE a SET id = 2;"
	if err := run(t.Context(), db, SQLite, steps(one), Options{Clock: clock}); err != nil {
		t.Fatal(err)
	}
	exec(t, db, "INSERT INTO a VALUES (1)")
	if err := os.Chmod(file, 0o640); err != nil {
		t.Fatal(err)
	}
	for _, files := range []fs.FS{steps(one, two), steps(one, two, two)} {
		if err := run(t.Context(), db, SQLite, files, Options{Clock: clock}); err != nil {
			t.Fatal(err)
		}
	}
	const first = "shop.before-upgrade-1-20261125T110000Z.db"
	want := []string{first, "shop.before-upgrade-2-20261125T110000Z.db", "shop.db", "shop.db-upgrade.lock"}
	if diff := cmp.Diff(want, beside(t, db)); diff != "" {
		t.Fatalf("files (-want +got):\n%s", diff)
	}
	copied := filepath.Join(filepath.Dir(file), first)
	if info, err := os.Stat(copied); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("the copy's mode: got %v and %v, want the original's -rw-r-----", info.Mode(), err)
	}
	var id int
	if err := openSQLite(t, copied).QueryRow("SELECT id FROM a").Scan(&id); err != nil || id != 1 {
		t.Errorf("the copy: got %d and %v, want 1, as before the upgrade", id, err)
	}
}

func TestCopyNeverOverwrites(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	clock := domain.FixedClock(time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC))
	want := []string{"shop.before-upgrade-7-20261125T110000Z.db", "shop.before-upgrade-7-20261125T110000Z-2.db", "shop.before-upgrade-7-20261125T110000Z-3.db"}
	for _, w := range want {
		got, err := copyName(file, 7, clock)
		if err != nil || filepath.Base(got) != w {
			t.Errorf("got %s and %v, want %s", got, err, w)
		}
		if err := os.WriteFile(got, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestForeignFileIsRefused(t *testing.T) {
	db := openSQLite(t, filepath.Join(t.TempDir(), "recipes.db"))
	exec(t, db, "CREATE TABLE soup (name TEXT)")
	err := Run(t.Context(), db, SQLite, Options{})
	if domain.KindOf(err) != domain.Conflict || !strings.Contains(domain.TextOf(err), "recipes.db") {
		t.Errorf("got %v, want a conflict that names the file", err)
	}
	if v, err := Version(t.Context(), db, SQLite); err != nil || v != 0 {
		t.Errorf("got version %d and %v, want the file as it was", v, err)
	}
}

func TestMemoryDatabase(t *testing.T) {
	db := open(t, "sqlite", "file:migrations?mode=memory&cache=shared")
	if err := Run(t.Context(), db, SQLite, Options{}); err != nil {
		t.Error(err)
	}
}
