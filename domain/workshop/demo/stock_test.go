package demo

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// TestTheShelfIsItsMoves adds the ledger of the invented shop up again.
func TestTheShelfIsItsMoves(t *testing.T) {
	s := usual(t)
	moves, reserved := map[domain.PartID][]stock.Move{}, map[domain.PartID]stock.Quantity{}
	kinds := map[stock.MoveKind]int{}
	for _, m := range s.Moves {
		moves[m.Part] = append(moves[m.Part], m.Move)
		kinds[m.Kind]++
	}
	for _, r := range s.Reservations {
		reserved[r.Part] += r.Open
	}
	var value money.Amount
	for _, l := range s.Levels {
		want, err := stock.Replay(moves[l.Part])
		if err != nil {
			t.Fatal(err)
		}
		want.Reserved = reserved[l.Part]
		if l.Level != want || l.Quantity < l.Reserved {
			t.Errorf("part %d: the shelf holds %+v, its moves and reservations come to %+v", l.Part, l.Level, want)
		}
		value += l.Value
	}
	if got := billing.Balances(s.Journal)[billing.PartsStock]; got != value {
		t.Errorf("the books hold parts of %d, the shelf of %d", got, value)
	}
	for _, k := range []stock.MoveKind{stock.Received, stock.Used, stock.Damaged, stock.Counted, stock.Repriced} {
		if kinds[k] == 0 {
			t.Errorf("no part was %s", k)
		}
	}
	open, waiting, low := 0, 0, 0
	for _, o := range s.Orders {
		if o.State() == stock.OrderSent || o.State() == stock.OrderInPart {
			open++
		}
	}
	for _, c := range s.Counts {
		if c.Open() {
			waiting++
		}
	}
	for i, p := range s.Parts {
		if (workshop.ShelfRow{Part: p, Level: s.Levels[i].Level}).Low() {
			low++
		}
	}
	if open == 0 || waiting != 1 || low == 0 {
		t.Errorf("%d orders are open, %d counts wait, %d parts are low; want some, one and some", open, waiting, low)
	}
}
