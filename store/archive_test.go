package store_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/workshop"
	"winterbench/migrations"
	"winterbench/store"
	"winterbench/store/storetest"
)

// sumsOf reads the sums at the end of a copy, by file.
func sumsOf(t *testing.T, file string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for name, data := range filesOf(t, file) {
		if name != "winterbench/sums.json" {
			continue
		}
		var s struct {
			Files []struct{ Name, SHA256 string }
		}
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatal(err)
		}
		for _, f := range s.Files {
			out[f.Name] = f.SHA256
		}
	}
	delete(out, "winterbench/about.json") // tells the moment and the engine
	return out
}

func filesOf(t *testing.T, file string) map[string][]byte {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	zipped, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for r := tar.NewReader(zipped); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if out[h.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
}

func backup(t *testing.T, s *store.Store) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "shop.tar.gz")
	made, err := s.Backup(t.Context(), file, nil)
	if err != nil {
		t.Fatal(err)
	}
	found, err := store.CheckCopy(t.Context(), file, nil)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(made, found); diff != "" {
		t.Errorf("the copy is not what was said of it (-said +found)\n%s", diff)
	}
	return file
}

// A copy goes from either engine into either, and a copy of the restored shop
// holds byte for byte the same.
func TestACopyGoesFromEachEngineIntoEach(t *testing.T) {
	for _, from := range storetest.Engines() {
		t.Run(from, func(t *testing.T) {
			s := storetest.Open(t, from)
			loadBeginning(t, s)
			file := backup(t, s)
			want := sumsOf(t, file)
			if len(want) < 30 {
				t.Fatalf("the copy holds %d files, too few to be a shop", len(want))
			}
			for _, to := range storetest.Engines() {
				t.Run("into "+to, func(t *testing.T) {
					database, photos := storetest.Empty(t, to), store.PhotosIn(filepath.Join(t.TempDir(), "photos"))
					if _, err := store.Restore(t.Context(), file, database, nil, nil, photos); err != nil {
						t.Fatal(err)
					}
					restored, err := store.Open(t.Context(), database, nil, photos)
					if err != nil {
						t.Fatal(err)
					}
					defer restored.Close()
					if diff := cmp.Diff(want, sumsOf(t, backup(t, restored))); diff != "" {
						t.Errorf("the restored shop differs (-was +is)\n%s", diff)
					}
					goesOn(t, restored)
				})
			}
		})
	}
}

// goesOn adds a customer, who must get an identity that nobody has.
func goesOn(t *testing.T, s *store.Store) {
	t.Helper()
	var last int64
	if err := s.DB().Raw("SELECT max(id) FROM customers").Scan(&last).Error; err != nil {
		t.Fatal(err)
	}
	c := customer.Customer{Name: "Ada Lindqvist", Contact: customer.ByPhone}
	if err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddCustomer(t.Context(), &c) }); err != nil {
		t.Fatal(err)
	}
	if int64(c.ID) <= last {
		t.Errorf("the next customer is %d, want above %d", c.ID, last)
	}
}

func TestACopyIsOfOneMoment(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		loadBeginning(t, s)
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan int)
		go func() { // raises two numbers together, until the copy is made
			n := 0
			for ctx.Err() == nil {
				if err := s.DB().Exec("UPDATE series SET last = last + 1 WHERE name IN ('quotes', 'receipts')").Error; err == nil {
					n++
				}
			}
			done <- n
		}()
		file := backup(t, s)
		stop()
		if n := <-done; n == 0 {
			t.Error("nobody wrote while the copy was made")
		}
		last := map[string]float64{}
		for _, line := range strings.Split(strings.TrimSpace(string(filesOf(t, file)["winterbench/tables/series.ndjson"])), "\n")[1:] {
			var row []any
			if err := json.Unmarshal([]byte(line), &row); err != nil {
				t.Fatal(err)
			}
			last[row[0].(string)] = row[1].(float64)
		}
		d := beginning(t)
		if last["quotes"]-float64(d.Series["quotes"]) != last["receipts"]-float64(d.Series["receipts"]) {
			t.Errorf("the copy shows a half of a change: %v, from %v", last, d.Series)
		}
	})
}

