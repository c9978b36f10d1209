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

// signInRow is a row of sign_ins.
type signInRow struct {
	ID      int64
	At      moment
	StaffID *int64
	Name    string
	How     string
	Outcome string
	Place   string
	What    string
	ByName  string
}

func (signInRow) TableName() string { return "sign_ins" }
func (r *signInRow) key() *int64    { return &r.ID }

func (r *signInRow) note() workshop.SignInNote {
	return workshop.SignInNote{
		ID: r.ID, At: r.At.Time, Staff: staffOrNone(r.StaffID), Name: r.Name, How: workshop.How(r.How), Outcome: workshop.Outcome(r.Outcome),
		Place: r.Place, What: r.What, By: r.ByName,
	}
}

func staffOrNone(id *int64) domain.StaffID {
	if id == nil {
		return 0
	}
	return domain.StaffID(*id)
}

// SignIns reads the log of sign-ins, newest first; of one person, or of all with id 0.
func (s *Store) SignIns(ctx context.Context, id domain.StaffID, p workshop.Page) ([]workshop.SignInNote, int, error) {
	var rows []signInRow
	var total int64
	db := s.db.WithContext(ctx).Model(&signInRow{})
	if id != 0 {
		db = db.Where("staff_id = ?", id)
	}
	if err := db.Count(&total).Error; err != nil {
		return nil, 0, fmt.Errorf("count sign-ins: %w", translate(err))
	}
	if err := db.Order("id DESC").Limit(min(max(p.Limit, 1), mostRows)).Offset(max(p.Offset, 0)).Find(&rows).Error; err != nil {
		return nil, 0, fmt.Errorf("list sign-ins: %w", translate(err))
	}
	return each(rows, (*signInRow).note), int(total), nil
}

// NoteSignIn adds a line to the log and sets its identity.
func (t *tx) NoteSignIn(ctx context.Context, n *workshop.SignInNote) error {
	row := signInRow{At: at(n.At), StaffID: idOrNull(n.Staff), Name: n.Name, How: string(n.How), Outcome: string(n.Outcome), Place: n.Place, What: n.What, ByName: n.By}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	n.ID = row.ID
	return nil
}

// stayRow is a row of stays.
type stayRow struct {
	ID       int64
	StaffID  int64
	How      string
	DeviceID *int64
	Place    string
	BeganAt  moment
	SeenAt   moment
	EndedAt  *moment
	EndedWhy string
}

func (stayRow) TableName() string { return "stays" }
func (r *stayRow) key() *int64    { return &r.ID }

func (r *stayRow) stay() workshop.Stay {
	s := workshop.Stay{
		ID: r.ID, Staff: domain.StaffID(r.StaffID), How: workshop.How(r.How), Place: r.Place,
		Began: r.BeganAt.Time, Seen: r.SeenAt.Time, Ended: r.EndedAt.orZero(), Why: r.EndedWhy,
	}
	if r.DeviceID != nil {
		s.Device = *r.DeviceID
	}
	return s
}

// StayByID reads one stay.
func (s *Store) StayByID(ctx context.Context, id int64) (*workshop.Stay, error) {
	var row stayRow
	if err := takeRow(s.db.WithContext(ctx), &row, id, "stay"); err != nil {
		return nil, err
	}
	stay := row.stay()
	return &stay, nil
}

// StaysOf reads the stays of a person that nobody ended, newest first, and which
// began after a moment.
func (s *Store) StaysOf(ctx context.Context, id domain.StaffID, after time.Time) ([]workshop.Stay, error) {
	var rows []stayRow
	err := s.db.WithContext(ctx).Where("staff_id = ? AND ended_at IS NULL AND began_at > ?", id, at(after)).Order("id DESC").Limit(mostRows).Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("list the stays of staff %d: %w", id, translate(err))
	}
	return each(rows, (*stayRow).stay), nil
}

// AddStay inserts a stay and sets its identity.
func (t *tx) AddStay(ctx context.Context, s *workshop.Stay) error {
	row := stayRow{StaffID: int64(s.Staff), How: string(s.How), DeviceID: idOrNull(s.Device), Place: s.Place, BeganAt: at(s.Began), SeenAt: at(s.Seen)}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	s.ID = row.ID
	return nil
}

