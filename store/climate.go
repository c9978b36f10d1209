package store

import (
	"context"
	"fmt"
	"math"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/season"
	"winterbench/domain/workshop"
)

// climateID is the identity of the one climate that a shop has.
const climateID = 1

// climateRow is the row of climates.
type climateRow struct {
	ID        int64
	Town      string
	Source    string
	ChangedAt moment
	ChangedBy string
	Version   int
}

func (climateRow) TableName() string { return "climates" }
func (r *climateRow) key() *int64    { return &r.ID }

// climateMonthRow is a row of climate_months.
type climateMonthRow struct {
	ID            int64
	ClimateID     int64
	Year          int // 0 in a usual year
	Month         int
	CelsiusTenths int
	RHTenths      int `gorm:"column:rh_tenths"`
}

func (climateMonthRow) TableName() string { return "climate_months" }

func monthRow(year, month int, m season.Month) climateMonthRow {
	tenths := func(x float64) int { return int(math.Round(10 * x)) }
	return climateMonthRow{ClimateID: climateID, Year: year, Month: month, CelsiusTenths: tenths(m.Celsius), RHTenths: tenths(m.RH)}
}

// TownClimate reads the climate of the shop's town.
func (s *Store) TownClimate(ctx context.Context) (*workshop.Climate, error) {
	return readClimate(s.db.WithContext(ctx), s.db.WithContext(ctx))
}

// TownClimate reads the climate of the shop's town and locks its row.
func (t *tx) TownClimate(ctx context.Context) (*workshop.Climate, error) {
	return readClimate(locked(t.db.WithContext(ctx)), t.db.WithContext(ctx))
}

// readClimate reads the row by one query, which may lock it, and the months by another.
func readClimate(one, db *gorm.DB) (*workshop.Climate, error) {
	var rows []climateRow
	if err := one.Where("id = ?", climateID).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the climate: %w", translate(err))
	}
	if len(rows) == 0 {
		return nil, domain.NotFoundf("the climate of the town is not known")
	}
	r := rows[0]
	out := &workshop.Climate{Town: r.Town, Source: r.Source, Changed: r.ChangedAt.Time, By: r.ChangedBy, Version: r.Version, Months: season.Climate{Past: map[season.YearMonth]season.Month{}}}
	var months []climateMonthRow
	if err := db.Where("climate_id = ?", climateID).Order("year, month").Find(&months).Error; err != nil {
		return nil, fmt.Errorf("read the months of the climate: %w", translate(err))
	}
	for _, m := range months {
		air := season.Month{Celsius: float64(m.CelsiusTenths) / 10, RH: float64(m.RHTenths) / 10}
		if m.Year == 0 {
			out.Months.Usual[m.Month-1] = air
		} else {
			out.Months.Past[season.YearMonth{Year: m.Year, Month: m.Month}] = air
		}
	}
	return out, nil
}

// SaveClimate writes the climate with all its months.
func (t *tx) SaveClimate(ctx context.Context, c *workshop.Climate) error {
	db := t.db.WithContext(ctx)
	row := climateRow{ID: climateID, Town: c.Town, Source: c.Source, ChangedAt: at(c.Changed), ChangedBy: c.By, Version: c.Version + 1}
	if c.Version == 0 {
		if err := db.Create(&row).Error; err != nil {
			return fmt.Errorf("add the climate: %w", translate(err))
		}
	} else if err := saveRow(db, &row, c.Version, "the climate"); err != nil {
		return err
	}
	if err := dropMonths(db); err != nil {
		return err
	}
	var months []climateMonthRow
	for i, m := range c.Months.Usual {
		months = append(months, monthRow(0, i+1, m))
	}
	for ym, m := range c.Months.Past {
		months = append(months, monthRow(ym.Year, ym.Month, m))
	}
	if err := db.Create(&months).Error; err != nil {
		return fmt.Errorf("add the months of the climate: %w", translate(err))
	}
	c.Version = row.Version
	return nil
}

// DropClimate takes the climate away.
func (t *tx) DropClimate(ctx context.Context) error {
	db := t.db.WithContext(ctx)
	if err := dropMonths(db); err != nil {
		return err
	}
	if err := db.Where("id = ?", climateID).Delete(&climateRow{}).Error; err != nil {
		return fmt.Errorf("take the climate away: %w", translate(err))
	}
	return nil
}

func dropMonths(db *gorm.DB) error {
	if err := db.Where("climate_id = ?", climateID).Delete(&climateMonthRow{}).Error; err != nil {
		return fmt.Errorf("take the months of the climate away: %w", translate(err))
	}
	return nil
}
