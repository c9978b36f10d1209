package store

import (
	"context"
	"encoding/json"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain/workshop"
)

// scenarioRow is a row of scenarios.
type scenarioRow struct {
	ID        int64
	Name      string
	NameKey   string
	Body      string
	CreatedAt moment
	CreatedBy string
	RetiredAt *moment
	Version   int
}

func (scenarioRow) TableName() string { return "scenarios" }
func (r *scenarioRow) key() *int64    { return &r.ID }

func rowOfScenario(s *workshop.Scenario) (scenarioRow, error) {
	body, err := s.What.Body()
	return scenarioRow{
		ID: s.ID, Name: s.Name, NameKey: workshop.ScenarioKey(s.Name), Body: body, CreatedAt: at(s.Created), CreatedBy: s.By,
		RetiredAt: atOrNull(s.Retired), Version: s.Version,
	}, err
}

func (r *scenarioRow) scenario() (*workshop.Scenario, error) {
	s := &workshop.Scenario{ID: r.ID, Name: r.Name, Created: r.CreatedAt.Time, By: r.CreatedBy, Retired: r.RetiredAt.orZero(), Version: r.Version}
	if err := json.Unmarshal([]byte(r.Body), &s.What); err != nil {
		return nil, fmt.Errorf("read what-if %d: %w", r.ID, err)
	}
	return s, nil
}

// Scenarios lists the what-ifs that are kept, by name.
func (s *Store) Scenarios(ctx context.Context) ([]workshop.Scenario, error) {
	var rows []scenarioRow
	if err := s.db.WithContext(ctx).Where("retired_at IS NULL").Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the what-ifs: %w", translate(err))
	}
	out := make([]workshop.Scenario, len(rows))
	for i := range rows {
		one, err := rows[i].scenario()
		if err != nil {
			return nil, err
		}
		out[i] = *one
	}
	return out, nil
}

// ScenarioByID reads one what-if that was not let go.
func (s *Store) ScenarioByID(ctx context.Context, id int64) (*workshop.Scenario, error) {
	return readScenario(s.db.WithContext(ctx), id)
}

// Scenario reads one what-if and locks the row.
func (t *tx) Scenario(ctx context.Context, id int64) (*workshop.Scenario, error) {
	return readScenario(locked(t.db.WithContext(ctx)), id)
}

func readScenario(db *gorm.DB, id int64) (*workshop.Scenario, error) {
	var row scenarioRow
	if err := takeRow(db.Where("retired_at IS NULL"), &row, id, "what-if"); err != nil {
		return nil, err
	}
	return row.scenario()
}

// ScenarioNamed returns the identity of the standing what-if of a name, 0 for none.
func (t *tx) ScenarioNamed(ctx context.Context, name string) (int64, error) {
	var ids []int64
	err := t.db.WithContext(ctx).Model(&scenarioRow{}).Where("retired_at IS NULL AND name_key = ?", workshop.ScenarioKey(name)).Pluck("id", &ids).Error
	if err != nil || len(ids) == 0 {
		return 0, translate(err)
	}
	return ids[0], nil
}

// AddScenario inserts a what-if and sets its identity.
func (t *tx) AddScenario(ctx context.Context, s *workshop.Scenario) error {
	row, err := rowOfScenario(s)
	if err != nil {
		return err
	}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	s.ID = row.ID
	return nil
}

// SaveScenario writes a what-if over the version that was read and raises it.
func (t *tx) SaveScenario(ctx context.Context, s *workshop.Scenario) error {
	row, err := rowOfScenario(s)
	if err != nil {
		return err
	}
	row.Version = s.Version + 1
	if err := saveRow(t.db.WithContext(ctx), &row, s.Version, "this what-if"); err != nil {
		return err
	}
	s.Version = row.Version
	return nil
}
