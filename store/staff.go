package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// staffRow is a row of staff.
type staffRow struct {
	ID           int64
	Name         string
	NameKey      string
	PasswordHash string
	Roles        string
	Active       bool
	CreatedAt    moment
	Version      int
	Working      string
	Skill        int
}

// working is when a person works, as the row keeps it.
type working struct {
	Hours *workshop.Week     `json:"hours,omitempty"`
	Away  []workshop.DaySpan `json:"away,omitempty"`
}

func (staffRow) TableName() string { return "staff" }
func (r *staffRow) key() *int64    { return &r.ID }

func rowOfStaff(s *workshop.Staff) (staffRow, error) {
	row := staffRow{
		ID: int64(s.ID), Name: s.Name, NameKey: workshop.NameKey(s.Name), PasswordHash: s.Password, Roles: rolesText(s.Roles),
		Active: s.Active, CreatedAt: at(s.Since), Version: s.Version, Skill: s.Skill,
	}
	w := working{Away: s.Away}
	if !s.Hours.Empty() {
		w.Hours = &s.Hours
	}
	text, err := toJSON(w)
	row.Working = text
	return row, err
}

func (r *staffRow) staff() (workshop.Staff, error) {
	s := workshop.Staff{
		ID: domain.StaffID(r.ID), Name: r.Name, Password: r.PasswordHash, Roles: rolesOf(r.Roles),
		Active: r.Active, Since: r.CreatedAt.Time, Version: r.Version, Skill: r.Skill,
	}
	var w working
	if err := fromJSON(r.Working, &w); err != nil {
		return s, fmt.Errorf("read when %s works: %w", s.Name, err)
	}
	if s.Away = w.Away; w.Hours != nil {
		s.Hours = *w.Hours
	}
	return s, nil
}

// rolesText writes hats in the order of domain.Roles, each once. A hat that is
// not among them stands last, where the database refuses it.
func rolesText(roles []domain.Role) string {
	place := func(r domain.Role) int {
		if i := slices.Index(domain.Roles(), r); i >= 0 {
			return i
		}
		return len(domain.Roles())
	}
	sorted := slices.Clone(roles)
	slices.SortStableFunc(sorted, func(a, b domain.Role) int { return place(a) - place(b) })
	var words []string
	for _, r := range slices.Compact(sorted) {
		words = append(words, string(r))
	}
	return strings.Join(words, ",")
}

// rolesOf reads hats, sorted by name as Staff.Check sorts them.
func rolesOf(text string) []domain.Role {
	if text == "" {
		return nil
	}
	var roles []domain.Role
	for word := range strings.SplitSeq(text, ",") {
		roles = append(roles, domain.Role(word))
	}
	slices.Sort(roles)
	return roles
}

// StaffList reads everybody, by name.
func (s *Store) StaffList(ctx context.Context) ([]workshop.Staff, error) {
	var rows []staffRow
	if err := s.db.WithContext(ctx).Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list staff: %w", translate(err))
	}
	return eachErr(rows, (*staffRow).staff)
}

// StaffMember reads one person.
func (s *Store) StaffMember(ctx context.Context, id domain.StaffID) (*workshop.Staff, error) {
	return readStaff(s.db.WithContext(ctx), id)
}

// Staff reads one person and locks the row.
func (t *tx) Staff(ctx context.Context, id domain.StaffID) (*workshop.Staff, error) {
	return readStaff(locked(t.db.WithContext(ctx)), id)
}

func readStaff(db *gorm.DB, id domain.StaffID) (*workshop.Staff, error) {
	var row staffRow
	if err := takeRow(db, &row, id, "member of staff"); err != nil {
		return nil, err
	}
	s, err := row.staff()
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// StaffByName reads the person of a name in the form of workshop.NameKey.
func (t *tx) StaffByName(ctx context.Context, key string) (*workshop.Staff, error) {
	var row staffRow
	err := t.db.WithContext(ctx).Take(&row, "name_key = ?", key).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("there is nobody of that name")
	}
	if err != nil {
		return nil, fmt.Errorf("find staff by name: %w", translate(err))
	}
	s, err := row.staff()
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// StaffCount counts everybody, also who works here no more.
func (t *tx) StaffCount(ctx context.Context) (int, error) {
	var n int64
	if err := t.db.WithContext(ctx).Model(&staffRow{}).Count(&n).Error; err != nil {
		return 0, fmt.Errorf("count staff: %w", translate(err))
	}
	return int(n), nil
}

// AddStaff inserts a person and sets the identity.
func (t *tx) AddStaff(ctx context.Context, s *workshop.Staff) error {
	row, err := rowOfStaff(s)
	if err != nil {
		return err
	}
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	s.ID, s.Version = domain.StaffID(row.ID), row.Version
	return nil
}

// SaveStaff writes a person unless somebody saved it since it was read.
func (t *tx) SaveStaff(ctx context.Context, s *workshop.Staff) error {
	row, err := rowOfStaff(s)
	if err != nil {
		return err
	}
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, s.Version, s.Name); err != nil {
		return err
	}
	s.Version = row.Version
	return nil
}
