package store_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"gorm.io/gorm"

	"winterbench/migrations"
	"winterbench/store"
	"winterbench/store/storetest"
)

// planter breaks one thing in the books with plain SQL, round everything that
// guards them.
type planter struct {
	t  *testing.T
	s  *store.Store
	db *gorm.DB
}

// do runs a statement that must change n rows.
func (p planter) do(n int64, query string, args ...any) {
	p.t.Helper()
	res := p.db.Exec(query, args...)
	if res.Error != nil {
		p.t.Fatalf("%s: %v", query, res.Error)
	}
	if res.RowsAffected != n {
		p.t.Fatalf("%s: changed %d rows, want %d", query, res.RowsAffected, n)
	}
}

// row reads numbers that must be there.
func (p planter) row(query string, args ...any) []int64 {
	p.t.Helper()
	rows, err := p.db.Raw(query, args...).Rows()
	if err != nil {
		p.t.Fatalf("%s: %v", query, err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		p.t.Fatal(err)
	}
	if !rows.Next() {
		p.t.Fatalf("%s: no row, the invented shop must have one", query)
	}
	out := make([]int64, len(names))
	into := make([]any, len(names))
	for i := range out {
		into[i] = &out[i]
	}
	if err := rows.Scan(into...); err != nil {
		p.t.Fatal(err)
	}
	return out
}

// unguard takes away what would refuse a broken row, on one connection: references
// before the transaction, the rest, which comes back with its end, in it.
func unguard(db *gorm.DB, d migrations.Dialect, fn func(db *gorm.DB) error) error {
	if d == migrations.SQLite {
		for _, pragma := range []string{"foreign_keys = OFF", "ignore_check_constraints = ON"} {
			if err := db.Exec("PRAGMA " + pragma).Error; err != nil {
				return err
			}
		}
		defer db.Exec("PRAGMA foreign_keys = ON")
		defer db.Exec("PRAGMA ignore_check_constraints = OFF")
	}
	return db.Transaction(func(db *gorm.DB) error {
		if d == migrations.Postgres { // no triggers, no references
			if err := db.Exec("SET LOCAL session_replication_role = replica").Error; err != nil {
				return err
			}
		} else if err := dropTriggers(db); err != nil {
			return err
		}
		return fn(db)
	})
}

func dropTriggers(db *gorm.DB) error {
	var triggers []string
	if err := db.Raw("SELECT name FROM sqlite_master WHERE type = 'trigger'").Scan(&triggers).Error; err != nil {
		return err
	}
	for _, name := range triggers {
		if err := db.Exec("DROP TRIGGER " + name).Error; err != nil {
			return err
		}
	}
	return nil
}

// dropCheck takes a check away that SQLite's connection does not look at anyhow.
func (p planter) dropCheck(table, name string) {
	if p.s.Dialect() == migrations.Postgres {
		p.do(0, "ALTER TABLE "+table+" DROP CONSTRAINT "+name)
	}
}

// keepAfter brings the file of a picture back when the test ends.
func (p planter) keepAfter(name string) {
	p.t.Helper()
	data, err := p.s.Pictures().Read(name)
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() {
		if err := p.s.Pictures().Keep(name, data); err != nil {
			p.t.Error(err)
		}
	})
}

// fault is a thing that is broken, with what the audit must say of it.
type fault struct {
	name  string
	rule  string
	plant func(p planter) []string // what the text of the first break must hold
	also  []string                 // rules of further breaks that follow from it
}

