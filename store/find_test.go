package store_test

import (
	"context"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain/customer"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// addFindable adds customers and instruments whose names hold what a search
// might take for something else.
func addFindable(t *testing.T, s *store.Store) {
	t.Helper()
	p := addPeople(t, s) // Ada Lind, 040-123 4567; Orrin No. 3, W-1042
	addJob(t, s, p.newJob(1042))
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
		for _, c := range []customer.Customer{
			{Name: "Örjan Öberg", Phone: "+358 50 777 1234", Email: "Orjan@Example.org"},
			{Name: "Hundred % Strings", Email: "ask@hundred.example"},
			{Name: "Under_Score", Phone: "555-0100"},
			{Name: `Pat O'Neil "Slim"`},
		} {
			c.Contact, c.Since = customer.ByPhone, start
			if err := tx.AddCustomer(ctx, &c); err != nil {
				return err
			}
			in := instrumentOf(c.ID, "Maker of "+c.Name, "M!1", "S_"+c.Name[:2]+"%")
			if err := tx.AddInstrument(ctx, &in); err != nil {
				return err
			}
		}
		return nil
	})
}

func TestFind(t *testing.T) {
	cases := []struct {
		words                        string
		customers, instruments, tags []string
	}{
		{"lind", []string{"Ada Lind"}, nil, nil},
		{"LIND ada", []string{"Ada Lind"}, nil, nil},
		{"ada öberg", nil, nil, nil},
		{"öberg", []string{"Örjan Öberg"}, []string{"Örjan Öberg"}, nil},
		{"ÖBERG", []string{"Örjan Öberg"}, []string{"Örjan Öberg"}, nil},
		{"orjan@example", []string{"Örjan Öberg"}, nil, nil},
		{"0401234567", []string{"Ada Lind"}, nil, nil},
		{"040 123 45 67", []string{"Ada Lind"}, nil, nil},
		{"(040)123-4567", []string{"Ada Lind"}, nil, nil},
		{"1234", []string{"Ada Lind", "Örjan Öberg"}, nil, nil},
		{"%", []string{"Hundred % Strings"}, []string{`Pat O'Neil "Slim"`, "Under_Score", "Hundred % Strings", "Örjan Öberg"}, nil},
		{"_", []string{"Under_Score"}, []string{`Pat O'Neil "Slim"`, "Under_Score", "Hundred % Strings", "Örjan Öberg"}, nil},
		{"r_s", []string{"Under_Score"}, []string{"Under_Score"}, nil},
		{"d%n", nil, nil, nil},
		{"!", nil, []string{`Pat O'Neil "Slim"`, "Under_Score", "Hundred % Strings", "Örjan Öberg"}, nil},
		{"o'neil", []string{`Pat O'Neil "Slim"`}, []string{`Pat O'Neil "Slim"`}, nil},
		{`"slim"`, []string{`Pat O'Neil "Slim"`}, []string{`Pat O'Neil "Slim"`}, nil},
		{`\`, nil, nil, nil},
		{"w-1042", nil, []string{"Ada Lind"}, nil},
		{"orrin 3", nil, []string{"Ada Lind"}, nil},
		{"1042", nil, []string{"Ada Lind"}, []string{"Ada Lind"}},
		{"#1042", nil, nil, []string{"Ada Lind"}},
		{"Tag 1042", nil, nil, []string{"Ada Lind"}},
		{"104", nil, []string{"Ada Lind"}, nil},
		{"", nil, nil, nil},
		{" \t ", nil, nil, nil},
		{"'; DROP TABLE jobs; --", nil, nil, nil},
		{strings.Repeat("ö", 200), nil, nil, nil},
		{strings.Repeat("a ", 100), []string{"Ada Lind", "Hundred % Strings", "Örjan Öberg", `Pat O'Neil "Slim"`}, []string{`Pat O'Neil "Slim"`, "Under_Score", "Hundred % Strings", "Örjan Öberg"}, nil},
		{strings.Repeat("a ", 101), nil, nil, nil},
		{"a\x00b", nil, nil, nil},
		{"a\xff", nil, nil, nil},
		{"99999999999999999999", nil, nil, nil},
		{"-1042", nil, []string{"Ada Lind"}, nil},
	}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		addFindable(t, s)
		for _, c := range cases {
			found, err := s.Find(t.Context(), c.words, 20)
			if err != nil {
				t.Errorf("%q: %v", c.words, err)
				continue
			}
			var customers, instruments, tags []string
			for _, r := range found.Customers {
				customers = append(customers, r.Name)
			}
			for _, r := range found.Instruments {
				instruments = append(instruments, r.Name)
			}
			for _, r := range found.Jobs {
				tags = append(tags, r.Name)
			}
			got, want := [][]string{customers, instruments, tags}, [][]string{c.customers, c.instruments, c.tags}
			if diff := cmp.Diff(want, got, sameValue); diff != "" {
				t.Errorf("%q: customers, instruments by owner, jobs by customer (-want +got):\n%s", c.words, diff)
			}
		}
	})
}

func TestFindCountsAndLimits(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		addFindable(t, s)
		found, err := s.Find(t.Context(), "ada", 1)
		if err != nil || len(found.Customers) != 1 {
			t.Fatalf("got %+v and error %v, want one customer", found, err)
		}
		if c := found.Customers[0]; c.Instruments != 1 || c.OpenJobs != 1 || c.Phone != "040-123 4567" {
			t.Errorf("got %+v, want 1 instrument, 1 open job and the phone number", c)
		}
		found, err = s.Find(t.Context(), "orrin", 1)
		if err != nil || len(found.Instruments) != 1 {
			t.Fatalf("got %+v and error %v, want one instrument", found, err)
		}
		if i := found.Instruments[0]; i.Jobs != 1 || i.Title != "Orrin No. 3, steel-string guitar" || i.Serial != "W-1042" {
			t.Errorf("got %+v, want one job, the title and the serial number", i)
		}
		for limit, want := range map[int]int{0: 0, -1: 0, 1: 1, 3: 3, 20: 4} {
			found, err := s.Find(t.Context(), "maker", limit)
			if err != nil || len(found.Instruments) != want {
				t.Errorf("limit %d: got %d instruments and error %v, want %d", limit, len(found.Instruments), err, want)
			}
		}
	})
}
