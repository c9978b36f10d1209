package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// moveRow is a row of stock_moves.
type moveRow struct {
	ID           int64
	PartID       int64
	Kind         string
	Quantity     int64
	Value        int64
	LeftQuantity int64
	LeftValue    int64
	JobID        *int64
	TaskID       *int64
	Undoes       *int64
	Reason       string
	MovedAt      moment
	MovedBy      string
}

func (moveRow) TableName() string { return "stock_moves" }
func (r *moveRow) key() *int64    { return &r.ID }

func rowOfMove(m *stock.Move, left stock.Level) moveRow {
	return moveRow{
		ID: m.ID, PartID: int64(m.Part), Kind: string(m.Kind), Quantity: int64(m.Quantity), Value: int64(m.Value),
		LeftQuantity: int64(left.Quantity), LeftValue: int64(left.Value), JobID: idOrNull(m.Job), TaskID: idOrNull(m.Task), Undoes: idOrNull(m.Undoes),
		Reason: m.Reason, MovedAt: at(m.At), MovedBy: m.By,
	}
}

func (r *moveRow) move() stock.Move {
	return stock.Move{
		ID: r.ID, Part: domain.PartID(r.PartID), Kind: stock.MoveKind(r.Kind), Quantity: stock.Quantity(r.Quantity), Value: money.Amount(r.Value),
		Job: orZero[domain.JobID](r.JobID), Task: orZero[domain.TaskID](r.TaskID), Undoes: orZero[int64](r.Undoes), Reason: r.Reason,
		At: r.MovedAt.Time, By: r.MovedBy,
	}
}

func (r *moveRow) left() stock.Level {
	return stock.Level{Quantity: stock.Quantity(r.LeftQuantity), Value: money.Amount(r.LeftValue)}
}

// levelRow is a row of stock_levels.
type levelRow struct {
	PartID   int64 `gorm:"primaryKey;autoIncrement:false"`
	Quantity int64
	Value    int64
	Reserved int64
	Version  int
}

func (levelRow) TableName() string { return "stock_levels" }

func rowOfLevel(s *workshop.Shelf) levelRow {
	return levelRow{PartID: int64(s.Part), Quantity: int64(s.Quantity), Value: int64(s.Value), Reserved: int64(s.Reserved), Version: s.Version}
}

func (r *levelRow) shelf() workshop.Shelf {
	return workshop.Shelf{
		Part: domain.PartID(r.PartID), Version: r.Version,
		Level: stock.Level{Quantity: stock.Quantity(r.Quantity), Value: money.Amount(r.Value), Reserved: stock.Quantity(r.Reserved)},
	}
}

// reservationRow is a row of reservations.
type reservationRow struct {
	ID     int64
	PartID int64
	JobID  int64
	LineID int64
	TaskID *int64
	WaitID *int64
	Asked  int64
	Open   int64
	MadeAt moment
	MadeBy string
	Ended  string
}

func (reservationRow) TableName() string { return "reservations" }
func (r *reservationRow) key() *int64    { return &r.ID }

func rowOfReservation(v *stock.Reservation) reservationRow {
	return reservationRow{
		ID: v.ID, PartID: int64(v.Part), JobID: int64(v.Job), LineID: int64(v.Line), TaskID: idOrNull(v.Task), WaitID: idOrNull(v.Wait),
		Asked: int64(v.Asked), Open: int64(v.Open), MadeAt: at(v.At), MadeBy: v.By, Ended: v.Ended,
	}
}

func (r *reservationRow) reservation() stock.Reservation {
	return stock.Reservation{
		ID: r.ID, Part: domain.PartID(r.PartID), Job: domain.JobID(r.JobID), Line: domain.LineID(r.LineID), Task: orZero[domain.TaskID](r.TaskID),
		Wait: orZero[domain.WaitID](r.WaitID), Asked: stock.Quantity(r.Asked), Open: stock.Quantity(r.Open), At: r.MadeAt.Time, By: r.MadeBy, Ended: r.Ended,
	}
}

// Level reads the level of a part and locks the row.
func (t *tx) Level(ctx context.Context, id domain.PartID) (*workshop.Shelf, error) {
	return readLevel(locked(t.db.WithContext(ctx)), id)
}

// LevelOf reads the level of a part.
func (s *Store) LevelOf(ctx context.Context, id domain.PartID) (*workshop.Shelf, error) {
	return readLevel(s.db.WithContext(ctx), id)
}

func readLevel(db *gorm.DB, id domain.PartID) (*workshop.Shelf, error) {
	var row levelRow
	err := db.Take(&row, "part_id = ?", int64(id)).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return &workshop.Shelf{Part: id}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the level of part %d: %w", id, translate(err))
	}
	s := row.shelf()
	return &s, nil
}