func TestDamagedCopies(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	loadBeginning(t, s)
	file := backup(t, s)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for name, damaged := range map[string][]byte{
		"half of it":       whole[:len(whole)/2],
		"without its end":  whole[:len(whole)-20],
		"a turned bit":     turned(whole, len(whole)/3),
		"not a copy":       []byte("a shopping list"),
		"empty":            {},
		"another tar":      retold(t, whole, func(name string, data []byte) []byte { return nil }),
		"a changed row":    retold(t, whole, changedRow),
		"a left-out table": retold(t, whole, func(name string, data []byte) []byte { return except(name, "jobs.ndjson", data) }),
		"without the sums": retold(t, whole, func(name string, data []byte) []byte { return except(name, "sums.json", data) }),
		"of another form":  retold(t, whole, otherForm),
	} {
		t.Run(name, func(t *testing.T) {
			bad := filepath.Join(t.TempDir(), "bad.tar.gz")
			if err := os.WriteFile(bad, damaged, 0o600); err != nil {
				t.Fatal(err)
			}
			database := storetest.Empty(t, "sqlite")
			_, err := store.Restore(t.Context(), bad, database, nil, nil)
			if domain.KindOf(err) != domain.Invalid {
				t.Errorf("restored with %v, want an invalid copy", err)
			}
			if _, err := os.Stat(database); !errors.Is(err, os.ErrNotExist) {
				t.Errorf("a refused copy left %s behind (%v)", database, err)
			}
		})
	}
}

func turned(whole []byte, at int) []byte {
	out := bytes.Clone(whole)
	out[at] ^= 0x10
	return out
}

func except(name, end string, data []byte) []byte {
	if strings.HasSuffix(name, end) {
		return nil
	}
	return data
}

func changedRow(name string, data []byte) []byte {
	if strings.HasSuffix(name, "payments.ndjson") {
		return bytes.Replace(data, []byte("card"), []byte("cash"), 1)
	}
	return data
}

func otherForm(_ string, data []byte) []byte {
	return bytes.Replace(data, []byte(`"form": 1`), []byte(`"form": 2`), 1)
}

// retold writes a copy again with each file as change gives it; nil leaves it out.
func retold(t *testing.T, whole []byte, change func(name string, data []byte) []byte) []byte {
	t.Helper()
	zipped, err := gzip.NewReader(bytes.NewReader(whole))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	zip := gzip.NewWriter(&out)
	w := tar.NewWriter(zip)
	for r := tar.NewReader(zipped); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if data = change(h.Name, data); data == nil {
			continue
		}
		h.Size = int64(len(data))
		if err := errors.Join(w.WriteHeader(h), func() error { _, err := w.Write(data); return err }()); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(w.Close(), zip.Close()); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestWhereACopyDoesNotGo(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		loadBeginning(t, s)
		file := backup(t, s)
		if _, err := s.Backup(t.Context(), file, nil); domain.KindOf(err) != domain.Conflict {
			t.Errorf("a copy over another: %v", err)
		}
		full := storetest.Database(t, string(s.Dialect()))
		taken, err := store.Open(t.Context(), full, nil, store.PhotosIn(t.TempDir()))
		if err != nil {
			t.Fatal(err)
		}
		loadBeginning(t, taken)
		if err := taken.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := store.Restore(t.Context(), file, full, nil, nil); domain.KindOf(err) != domain.Conflict {
			t.Errorf("a copy into a shop: %v", err)
		}
	})
}

func TestACopyOfAnOlderShopIsUpgraded(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			old, err := store.OpenAt(t.Context(), storetest.Empty(t, engine), nil, 7)
			if err != nil {
				t.Fatal(err)
			}
			if err := old.DB().Exec("UPDATE series SET last = 41 WHERE name = 'tags'").Error; err != nil {
				t.Fatal(err)
			}
			file := backup(t, old)
			if err := old.Close(); err != nil {
				t.Fatal(err)
			}
			database := storetest.Empty(t, engine)
			if _, err := store.Restore(t.Context(), file, database, nil, nil); err != nil {
				t.Fatal(err)
			}
			s, err := store.Open(t.Context(), database, nil)
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			var got struct{ Version, Last int64 }
			if err := s.DB().Raw("SELECT (SELECT max(version_id) FROM " + migrations.Table + ") AS version, (SELECT last FROM series WHERE name = 'tags') AS last").Scan(&got).Error; err != nil {
				t.Fatal(err)
			}
			if got.Version != migrations.Latest() || got.Last != 41 {
				t.Errorf("the restored shop stands at version %d with tag %d, want %d and 41", got.Version, got.Last, migrations.Latest())
			}
		})
	}
}

func TestACopyOfANewerShopIsRefused(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	if err := s.DB().Exec("INSERT INTO " + migrations.Table + " (version_id, is_applied) VALUES (9999, 1)").Error; err != nil {
		t.Fatal(err)
	}
	_, err := store.Restore(t.Context(), backup(t, s), storetest.Empty(t, "sqlite"), nil, nil)
	if domain.KindOf(err) != domain.Conflict || !strings.Contains(err.Error(), "9999") {
		t.Errorf("a copy of a newer shop: %v, want a conflict that names its version", err)
	}
}
