package demo

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // the driver "sqlite", to break what the program itself does not let be broken

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
)

// openShop loads the invented shop into a file.
func openShop(t *testing.T) (*store.Store, string, *workshop.Season) {
	t.Helper()
	season, file := usual(t), filepath.Join(t.TempDir(), "shop.db")
	s, err := store.Open(t.Context(), file, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	if err := s.Load(t.Context(), season); err != nil {
		t.Fatal(err)
	}
	return s, file, season
}

// Every report can be read of the invented shop, debits and credits of the journal
// come to the same, and only who may read the earnings gets any.
func TestReportsOfTheDemo(t *testing.T) {
	s, _, season := openShop(t)
	owner := domain.Actor{Staff: 1, Name: "Solveig", Roles: domain.Roles()}
	ask := workshop.Ask{Customer: season.Customers[0].ID}
	for _, r := range workshop.Reports() {
		table, asked, err := workshop.ReadReport(t.Context(), s, owner, r.Name, ask, present)
		if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		if table.Title == "" || len(table.Columns) < 3 || r.Span && (asked.From == "" || asked.To == "") {
			t.Errorf("%s: %q with %d columns from %s to %s", r.Name, table.Title, len(table.Columns), asked.From, asked.To)
		}
		if r.Name == "trial-balance" && (table.Total == nil || table.Total[3].Amount != table.Total[4].Amount || table.Total[3].Amount == 0) {
			t.Errorf("debits and credits of the month: %+v", table.Total)
		}
	}
	if _, _, err := workshop.ReadReport(t.Context(), s, owner, "profit", ask, present); domain.KindOf(err) != domain.NotFound {
		t.Errorf("a report that is none: %v", err)
	}
	if _, _, err := workshop.ReadReport(t.Context(), s, domain.Actor{Staff: 2, Roles: []domain.Role{domain.Bench}}, "margin", ask, present); domain.KindOf(err) != domain.Denied {
		t.Errorf("the bench reads the margin: %v", err)
	}
	if _, _, err := workshop.ReadReport(t.Context(), s, owner, "statement", workshop.Ask{From: "2026-02-30", To: "2020-01-01"}, present); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a day that is none, an end before the start, no customer: %v", err)
	}
	month, err := workshop.ReadBooksMonth(t.Context(), s, "2025-01", present)
	if err != nil || len(month.Checks) == 0 || month.Answer == "" {
		t.Errorf("January 2025: %+v, %v", month, err)
	}
}

// broken are single statements and the rule of the books that each breaks.
var broken = map[string]string{
	"UPDATE jobs SET stage = 'ready' WHERE id = (SELECT min(id) FROM jobs WHERE stage = 'collected')":                                                                                                "stage",
	"UPDATE quote_lines SET net = net + 1 WHERE id = (SELECT min(id) FROM quote_lines)":                                                                                                              "totals",
	"UPDATE invoices SET total = total + 100 WHERE id = (SELECT max(id) FROM invoices)":                                                                                                              "totals",
	"UPDATE quotes SET yes_total = yes_total + 500 WHERE id = (SELECT min(id) FROM quotes WHERE answer_outcome = 'whole')":                                                                           "agreed",
	"UPDATE series SET last = last + 1 WHERE name = 'invoices'":                                                                                                                                      "series",
	"UPDATE payments SET amount = amount + 10000 WHERE id = (SELECT max(id) FROM payments WHERE kind = 'payment')":                                                                                   "payments",
	"UPDATE payments SET amount = amount - 7, rounding = 7 WHERE id = (SELECT min(id) FROM payments WHERE kind = 'payment' AND tender = 'cash')":                                                     "cash rounding",
	"UPDATE clockings SET ended_at = started_at WHERE id = (SELECT min(id) FROM clockings)":                                                                                                          "clocks",
	"INSERT INTO waits (job_id, task_id, kind, started_at, note, started_by) SELECT job_id, id, 'glue', done_at, '', '' FROM tasks WHERE id = (SELECT min(id) FROM tasks WHERE done_at IS NOT NULL)": "tasks",
	"UPDATE readings SET noted_at = '2020-02-02 02:02:02.000000+00:00' WHERE id = (SELECT min(id) FROM readings)":                                                                                    "readings",
	"UPDATE jobs SET promised = '2020-01-01' WHERE id = (SELECT max(job_id) FROM promises WHERE said IS NOT NULL)":                                                                                   "promises",
	"UPDATE jobs SET comeback_of = id WHERE id = (SELECT max(id) FROM jobs)":                                                                                                                         "comebacks",
	"INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at, result) SELECT id, 'half', 'take money x', created_at, NULL FROM staff WHERE id = 1":                                     "request keys",
	"INSERT INTO waits (job_id, kind, started_at, note, started_by) VALUES (987654, 'glue', '2026-01-01 00:00:00.000000+00:00', '', '')":                                                             "references",
	"UPDATE journal_postings SET debit = debit + 1 WHERE debit > 0 AND entry_id = (SELECT max(id) FROM journal_entries)":                                                                             "journal",
	"UPDATE stock_levels SET quantity = quantity + 1000 WHERE part_id = (SELECT min(part_id) FROM stock_levels WHERE quantity > 0)":                                                                  "shelf",
}

