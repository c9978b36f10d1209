package main

import (
	"bytes"
	"database/sql"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"winterbench/store/storetest"
)

// smallDisk mounts a disk of so many kB in memory, which needs root.
func smallDisk(t *testing.T, kilobytes int) string {
	t.Helper()
	dir, err := os.MkdirTemp("/tmp", "winterbench-disk")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Remove(dir) })
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%dk,mode=0777", kilobytes), "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("skipped: a small disk cannot be made here: %v: %s", err, bytes.TrimSpace(out))
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("unmount: %v: %s", err, out)
		}
	})
	return dir
}

// A full disk is told as such; what is there can be read, nothing is torn, and
// with room again the work goes on.
func TestTortureFullDisk(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			dir := smallDisk(t, 30_000)
			database := onDisk(t, engine, dir)
			photos := filepath.Join(t.TempDir(), "photos")
			token := smallShop(t, database, photos)
			s := startProgram(t, database, photos)
			defer s.kill()
			w := &writer{token: token, http: &http.Client{Timeout: 30 * time.Second}}
			post := func(name string) (int, string) {
				t.Helper()
				status, answer, err := w.once(s.address+"/api/v1/customers", name, []byte(fmt.Sprintf(`{"name":%q,"phone":"555-0142","note":%q}`, name, strings.Repeat("a long note ", 150))))
				if err != nil {
					t.Fatalf("%s: %v; %s", name, err, s.log)
				}
				return status, fmt.Sprint(answer["detail"])
			}
			filled := fill(t, dir, 400<<10)
			saved, status, says := 0, 0, ""
			for saved < 20_000 {
				if status, says = post(fmt.Sprintf("before-%d", saved)); status != http.StatusCreated {
					break
				}
				saved++
			}
			if status != http.StatusServiceUnavailable || !strings.Contains(says, "no room left") {
				t.Fatalf("after %d customers: status %d, %q; want 503 and that there is no room left; %s", saved, status, says, s.log)
			}
			for i := range 20 { // whoever asks again and again changes nothing
				post(fmt.Sprintf("during-%d", i))
			}
			list, err := http.NewRequest(http.MethodGet, s.address+"/api/v1/customers", nil)
			if err != nil {
				t.Fatal(err)
			}
			list.Header.Set("Authorization", "Bearer "+token)
			if status, answer, err := answered(w.http.Do(list)); err != nil || status != http.StatusOK || whole(answer, "total") < int64(saved) {
				t.Errorf("reading on a full disk: status %d, %v of at least %d customers, %v", status, answer["total"], saved, err)
			}
			if err := os.Remove(filled); err != nil {
				t.Fatal(err)
			}
			if status, says := post(fmt.Sprintf("before-%d", saved)); status != http.StatusCreated {
				t.Errorf("with room again: status %d, %s", status, says)
			}
			s.kill()
			wholeDatabase(t, engine, database)
			t.Logf("%s: full after %d customers, told as %q; readable, and written again with room", engine, saved, says)
		})
	}
}

// onDisk is a fresh database whose data lie on that disk.
func onDisk(t *testing.T, engine, dir string) string {
	t.Helper()
	if engine == "sqlite" {
		return filepath.Join(dir, "shop.db")
	}
	server := storetest.Server(t)
	db, err := sql.Open("pgx", server)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	space := filepath.Join(dir, "space")
	if err := os.Mkdir(space, 0o700); err != nil {
		t.Fatal(err)
	}
	belongsToServer(t, server, space)
	for _, statement := range []string{"CREATE TABLESPACE small LOCATION '" + space + "'", "CREATE DATABASE on_small_disk TABLESPACE small TEMPLATE template0"} {
		if _, err := db.Exec(statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	t.Cleanup(func() {
		db, err := sql.Open("pgx", server)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		for _, statement := range []string{"DROP DATABASE on_small_disk WITH (FORCE)", "DROP TABLESPACE small"} {
			if _, err := db.Exec(statement); err != nil {
				t.Errorf("%s: %v", statement, err)
			}
		}
	})
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/on_small_disk"
	return u.String()
}

// belongsToServer gives a folder to the user that the database server runs as: the
// owner of the folder of its socket.
func belongsToServer(t *testing.T, server, dir string) {
	t.Helper()
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	socket := u.Query().Get("host")
	if !filepath.IsAbs(socket) {
		t.Skip("skipped: the database server is not on this machine's own socket")
	}
	if out, err := exec.Command("chown", "--reference="+socket, dir).CombinedOutput(); err != nil {
		t.Fatalf("chown: %v: %s", err, out)
	}
}

// fill leaves so many bytes free on a disk and returns the file that fills it.
func fill(t *testing.T, dir string, free int) string {
	t.Helper()
	name := filepath.Join(dir, "filler")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	written, block := 0, make([]byte, 4096)
	for {
		n, err := f.Write(block)
		written += n
		if err != nil {
			break
		}
	}
	if written <= free {
		t.Fatalf("the disk had %d bytes of room, want more than %d", written, free)
	}
	if err := f.Truncate(int64(written - free)); err != nil {
		t.Fatal(err)
	}
	return name
}

// wholeDatabase has the engine look through its own pages, and audits the shop.
func wholeDatabase(t *testing.T, engine, database string) {
	t.Helper()
	if engine == "sqlite" {
		db, err := sql.Open("sqlite", database)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		var says string
		if err := db.QueryRow("PRAGMA integrity_check").Scan(&says); err != nil || says != "ok" {
			t.Errorf("integrity_check: %s, %v", says, err)
		}
	}
	audited(t, database)
}
