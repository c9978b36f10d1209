package store

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// guessRow is a row of arrival_guesses.
type guessRow struct {
	ID        int64
	Monday    string
	Kind      string
	Jobs      int
	Reason    string
	MadeAt    moment
	MadeBy    string
	RemovedAt *moment
	Version   int
}

func (guessRow) TableName() string { return "arrival_guesses" }
func (r *guessRow) key() *int64    { return &r.ID }

func rowOfGuess(g *workshop.ArrivalGuess) guessRow {
	return guessRow{
		ID: g.ID, Monday: string(g.Monday), Kind: g.Kind, Jobs: g.Jobs, Reason: g.Reason, MadeAt: at(g.Made), MadeBy: g.By,
		RemovedAt: atOrNull(g.Removed), Version: g.Version,
	}
}

func (r *guessRow) guess() workshop.ArrivalGuess {
	return workshop.ArrivalGuess{
		ID: r.ID, Monday: domain.Date(r.Monday), Kind: r.Kind, Jobs: r.Jobs, Reason: r.Reason, Made: r.MadeAt.Time, By: r.MadeBy,
		Removed: r.RemovedAt.orZero(), Version: r.Version,
	}
}

// ArrivalGuesses lists what the owner expects of the weeks from a Monday on.
func (s *Store) ArrivalGuesses(ctx context.Context, from domain.Date) ([]workshop.ArrivalGuess, error) {
	var rows []guessRow
	if err := s.db.WithContext(ctx).Where("removed_at IS NULL AND monday >= ?", string(from)).Order("monday, kind, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the guesses: %w", translate(err))
	}
	var out []workshop.ArrivalGuess
	for i := range rows {
		out = append(out, rows[i].guess())
	}
	return out, nil
}

// ArrivalGuess reads one guess that was not taken back and locks the row.
func (t *tx) ArrivalGuess(ctx context.Context, id int64) (*workshop.ArrivalGuess, error) {
	var row guessRow
	if err := takeRow(locked(t.db.WithContext(ctx)).Where("removed_at IS NULL"), &row, id, "guess"); err != nil {
		return nil, err
	}
	g := row.guess()
	return &g, nil
}

// GuessFor returns the identity of the standing guess of a kind in a week, 0 for none.
func (t *tx) GuessFor(ctx context.Context, monday domain.Date, kind string) (int64, error) {
	var ids []int64
	err := t.db.WithContext(ctx).Model(&guessRow{}).Where("removed_at IS NULL AND monday = ? AND kind = ?", string(monday), kind).Pluck("id", &ids).Error
	if err != nil || len(ids) == 0 {
		return 0, translate(err)
	}
	return ids[0], nil
}

// AddArrivalGuess inserts a guess and sets its identity.
func (t *tx) AddArrivalGuess(ctx context.Context, g *workshop.ArrivalGuess) error {
	row := rowOfGuess(g)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	g.ID = row.ID
	return nil
}

// SaveArrivalGuess writes a guess over the version that was read and raises it.
func (t *tx) SaveArrivalGuess(ctx context.Context, g *workshop.ArrivalGuess) error {
	row := rowOfGuess(g)
	row.Version = g.Version + 1
	if err := saveRow(t.db.WithContext(ctx), &row, g.Version, "this guess"); err != nil {
		return err
	}
	g.Version = row.Version
	return nil
}

// SeasonMark counts the jobs that were decided before a moment, and tells the version
// of the climate.
func (s *Store) SeasonMark(ctx context.Context, before time.Time) (workshop.SeasonMark, error) {
	var row struct{ Decided, Climate int }
	err := s.db.WithContext(ctx).Raw(`SELECT (SELECT COUNT(*) FROM jobs WHERE COALESCE(approved_at, declined_at) < ?) AS decided,
		(SELECT COALESCE(MAX(version), 0) FROM climates) AS climate`, at(before)).Scan(&row).Error
	if err != nil {
		return workshop.SeasonMark{}, fmt.Errorf("look whether the season changed: %w", translate(err))
	}
	return workshop.SeasonMark{Decided: row.Decided, Climate: row.Climate}, nil
}
