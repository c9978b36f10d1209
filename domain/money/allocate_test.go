package money

import (
	"slices"
	"testing"

	"winterbench/domain"
)

type split struct {
	ID       string
	Total    Amount   `json:"total_minor"`
	Weights  []int64  `json:"weights"`
	Expected []Amount `json:"expected_minor"`
}

// Source: testdata/allocation.json: a published apportionment of seats, the tests
// of a money library, and arithmetic; each case names its own.
func TestAllocateCases(t *testing.T) {
	var file struct {
		Cases []split
		Trap  split
	}
	readJSON(t, "allocation.json", &file)
	if len(file.Cases) != 16 || file.Trap.ID == "" {
		t.Fatalf("got %d cases and trap %q, want 16 and one", len(file.Cases), file.Trap.ID)
	}
	for _, c := range append(file.Cases, file.Trap) {
		got, err := Allocate(c.Total, c.Weights)
		if err != nil || !slices.Equal(got, c.Expected) {
			t.Errorf("%s: got %v, %v, want %v", c.ID, got, err, c.Expected)
		}
	}
}

func TestAllocateRefuses(t *testing.T) {
	for _, c := range []struct {
		about   string
		total   Amount
		weights []int64
	}{
		{"no weights", 5, nil},
		{"only zero weights", 5, []int64{0, 0}},
		{"a negative weight", 5, []int64{3, -1}},
		{"weights too large together", 5, []int64{1 << 62, 1 << 62}},
		{"a total too large", MaxAmount + 1, []int64{1}},
		{"the most negative total", -1 << 63, []int64{1}},
	} {
		if got, err := Allocate(c.total, c.weights); domain.KindOf(err) != domain.Invalid {
			t.Errorf("%s: got %v, %v, want an Invalid error", c.about, got, err)
		}
	}
}
