package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/migrations"
)

// Load puts a whole shop with its history into an empty database, all of it or
// nothing. Every record keeps the identity it has, and those to come go on from
// the highest. A database that holds anything already is a conflict.
func (s *Store) Load(ctx context.Context, d *workshop.Season) error {
	err := s.inTx(ctx, func(db *gorm.DB) error {
		if err := refuseFull(db); err != nil {
			return err
		}
		for _, load := range []func() error{
			func() error { return s.loadPictures(d.Pictures) },
			func() error { return loadShop(db, d.Shop) },
			func() error { return loadStaff(db, d.Staff) },
			func() error { return loadCustomers(db, d.Customers) },
			func() error { return loadEach(db, d.Instruments, loadedInstrument) },
			func() error { return loadEach(db, d.Suppliers, loadedSupplier) },
			func() error { return loadEach(db, d.Parts, loadedPart) },
			func() error { return loadEditions(db, d.Editions) },
			func() error { return loadAir(db, d) },
			func() error { return loadEach(db, d.AirReadings, rowOfAirReading) },
			func() error { return loadEach(db, d.AirAnswers, rowOfAlarmAnswer) },
			func() error { return loadJobs(db, d.Jobs, d.Moves) },
			func() error { return loadSurveys(db, d.Surveys) },
			func() error { return loadEach(db, d.Photos, rowOfPhoto) },
			func() error { return loadQuotes(db, d.Quotes) },
			func() error { return loadEach(db, d.Promises, rowOfPromise) },
			func() error { return loadStock(db, d) },
			func() error { return loadInvoices(db, d.Invoices) },
			func() error { return loadEach(db, d.Payments, rowOfPayment) },
			func() error { return s.loadJournal(db, d.Journal) },
			func() error { return loadDiary(db, d.Diary) },
			func() error { return loadSeries(db, d.Series) },
		} {
			if err := load(); err != nil {
				return err
			}
		}
		return s.countersForward(db)
	})
	if err != nil {
		return fmt.Errorf("load a season: %w", err)
	}
	return nil
}

// refuseFull makes sure that nothing was set up or brought in before.
func refuseFull(db *gorm.DB) error {
	for _, table := range []string{"shop", "staff", "customers", "parts", "task_editions", "air_places", "meters", "jobs", "diary"} {
		var n int64
		if err := db.Raw("SELECT count(*) FROM " + table).Scan(&n).Error; err != nil {
			return err
		}
		if n > 0 {
			return domain.Conflictf("the database is not empty (%d rows of %s); name one that does not exist yet", n, table)
		}
	}
	return nil
}

// loadPictures keeps the files of photos. Those of a load that fails stay, which
// does no harm.
func (s *Store) loadPictures(all map[string][]byte) error {
	for name, data := range all {
		if err := s.pictures.Keep(name, data); err != nil {
			return err
		}
	}
	return nil
}

// loadEach inserts records that have identities.
func loadEach[V, R any, P rowOf[R]](db *gorm.DB, values []V, row func(*V) R) error {
	rows := make([]R, len(values))
	for i := range values {
		rows[i] = row(&values[i])
	}
	return loadRows[R, P](db, rows)
}

func loadShop(db *gorm.DB, shop workshop.Shop) error {
	shop.Version = 0
	row, err := rowOfShop(&shop)
	if err != nil {
		return err
	}
	return db.Create(&row).Error
}

func loadStaff(db *gorm.DB, people []workshop.Staff) error {
	rows := make([]staffRow, len(people))
	for i := range people {
		var err error
		if rows[i], err = rowOfStaff(&people[i]); err != nil {
			return err
		}
		rows[i].Version = max(rows[i].Version, 1)
	}
	return loadRows(db, rows)
}

func loadedInstrument(in *customer.Instrument) instrumentRow {
	row := rowOfInstrument(in)
	row.Version = max(row.Version, 1)
	return row
}

func loadedPart(p *stock.Part) partRow {
	row := rowOfPart(p)
	row.Version = max(row.Version, 1)
	return row
}

func loadCustomers(db *gorm.DB, all []customer.Customer) error {
	rows := make([]customerRow, len(all))
	for i := range all {
		row, err := rowOfCustomer(&all[i])
		if err != nil {
			return fmt.Errorf("load customer %d: %w", all[i].ID, err)
		}
		row.Version = max(row.Version, 1)
		rows[i] = row
	}
	return loadRows(db, rows)
}

func loadEditions(db *gorm.DB, all []workshop.EditionNote) error {
	for i := range all {
		row := rowOfEdition(&all[i])
		if err := db.Create(&row).Error; err != nil {
			return fmt.Errorf("load edition %d of template %s: %w", row.Number, row.Code, translate(err))
		}
	}
	return nil
}

func loadQuotes(db *gorm.DB, all []*quote.Quote) error {
	heads := make([]quoteRow, len(all))
	var lines []quoteLineRow
	for i, q := range all {
		row, err := rowOfQuote(q)
		if err != nil {
			return fmt.Errorf("load quote %d: %w", q.ID, err)
		}
		row.Lock = max(row.Lock, 1)
		heads[i] = row
		for k := range q.Lines {
			lines = append(lines, rowOfQuoteLine(row.ID, k+1, &q.Lines[k]))
		}
	}
	if err := loadRows(db, heads); err != nil {
		return err
	}
	return loadRows(db, lines)
}

func loadInvoices(db *gorm.DB, all []*billing.Invoice) error {
	heads := make([]invoiceRow, len(all))
	var lines []invoiceLineRow
	for i, v := range all {
		row, err := rowOfInvoice(v)
		if err != nil {
			return fmt.Errorf("load invoice %d: %w", v.Number, err)
		}
		heads[i] = row
		lines = append(lines, rowsOfInvoiceLines(row.ID, v)...)
	}
	if err := loadRows(db, heads); err != nil || len(lines) == 0 {
		return err
	}
	return db.CreateInBatches(lines, rowsAtOnce).Error
}

// loadSeries sets the last number given in each series.
func loadSeries(db *gorm.DB, last map[workshop.Series]int) error {
	for name, n := range last {
		res := db.Exec("UPDATE series SET last = ? WHERE name = ?", n, string(name))
		if res.Error != nil {
			return res.Error
		}
		if res.RowsAffected != 1 {
			return fmt.Errorf("load series: there is no series %q", name)
		}
	}
	return nil
}

// countersForward lets the identities to come go on from the highest that was
// loaded. SQLite does so by itself.
func (s *Store) countersForward(db *gorm.DB) error {
	if s.dialect != migrations.Postgres {
		return nil
	}
	var tables []string
	err := db.Raw(`SELECT table_name FROM information_schema.columns
		WHERE table_schema = current_schema() AND column_name = 'id' AND is_identity = 'YES' ORDER BY table_name`).Scan(&tables).Error
	if err != nil {
		return err
	}
	for _, table := range tables {
		// Without rows the highest is NULL, which leaves the counter as it is.
		err := db.Exec("SELECT setval(pg_get_serial_sequence('" + table + "', 'id'), (SELECT max(id) FROM " + table + "))").Error
		if err != nil {
			return fmt.Errorf("set the counter of %s forward: %w", table, err)
		}
	}
	return nil
}
