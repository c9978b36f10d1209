package store_test

import (
	"strings"
	"testing"

	"winterbench/domain/audit"
	"winterbench/store"
	"winterbench/store/storetest"
)

// audited is what an audit says; it fails the test when it cannot be made.
func audited(t testing.TB, s *store.Store) audit.Report {
	t.Helper()
	r, err := s.Audit(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// wantClean fails unless every rule holds and had something to look at.
func wantClean(t testing.TB, r audit.Report, empty ...string) {
	t.Helper()
	for i, b := range r.Breaks {
		if i < 20 {
			t.Errorf("%s: %s", b.Rule, b.Text)
		}
	}
	if !r.Clean() {
		t.Errorf("got %d breaks, want none", r.Found())
	}
	for _, l := range r.Lines {
		if l.Looked == 0 && !strings.Contains(strings.Join(empty, ","), l.Code) {
			t.Errorf("nothing was held against the rule of %s: the invented shop must have something of it", l.Code)
		}
	}
}

// notInDemo are rules that the invented shop has nothing for: a history that is
// loaded was not asked for under keys, and it closes no month and keeps no money.
const notInDemo = "request keys, kept money, months"

func TestAuditOfTheInventedShopIsClean(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := inventedShop(t)
		if err := s.Load(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		r := audited(t, s)
		wantClean(t, r, notInDemo)
		if r.Jobs != len(d.Jobs) {
			t.Errorf("got %d jobs, want %d", r.Jobs, len(d.Jobs))
		}
	})
}

func TestAuditOfAnEmptyShopIsClean(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if r := audited(t, s); !r.Clean() || r.Jobs != 0 {
			t.Errorf("got %+v", r)
		}
	})
}
