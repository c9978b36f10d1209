package api_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// broken fails where it reads settings, and panics where it reads clocks.
type broken struct{ workshop.Queries }

func (broken) ShopSettings(context.Context) (*workshop.Shop, error) {
	return nil, errors.New(`pq: relation "secret_table" is gone`)
}

func (broken) RunningClocks(context.Context) ([]workshop.ClockRow, error) {
	panic("a secret slip")
}

func TestFaultsOfOursTellNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.http = engine(h.work, broken{s})
		for _, path := range []string{"/desk", "/clocks"} {
			r := h.as(domain.Owner).ask("GET", path, nil).problem(500, "the fault is ours")
			if strings.Contains(string(r.raw), "secret") {
				t.Errorf("%s tells %s", path, r.raw)
			}
		}
	})
}
