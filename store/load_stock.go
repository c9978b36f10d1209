package store

import (
	"gorm.io/gorm"

	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

func loadedSupplier(s *stock.Supplier) supplierRow {
	row := rowOfSupplier(s)
	row.Version = max(row.Version, 1)
	return row
}

// loadMoves inserts the ledger of the shelf, oldest first.
func loadMoves(db *gorm.DB, all []workshop.MoveRow) error {
	return loadEach(db, all, func(m *workshop.MoveRow) moveRow { return rowOfMove(&m.Move, m.Left) })
}

// loadStock inserts what else is known of the shelf; jobs, moves and quotes are there.
func loadStock(db *gorm.DB, d *workshop.Season) error {
	levels := make([]levelRow, len(d.Levels))
	for i := range d.Levels {
		levels[i] = rowOfLevel(&d.Levels[i])
		levels[i].Version = max(levels[i].Version, 1)
	}
	if len(levels) > 0 {
		if err := db.CreateInBatches(levels, rowsAtOnce).Error; err != nil {
			return translate(err)
		}
	}
	var lines []purchaseLineRow
	for _, o := range d.Orders {
		for i := range o.Lines {
			lines = append(lines, rowOfPurchaseLine(o.ID, &o.Lines[i]))
		}
	}
	var counted []countLineRow
	for _, c := range d.Counts {
		for i := range c.Lines {
			counted = append(counted, rowOfCountLine(c.ID, &c.Lines[i]))
		}
	}
	for _, load := range []func() error{
		func() error {
			return loadEach(db, d.Reservations, func(r **stock.Reservation) reservationRow { return rowOfReservation(*r) })
		},
		func() error { return loadEach(db, d.Orders, loadedPurchase) },
		func() error { return loadRows(db, lines) },
		func() error {
			return loadEach(db, d.Receipts, func(r **stock.Receipt) receiptRow { return rowOfReceipt(*r) })
		},
		func() error { return loadEach(db, d.Counts, loadedCount) },
		func() error { return loadRows(db, counted) },
	} {
		if err := load(); err != nil {
			return err
		}
	}
	return nil
}

func loadedPurchase(o **stock.Order) purchaseRow {
	row := rowOfPurchase(*o)
	row.Version = max(row.Version, 1)
	return row
}

func loadedCount(c **stock.CountSheet) countRow {
	row := rowOfCount(*c)
	row.Version = max(row.Version, 1)
	return row
}