var faults = []fault{
	{"a stage by hand", "stage", func(p planter) []string {
		id := p.row("SELECT id, tag FROM jobs WHERE stage = 'collected' ORDER BY id LIMIT 1")
		p.do(1, "UPDATE jobs SET stage = 'ready' WHERE id = ?", id[0])
		return []string{fmt.Sprintf("tag %d (job %d)", id[1], id[0]), `"ready"`, `"collected"`}
	}, nil},
	{"another time of a stage", "stage", func(p planter) []string {
		id := p.row("SELECT id FROM jobs ORDER BY id LIMIT 1")
		p.do(1, "UPDATE jobs SET stage_since = ? WHERE id = ?", time.Date(2021, 1, 2, 3, 4, 5, 0, time.UTC), id[0])
		return []string{fmt.Sprintf("job %d", id[0]), "2021-01-02 03:04:05"}
	}, nil},
	{"a line of a quote", "totals", func(p planter) []string {
		id := p.row("SELECT q.id, q.job_id, l.id FROM quotes q JOIN quote_lines l ON l.quote_id = q.id AND l.place = 1 ORDER BY q.id LIMIT 1")
		p.do(1, "UPDATE quote_lines SET net = net + 1 WHERE id = ?", id[2])
		return []string{fmt.Sprintf("(job %d)", id[1]), fmt.Sprintf("(quote %d)", id[0]), "line 1"}
	}, nil},
	{"the price on an invoice", "totals", func(p planter) []string {
		id := p.row("SELECT v.number, v.job_id, l.id FROM invoices v JOIN invoice_lines l ON l.invoice_id = v.id AND l.place = 1 WHERE l.net > 0 ORDER BY v.id LIMIT 1")
		p.do(1, "UPDATE invoice_lines SET price = '1' WHERE id = ?", id[2])
		return []string{fmt.Sprintf("(job %d), invoice %d", id[1], id[0])}
	}, nil},
	{"the total of an invoice for lists", "totals", func(p planter) []string {
		id := p.row("SELECT number, id FROM invoices ORDER BY id DESC LIMIT 1")
		p.do(1, "UPDATE invoices SET total = total + 100 WHERE id = ?", id[1])
		return []string{fmt.Sprintf("invoice %d", id[0]), "for lists"}
	}, nil},
	{"more than was agreed", "agreed", func(p planter) []string {
		id := p.row("SELECT q.id, q.job_id FROM quotes q WHERE q.answer_outcome = 'whole' AND NOT EXISTS (SELECT 1 FROM invoices v WHERE v.quote_id = q.id) ORDER BY q.id LIMIT 1")
		p.do(1, "UPDATE quotes SET yes_total = yes_total + 500 WHERE id = ?", id[0])
		return []string{fmt.Sprintf("(quote %d)", id[0]), fmt.Sprintf("(job %d)", id[1]), "kept as agreed"}
	}, nil},
	{"an invoice that is missing", "series", func(p planter) []string {
		last := p.row("SELECT max(number) FROM invoices")[0]
		p.do(1, "UPDATE invoices SET number = number + 1 WHERE number = ?", last)
		p.do(1, "UPDATE series SET last = last + 1 WHERE name = 'invoices'")
		return []string{fmt.Sprintf("invoice %d is missing between %d and %d", last, last-1, last+1)}
	}, nil},
	{"a series ahead of its numbers", "series", func(p planter) []string {
		p.do(1, "UPDATE series SET last = last + 1 WHERE name = 'receipts'")
		last := p.row("SELECT last FROM series WHERE name = 'receipts'")[0]
		return []string{fmt.Sprintf("receipt %d was the last", last), fmt.Sprintf("is %d", last-1)}
	}, nil},
	{"paid beyond what was owed", "payments", func(p planter) []string {
		id := p.row("SELECT id, job_id, receipt FROM payments p WHERE kind = 'payment' AND given = 0 AND tender <> 'cash' AND NOT EXISTS (SELECT 1 FROM payments o WHERE o.job_id = p.job_id AND o.id > p.id) ORDER BY id LIMIT 1")
		p.do(1, "UPDATE payments SET amount = amount + 10000 WHERE id = ?", id[0])
		return []string{fmt.Sprintf("(job %d), receipt %d (payment %d)", id[1], id[2], id[0]), "are owed"}
	}, []string{"posted", "receivables"}},
	{"given back beyond what was paid", "payments", func(p planter) []string {
		id := p.row("SELECT p.id, p.job_id, s.last + 1 FROM payments p JOIN series s ON s.name = 'receipts' WHERE p.kind = 'payment' ORDER BY p.id LIMIT 1")
		p.do(1, `INSERT INTO payments (job_id, invoice_id, kind, tender, amount, rounding, given, change_given, reference, receipt, paid_at, taken_by)
			SELECT job_id, invoice_id, 'refund', 'card', -777, 0, 0, 0, '', ?, paid_at, taken_by FROM payments WHERE id = ?`, id[2], id[0])
		p.do(1, "UPDATE series SET last = last + 1 WHERE name = 'receipts'")
		return []string{fmt.Sprintf("(job %d), receipt %d", id[1], id[2]), "gives back more"}
	}, []string{"posted", "receivables"}},
	{"a rounding without a coin", "cash rounding", func(p planter) []string {
		id := p.row("SELECT id, job_id, receipt FROM payments WHERE tender = 'card' ORDER BY id LIMIT 1")
		p.do(1, "UPDATE payments SET amount = amount - 2, rounding = 2 WHERE id = ?", id[0])
		return []string{fmt.Sprintf("receipt %d (payment %d)", id[2], id[0]), "paid by card"}
	}, []string{"posted"}},
	{"a rounding beyond the coin of its day", "cash rounding", func(p planter) []string {
		id := p.row("SELECT id, receipt FROM payments WHERE tender = 'cash' AND rounding <> 0 AND coin_step = 5 ORDER BY id LIMIT 1")
		p.do(1, "UPDATE payments SET coin_step = 1 WHERE id = ?", id[0])
		return []string{fmt.Sprintf("receipt %d (payment %d)", id[1], id[0]), "the smallest coin was 0.01"}
	}, nil},
	{"two clocks at once", "clocks", func(p planter) []string {
		id := p.row("SELECT c.id, c.job_id, t.id, t.job_id FROM clockings c JOIN tasks t ON t.job_id <> c.job_id WHERE c.replaces IS NULL AND c.ended_at IS NOT NULL ORDER BY c.id, t.id LIMIT 1")
		p.do(1, `INSERT INTO clockings (job_id, task_id, staff_id, name, started_at, ended_at, reason)
			SELECT ?, ?, staff_id, name, started_at, ended_at, '' FROM clockings WHERE id = ?`, id[3], id[2], id[0])
		return []string{fmt.Sprintf("clocking %d on job %d and clocking", id[0], id[1]), "two clocks at once", fmt.Sprintf("on job %d, at", id[3])}
	}, nil},
	{"a clocking that ends as it starts", "clocks", func(p planter) []string {
		id := p.row("SELECT id, job_id FROM clockings c WHERE ended_at IS NOT NULL AND replaces IS NULL ORDER BY id LIMIT 1")
		p.dropCheck("clockings", "clockings_end_after_start")
		p.do(1, "UPDATE clockings SET ended_at = started_at WHERE id = ?", id[0])
		return []string{fmt.Sprintf("(job %d): clocking %d ends", id[1], id[0])}
	}, nil},
	{"a wait on a finished task", "tasks", func(p planter) []string {
		id := p.row("SELECT t.id, j.id FROM jobs j JOIN tasks t ON t.job_id = j.id AND t.done_at IS NOT NULL WHERE j.stage = 'collected' ORDER BY t.id LIMIT 1")
		p.do(1, "INSERT INTO waits (job_id, task_id, kind, started_at, note, started_by) SELECT id, ?, 'glue', arrived_at, '', '' FROM jobs WHERE id = ?", id[0], id[1])
		return []string{fmt.Sprintf("(job %d): task %d is done, but wait", id[1], id[0])}
	}, nil},
	{"two instruments in a place", "holds", func(p planter) []string {
		id := p.row(`SELECT a.id, a.job_id, b.id, b.job_id FROM holds a JOIN holds b ON b.place <> a.place AND b.started_at > a.started_at AND b.started_at < a.ended_at
			WHERE b.ended_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM holds c WHERE c.place = a.place AND c.id <> a.id AND c.started_at < b.ended_at AND c.ended_at > b.started_at) ORDER BY a.id, b.id LIMIT 1`)
		p.do(1, "UPDATE holds SET place = (SELECT place FROM holds WHERE id = ?) WHERE id = ?", id[0], id[2])
		return []string{fmt.Sprintf("hold %d of job %d and hold %d of job %d", id[0], id[1], id[2], id[3])}
	}, nil},
	{"a reading outside its hold", "readings", func(p planter) []string {
		id := p.row("SELECT r.id, h.id, h.job_id FROM readings r JOIN holds h ON h.id = r.hold_id WHERE r.replaces IS NULL AND NOT EXISTS (SELECT 1 FROM readings c WHERE c.replaces = r.id) ORDER BY r.id LIMIT 1")
		p.do(1, "UPDATE readings SET noted_at = ? WHERE id = ?", time.Date(2020, 2, 2, 2, 2, 2, 0, time.UTC), id[0])
		return []string{fmt.Sprintf("(job %d): reading %d", id[2], id[0]), fmt.Sprintf("hold %d", id[1]), "2020-02-02"}
	}, nil},
	{"another day than was said", "promises", func(p planter) []string {
		id := p.row("SELECT j.id, j.tag FROM jobs j JOIN promises m ON m.job_id = j.id WHERE j.promised IS NOT NULL AND m.said IS NOT NULL ORDER BY j.id LIMIT 1")
		p.do(1, "UPDATE jobs SET promised = '2020-01-01' WHERE id = ?", id[0])
		return []string{fmt.Sprintf("tag %d (job %d) is promised for 2020-01-01", id[1], id[0])}
	}, nil},
	{"comebacks in a circle", "comebacks", func(p planter) []string {
		id := p.row("SELECT id, comeback_of FROM jobs j WHERE comeback_of IS NOT NULL AND (SELECT o.comeback_of FROM jobs o WHERE o.id = j.comeback_of) IS NULL ORDER BY id LIMIT 1")
		p.do(1, "UPDATE jobs SET comeback_of = ? WHERE id = ?", id[0], id[1])
		return []string{fmt.Sprintf("job %d is a comeback of job %d, which arrived later", id[1], id[0])}
	}, []string{"comebacks"}},
	{"a key without a result", "request keys", func(p planter) []string {
		p.do(1, "INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at, result) SELECT id, 'half-way', 'take money x', created_at, NULL FROM staff ORDER BY id LIMIT 1")
		return []string{`key "half-way"`, "has no result"}
	}, nil},
	{"a key whose invoice is not there", "request keys", func(p planter) []string {
		p.do(1, "INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at, result) SELECT id, 'gone', 'issue an invoice x', created_at, 987654 FROM staff ORDER BY id LIMIT 1")
		return []string{`key "gone"`, "result 987654"}
	}, nil},
	{"a key whose pay-out is not there", "request keys", func(p planter) []string {
		p.do(1, "INSERT INTO request_keys (staff_id, request_key, used_for, claimed_at, result) SELECT id, 'paid out', 'pay store credit out x', created_at, 987654 FROM staff ORDER BY id LIMIT 1")
		return []string{`key "paid out"`, "result 987654"}
	}, nil},
	{"a photo that was changed", "photos", func(p planter) []string {
		name, id := p.photo()
		p.keepAfter(name)
		if err := os.WriteFile(filepath.Join(p.s.Pictures().Dir(), name[:2], name+".jpg"), []byte("another picture"), 0o600); err != nil {
			p.t.Fatal(err)
		}
		return []string{fmt.Sprintf("photo %d", id), "was changed", name}
	}, nil},
	{"a photo that is gone", "photos", func(p planter) []string {
		name, id := p.photo()
		p.keepAfter(name)
		if err := os.Remove(filepath.Join(p.s.Pictures().Dir(), name[:2], name+".jpg")); err != nil {
			p.t.Fatal(err)
		}
		return []string{fmt.Sprintf("photo %d", id), "cannot be read"}
	}, nil},
	{"a wait of no job", "references", func(p planter) []string {
		p.do(1, "INSERT INTO waits (job_id, kind, started_at, note, started_by) SELECT 987654, 'glue', arrived_at, '', '' FROM jobs ORDER BY id LIMIT 1")
		return []string{"of waits: its job_id is 987654", "no such row of jobs"}
	}, nil},
	{"a check of another job's task", "belongs", func(p planter) []string {
		id := p.row("SELECT c.id, c.job_id, t.id, t.job_id FROM checks c JOIN tasks t ON t.job_id <> c.job_id ORDER BY c.id, t.id LIMIT 1")
		p.do(1, "UPDATE checks SET task_id = ? WHERE id = ?", id[2], id[0])
		return []string{fmt.Sprintf("check %d of job %d names task %d, which is of job %d", id[0], id[1], id[2], id[3])}
	}, nil},
	{"a clocking on another job's task", "belongs", func(p planter) []string {
		id := p.row("SELECT c.id, c.job_id, t.id FROM clockings c JOIN tasks t ON t.job_id <> c.job_id WHERE c.ended_at IS NOT NULL ORDER BY c.id, t.id LIMIT 1")
		p.do(1, "UPDATE clockings SET task_id = ? WHERE id = ?", id[2], id[0])
		return []string{fmt.Sprintf("(job %d): clocking %d names task %d", id[1], id[0], id[2])}
	}, nil},
}

