package store

import (
	"context"
	"fmt"

	"github.com/shopspring/decimal"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// partRow is a row of parts.
type partRow struct {
	ID      int64
	Code    string
	Name    string
	NameKey string
	Unit    string
	Kind    string
	Price   int64
	Cost    int64
	Retired bool
	Version int

	Kept       bool
	SupplierID *int64
	OrderCode  string
	Shelf      string
	ReorderAt  int64
	ReorderTo  int64
	Markup     string
	OpenedOn   *string
	ExpiresOn  *string
	Batch      string
	Species    string
	Origin     string
	Protected  bool
	Papers     string
}

func (partRow) TableName() string { return "parts" }
func (r *partRow) key() *int64    { return &r.ID }

func rowOfPart(p *stock.Part) partRow {
	row := partRow{
		ID: int64(p.ID), Code: p.Code, Name: p.Name, NameKey: fold(p.Name), Unit: p.Unit, Kind: string(p.Kind),
		Price: int64(p.Price), Cost: int64(p.Cost), Retired: p.Retired, Version: p.Version,
		Kept: p.Kept, SupplierID: idOrNull(p.Supplier), OrderCode: p.OrderCode, Shelf: p.Shelf, ReorderAt: int64(p.ReorderAt), ReorderTo: int64(p.ReorderTo),
		OpenedOn: textOrNull(p.OpenedOn), ExpiresOn: textOrNull(p.ExpiresOn), Batch: p.Batch, Species: p.Species, Origin: p.Origin, Protected: p.Protected, Papers: p.Papers,
	}
	if p.Markup != nil {
		row.Markup = p.Markup.String()
	}
	return row
}

// part is the part of a row. A markup that is no number, which no program writes, is
// none.
func (r *partRow) part() stock.Part {
	p := stock.Part{
		ID: domain.PartID(r.ID), Code: r.Code, Name: r.Name, Unit: r.Unit, Kind: money.LineKind(r.Kind),
		Price: money.Amount(r.Price), Cost: money.Amount(r.Cost), Retired: r.Retired, Version: r.Version,
		Kept: r.Kept, Supplier: orZero[domain.SupplierID](r.SupplierID), OrderCode: r.OrderCode, Shelf: r.Shelf,
		ReorderAt: stock.Quantity(r.ReorderAt), ReorderTo: stock.Quantity(r.ReorderTo), OpenedOn: dateOrNone(r.OpenedOn), ExpiresOn: dateOrNone(r.ExpiresOn),
		Batch: r.Batch, Species: r.Species, Origin: r.Origin, Protected: r.Protected, Papers: r.Papers,
	}
	if m, err := decimal.NewFromString(r.Markup); err == nil && r.Markup != "" {
		p.Markup = &m
	}
	return p
}

// dateOrNone is the date of a column, "" for NULL.
func dateOrNone(text *string) domain.Date {
	if text == nil {
		return ""
	}
	return domain.Date(*text)
}

// PartList reads all parts by name, also the retired.
func (s *Store) PartList(ctx context.Context) ([]stock.Part, error) {
	return readParts(s.db.WithContext(ctx))
}

// PartByID reads one part.
func (s *Store) PartByID(ctx context.Context, id domain.PartID) (*stock.Part, error) {
	return readPart(s.db.WithContext(ctx), id)
}

// Parts reads all parts by name, also the retired. It locks none.
func (t *tx) Parts(ctx context.Context) ([]stock.Part, error) {
	return readParts(t.db.WithContext(ctx))
}

// Part reads one part and locks the row.
func (t *tx) Part(ctx context.Context, id domain.PartID) (*stock.Part, error) {
	return readPart(locked(t.db.WithContext(ctx)), id)
}

func readParts(db *gorm.DB) ([]stock.Part, error) {
	var rows []partRow
	if err := db.Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list parts: %w", translate(err))
	}
	return each(rows, (*partRow).part), nil
}

func readPart(db *gorm.DB, id domain.PartID) (*stock.Part, error) {
	var row partRow
	if err := takeRow(db, &row, id, "part"); err != nil {
		return nil, err
	}
	p := row.part()
	return &p, nil
}

// AddPart inserts a part and sets the identity.
func (t *tx) AddPart(ctx context.Context, p *stock.Part) error {
	row := rowOfPart(p)
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	p.ID, p.Version = domain.PartID(row.ID), row.Version
	return nil
}

// SavePart writes a part unless somebody saved it since it was read.
func (t *tx) SavePart(ctx context.Context, p *stock.Part) error {
	row := rowOfPart(p)
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, p.Version, p.Name); err != nil {
		return err
	}
	p.Version = row.Version
	return nil
}