// The audit finds nothing in the invented shop, and each thing that is broken by hand.
func TestAuditOfTheDemo(t *testing.T) {
	s, file, _ := openShop(t)
	report, err := s.Audit(t.Context(), nil)
	if err != nil || !report.Clean() {
		t.Fatalf("the invented shop: %+v, %v", report.Breaks, err)
	}
	breakAll(t, file)
	report, err = s.Audit(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]int{}
	for _, b := range report.Breaks {
		found[b.Rule]++
		if strings.TrimSpace(b.Text) == "" {
			t.Errorf("a break of %s says nothing", b.Rule)
		}
	}
	for statement, rule := range broken {
		if found[rule] == 0 {
			t.Errorf("nothing is found of the rule %q after %s", rule, statement)
		}
	}
}

// breakAll breaks one thing after the other, without what guards them.
func breakAll(t *testing.T, file string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+file+"?_pragma=foreign_keys(0)&_pragma=ignore_check_constraints(1)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT name FROM sqlite_master WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	var drops []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		drops = append(drops, "DROP TRIGGER "+name)
	}
	if err := rows.Close(); err != nil {
		t.Fatal(err)
	}
	for _, statement := range drops {
		if _, err := db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	for statement := range broken {
		res, err := db.Exec(statement)
		if err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
		if n, _ := res.RowsAffected(); n == 0 {
			t.Errorf("%s changes nothing", statement)
		}
	}
}

// A customer whose papers are settled is erased, and the papers are named; with an
// instrument in the house they are not.
func TestErasingACustomerOfTheDemo(t *testing.T) {
	s, _, season := openShop(t)
	work := workshop.New(s, fixed{present}, workshop.WithPictures(s.Pictures()))
	owner := domain.Actor{Staff: 1, Name: "Solveig", Roles: domain.Roles()}
	open := map[domain.CustomerID]bool{}
	for _, j := range season.Jobs {
		if j.Collected.IsZero() && j.Unclaimed.IsZero() {
			open[j.Customer] = true
		}
	}
	erased, refused := 0, 0
	for _, c := range season.Customers[:12] {
		e, err := work.Erase(t.Context(), owner, c.ID, c.Name, "asked by letter")
		switch kind := domain.KindOf(err); {
		case err == nil && !open[c.ID]:
			erased++
			if got, err := s.CustomerByID(t.Context(), c.ID); err != nil || got.Name != fmt.Sprintf("erased customer %d", c.ID) || e.Kept == "" {
				t.Errorf("erased: %+v, %v, kept %q", got, err, e.Kept)
			}
		case kind == domain.Conflict:
			refused++
		default:
			t.Errorf("%s: %v, with something in the house: %v", c.Name, err, open[c.ID])
		}
	}
	if erased == 0 {
		t.Error("nobody could be erased")
	}
	t.Logf("%d erased, %d refused", erased, refused)
	if _, err := work.Erase(t.Context(), owner, season.Customers[0].ID, "somebody else", ""); len(domain.FieldsOf(err)) != 2 {
		t.Errorf("another name and no reason: %v", err)
	}
}

type fixed struct{ at time.Time }

func (f fixed) Now() time.Time { return f.at }
