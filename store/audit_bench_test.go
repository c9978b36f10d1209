package store_test

import (
	"fmt"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"gorm.io/gorm"

	"winterbench/migrations"
	"winterbench/store"
	"winterbench/store/storetest"
)

// shared are the tables that a multiplied shop has once.
var shared = map[string]bool{
	"shop": true, "series": true, "task_editions": true, "air_places": true, "meters": true, "calibrations": true,
	"air_readings": true, "alarm_answers": true, "scenarios": true, "climates": true, "climate_months": true, "arrival_guesses": true, "periods": true, "period_changes": true,
}

// differing are columns whose texts must differ between the copies of a row.
var differing = map[string]bool{"staff.name": true, "staff.name_key": true, "holds.place": true, "api_tokens.token_hash": true, "parts.code": true, "suppliers.name": true, "suppliers.name_key": true, "feeds.secret_hash": true, "job_links.secret_hash": true}

// counted are columns with numbers of a series.
var counted = map[string]string{"jobs.tag": "tags", "quotes.number": "quotes", "invoices.number": "invoices", "payments.receipt": "receipts", "purchase_orders.number": "orders", "credit_notes.number": "credit notes"}

// multiply makes a shop of n times its jobs out of the invented one: every copy has
// its own people, customers, instruments and numbers, so that all rules hold.
func multiply(t testing.TB, s *store.Store, n int) {
	t.Helper()
	err := s.DB().Transaction(func(db *gorm.DB) error {
		if s.Dialect() == migrations.Postgres { // a statement that makes a million rows may take its time
			if err := db.Exec("SET LOCAL statement_timeout = 0").Error; err != nil {
				return err
			}
		}
		copies, err := s.Copying(db)
		if err != nil {
			return err
		}
		for _, c := range copies {
			if shared[c.Table] || c.Highest == 0 && len(c.Steps) == 1 {
				continue
			}
			if err := db.Exec(copyOf(c, n)).Error; err != nil {
				return fmt.Errorf("%s: %w", c.Table, err)
			}
		}
		for column, series := range counted {
			table, name, _ := strings.Cut(column, ".")
			if err := db.Exec("UPDATE series SET last = (SELECT coalesce(max("+name+"), 0) FROM "+table+") WHERE name = ?", series).Error; err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// copyOf is the statement that adds n-1 copies of each row of a table.
func copyOf(c store.CopiedTable, n int) string {
	var into, from []string
	for _, column := range c.Columns {
		into = append(into, `"`+column+`"`)
		x := `x."` + column + `"`
		switch step, ok := c.Steps[column]; {
		case ok && !shared[step.Table]:
			x = fmt.Sprintf("%s + k.n * %d", x, step.Highest)
		case differing[c.Table+"."+column]:
			x = fmt.Sprintf("%s || ' ' || k.n", x)
		case counted[c.Table+"."+column] != "":
			x = fmt.Sprintf("%s + k.n * (SELECT last FROM series WHERE name = '%s')", x, counted[c.Table+"."+column])
		}
		from = append(from, x)
	}
	return fmt.Sprintf(`WITH RECURSIVE k(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM k WHERE n < %d)
		INSERT INTO %s (%s) SELECT %s FROM %s x, k ORDER BY k.n`, n-1, c.Table, strings.Join(into, ", "), strings.Join(from, ", "), c.Table)
}

// BenchmarkAudit audits a house with 100,000 jobs in its books. The environment
// variable WINTERBENCH_BENCH_JOBS asks for another number.
func BenchmarkAudit(b *testing.B) {
	jobs := 100_000
	if n, err := strconv.Atoi(os.Getenv("WINTERBENCH_BENCH_JOBS")); err == nil {
		jobs = n
	}
	d := inventedShop(b)
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			if err := s.Load(b.Context(), d); err != nil {
				b.Fatal(err)
			}
			multiply(b, s, (jobs+len(d.Jobs)-1)/len(d.Jobs))
			runtime.GC()
			for b.Loop() {
				r := audited(b, s)
				wantClean(b, r, notInDemo)
				b.ReportMetric(float64(r.Jobs), "jobs")
			}
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			b.ReportMetric(float64(m.HeapInuse)/1e6, "MB-heap-after")
			b.ReportMetric(float64(highWater())/1e3, "MB-resident-peak")
		})
	}
}

// highWater is the most memory that the process had, in kB; 0 where the system
// does not tell.
func highWater() int {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			n, _ := strconv.Atoi(strings.Fields(rest)[0])
			return n
		}
	}
	return 0
}
