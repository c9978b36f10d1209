package billing

import (
	"testing"

	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Reckoned by hand: on 31 March 2027 an invoice due on 31 March is not late, one of
// 30 March is a day late, one of 1 March 30 days, of 28 February 31, of 30 December
// 91. The steps are common practice, no source.
func TestAgeing(t *testing.T) {
	on := domain.Date("2027-03-31")
	open := []Open{
		{Due: "2027-03-31", Owed: 1}, {Due: "2027-04-30", Owed: 2}, {Due: "2027-03-30", Owed: 10}, {Due: "2027-03-01", Owed: 20},
		{Due: "2027-02-28", Owed: 100}, {Due: "2027-01-30", Owed: 200}, {Due: "2027-01-29", Owed: 1000}, {Date: "2026-12-31", Owed: 2000},
		{Date: "2026-12-30", Owed: 10000}, {Due: "2026-01-01", Owed: -5},
	}
	if got, want := Ageing(open, on), (Ages{3 - 5, 30, 300, 3000, 10000}); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestAgeingKeepsTheSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var open []Open
		var sum money.Amount
		for range rapid.IntRange(0, 20).Draw(t, "n") {
			o := Open{
				Date: domain.Date("2026-06-01").AddDays(rapid.IntRange(-400, 400).Draw(t, "day")), Owed: money.Amount(rapid.Int64Range(-10000, 100000).Draw(t, "owed")),
			}
			open, sum = append(open, o), sum+o.Owed
		}
		if got := Ageing(open, "2026-11-01").Sum(); got != sum {
			t.Fatalf("got %d, want %d", got, sum)
		}
	})
}