// photo names the file of the first photo, with its identity.
func (p planter) photo() (string, int64) {
	p.t.Helper()
	var r struct {
		ID      int64
		Content string
	}
	if err := p.db.Raw("SELECT id, content FROM photos ORDER BY id LIMIT 1").Scan(&r).Error; err != nil || r.ID == 0 {
		p.t.Fatalf("got photo %d and error %v; the invented shop must have one", r.ID, err)
	}
	return r.Content, r.ID
}

var errUndo = errors.New("the fault is taken back")

// Each fault is planted alone into the invented shop, in a transaction that is
// taken back; the audit must name it and nothing else.
func TestAuditFindsPlantedFaults(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := inventedShop(t)
		if err := s.Load(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		for _, f := range slices.Concat(faults, bookFaults, saleFaults) {
			t.Run(f.name, func(t *testing.T) {
				err := s.DB().WithContext(t.Context()).Connection(func(db *gorm.DB) error {
					return unguard(db, s.Dialect(), func(db *gorm.DB) error {
						wantFault(t, s, db, f)
						return errUndo
					})
				})
				if !errors.Is(err, errUndo) {
					t.Fatal(err)
				}
			})
		}
		wantClean(t, audited(t, s), notInDemo) // all of them are taken back
	})
}

func wantFault(t *testing.T, s *store.Store, db *gorm.DB, f fault) {
	t.Helper()
	want := f.plant(planter{t, s, db})
	r, err := s.AuditIn(t.Context(), db)
	if err != nil {
		t.Fatal(err)
	}
	var rules []string
	for _, b := range r.Breaks {
		t.Logf("%s: %s", b.Rule, b.Text)
		rules = append(rules, b.Rule)
		for _, part := range want {
			if b.Rule == f.rule && len(rules) == 1 && !strings.Contains(b.Text, part) {
				t.Errorf("got %q, want it to hold %q", b.Text, part)
			}
		}
	}
	if diff := cmp.Diff(append([]string{f.rule}, f.also...), rules); diff != "" {
		t.Errorf("broken rules (-want +got):\n%s", diff)
	}
}
