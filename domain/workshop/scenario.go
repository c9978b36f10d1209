package workshop

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
)

// Scenario is a what-if of the season that is kept by name.
type Scenario struct {
	ID      int64
	Name    string
	What    Change
	Created time.Time
	By      string
	Retired time.Time // when it was let go; zero while it stands
	Version int
}

// ScenarioTx reads and writes the what-ifs that are kept.
type ScenarioTx interface {
	Scenario(ctx context.Context, id int64) (*Scenario, error) // locked; one that was let go is not found
	// ScenarioNamed returns the identity of the standing scenario of a name, 0 for
	// none. Case does not matter.
	ScenarioNamed(ctx context.Context, name string) (int64, error)
	AddScenario(ctx context.Context, s *Scenario) error
	SaveScenario(ctx context.Context, s *Scenario) error
}

// ScenarioKey is the form of a name by which two scenarios are told apart.
func ScenarioKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// KeepScenario keeps a what-if under a name that no other has and returns its
// identity. It returns an Invalid error for a change that cannot be, and a
// conflict for a name that is taken.
func (w *Workshop) KeepScenario(ctx context.Context, by domain.Actor, name string, what Change) (int64, error) {
	return w.do(ctx, by, ActScenario, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		s := Scenario{Name: name, What: what, Created: at, By: by.Name, Version: 1}
		if err := s.check(shop.Today(at)); err != nil {
			return 0, err
		}
		if err := nameFree(ctx, tx, s.Name, 0); err != nil {
			return 0, err
		}
		if err := tx.AddScenario(ctx, &s); err != nil {
			return 0, err
		}
		return s.ID, note(ctx, tx, 0, by, at, "what-if kept", "", s.Name)
	})
}

// RenameScenario gives a what-if another name.
func (w *Workshop) RenameScenario(ctx context.Context, by domain.Actor, id int64, name string) error {
	return w.onScenario(ctx, by, id, func(tx Tx, s *Scenario, at time.Time) error {
		f := domain.Fields{}
		before := s.Name
		s.Name = domain.Line(f, "name", name, 80, true)
		if err := f.Err(); err != nil {
			return err
		}
		if err := nameFree(ctx, tx, s.Name, s.ID); err != nil {
			return err
		}
		return note(ctx, tx, 0, by, at, "what-if renamed", before, s.Name)
	})
}

// LetScenarioGo takes a what-if off the list. Its row stays in the books.
func (w *Workshop) LetScenarioGo(ctx context.Context, by domain.Actor, id int64) error {
	return w.onScenario(ctx, by, id, func(tx Tx, s *Scenario, at time.Time) error {
		s.Retired = at
		return note(ctx, tx, 0, by, at, "what-if let go", s.Name, "")
	})
}

func (w *Workshop) onScenario(ctx context.Context, by domain.Actor, id int64, change func(Tx, *Scenario, time.Time) error) error {
	_, err := w.do(ctx, by, ActScenario, func(tx Tx, at time.Time) (int64, error) {
		s, err := tx.Scenario(ctx, id)
		if err != nil {
			return 0, err
		}
		if seen, ok := ctx.Value(versionInContext{}).(int); ok && seen != s.Version {
			return 0, domain.Conflictf("somebody else changed this what-if meanwhile; look at it again")
		}
		if err := change(tx, s, at); err != nil {
			return 0, err
		}
		return id, tx.SaveScenario(ctx, s)
	})
	return err
}

func nameFree(ctx context.Context, tx Tx, name string, own int64) error {
	taken, err := tx.ScenarioNamed(ctx, name)
	if err == nil && taken != 0 && taken != own {
		return domain.Conflictf("there is a what-if named %q already; choose another name", name)
	}
	return err
}

// check trims the name and returns an Invalid error that names each wrong field.
func (s *Scenario) check(today domain.Date) error {
	f := domain.Fields{}
	s.Name = domain.Line(f, "name", s.Name, 80, true)
	for field, text := range domain.FieldsOf(s.What.Check(today)) {
		f.Add(field, "%s", text)
	}
	return f.Err()
}

// Body writes the change as it is kept.
func (c Change) Body() (string, error) {
	text, err := json.Marshal(c)
	if err != nil {
		return "", fmt.Errorf("write a what-if: %w", err)
	}
	return string(text), nil
}
