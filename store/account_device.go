package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// pinRow is a row of pins.
type pinRow struct {
	StaffID int64 `gorm:"primaryKey;autoIncrement:false"`
	PinHash string
	SetAt   moment
}

func (pinRow) TableName() string { return "pins" }

// WithPIN lists who has a PIN.
func (s *Store) WithPIN(ctx context.Context) ([]domain.StaffID, error) {
	var ids []domain.StaffID
	if err := s.db.WithContext(ctx).Raw("SELECT staff_id FROM pins ORDER BY staff_id").Scan(&ids).Error; err != nil {
		return nil, fmt.Errorf("list who has a PIN: %w", translate(err))
	}
	return ids, nil
}

// PIN reads the hash of a person's PIN.
func (t *tx) PIN(ctx context.Context, id domain.StaffID) (string, error) {
	var row pinRow
	err := t.db.WithContext(ctx).Take(&row, "staff_id = ?", id).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return "", domain.NotFoundf("there is no PIN")
	}
	if err != nil {
		return "", fmt.Errorf("read the PIN of staff %d: %w", id, translate(err))
	}
	return row.PinHash, nil
}

// SavePIN adds or replaces a person's PIN.
func (t *tx) SavePIN(ctx context.Context, id domain.StaffID, hash string, set time.Time) error {
	row := pinRow{StaffID: int64(id), PinHash: hash, SetAt: at(set)}
	if err := t.db.WithContext(ctx).Clauses(clause.OnConflict{UpdateAll: true, Columns: []clause.Column{{Name: "staff_id"}}}).Create(&row).Error; err != nil {
		return fmt.Errorf("save the PIN of staff %d: %w", id, translate(err))
	}
	return nil
}

// DropPIN removes a person's PIN.
func (t *tx) DropPIN(ctx context.Context, id domain.StaffID) error {
	if err := t.db.WithContext(ctx).Exec("DELETE FROM pins WHERE staff_id = ?", id).Error; err != nil {
		return fmt.Errorf("drop the PIN of staff %d: %w", id, translate(err))
	}
	return nil
}

// deviceRow is a row of devices.
type deviceRow struct {
	ID        int64
	Name      string
	TokenHash string
	TrustedBy string
	TrustedAt moment
	ExpiresAt moment
	UsedAt    *moment
	RevokedAt *moment
}

func (deviceRow) TableName() string { return "devices" }
func (r *deviceRow) key() *int64    { return &r.ID }

func rowOfDevice(d *workshop.Device) deviceRow {
	return deviceRow{
		ID: d.ID, Name: d.Name, TokenHash: d.Hash, TrustedBy: d.By, TrustedAt: at(d.Since), ExpiresAt: at(d.Expires),
		UsedAt: atOrNull(d.Used), RevokedAt: atOrNull(d.Revoked),
	}
}

func (r *deviceRow) device() workshop.Device {
	return workshop.Device{
		ID: r.ID, Name: r.Name, Hash: r.TokenHash, By: r.TrustedBy, Since: r.TrustedAt.Time, Expires: r.ExpiresAt.Time,
		Used: r.UsedAt.orZero(), Revoked: r.RevokedAt.orZero(),
	}
}

// Devices reads every device that was trusted, newest first, also the revoked.
func (s *Store) Devices(ctx context.Context) ([]workshop.Device, error) {
	var rows []deviceRow
	if err := s.db.WithContext(ctx).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list devices: %w", translate(err))
	}
	return each(rows, (*deviceRow).device), nil
}

// DeviceByHash reads the device of a hash.
func (s *Store) DeviceByHash(ctx context.Context, hash string) (*workshop.Device, error) {
	var row deviceRow
	err := s.db.WithContext(ctx).Take(&row, "token_hash = ?", hash).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("this device is not trusted")
	}
	if err != nil {
		return nil, fmt.Errorf("find a device: %w", translate(err))
	}
	d := row.device()
	return &d, nil
}

// Device reads one device and locks the row.
func (t *tx) Device(ctx context.Context, id int64) (*workshop.Device, error) {
	var row deviceRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "device"); err != nil {
		return nil, err
	}
	d := row.device()
	return &d, nil
}

// AddDevice inserts a device and sets its identity.
func (t *tx) AddDevice(ctx context.Context, d *workshop.Device) error {
	row := rowOfDevice(d)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	d.ID = row.ID
	return nil
}

// SaveDevice writes when a device was used last and when it was revoked. What
// was revoked stays so.
func (t *tx) SaveDevice(ctx context.Context, d *workshop.Device) error {
	row := rowOfDevice(d)
	columns := []string{"used_at"}
	if row.RevokedAt != nil {
		columns = append(columns, "revoked_at")
	}
	if err := t.db.WithContext(ctx).Model(&deviceRow{}).Where("id = ?", row.ID).Select(columns).Updates(&row).Error; err != nil {
		return fmt.Errorf("save device %d: %w", d.ID, translate(err))
	}
	return nil
}

// AddFirstCode keeps the hash of a code that lets somebody open an empty shop.
func (t *tx) AddFirstCode(ctx context.Context, hash string, made time.Time) error {
	if err := t.db.WithContext(ctx).Exec("INSERT INTO first_codes (code_hash, made_at) VALUES (?, ?)", hash, at(made)).Error; err != nil {
		return fmt.Errorf("keep a first code: %w", translate(err))
	}
	return nil
}

// UseFirstCode marks a code as used and reports whether it was there unused.
func (t *tx) UseFirstCode(ctx context.Context, hash string, used time.Time) (bool, error) {
	res := t.db.WithContext(ctx).Exec("UPDATE first_codes SET used_at = ? WHERE code_hash = ? AND used_at IS NULL", at(used), hash)
	if res.Error != nil {
		return false, fmt.Errorf("use a first code: %w", translate(res.Error))
	}
	return res.RowsAffected == 1, nil
}