// SeeStay notes that a stay was used.
func (t *tx) SeeStay(ctx context.Context, id int64, seen time.Time) error {
	return t.onStays(ctx, "see a stay", "UPDATE stays SET seen_at = ? WHERE id = ? AND ended_at IS NULL AND seen_at < ?", at(seen), id, at(seen))
}

// EndStay ends a stay; one that has ended stays as it is.
func (t *tx) EndStay(ctx context.Context, id int64, ended time.Time, why string) error {
	return t.onStays(ctx, "end a stay", "UPDATE stays SET ended_at = ?, ended_why = ? WHERE id = ? AND ended_at IS NULL", at(ended), why, id)
}

// EndStays ends all of a person's stays but one, which may be 0.
func (t *tx) EndStays(ctx context.Context, id domain.StaffID, but int64, ended time.Time, why string) error {
	return t.onStays(ctx, "end stays", "UPDATE stays SET ended_at = ?, ended_why = ? WHERE staff_id = ? AND id <> ? AND ended_at IS NULL", at(ended), why, id, but)
}

// EndStaysOn ends all stays on a device.
func (t *tx) EndStaysOn(ctx context.Context, device int64, ended time.Time, why string) error {
	return t.onStays(ctx, "end stays", "UPDATE stays SET ended_at = ?, ended_why = ? WHERE device_id = ? AND ended_at IS NULL", at(ended), why, device)
}

func (t *tx) onStays(ctx context.Context, what, query string, args ...any) error {
	if err := t.db.WithContext(ctx).Exec(query, args...).Error; err != nil {
		return fmt.Errorf("%s: %w", what, translate(err))
	}
	return nil
}

// throttleRow is a row of throttles.
type throttleRow struct {
	Key      string `gorm:"primaryKey"`
	Failures int
	LastAt   moment
	NextAt   moment
}

func (throttleRow) TableName() string { return "throttles" }

// Throttle reads the state of a key and locks it; one that is not kept is zero.
// On PostgreSQL a row that is not there cannot be locked, so one is made first.
func (t *tx) Throttle(ctx context.Context, key string) (workshop.Throttle, error) {
	var row throttleRow
	db := t.db.WithContext(ctx)
	fresh := throttleRow{Key: key, LastAt: at(longAgo), NextAt: at(longAgo)}
	if err := db.Clauses(clause.OnConflict{DoNothing: true}).Create(&fresh).Error; err != nil {
		return workshop.Throttle{}, fmt.Errorf("make a throttle: %w", translate(err))
	}
	if err := locked(db).Take(&row, "key = ?", key).Error; err != nil {
		return workshop.Throttle{}, fmt.Errorf("read a throttle: %w", translate(err))
	}
	return workshop.Throttle{Key: row.Key, Failures: row.Failures, Last: row.LastAt.Time, Next: row.NextAt.Time}, nil
}

// longAgo stands for never where a moment is needed.
var longAgo = time.Unix(0, 0).UTC()

// SaveThrottle writes the state of a key that was read.
func (t *tx) SaveThrottle(ctx context.Context, s workshop.Throttle) error {
	row := throttleRow{Key: s.Key, Failures: s.Failures, LastAt: at(s.Last), NextAt: at(s.Next)}
	if err := t.db.WithContext(ctx).Model(&throttleRow{}).Where("key = ?", s.Key).Select("failures", "last_at", "next_at").Updates(&row).Error; err != nil {
		return fmt.Errorf("save a throttle: %w", translate(err))
	}
	return nil
}

// DropThrottle forgets the state of a key.
func (t *tx) DropThrottle(ctx context.Context, key string) error {
	if err := t.db.WithContext(ctx).Exec("DELETE FROM throttles WHERE key = ?", key).Error; err != nil {
		return fmt.Errorf("drop a throttle: %w", translate(err))
	}
	return nil
}

// DropThrottlesBefore forgets the states that were not touched since a moment.
func (t *tx) DropThrottlesBefore(ctx context.Context, before time.Time) error {
	if err := t.db.WithContext(ctx).Exec("DELETE FROM throttles WHERE last_at < ?", at(before)).Error; err != nil {
		return fmt.Errorf("drop old throttles: %w", translate(err))
	}
	return nil
}

