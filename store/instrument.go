package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/customer"
)

// instrumentRow is a row of instruments.
type instrumentRow struct {
	ID                int64
	OwnerID           int64
	Kind              string
	Maker             string
	Model             string
	Serial            string
	SearchKey         string
	Made              string
	TopWood           string
	TopConstruction   string
	BackWood          string
	BackConstruction  string
	SidesWood         string
	SidesConstruction string
	Board             string
	Binding           string
	Finish            string
	Bracing           string
	Identity          string
	Note              string
	CreatedAt         moment
	Version           int
}

func (instrumentRow) TableName() string { return "instruments" }
func (r *instrumentRow) key() *int64    { return &r.ID }

func rowOfInstrument(in *customer.Instrument) instrumentRow {
	return instrumentRow{
		ID: int64(in.ID), OwnerID: int64(in.Owner), Kind: in.Kind, Maker: in.Maker, Model: in.Model, Serial: in.Serial,
		SearchKey: fold(in.Maker + " " + in.Model + " " + in.Serial), Made: in.Made,
		TopWood: in.Top.Wood, TopConstruction: string(in.Top.Construction),
		BackWood: in.Back.Wood, BackConstruction: string(in.Back.Construction),
		SidesWood: in.Sides.Wood, SidesConstruction: string(in.Sides.Construction),
		Board: in.Board, Binding: in.Binding, Finish: in.Finish, Bracing: in.Bracing, Identity: in.Identity, Note: in.Note,
		CreatedAt: at(in.Since), Version: in.Version,
	}
}

func (r *instrumentRow) instrument() customer.Instrument {
	plate := func(wood, construction string) customer.Plate {
		return customer.Plate{Wood: wood, Construction: customer.Construction(construction)}
	}
	return customer.Instrument{
		ID: domain.InstrumentID(r.ID), Owner: domain.CustomerID(r.OwnerID), Kind: r.Kind, Maker: r.Maker, Model: r.Model, Serial: r.Serial,
		Made: r.Made, Top: plate(r.TopWood, r.TopConstruction), Back: plate(r.BackWood, r.BackConstruction),
		Sides: plate(r.SidesWood, r.SidesConstruction), Board: r.Board, Binding: r.Binding, Finish: r.Finish, Bracing: r.Bracing,
		Identity: r.Identity, Note: r.Note, Since: r.CreatedAt.Time, Version: r.Version,
	}
}

// InstrumentByID reads one instrument.
func (s *Store) InstrumentByID(ctx context.Context, id domain.InstrumentID) (*customer.Instrument, error) {
	return readInstrument(s.db.WithContext(ctx), id)
}

// InstrumentsOf reads a customer's instruments, newest first.
func (s *Store) InstrumentsOf(ctx context.Context, id domain.CustomerID) ([]customer.Instrument, error) {
	var rows []instrumentRow
	if err := s.db.WithContext(ctx).Where("owner_id = ?", id).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the instruments of customer %d: %w", id, translate(err))
	}
	return each(rows, (*instrumentRow).instrument), nil
}

// Instrument reads one instrument and locks the row.
func (t *tx) Instrument(ctx context.Context, id domain.InstrumentID) (*customer.Instrument, error) {
	return readInstrument(locked(t.db.WithContext(ctx)), id)
}

func readInstrument(db *gorm.DB, id domain.InstrumentID) (*customer.Instrument, error) {
	var row instrumentRow
	if err := takeRow(db, &row, id, "instrument"); err != nil {
		return nil, err
	}
	in := row.instrument()
	return &in, nil
}

// AddInstrument inserts an instrument and sets the identity.
func (t *tx) AddInstrument(ctx context.Context, in *customer.Instrument) error {
	row := rowOfInstrument(in)
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	in.ID, in.Version = domain.InstrumentID(row.ID), row.Version
	return nil
}

// SaveInstrument writes an instrument unless somebody saved it since it was read.
func (t *tx) SaveInstrument(ctx context.Context, in *customer.Instrument) error {
	row := rowOfInstrument(in)
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, in.Version, in.Title()); err != nil {
		return err
	}
	in.Version = row.Version
	return nil
}
