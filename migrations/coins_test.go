package migrations

import (
	"database/sql"
	"strings"
	"testing"
)

// Payments and store credit from before step 21 stay as they are: the coins were not
// noted, what was kept still comes from a payment, and rows are refused as before.
func TestOldPaymentsAndStoreCreditStay(t *testing.T) {
	eachEngine(t, func(t *testing.T, dialect Dialect, connect func() *sql.DB) {
		db, ctx := connect(), t.Context()
		if err := Run(ctx, db, dialect, Options{UpTo: 20}); err != nil {
			t.Fatal(err)
		}
		conn, err := db.Conn(ctx)
		if err != nil {
			t.Fatal(err)
		}
		do := func(statement string) {
			t.Helper()
			if _, err := conn.ExecContext(ctx, statement); err != nil {
				t.Fatalf("%s: %v", statement, err)
			}
		}
		// What they refer to is left out: only these rows matter here.
		loose, strict := "PRAGMA foreign_keys = OFF", "PRAGMA foreign_keys = ON"
		if dialect == Postgres {
			loose, strict = "SET session_replication_role = replica", "SET session_replication_role = origin"
		}
		const at = "'2026-01-02 03:04:05+00:00'"
		do(loose)
		do("INSERT INTO payments (id, job_id, kind, tender, amount, rounding, given, change_given, reference, receipt, paid_at, taken_by, kept_as_credit) VALUES (1, 1, 'deposit', 'cash', 998, 2, 0, 0, '', 1, " + at + ", 'Odo', 300)")
		do("INSERT INTO store_credit_moves (customer_id, place, amount, balance, payment_id, moved_at, moved_by) VALUES (1, 1, 300, 300, 1, " + at + ", 'Odo')")
		do(strict)
		conn.Close()
		if err := Run(ctx, db, dialect, Options{}); err != nil {
			t.Fatal(err)
		}
		var rounding, coin, amount, payment int
		var tender, to string
		if err := db.QueryRow("SELECT rounding, coin_step FROM payments").Scan(&rounding, &coin); err != nil || rounding != 2 || coin != 0 {
			t.Errorf("got a rounding of %d in coins of %d, %v; want 2 and 0", rounding, coin, err)
		}
		if err := db.QueryRow("SELECT amount, payment_id, tender, paid_to FROM store_credit_moves").Scan(&amount, &payment, &tender, &to); err != nil || amount != 300 || payment != 1 || tender+to != "" {
			t.Errorf("got %d of payment %d, %q to %q, %v", amount, payment, tender, to, err)
		}
		for statement, says := range map[string]string{
			"UPDATE payments SET coin_step = 5": "never changed", "UPDATE store_credit_moves SET paid_to = 'x'": "never changed", "DELETE FROM store_credit_moves": "never",
			"INSERT INTO store_credit_moves (customer_id, place, amount, balance, moved_at, moved_by) VALUES (1, 2, -100, 200, " + at + ", 'Odo')": "store_credit_moves_out_to_somebody",
		} {
			if _, err := db.Exec(statement); err == nil || !strings.Contains(err.Error(), says) {
				t.Errorf("%s: got %v, want it refused with %q", statement, err, says)
			}
		}
	})
}
