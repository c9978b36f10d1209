package store

import (
	"strings"
	"testing"

	"gorm.io/gorm"

	"winterbench/migrations"
)

// A lot is found by indexes, however large the books are: read whole for each lot, a
// table makes the audit grow with the square of the books.
func TestLotsAreFoundByIndex(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		if s.dialect != migrations.Postgres {
			t.Skip("SQLite joins by indexes alone")
		}
		err := s.inReadTx(t.Context(), func(db *gorm.DB) error {
			r := &auditReader{ctx: t.Context(), db: db, store: s}
			err := r.byIndex(func() error {
				for name, query := range map[string]string{
					"tasks": lotTasks, "waits": lotWaits, "holds": lotHolds, "readings": lotReadings, "clockings": lotClockings, "promises": lotPromises,
					"quotes": lotQuotes, "lines of quotes": lotQuoteLines, "invoices": lotInvoices, "lines of invoices": lotInvoiceLines, "payments": lotPayments,
					"credit notes": lotCredits, "lines of credit notes": lotCreditLines, "debts": lotWriteOffs, "journal": lotEntries, "postings": lotPostings, "moves": lotMoves,
					"lines of sales": saleLines, "payments of sales": salePayments, "credit notes of sales": saleCredits, "lines that came back": saleBack,
					"debts of sales": saleWriteOffs, "journal of sales": saleEntries, "postings of sales": salePostings,
				} {
					var plan []string
					if err := db.Raw("EXPLAIN "+query, 1, 500).Scan(&plan).Error; err != nil {
						return err
					}
					for _, line := range plan {
						if strings.Contains(line, "Seq Scan") || strings.Contains(line, "Hash Join") || strings.Contains(line, "Merge Join") {
							t.Errorf("%s: %s", name, strings.TrimSpace(line))
						}
					}
				}
				return nil
			})
			if err != nil {
				return err
			}
			var is string
			if err := db.Raw("SHOW enable_hashjoin").Scan(&is).Error; err != nil {
				return err
			}
			if is != "on" {
				t.Errorf("hash joins are %s after the lots; the search for references to nothing needs them", is)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}
