package main

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestWatchTellsHowItGoes(t *testing.T) {
	at, out := started(t, &serveCommand{Database: storetest.Database(t, "sqlite"), Watch: "127.0.0.1:0"})
	found := regexp.MustCompile(`Watch it at (http://[0-9.:]+)/ready`).FindStringSubmatch(out.String())
	if found == nil {
		t.Fatalf("printed %q, want the address for watching", out)
	}
	get(t, client(t), at+"/sign-in?name=secret-name")
	get(t, client(t), at+"/nowhere/secret-path")
	for path, want := range map[string]string{
		"/alive": "alive", "/ready": "ready", "/metrics": `winterbench_request_seconds_count{method="GET",route="/first",status="200"}`,
	} {
		status, body, _ := get(t, client(t), found[1]+path)
		if status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("%s: status %d without %s", path, status, want)
		}
		if strings.Contains(body, "secret") {
			t.Errorf("%s tells what was typed into an address", path)
		}
	}
	if status, _, _ := get(t, client(t), at+"/metrics"); status == http.StatusOK {
		t.Error("customers reach the figures")
	}
}

func TestReadyIsFalseWithoutADatabaseAndWhileStopping(t *testing.T) {
	s, err := store.Open(t.Context(), storetest.Database(t, "sqlite"), nil)
	if err != nil {
		t.Fatal(err)
	}
	w := newWatch(s)
	ready := func() int {
		r := httptest.NewRecorder()
		w.handler().ServeHTTP(r, httptest.NewRequest(http.MethodGet, "/ready", nil))
		return r.Code
	}
	if got := ready(); got != http.StatusOK {
		t.Errorf("got %d, want 200", got)
	}
	w.stopping.Store(true)
	if got := ready(); got != http.StatusServiceUnavailable {
		t.Errorf("stopping: got %d, want 503", got)
	}
	w.stopping.Store(false)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if got := ready(); got != http.StatusServiceUnavailable {
		t.Errorf("without a database: got %d, want 503", got)
	}
}

// Two servers on one database make one copy between them, it is whole, and copies
// that are too old go.
func TestCopyOfTheDay(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database, photos, folder := storetest.Database(t, engine), filepath.Join(t.TempDir(), "photos"), filepath.Join(t.TempDir(), "copies")
			smallShop(t, database, photos)
			if err := os.MkdirAll(folder, 0o700); err != nil {
				t.Fatal(err)
			}
			old := filepath.Join(folder, store.CopyName("2020-01-15"))
			for _, name := range []string{old, filepath.Join(folder, store.CopyName("2020-01-14"))} {
				if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			copies := copyFlags{Copies: folder, CopiesAt: "03:30", CopiesKeep: 1}
			servers := 1
			if engine == "postgres" {
				servers = 2
			}
			for range servers {
				started(t, &serveCommand{Database: database, Photos: photos, copyFlags: copies})
			}
			zone, err := time.LoadLocation("America/Winnipeg")
			if err != nil {
				t.Fatal(err)
			}
			now := time.Now().In(zone)
			due := domain.DateOf(now)
			if now.Format("15:04") < "03:30" {
				due = due.AddDays(-1)
			}
			file := filepath.Join(folder, store.CopyName(due))
			for until := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
				_, missing := os.Stat(file)
				if _, err := os.Stat(old); missing == nil && os.IsNotExist(err) {
					break
				}
				if time.Now().After(until) {
					t.Fatalf("within a minute no %s, or the copy of 2020-01-15 is still there", file)
				}
			}
			if _, err := store.CheckCopy(context.Background(), file, nil); err != nil {
				t.Error(err)
			}
			entries, err := os.ReadDir(folder)
			if err != nil || len(entries) != 2 { // the first of January 2020, and today's
				t.Errorf("got %v, %v; want two copies", entries, err)
			}
		})
	}
}