// SaveLevel writes a level over the version that was read and raises it; a first one
// is added.
func (t *tx) SaveLevel(ctx context.Context, s *workshop.Shelf) error {
	db := t.db.WithContext(ctx)
	row := rowOfLevel(s)
	row.Version++
	if s.Version == 0 {
		if err := db.Create(&row).Error; err != nil {
			return fmt.Errorf("begin the level of part %d: %w", s.Part, translate(err))
		}
		s.Version = row.Version
		return nil
	}
	res := db.Model(&levelRow{}).Where("part_id = ? AND version = ?", row.PartID, s.Version).Select("quantity", "value", "reserved", "version").Updates(&row)
	if res.Error != nil {
		return fmt.Errorf("save the level of part %d: %w", s.Part, translate(res.Error))
	}
	if res.RowsAffected == 0 {
		return domain.Conflictf("somebody else moved this part meanwhile; look at it again")
	}
	s.Version = row.Version
	return nil
}

// AddMove adds a row to the ledger and sets its identity.
func (t *tx) AddMove(ctx context.Context, m *stock.Move, left stock.Level) error {
	row := rowOfMove(m, left)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	m.ID = row.ID
	return nil
}

// Move reads one move.
func (t *tx) Move(ctx context.Context, id int64) (*stock.Move, error) {
	var row moveRow
	if err := takeRow(t.db.WithContext(ctx), &row, id, "move of stock"); err != nil {
		return nil, err
	}
	m := row.move()
	return &m, nil
}

// PutBackOf adds up what was put back of a move.
func (t *tx) PutBackOf(ctx context.Context, id int64) (stock.Quantity, error) {
	var sum int64
	err := t.db.WithContext(ctx).Raw("SELECT CAST(coalesce(sum(quantity), 0) AS BIGINT) FROM stock_moves WHERE undoes = ?", id).Scan(&sum).Error
	return stock.Quantity(sum), translate(err)
}

// OpenReservations reads the open reservations of a part, oldest first.
func (t *tx) OpenReservations(ctx context.Context, id domain.PartID) ([]stock.Reservation, error) {
	return reservationsWhere(t.db.WithContext(ctx), "part_id = ? AND open > 0", int64(id))
}

// ReservationsOfJob reads all reservations of a job, oldest first.
func (t *tx) ReservationsOfJob(ctx context.Context, id domain.JobID) ([]stock.Reservation, error) {
	return reservationsWhere(t.db.WithContext(ctx), "job_id = ?", int64(id))
}

func reservationsWhere(db *gorm.DB, where string, args ...any) ([]stock.Reservation, error) {
	var rows []reservationRow
	if err := db.Where(where, args...).Order("id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read reservations: %w", translate(err))
	}
	return each(rows, (*reservationRow).reservation), nil
}

// AddReservation inserts a reservation and sets its identity.
func (t *tx) AddReservation(ctx context.Context, r *stock.Reservation) error {
	row := rowOfReservation(r)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	r.ID = row.ID
	return nil
}

// SaveReservation writes what changes of a reservation. The level of its part, which
// the use case has locked, guards it.
func (t *tx) SaveReservation(ctx context.Context, r *stock.Reservation) error {
	row := rowOfReservation(r)
	err := t.db.WithContext(ctx).Model(&reservationRow{}).Where("id = ?", r.ID).Select("open", "ended", "wait_id").Updates(&row).Error
	if err != nil {
		return fmt.Errorf("save reservation %d: %w", r.ID, translate(err))
	}
	return nil
}

const comingOf = `SELECT o.id AS order_id, l.quantity - l.received AS quantity, o.expected_on AS expected
	FROM purchase_orders o JOIN purchase_lines l ON l.order_id = o.id
	WHERE l.part_id = ? AND o.sent_at IS NOT NULL AND o.closed_at IS NULL AND l.quantity > l.received ORDER BY o.id`

// Coming reads what is on order of a part.
func (t *tx) Coming(ctx context.Context, id domain.PartID) ([]stock.Coming, error) {
	return readComing(t.db.WithContext(ctx), id)
}

// ComingOf reads what is on order of a part.
func (s *Store) ComingOf(ctx context.Context, id domain.PartID) ([]stock.Coming, error) {
	return readComing(s.db.WithContext(ctx), id)
}

func readComing(db *gorm.DB, id domain.PartID) ([]stock.Coming, error) {
	var rows []struct {
		OrderID  int64
		Quantity int64
		Expected *string
	}
	if err := db.Raw(comingOf, int64(id)).Scan(&rows).Error; err != nil {
		return nil, fmt.Errorf("read what is on order of part %d: %w", id, translate(err))
	}
	out := make([]stock.Coming, len(rows))
	for i, r := range rows {
		out[i] = stock.Coming{Order: domain.PurchaseID(r.OrderID), Quantity: stock.Quantity(r.Quantity), On: dateOrNone(r.Expected)}
	}
	return out, nil
}
