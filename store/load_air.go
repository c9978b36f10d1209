package store

import (
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain/air"
	"winterbench/domain/workshop"
)

// loadAir inserts the places of the air and the meters with their calibrations.
func loadAir(db *gorm.DB, d *workshop.Season) error {
	places := make([]airPlaceRow, len(d.AirPlaces))
	for i := range d.AirPlaces {
		row, err := rowOfAirPlace(&d.AirPlaces[i])
		if err != nil {
			return fmt.Errorf("load the place of air %s: %w", row.Name, err)
		}
		row.Version = max(row.Version, 1)
		places[i] = row
	}
	if err := loadRows(db, places); err != nil {
		return err
	}
	meters := make([]meterRow, len(d.Meters))
	var checks []calibrationRow
	for i := range d.Meters {
		meters[i] = rowOfMeter(&d.Meters[i])
		meters[i].Version = max(meters[i].Version, 1)
		rows, err := calibrationRows(d.Meters[i])
		if err != nil {
			return fmt.Errorf("load the meter %s: %w", d.Meters[i].Name, err)
		}
		checks = append(checks, rows...)
	}
	if err := loadRows(db, meters); err != nil {
		return err
	}
	return loadRows(db, checks)
}

func calibrationRows(m air.Meter) ([]calibrationRow, error) {
	rows := make([]calibrationRow, len(m.Calibrations))
	for i := range m.Calibrations {
		row, err := rowOfCalibration(&m.Calibrations[i])
		if err != nil {
			return nil, err
		}
		rows[i] = row
	}
	return rows, nil
}
