package audit

import (
	"strings"
	"testing"

	"winterbench/domain"
)

func wantText(t *testing.T, r Report, want ...string) {
	t.Helper()
	if len(r.Breaks) != len(want) {
		t.Fatalf("got %+v, want %d breaks", r.Breaks, len(want))
	}
	for i, w := range want {
		if !strings.Contains(r.Breaks[i].Text, w) {
			t.Errorf("got %q, want %q in it", r.Breaks[i].Text, w)
		}
	}
}

func TestNumbersThatAreTwiceOrMissing(t *testing.T) {
	all := []Number{{3, 1}, {3, 2}, {4, 3}, {7, 4}}
	a := New(Terms{})
	a.Series("invoice", 8, func() (n Number, more bool) {
		if len(all) == 0 {
			return n, false
		}
		n, all = all[0], all[1:]
		return n, true
	})
	wantText(t, a.Done(), "invoice 3 is there twice: rows 1 and 2", "every invoice from 5 to 6 is missing", "invoice 8 was the last")
}

func TestChainsOfComebacks(t *testing.T) {
	a := New(Terms{})
	a.links = map[domain.JobID]domain.JobID{2: 1, 3: 2, 7: 8, 8: 9, 9: 7, 10: 7}
	wantText(t, a.Done(), "jobs 7, 8, 9 are comebacks of each other in a circle")
}

func TestBreaksBeyondTheMostAreCounted(t *testing.T) {
	a := New(Terms{})
	for range MostBreaks + 5 {
		a.Key(Key{Key: "k"})
	}
	if r := a.Done(); len(r.Breaks) != MostBreaks || r.LeftOut != 5 || r.Found() != MostBreaks+5 || r.Clean() {
		t.Errorf("got %d breaks and %d left out", len(r.Breaks), r.LeftOut)
	}
}
