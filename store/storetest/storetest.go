// Package storetest gives tests a fresh, migrated database on each engine.
//
// SQLite needs nothing. PostgreSQL is the server that the environment variable
// WINTERBENCH_TEST_POSTGRES names, as the address of any database on it whose user
// may create databases; "make test" and scripts/with-postgres.sh start one.
// Without it the PostgreSQL half is skipped and says so; with CI=true it fails,
// so that no run in CI passes on half of the engines.
package storetest

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx" that makes and drops databases

	"winterbench/migrations"
	"winterbench/store"
)

// Env names the environment variable with the address of the PostgreSQL server.
const Env = "WINTERBENCH_TEST_POSTGRES"

// patience is how long making or dropping a database may take on a busy machine.
const patience = 2 * time.Minute

// Engines returns the names of the engines, in the order Each runs them; they
// are those of migrations.Dialect.
func Engines() []string {
	var names []string
	for _, d := range migrations.Dialects() {
		names = append(names, string(d))
	}
	return names
}

// Each runs one body as a subtest on every engine, each time with a store on a
// fresh, migrated database that is removed afterwards. The body may call
// t.Parallel.
func Each(t *testing.T, fn func(t *testing.T, s *store.Store)) {
	t.Helper()
	for _, engine := range Engines() {
		t.Run(engine, func(t *testing.T) { fn(t, Open(t, engine)) })
	}
}

// Open returns a store on a fresh database of the engine, closed when the test
// ends. It skips or fails the test as the package says.
func Open(t testing.TB, engine string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), Database(t, engine), nil, store.PhotosIn(filepath.Join(t.TempDir(), "photos")))
	if err != nil {
		t.Fatalf("open a fresh %s database: %v", engine, err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close the store: %v", err)
		}
	})
	return s
}

// Database returns a fresh, migrated database as the --database flag takes it,
// for a test that opens it by itself, and removes it when the test ends.
func Database(t testing.TB, engine string) string {
	t.Helper()
	switch migrations.Dialect(engine) {
	case migrations.SQLite:
		return sqliteFile(t)
	case migrations.Postgres:
		return postgresDatabase(t)
	}
	t.Fatalf("no engine %q; there are %s", engine, strings.Join(Engines(), " and "))
	return ""
}

// Empty is Database without tables.
func Empty(t testing.TB, engine string) string {
	t.Helper()
	if migrations.Dialect(engine) == migrations.Postgres {
		return createDatabase(t, Server(t), "template0")
	}
	return filepath.Join(t.TempDir(), "shop.db")
}

// Server returns the address of the PostgreSQL server; without one it skips the
// test, or fails it with CI=true.
func Server(t testing.TB) string {
	t.Helper()
	address := os.Getenv(Env)
	if address == "" && os.Getenv("CI") == "true" {
		t.Fatalf("%s is not set: CI must test on PostgreSQL too; run make test, or set it to a server's address", Env)
	}
	if address == "" {
		t.Skipf("skipped on PostgreSQL: %s is not set; make test starts a server, or name one: postgres://user@host/postgres", Env)
	}
	return address
}

// migratedFile is a SQLite file after all migrations, made once per test program.
var migratedFile = sync.OnceValues(func() (content []byte, err error) {
	dir, err := os.MkdirTemp("", "winterbench-test")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	file := filepath.Join(dir, "shop.db")
	s, err := store.Open(context.Background(), file, nil)
	if err != nil {
		return nil, err
	}
	if err := s.Close(); err != nil { // moves everything into the file itself
		return nil, err
	}
	return os.ReadFile(file)
})