// secondRow is a row of second_factors.
type secondRow struct {
	StaffID     int64 `gorm:"primaryKey;autoIncrement:false"`
	Secret      string
	MadeAt      moment
	ConfirmedAt *moment
	LastStep    int64
}

func (secondRow) TableName() string { return "second_factors" }

func readSecond(db *gorm.DB, id domain.StaffID) (*workshop.SecondFactor, error) {
	var row secondRow
	err := db.Take(&row, "staff_id = ?", id).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("there is no second step")
	}
	if err != nil {
		return nil, fmt.Errorf("read the second step of staff %d: %w", id, translate(err))
	}
	return &workshop.SecondFactor{Staff: id, Secret: row.Secret, Made: row.MadeAt.Time, Confirmed: row.ConfirmedAt.orZero(), LastStep: row.LastStep}, nil
}

// SecondFactorOf reads a person's second step and how many recovery codes are left.
func (s *Store) SecondFactorOf(ctx context.Context, id domain.StaffID) (*workshop.SecondFactor, int, error) {
	db := s.db.WithContext(ctx)
	f, err := readSecond(db, id)
	if err != nil {
		return nil, 0, err
	}
	var left int64
	if err := db.Table("recovery_codes").Where("staff_id = ? AND used_at IS NULL", id).Count(&left).Error; err != nil {
		return nil, 0, fmt.Errorf("count recovery codes: %w", translate(err))
	}
	return f, int(left), nil
}

// SecondFactor reads a person's second step and locks the row.
func (t *tx) SecondFactor(ctx context.Context, id domain.StaffID) (*workshop.SecondFactor, error) {
	return readSecond(locked(t.db.WithContext(ctx)), id)
}

// SaveSecondFactor adds or replaces a person's second step.
func (t *tx) SaveSecondFactor(ctx context.Context, f *workshop.SecondFactor) error {
	row := secondRow{StaffID: int64(f.Staff), Secret: f.Secret, MadeAt: at(f.Made), ConfirmedAt: atOrNull(f.Confirmed), LastStep: f.LastStep}
	if err := t.db.WithContext(ctx).Clauses(clause.OnConflict{UpdateAll: true, Columns: []clause.Column{{Name: "staff_id"}}}).Create(&row).Error; err != nil {
		return fmt.Errorf("save the second step of staff %d: %w", f.Staff, translate(err))
	}
	return nil
}

// DropSecondFactor removes a person's second step with its recovery codes.
func (t *tx) DropSecondFactor(ctx context.Context, id domain.StaffID) error {
	for _, table := range []string{"recovery_codes", "second_factors"} {
		if err := t.db.WithContext(ctx).Exec("DELETE FROM "+table+" WHERE staff_id = ?", id).Error; err != nil {
			return fmt.Errorf("drop the second step of staff %d: %w", id, translate(err))
		}
	}
	return nil
}

// SetRecoveryCodes replaces a person's recovery codes.
func (t *tx) SetRecoveryCodes(ctx context.Context, id domain.StaffID, hashes []string) error {
	db := t.db.WithContext(ctx)
	if err := db.Exec("DELETE FROM recovery_codes WHERE staff_id = ?", id).Error; err != nil {
		return fmt.Errorf("drop recovery codes: %w", translate(err))
	}
	for _, h := range hashes {
		if err := db.Exec("INSERT INTO recovery_codes (staff_id, code_hash) VALUES (?, ?)", id, h).Error; err != nil {
			return fmt.Errorf("add a recovery code: %w", translate(err))
		}
	}
	return nil
}

// UseRecoveryCode marks a code as used and reports whether it was there unused.
func (t *tx) UseRecoveryCode(ctx context.Context, id domain.StaffID, hash string, used time.Time) (bool, error) {
	res := t.db.WithContext(ctx).Exec("UPDATE recovery_codes SET used_at = ? WHERE staff_id = ? AND code_hash = ? AND used_at IS NULL", at(used), id, hash)
	if res.Error != nil {
		return false, fmt.Errorf("use a recovery code: %w", translate(res.Error))
	}
	return res.RowsAffected == 1, nil
}
