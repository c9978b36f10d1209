package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

const shelfRows = `SELECT p.*, coalesce(l.quantity, 0) AS level_quantity, coalesce(l.value, 0) AS level_value, coalesce(l.reserved, 0) AS level_reserved,
		coalesce(c.quantity, 0) AS on_order, c.expected, coalesce(s.name, '') AS supplier_name
	FROM parts p LEFT JOIN stock_levels l ON l.part_id = p.id LEFT JOIN suppliers s ON s.id = p.supplier_id
	LEFT JOIN (SELECT l.part_id, CAST(sum(l.quantity - l.received) AS BIGINT) AS quantity, min(o.expected_on) AS expected
		FROM purchase_orders o JOIN purchase_lines l ON l.order_id = o.id
		WHERE o.sent_at IS NOT NULL AND o.closed_at IS NULL AND l.quantity > l.received GROUP BY l.part_id) c ON c.part_id = p.id
	ORDER BY p.name_key, p.id`

// ShelfRows reads all parts with their levels, by name.
func (s *Store) ShelfRows(ctx context.Context) ([]workshop.ShelfRow, error) {
	var rows []struct {
		Row           partRow `gorm:"embedded"`
		LevelQuantity int64
		LevelValue    int64
		LevelReserved int64
		OnOrder       int64
		Expected      *string
		SupplierName  string
	}
	if err := s.db.WithContext(ctx).Raw(shelfRows).Scan(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the shelf: %w", translate(err))
	}
	out := make([]workshop.ShelfRow, len(rows))
	for i := range rows {
		r := &rows[i]
		level := levelRow{Quantity: r.LevelQuantity, Value: r.LevelValue, Reserved: r.LevelReserved}
		out[i] = workshop.ShelfRow{
			Part: r.Row.part(), Level: level.shelf().Level, OnOrder: stock.Quantity(r.OnOrder), Expected: dayOf(r.Expected), SupplierName: r.SupplierName,
		}
	}
	return out, nil
}

// dayOf is the date of an expression: SQLite's driver hands such a text out as a moment,
// because an expression has no declared type.
func dayOf(text *string) domain.Date {
	if text == nil || len(*text) < 10 {
		return ""
	}
	return domain.Date((*text)[:10])
}

// MovesOf reads the moves of a part, newest first, and counts them.
func (s *Store) MovesOf(ctx context.Context, id domain.PartID, p workshop.Page) (out []workshop.MoveRow, total int, err error) {
	err = s.inReadTx(ctx, func(db *gorm.DB) error {
		if err := db.Raw("SELECT count(*) FROM stock_moves WHERE part_id = ?", int64(id)).Scan(&total).Error; err != nil {
			return err
		}
		var rows []struct {
			Row moveRow `gorm:"embedded"`
			Tag int
		}
		err := db.Raw(`SELECT m.*, coalesce(j.tag, 0) AS tag FROM stock_moves m LEFT JOIN jobs j ON j.id = m.job_id
			WHERE m.part_id = ? ORDER BY m.id DESC LIMIT ? OFFSET ?`, withPage([]any{int64(id)}, p)...).Scan(&rows).Error
		for i := range rows {
			out = append(out, workshop.MoveRow{Move: rows[i].Row.move(), Left: rows[i].Row.left(), Tag: rows[i].Tag})
		}
		return err
	})
	if err != nil {
		return nil, 0, fmt.Errorf("read the moves of part %d: %w", id, err)
	}
	return out, total, nil
}

// ReservedOf reads the open reservations of a part, oldest first.
func (s *Store) ReservedOf(ctx context.Context, id domain.PartID) ([]workshop.ReservedRow, error) {
	var rows []struct {
		Row  reservationRow `gorm:"embedded"`
		Tag  int
		Name string
	}
	err := s.db.WithContext(ctx).Raw(`SELECT r.*, j.tag, coalesce(t.name, '') AS name FROM reservations r JOIN jobs j ON j.id = r.job_id
		LEFT JOIN tasks t ON t.id = r.task_id WHERE r.part_id = ? AND r.open > 0 ORDER BY r.id`, int64(id)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the reservations of part %d: %w", id, translate(err))
	}
	out := make([]workshop.ReservedRow, len(rows))
	for i := range rows {
		out[i] = workshop.ReservedRow{Reservation: rows[i].Row.reservation(), Tag: rows[i].Tag, Name: rows[i].Name}
	}
	return out, nil
}