func sqliteFile(t testing.TB) string {
	t.Helper()
	content, err := migratedFile()
	if err != nil {
		t.Fatalf("make a migrated SQLite file: %v", err)
	}
	file := filepath.Join(t.TempDir(), "shop.db")
	if err := os.WriteFile(file, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func postgresDatabase(t testing.TB) string {
	t.Helper()
	server := Server(t)
	template, err := migratedTemplate(server)
	if err != nil {
		t.Fatalf("make a migrated PostgreSQL database: %v", err)
	}
	return createDatabase(t, server, template)
}

// createDatabase copies a template and drops the copy when the test ends.
func createDatabase(t testing.TB, server, template string) string {
	t.Helper()
	name := "winterbench_" + strings.ToLower(rand.Text()[:16])
	if err := execOn(server, create(name, template)); err != nil {
		t.Fatalf("make a PostgreSQL database: %v", err)
	}
	t.Cleanup(func() {
		if err := execOn(server, "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("drop the test's database: %v", err)
		}
	})
	return withDatabase(t, server, name)
}

// create returns the statement that copies a template. Under the C locale text
// sorts by bytes, as on SQLite.
func create(name, template string) string {
	return fmt.Sprintf("CREATE DATABASE %s TEMPLATE %s ENCODING 'UTF8' LC_COLLATE 'C' LC_CTYPE 'C'", name, template)
}

// migratedTemplate returns the name of a database after all migrations. All
// test programs share it, and later runs too: its name tells the migrations.
var migratedTemplate = func() func(server string) (string, error) {
	var mu sync.Mutex
	made := map[string]string{}
	return func(server string) (string, error) {
		mu.Lock()
		defer mu.Unlock()
		if name := made[server]; name != "" {
			return name, nil
		}
		name, err := makeTemplate(server)
		if err == nil {
			made[server] = name
		}
		return name, err
	}
}()

// makeTemplate makes the shared template unless it is there. The lock makes the
// other test programs wait; the last rename makes a half-migrated one impossible.
func makeTemplate(server string) (name string, err error) {
	print, err := fingerprint()
	if err != nil {
		return "", err
	}
	name = "winterbench_template_" + print
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	db, err := sql.Open("pgx", server)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, conn.Close()) }() // ends the session and its lock with the pool
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock(hashtext($1))", name); err != nil {
		return "", err
	}
	var there bool
	err = conn.QueryRowContext(ctx, "SELECT count(*) > 0 FROM pg_database WHERE datname = $1", name).Scan(&there)
	if err != nil || there {
		return name, err
	}
	return name, fillTemplate(ctx, conn, server, name)
}

func fillTemplate(ctx context.Context, conn *sql.Conn, server, name string) error {
	draft := name + "_draft"
	for _, statement := range []string{"DROP DATABASE IF EXISTS " + draft + " WITH (FORCE)", create(draft, "template0")} {
		if _, err := conn.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	address, err := renamed(server, draft)
	if err != nil {
		return err
	}
	s, err := store.Open(ctx, address, nil)
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	// A closed connection's process may still be ending; a rename needs it gone.
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		_, err = conn.ExecContext(ctx, "ALTER DATABASE "+draft+" RENAME TO "+name)
		if err == nil || time.Now().After(end) {
			return err
		}
	}
}

// fingerprint tells one set of migrations from another.
func fingerprint() (string, error) {
	h := fnv.New64a()
	files := migrations.Files(migrations.Postgres)
	err := fs.WalkDir(files, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := fs.ReadFile(files, name)
		fmt.Fprintf(h, "%s %d\n%s", name, len(text), text)
		return err
	})
	return fmt.Sprintf("%016x", h.Sum64()), err
}

// execOn runs a statement that cannot stand in a transaction.
func execOn(server, statement string) (err error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	db, err := sql.Open("pgx", server)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for pause := 50 * time.Millisecond; ; pause *= 2 {
		_, err = db.ExecContext(ctx, statement)
		if err == nil || pause > 2*time.Second || !strings.Contains(err.Error(), checkpointFailed) {
			return err
		}
		time.Sleep(pause)
	}
}

// checkpointFailed is what the server says when the checkpoint that goes before making
// or dropping a database failed. It was seen once, while other tests dropped theirs.
const checkpointFailed = "checkpoint request failed"

func withDatabase(t testing.TB, server, name string) string {
	t.Helper()
	address, err := renamed(server, name)
	if err != nil {
		t.Fatal(err)
	}
	return address
}

// renamed returns the address of another database on the same server.
func renamed(server, name string) (string, error) {
	u, err := url.Parse(server)
	if err != nil {
		return "", fmt.Errorf("%s is not an address such as postgres://user@host/postgres", Env)
	}
	u.Path = "/" + name
	return u.String(), nil
}
