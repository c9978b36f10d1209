package demo

import (
	"testing"

	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

// The invented shop is no evidence that the queue is right: it shows that the
// windows fit a shop whose bench does not work by the queue's own rule.
func TestWindowsOfTheQueueAgainstTheInventedWinters(t *testing.T) {
	if testing.Short() {
		t.Skip("two winters of the queue played week by week")
	}
	season, now := usual(t), present
	f := workshop.Facts{Shop: &season.Shop, Staff: season.Staff}
	k, err := workshop.Backtest(f, season.Jobs, now.AddDate(-2, 0, 0), now.AddDate(0, -2, 0), 5, queue.Options{Seed: 1, Replications: 100})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d jobs: done by P20 %.3f, P50 %.3f, P80 %.3f, P95 %.3f", k.Jobs, k.Share(k.P20), k.Share(k.P50), k.Share(k.P80), k.Share(k.P95))
	if k.Jobs < 300 {
		t.Errorf("%d jobs were compared, want at least 300", k.Jobs)
	}
	if got := k.Share(k.P80); got < 0.75 || got > 0.90 {
		t.Errorf("P80 was kept %.3f of the time, want 0.75 to 0.90", got)
	}
}
