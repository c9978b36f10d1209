package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// held reads what is handed out on a customer: rows by table, and how many photos.
func held(t *testing.T, s *store.Store, id domain.CustomerID) (map[string][]map[string]any, int) {
	t.Helper()
	var b bytes.Buffer
	if err := s.HandOut(t.Context(), id, &b); err != nil {
		t.Fatal(err)
	}
	files, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	f, err := files.Open("customer.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rows map[string][]map[string]any
	if err := json.NewDecoder(f).Decode(&rows); err != nil {
		t.Fatal(err)
	}
	return rows, len(files.File) - 1
}

// settled is the customer of an invented shop whose every job is collected and paid,
// with the most rows.
func settled(t *testing.T, s *store.Store, season *workshop.Season) *customer.Customer {
	t.Helper()
	busy := map[domain.CustomerID]int{}
	for _, j := range season.Jobs {
		busy[j.Customer]++
		if j.Collected.IsZero() {
			busy[j.Customer] = -1000
		}
	}
	var best *customer.Customer
	for i := range season.Customers {
		c := &season.Customers[i]
		if c.Address == "" || c.Email == "" {
			continue
		}
		if best == nil || busy[c.ID] > busy[best.ID] {
			best = c
		}
	}
	if best == nil || busy[best.ID] < 2 {
		t.Fatalf("no customer of the invented shop has everything collected twice: %+v", best)
	}
	return best
}

// After a customer is erased, nothing that was typed about them is found in any table
// but the papers of money, and their photos are gone; all others stay as they were.
func TestErasingACustomer(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database, photos := storetest.Database(t, engine), filepath.Join(t.TempDir(), "photos")
			s, err := store.Open(t.Context(), database, nil, store.PhotosIn(photos))
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			season := invented(t)
			if err := s.Load(t.Context(), season); err != nil {
				t.Fatal(err)
			}
			work := workshop.New(s, domain.SystemClock{}, workshop.WithPictures(s.Pictures()))
			owner := domain.Actor{Staff: season.Staff[0].ID, Name: season.Staff[0].Name, Roles: domain.Roles()}
			who := settled(t, s, season)
			before, _ := held(t, s, who.ID)
			for _, table := range []string{"customers", "instruments", "jobs", "tasks", "clockings", "diary", "surveys", "findings", "quotes", "quote_lines", "invoices", "invoice_lines", "payments"} {
				if len(before[table]) == 0 {
					t.Errorf("nothing of %s is handed out", table)
				}
			}
			if _, err := work.Erase(t.Context(), domain.Actor{Staff: 1, Name: "x", Roles: []domain.Role{domain.Counter}}, who.ID, who.Name, "asked"); domain.KindOf(err) != domain.Denied {
				t.Errorf("the counter erases: %v", err)
			}
			if _, err := work.Erase(t.Context(), owner, who.ID, "somebody else", "asked"); domain.FieldsOf(err)["name"] == "" {
				t.Errorf("another name: %v", err)
			}
			for _, terms := range []*customer.Account{{Days: 30, Limit: 100}, nil} {
				if err := work.GrantAccount(t.Context(), owner, who.ID, terms); err != nil {
					t.Fatal(err)
				}
			}
			picture := photographed(t, s, work, owner, before)
			e, err := work.Erase(t.Context(), owner, who.ID, " "+strings.ToUpper(who.Name), "asked by letter")
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(e.Kept, "stay for the tax office until the end of") {
				t.Errorf("kept: %q", e.Kept)
			}
			after, pictures := held(t, s, who.ID)
			wordsGone(t, typedWords(before), after)
			if pictures != 0 {
				t.Errorf("%d photos are left", pictures)
			}
			if _, err := s.Pictures().Read(picture); domain.KindOf(err) != domain.NotFound {
				t.Errorf("the picture's file: %v, want that it is gone", err)
			}
			for table, rows := range before {
				if table != "photos" && len(after[table]) != len(rows) {
					t.Errorf("%s: %d rows before, %d after", table, len(rows), len(after[table]))
				}
			}
			if _, err := work.Erase(t.Context(), owner, who.ID, after["customers"][0]["name"].(string), "again"); domain.KindOf(err) != domain.Conflict {
				t.Errorf("erased twice: %v", err)
			}
			if _, err := opened(t, database).Exec(fmt.Sprintf("UPDATE diary SET what = 'changed' WHERE job_id IN (SELECT id FROM jobs WHERE customer_id = %d)", who.ID)); err == nil {
				t.Error("the diary of an erased customer can be changed afterwards")
			}
			var named int
			if err := opened(t, database).QueryRow("SELECT count(*) FROM diary WHERE what LIKE '%" + who.Name + "%'").Scan(&named); err != nil || named != 0 {
				t.Errorf("%d entries of the diary still have the name, %v", named, err)
			}
			others(t, s, season, who.ID)
		})
	}
}

// photographed gives one of the customer's jobs a photo and returns its name.
func photographed(t *testing.T, s *store.Store, work *workshop.Workshop, owner domain.Actor, before map[string][]map[string]any) string {
	t.Helper()
	job := domain.JobID(int64(before["jobs"][0]["id"].(float64)))
	data := []byte("any bytes do for a file of the folder")
	name := photo.Name(data)
	if err := s.Pictures().Keep(name, data); err != nil {
		t.Fatal(err)
	}
	err := s.InTx(t.Context(), func(tx workshop.Tx) error {
		return tx.AddPhoto(t.Context(), &photo.Photo{Job: job, Subject: "before", Note: "her kitchen table", Content: name, Thumb: name, Width: 1, Height: 1, Size: 1, At: work.Now(), By: owner.Name})
	})
	if err != nil {
		t.Fatal(err)
	}
	return name
}

// typedWords are the texts on a customer that nothing else has.
func typedWords(before map[string][]map[string]any) map[string]bool {
	words := map[string]bool{"her kitchen table": true}
	take := func(table string, columns ...string) {
		for _, row := range before[table] {
			for _, c := range columns {
				if text, _ := row[c].(string); len(text) > 3 {
					words[text] = true
				}
			}
		}
	}
	take("customers", "name", "phone", "phone_digits", "email", "address", "note")
	take("instruments", "serial", "identity", "note")
	take("jobs", "complaint", "handed_to", "handed_note", "contents")
	take("quotes", "answer_who", "answer_note", "note")
	return words
}

func wordsGone(t *testing.T, words map[string]bool, after map[string][]map[string]any) {
	t.Helper()
	if len(words) < 6 {
		t.Fatalf("only %v was typed about them", words)
	}
	papers := map[string]bool{"invoices": true, "invoice_lines": true, "payments": true, "journal_entries": true}
	for table, rows := range after {
		for _, row := range rows {
			for column, v := range row {
				text, _ := v.(string)
				for word := range words {
					if !papers[table] && strings.Contains(strings.ToLower(text), strings.ToLower(word)) {
						t.Errorf("%s.%s still says %q", table, column, text)
					}
				}
			}
		}
	}
}

// others wants another customer to stand as before.
func others(t *testing.T, s *store.Store, season *workshop.Season, erased domain.CustomerID) {
	t.Helper()
	for _, c := range season.Customers {
		got, err := s.CustomerByID(t.Context(), c.ID)
		if err != nil {
			t.Fatal(err)
		}
		if c.ID != erased && (got.Name != c.Name || got.Phone != c.Phone) {
			t.Errorf("customer %d was %s and is %s", c.ID, c.Name, got.Name)
		}
	}
}
