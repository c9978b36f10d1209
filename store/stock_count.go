package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// countRow is a row of stock_counts.
type countRow struct {
	ID        int64
	Shelf     string
	CountedAt moment
	CountedBy string
	PostedAt  *moment
	PostedBy  string
	Dropped   string
	Version   int
}

func (countRow) TableName() string { return "stock_counts" }
func (r *countRow) key() *int64    { return &r.ID }

func rowOfCount(c *stock.CountSheet) countRow {
	return countRow{
		ID: int64(c.ID), Shelf: c.Shelf, CountedAt: at(c.At), CountedBy: c.By, PostedAt: atOrNull(c.Posted), PostedBy: c.PostedBy, Dropped: c.Dropped, Version: c.Version,
	}
}

func (r *countRow) sheet() stock.CountSheet {
	return stock.CountSheet{
		ID: domain.CountID(r.ID), Shelf: r.Shelf, At: r.CountedAt.Time, By: r.CountedBy, Posted: r.PostedAt.orZero(), PostedBy: r.PostedBy, Dropped: r.Dropped, Version: r.Version,
	}
}

// countLineRow is a row of stock_count_lines.
type countLineRow struct {
	ID       int64
	CountID  int64
	PartID   int64
	Found    int64
	Expected int64
	Reason   string
	MoveID   *int64
}

func (countLineRow) TableName() string { return "stock_count_lines" }
func (r *countLineRow) key() *int64    { return &r.ID }

func rowOfCountLine(id domain.CountID, l *stock.CountLine) countLineRow {
	return countLineRow{
		ID: l.ID, CountID: int64(id), PartID: int64(l.Part), Found: int64(l.Found), Expected: int64(l.Expected), Reason: l.Reason, MoveID: idOrNull(l.Move),
	}
}

func (r *countLineRow) line() stock.CountLine {
	return stock.CountLine{
		ID: r.ID, Part: domain.PartID(r.PartID), Found: stock.Quantity(r.Found), Expected: stock.Quantity(r.Expected), Reason: r.Reason, Move: orZero[int64](r.MoveID),
	}
}

// CountSheet reads one count with its lines and locks it.
func (t *tx) CountSheet(ctx context.Context, id domain.CountID) (*stock.CountSheet, error) {
	return readCount(t.db.WithContext(ctx), locked(t.db.WithContext(ctx)), id)
}

// CountSheetByID reads one count with its lines.
func (s *Store) CountSheetByID(ctx context.Context, id domain.CountID) (*stock.CountSheet, error) {
	return readCount(s.db.WithContext(ctx), s.db.WithContext(ctx), id)
}

func readCount(db, head *gorm.DB, id domain.CountID) (*stock.CountSheet, error) {
	var row countRow
	if err := takeRow(head, &row, id, "count"); err != nil {
		return nil, err
	}
	all := []stock.CountSheet{row.sheet()}
	return &all[0], withCountLines(db, all)
}

func withCountLines(db *gorm.DB, all []stock.CountSheet) error {
	ids, place := make([]int64, len(all)), map[int64]int{}
	for i := range all {
		ids[i], place[int64(all[i].ID)] = int64(all[i].ID), i
	}
	if len(ids) == 0 {
		return nil
	}
	var rows []countLineRow
	if err := db.Where("count_id IN ?", ids).Order("id").Find(&rows).Error; err != nil {
		return fmt.Errorf("read the lines of counts: %w", translate(err))
	}
	for i := range rows {
		c := &all[place[rows[i].CountID]]
		c.Lines = append(c.Lines, rows[i].line())
	}
	return nil
}

// CountSheets reads counts with their lines, newest first, and counts them.
func (s *Store) CountSheets(ctx context.Context, p workshop.Page) (out []stock.CountSheet, total int, err error) {
	err = s.inReadTx(ctx, func(db *gorm.DB) error {
		if err := db.Raw("SELECT count(*) FROM stock_counts").Scan(&total).Error; err != nil {
			return err
		}
		var rows []countRow
		if err := db.Raw("SELECT * FROM stock_counts ORDER BY id DESC LIMIT ? OFFSET ?", withPage(nil, p)...).Scan(&rows).Error; err != nil {
			return err
		}
		out = each(rows, (*countRow).sheet)
		return withCountLines(db, out)
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list counts: %w", err)
	}
	return out, total, nil
}

// AddCountSheet inserts a count with its lines and sets the identities.
func (t *tx) AddCountSheet(ctx context.Context, c *stock.CountSheet) error {
	db := t.db.WithContext(ctx)
	row := rowOfCount(c)
	row.Version = 1
	if err := addRow(db, &row); err != nil {
		return err
	}
	c.ID, c.Version = domain.CountID(row.ID), row.Version
	for i := range c.Lines {
		line := rowOfCountLine(c.ID, &c.Lines[i])
		if err := addRow(db, &line); err != nil {
			return err
		}
		c.Lines[i].ID = line.ID
	}
	return nil
}

// SaveCountSheet writes a count over the version that was read, with the reasons and
// moves of its lines, and raises it.
func (t *tx) SaveCountSheet(ctx context.Context, c *stock.CountSheet) error {
	db := t.db.WithContext(ctx)
	row := rowOfCount(c)
	row.Version++
	query := db.Model(&countRow{}).Where("version = ?", c.Version).Select("posted_at", "posted_by", "dropped", "version")
	if err := saveVersion(query, row.ID, &row, "somebody else saved this count meanwhile; look at it again"); err != nil {
		return fmt.Errorf("save count %d: %w", c.ID, translate(err))
	}
	c.Version = row.Version
	for i := range c.Lines {
		line := rowOfCountLine(c.ID, &c.Lines[i])
		if err := db.Model(&countLineRow{}).Where("id = ?", line.ID).Select("reason", "move_id").Updates(&line).Error; err != nil {
			return fmt.Errorf("save line %d of count %d: %w", line.ID, c.ID, translate(err))
		}
	}
	return nil
}
