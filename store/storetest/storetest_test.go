package storetest_test

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"

	"winterbench/store"
	"winterbench/store/storetest"
)

func TestEachRunsOnEveryEngine(t *testing.T) {
	var ran []string
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if err := s.Ping(context.Background()); err != nil {
			t.Error(err)
		}
		ran = append(ran, string(s.Dialect()))
	})
	want := storetest.Engines()
	if os.Getenv(storetest.Env) == "" {
		want = slices.DeleteFunc(want, func(e string) bool { return e == "postgres" })
	}
	if !slices.Equal(ran, want) {
		t.Errorf("ran on %v, want %v", ran, want)
	}
}

func TestDatabasesAreApart(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			t.Parallel()
			a, b := storetest.Database(t, engine), storetest.Database(t, engine)
			if a == b {
				t.Errorf("got %s twice", a)
			}
		})
	}
}

func TestEmptyCanBeOpened(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			s, err := store.Open(context.Background(), storetest.Empty(t, engine), nil)
			if err != nil {
				t.Fatal(err)
			}
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
	}
}

// record stands for a test and keeps what it is told.
type record struct {
	testing.TB
	skipped, failed string
}

func (*record) Helper() {}

func (r *record) Skipf(format string, _ ...any) { r.skipped = format; panic(r) }

func (r *record) Fatalf(format string, _ ...any) { r.failed = format; panic(r) }

func TestWithoutServer(t *testing.T) {
	t.Setenv(storetest.Env, "")
	for ci, want := range map[string]func(*record) string{
		"":     func(r *record) string { return r.skipped },
		"true": func(r *record) string { return r.failed },
	} {
		t.Setenv("CI", ci)
		r := &record{TB: t}
		func() {
			defer func() { _ = recover() }()
			storetest.Server(r)
		}()
		if text := want(r); !strings.Contains(text, "PostgreSQL") {
			t.Errorf("CI=%q: got skip %q and failure %q, want PostgreSQL named in the right one", ci, r.skipped, r.failed)
		}
	}
}
