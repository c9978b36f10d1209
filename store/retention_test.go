package store

import (
	"slices"
	"testing"

	"winterbench/domain"
)

func TestOutdatedKeepsTheNewestAndTheFirstOfEachMonth(t *testing.T) {
	var names []string
	for day := domain.Date("2025-01-10"); day <= "2026-11-26"; day = day.AddDays(1) {
		names = append(names, CopyName(day))
	}
	others := []string{"winterbench-2025-02-30.tar.gz", "monday.tar.gz", "winterbench-2025-03-01.tar.gz.part", "photos"}
	gone := Outdated(append(slices.Clone(others), names...), 14)
	var stay []string
	for _, name := range names {
		if !slices.Contains(gone, name) {
			stay = append(stay, name)
		}
	}
	// Twelve firsts, from December 2025 to November 2026, and the 14 days to the 26th.
	if len(stay) != 26 || stay[0] != CopyName("2025-12-01") || stay[11] != CopyName("2026-11-01") || stay[12] != CopyName("2026-11-13") || stay[25] != CopyName("2026-11-26") {
		t.Errorf("%d stay: %v", len(stay), stay)
	}
	if len(gone)+len(stay) != len(names) {
		t.Errorf("%d go and %d stay of %d", len(gone), len(stay), len(names))
	}
	for _, name := range others {
		if slices.Contains(gone, name) {
			t.Errorf("%s is no copy by the day and would be removed", name)
		}
	}
	if gone := Outdated([]string{CopyName("2026-11-26")}, 0); gone != nil {
		t.Errorf("the only copy would be removed: %v", gone)
	}
}
