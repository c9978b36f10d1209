package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// shopRow is the one row of shop.
type shopRow struct {
	ID      int64
	Body    string
	Version int
}

func (shopRow) TableName() string { return "shop" }

// ShopSettings reads the shop's settings.
func (s *Store) ShopSettings(ctx context.Context) (*workshop.Shop, error) {
	return readShop(s.db.WithContext(ctx))
}

// Shop reads the shop's settings. It locks nothing: nearly every piece of work
// reads them, and a save minds the version.
func (t *tx) Shop(ctx context.Context) (*workshop.Shop, error) {
	return readShop(t.db.WithContext(ctx))
}

func readShop(db *gorm.DB) (*workshop.Shop, error) {
	var row shopRow
	err := db.Take(&row, "id = 1").Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("the shop is not set up yet")
	}
	if err != nil {
		return nil, fmt.Errorf("read the shop's settings: %w", translate(err))
	}
	var shop workshop.Shop
	if err := fromJSON(row.Body, &shop); err != nil {
		return nil, fmt.Errorf("read the shop's settings: %w", err)
	}
	shop.Version = row.Version
	return &shop, nil
}

// SaveShop writes the settings: the first ones when their version is 0, else
// over those that were read.
func (t *tx) SaveShop(ctx context.Context, s *workshop.Shop) error {
	row, err := rowOfShop(s)
	if err != nil {
		return err
	}
	db := t.db.WithContext(ctx)
	if s.Version == 0 {
		err = db.Create(&row).Error
	} else {
		err = saveVersion(db.Model(&shopRow{}).Where("version = ?", s.Version).Select("body", "version"), row.ID, row,
			"somebody else saved the shop's settings meanwhile; look at them again")
	}
	if err != nil {
		return fmt.Errorf("save the shop's settings: %w", translate(err))
	}
	s.Version = row.Version
	return nil
}

// rowOfShop makes the row with the next version.
func rowOfShop(s *workshop.Shop) (shopRow, error) {
	body, err := toJSON(s)
	return shopRow{ID: 1, Body: body, Version: s.Version + 1}, err
}
