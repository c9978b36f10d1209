package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// supplierRow is a row of suppliers.
type supplierRow struct {
	ID      int64
	Name    string
	NameKey string
	Reach   string
	Days    int
	Retired bool
	Version int
}

func (supplierRow) TableName() string { return "suppliers" }
func (r *supplierRow) key() *int64    { return &r.ID }

func rowOfSupplier(s *stock.Supplier) supplierRow {
	return supplierRow{ID: int64(s.ID), Name: s.Name, NameKey: fold(s.Name), Reach: s.Reach, Days: s.Days, Retired: s.Retired, Version: s.Version}
}

func (r *supplierRow) supplier() stock.Supplier {
	return stock.Supplier{ID: domain.SupplierID(r.ID), Name: r.Name, Reach: r.Reach, Days: r.Days, Retired: r.Retired, Version: r.Version}
}

// SupplierList reads all suppliers by name.
func (s *Store) SupplierList(ctx context.Context) ([]stock.Supplier, error) {
	return readSuppliers(s.db.WithContext(ctx))
}

// Suppliers reads all suppliers by name.
func (t *tx) Suppliers(ctx context.Context) ([]stock.Supplier, error) {
	return readSuppliers(t.db.WithContext(ctx))
}

func readSuppliers(db *gorm.DB) ([]stock.Supplier, error) {
	var rows []supplierRow
	if err := db.Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list suppliers: %w", translate(err))
	}
	return each(rows, (*supplierRow).supplier), nil
}

// SupplierByID reads one supplier.
func (s *Store) SupplierByID(ctx context.Context, id domain.SupplierID) (*stock.Supplier, error) {
	return readSupplier(s.db.WithContext(ctx), id)
}

// Supplier reads one supplier and locks the row.
func (t *tx) Supplier(ctx context.Context, id domain.SupplierID) (*stock.Supplier, error) {
	return readSupplier(locked(t.db.WithContext(ctx)), id)
}

func readSupplier(db *gorm.DB, id domain.SupplierID) (*stock.Supplier, error) {
	var row supplierRow
	if err := takeRow(db, &row, id, "supplier"); err != nil {
		return nil, err
	}
	s := row.supplier()
	return &s, nil
}

// AddSupplier inserts a supplier and sets the identity.
func (t *tx) AddSupplier(ctx context.Context, s *stock.Supplier) error {
	row := rowOfSupplier(s)
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	s.ID, s.Version = domain.SupplierID(row.ID), row.Version
	return nil
}

// SaveSupplier writes a supplier unless somebody saved it since it was read.
func (t *tx) SaveSupplier(ctx context.Context, s *stock.Supplier) error {
	row := rowOfSupplier(s)
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, s.Version, s.Name); err != nil {
		return err
	}
	s.Version = row.Version
	return nil
}
