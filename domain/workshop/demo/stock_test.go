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

// TestSuppliesGoWithTheTasks finds the glue and the cleats of the invented shop used and
// reserved by the templates of its tasks.
func TestSuppliesGoWithTheTasks(t *testing.T) {
	s, kinds := usual(t), 0
	for _, p := range s.Parts {
		if p.Kind != money.ShopSupplies {
			continue
		}
		kinds++
		used, asked, free := 0, 0, true
		for _, m := range s.Moves {
			if m.Part == p.ID && m.Kind == stock.Used && m.Job != 0 && m.Task != 0 {
				used++
			}
		}
		for _, r := range s.Reservations {
			if r.Part == p.ID {
				asked++
				free = free && r.Wait == 0
			}
		}
		if used == 0 || asked < used || !free {
			t.Errorf("%s: used %d times of %d reservations, none waited for: %t; want some, each asked for, and no wait", p.Name, used, asked, free)
		}
	}
	if kinds != 2 {
		t.Errorf("%d supplies are on the list, want glue and cleats", kinds)
	}
}
