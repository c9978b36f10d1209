package stock

import (
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/money"
)

// costCase is a published example of testdata/inventory_costing.json; its source
// stands in each case.
type costCase struct {
	ID     string
	Method string
	Events []struct {
		Kind      string
		Qty       int64
		UnitCost  string `json:"unit_cost"`
		TotalCost string `json:"total_cost"`
	}
	Expected struct {
		IssueCosts  []string `json:"issue_costs"`
		Averages    []string
		EndingUnits int64  `json:"ending_units"`
		EndingValue string `json:"ending_value"`
		CostOfSales string `json:"cost_of_sales"`
	}
}

func TestMovingAverageMeetsThePublishedExamples(t *testing.T) {
	raw, err := os.ReadFile("testdata/inventory_costing.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []costCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	met := 0
	for _, c := range file.Cases {
		if !strings.HasPrefix(c.Method, "moving weighted average") {
			continue
		}
		met++
		t.Run(c.ID, func(t *testing.T) { c.run(t) })
	}
	if met != 4 {
		t.Errorf("met %d examples of the moving average, want 4", met)
	}
}

func (c costCase) run(t *testing.T) {
	var l Level
	var costs, averages []string
	sales := money.Amount(0)
	for _, e := range c.Events {
		if e.Kind == "receipt" {
			cost := cents(t, e.TotalCost)
			if e.TotalCost == "" {
				cost = money.Amount(e.Qty) * cents(t, e.UnitCost)
			}
			if _, err := l.Receive(Quantity(1000*e.Qty), cost); err != nil {
				t.Fatal(err)
			}
			averages = append(averages, l.Average().Shift(-2).String())
			continue
		}
		m, err := l.Take(Used, Quantity(1000*e.Qty), 0)
		if err != nil {
			t.Fatal(err)
		}
		sales -= m.Value
		costs = append(costs, euros(-m.Value))
	}
	want := c.Expected
	if got := strings.Join(costs, " "); got != strings.Join(want.IssueCosts, " ") {
		t.Errorf("issues cost %s, want %s", got, want.IssueCosts)
	}
	if l.Quantity != Quantity(1000*want.EndingUnits) || euros(l.Value) != want.EndingValue {
		t.Errorf("the shelf holds %d worth %s, want %d worth %s", l.Quantity, euros(l.Value), 1000*want.EndingUnits, want.EndingValue)
	}
	if want.CostOfSales != "" && euros(sales) != want.CostOfSales {
		t.Errorf("cost of sales %s, want %s", euros(sales), want.CostOfSales)
	}
	if len(want.Averages) > 0 {
		if got := strings.Join(averages[len(averages)-1:], ""); got != want.Averages[len(want.Averages)-1] {
			t.Errorf("last average %s, want %s", got, want.Averages[len(want.Averages)-1])
		}
	}
}

func cents(t *testing.T, typed string) money.Amount {
	if typed == "" {
		return 0
	}
	d, err := decimal.NewFromString(typed)
	if err != nil {
		t.Fatal(err)
	}
	return money.Amount(d.Shift(2).IntPart())
}

func euros(a money.Amount) string { return decimal.New(int64(a), -2).StringFixed(2) }

func TestTheShelfNeverGoesBelowZero(t *testing.T) {
	l := Level{Quantity: 3000, Value: 1000, Reserved: 2000}
	_, err := l.Take(Sold, 2000, 0)
	var short *ShortageError
	if !errors.As(err, &short) || short.Want != 2000 || short.Free != 1000 || domain.KindOf(err) != domain.Conflict {
		t.Fatalf("taking 2 where 1 is free gives %v", err)
	}
	if l != (Level{Quantity: 3000, Value: 1000, Reserved: 2000}) {
		t.Errorf("a refused move changed the level to %+v", l)
	}
	if _, err := l.Take(Used, 2000, 2000); err != nil || l.Reserved != 0 || l.Quantity != 1000 {
		t.Errorf("the job that reserved 2 takes them: %v, level %+v", err, l)
	}
}

func TestRefusedMoves(t *testing.T) {
	l := Level{Quantity: 3000, Value: 1000}
	used := Move{ID: 7, Kind: Used, Quantity: -2000, Value: -667}
	for name, c := range map[string]struct {
		do   func() error
		want string
	}{
		"receive a negative": {func() error { _, err := l.Receive(-1, 5); return err }, "sent back"},
		"receive below cost": {func() error { _, err := l.Receive(1, -5); return err }, "negative"},
		"receive too much":   {func() error { _, err := l.Receive(MaxQuantity, 5); return err }, "more than the shelf"},
		"take nothing":       {func() error { _, err := l.Take(Used, 0, 0); return err }, "more than 0"},
		"take by a receipt":  {func() error { _, err := l.Take(Received, 1, 0); return err }, "not taken off"},
		"put back too much":  {func() error { _, err := l.Return(used, 1500, 1000); return err }, "more than is left"},
		"put back a receipt": {func() error { _, err := l.Return(Move{Kind: Received, Quantity: 5}, 1, 0); return err }, "used or sold"},
		"count below zero":   {func() error { _, _, err := l.Count(-1, 0, ""); return err }, "from 0"},
		"count without why":  {func() error { _, _, err := l.Count(1, 0, ""); return err }, "reason"},
		"reprice nothing":    {func() error { _, _, err := l.Reprice(0, 5); return err }, "more than 0"},
	} {
		err := c.do()
		text := domain.TextOf(err)
		for _, note := range domain.FieldsOf(err) {
			text += " " + note
		}
		for field := range domain.FieldsOf(err) {
			text += " " + field
		}
		if err == nil || !strings.Contains(text, c.want) {
			t.Errorf("%s: %q, want something about %q", name, text, c.want)
		}
	}
	if l != (Level{Quantity: 3000, Value: 1000}) {
		t.Errorf("refused moves changed the level to %+v", l)
	}
}

// Postings L10, L15, L20 and L21 of the worked ledger: a part comes back at the
// cost at which it left, the supplier's price difference goes to stock, and count
// differences go at average cost. Source: IAS 2, paragraph 34; the figures are
// those of domain/billing/testdata/ledger_examples.csv.
func TestDifferences(t *testing.T) {
	l := Level{Quantity: 10_000, Value: 8500}
	if m, rest, err := l.Reprice(10_000, 100); err != nil || m.Value != 100 || rest != 0 || l.Value != 8600 {
		t.Errorf("the bill is 1.00 more: move %+v, rest %d, %v", m, rest, err)
	}
	l = Level{Quantity: 4_000, Value: 3400}
	if m, rest, err := l.Reprice(10_000, 100); err != nil || m.Value != 40 || rest != 60 {
		t.Errorf("with 6 of 10 gone: move %+v, rest %d, %v; want 40 and 60", m, rest, err)
	}
	l = Level{Quantity: 10_000, Value: 8250}
	if m, ok, err := l.Count(8_000, 0, "drawer searched twice"); err != nil || !ok || m.Value != -1650 {
		t.Errorf("two short at 8.25: %+v %t %v", m, ok, err)
	}
	if m, ok, err := l.Count(9_000, 0, "found behind the rack"); err != nil || !ok || m.Value != 825 {
		t.Errorf("one over at 8.25: %+v %t %v", m, ok, err)
	}
	if _, ok, err := l.Count(9_000, 0, ""); err != nil || ok {
		t.Errorf("a count that agrees moves something: %t %v", ok, err)
	}
	empty := Level{}
	if m, _, err := empty.Count(2_000, 825, "never noted"); err != nil || m.Value != 1650 {
		t.Errorf("two over on an empty shelf at the last cost: %+v %v", m, err)
	}
}

// A history of thousands of moves: value and quantity end together, the ledger
// replays to the same level, and what is put back costs what it cost.
func TestRandomHistoriesReplay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l Level
		var moves, used []Move
		back := map[int64]Quantity{}
		for range rapid.IntRange(1, 300).Draw(t, "events") {
			m, ok := randomMove(t, &l, used, back)
			if !ok {
				continue
			}
			m.ID = int64(len(moves) + 1)
			moves = append(moves, m)
			if m.Kind == Used {
				used = append(used, m)
			}
			if m.Kind == PutBack {
				back[m.Undoes] += m.Quantity
			}
			if l.Quantity < 0 || l.Value < 0 || l.Quantity == 0 && l.Value != 0 {
				t.Fatalf("after %+v the shelf holds %+v", m, l)
			}
		}
		replayed, err := Replay(moves)
		if err != nil || replayed.Quantity != l.Quantity || replayed.Value != l.Value {
			t.Fatalf("replayed to %+v, %v; want %+v", replayed, err, l)
		}
	})
}

func randomMove(t *rapid.T, l *Level, used []Move, back map[int64]Quantity) (Move, bool) {
	q := Quantity(rapid.Int64Range(1, 5000).Draw(t, "quantity"))
	var m Move
	var err error
	ok := true
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0, 1:
		m, err = l.Receive(q, money.Amount(rapid.Int64Range(0, 100000).Draw(t, "cost")))
	case 2, 3:
		m, err = l.Take(rapid.SampledFrom([]MoveKind{Used, Sold, Damaged, SentBack}).Draw(t, "why"), q, 0)
	case 4:
		m, ok, err = l.Count(q, 100, "counted")
	default:
		if len(used) == 0 {
			return m, false
		}
		was := used[rapid.IntRange(0, len(used)-1).Draw(t, "used")]
		m, err = l.Return(was, min(q, -was.Quantity-back[was.ID]), back[was.ID])
	}
	return m, ok && err == nil
}

func TestReplayFindsAnImpossibleLedger(t *testing.T) {
	for _, moves := range [][]Move{
		{{ID: 1, Part: 4, Quantity: 5, Value: 10}, {ID: 2, Part: 4, Quantity: -6, Value: -10}},
		{{ID: 1, Part: 4, Quantity: 5, Value: 10}, {ID: 2, Part: 4, Quantity: -5, Value: -9}},
		{{ID: 1, Part: 4, Quantity: 5, Value: 10}, {ID: 2, Part: 4, Quantity: -1, Value: -11}},
	} {
		if _, err := Replay(moves); err == nil || !strings.Contains(err.Error(), "move 2 of part 4") {
			t.Errorf("%v: %v, want move 2 of part 4 named", moves, err)
		}
	}
}

func TestQuantityOf(t *testing.T) {
	if q, err := QuantityOf(decimal.RequireFromString("2.125")); err != nil || q != 2125 || q.Units().String() != "2.125" {
		t.Errorf("2.125 units are %d thousandths, %v", q, err)
	}
	if _, err := QuantityOf(decimal.RequireFromString("0.0001")); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a ten-thousandth: %v", err)
	}
}

// TestRandomHistoriesKeepTheirValue moves a part thousands of times: the shelf is the
// sum of its moves, never below zero, empty when it is worth nothing, and what left
// cost its share of the average to within half of the smallest unit.
func TestRandomHistoriesKeepTheirValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l Level
		var moves, used []Move
		back := map[int64]Quantity{}
		for i := range rapid.IntRange(1, 3000).Draw(t, "events") {
			before := l
			m, err := step(t, &l, used, back)
			if err != nil {
				if l != before {
					t.Fatalf("a refused move changed %+v to %+v", before, l)
				}
				continue
			}
			if m.ID = int64(i + 1); m.Kind == Used {
				used = append(used, m)
				share := before.Average().Mul(m.Quantity.Units()).Neg()
				if off := share.Sub(decimal.NewFromInt(int64(-m.Value))).Abs(); off.GreaterThan(decimal.RequireFromString("0.5001")) {
					t.Fatalf("%+v of %+v took %d, its share is %s", m, before, -m.Value, share)
				}
			}
			moves = append(moves, m)
		}
		sum, err := Replay(moves)
		if err != nil || sum.Quantity != l.Quantity || sum.Value != l.Value {
			t.Fatalf("the moves come to %+v (%v), the shelf holds %+v", sum, err, l)
		}
	})
}

// step makes one move.
func step(t *rapid.T, l *Level, used []Move, back map[int64]Quantity) (Move, error) {
	q := Quantity(rapid.Int64Range(-10, 9000).Draw(t, "quantity"))
	switch rapid.SampledFrom([]string{"in", "out", "out", "break", "back", "count", "bill"}).Draw(t, "what") {
	case "in":
		return l.Receive(q, money.Amount(rapid.Int64Range(-5, 90_000).Draw(t, "cost")))
	case "out":
		return l.TakeFor(q, Claim{})
	case "break":
		return l.Take(Damaged, q, 0)
	case "back":
		if len(used) == 0 {
			return Move{}, errors.New("nothing was used")
		}
		taken := rapid.SampledFrom(used).Draw(t, "taken")
		m, err := l.Return(taken, q, back[taken.ID])
		if err == nil {
			back[taken.ID] += q
		}
		return m, err
	case "count":
		m, moved, err := l.Count(q, 77, "random")
		if err == nil && !moved {
			err = errors.New("the count agrees")
		}
		return m, err
	}
	m, _, err := l.Reprice(q, money.Amount(rapid.Int64Range(-3000, 3000).Draw(t, "difference")))
	return m, err
}

func TestAJobTakesWhatItReserved(t *testing.T) {
	for name, c := range map[string]struct {
		level Level
		claim Claim
		most  Quantity
	}{
		"nobody reserved":           {Level{Quantity: 3000}, Claim{}, 3000},
		"others reserved all":       {Level{Quantity: 3000, Reserved: 3000}, Claim{}, 0},
		"own, first in the row":     {Level{Quantity: 1000, Reserved: 2000}, Claim{Own: 1000}, 1000},
		"own, second in the row":    {Level{Quantity: 1000, Reserved: 2000}, Claim{Own: 1000, Ahead: 1000}, 0},
		"own and some that is free": {Level{Quantity: 5000, Reserved: 3000}, Claim{Own: 1000, Ahead: 2000}, 3000},
	} {
		if c.most > 0 {
			l := c.level
			if _, err := l.TakeFor(c.most, c.claim); err != nil {
				t.Errorf("%s: takes %d: %v", name, c.most, err)
			}
			if want := c.level.Reserved - min(c.claim.Own, c.most); l.Reserved != want {
				t.Errorf("%s: %d stay reserved, want %d", name, l.Reserved, want)
			}
		}
		l := c.level
		var short *ShortageError
		if _, err := l.TakeFor(c.most+1, c.claim); !errors.As(err, &short) || short.Free != c.most {
			t.Errorf("%s: taking more than %d gives %v", name, c.most, err)
		}
	}
}

func TestTheOldestReservationIsServedFirst(t *testing.T) {
	open := []Reservation{{ID: 3, Open: 2000}, {ID: 1, Open: 2000}, {ID: 2, Open: 0}, {ID: 4, Open: 1000}}
	got := Serve(3000, open, []Coming{{Order: 2, Quantity: 1000}, {Order: 1, Quantity: 1000, On: "2026-12-02"}})
	want := []struct {
		id      int64
		short   Quantity
		ordered bool
		on      domain.Date
	}{{1, 0, false, ""}, {3, 1000, true, "2026-12-02"}, {4, 1000, true, ""}}
	if len(got) != len(want) {
		t.Fatalf("%d are served, want %d", len(got), len(want))
	}
	for i, w := range want {
		if g := got[i]; g.ID != w.id || g.Short != w.short || g.Ordered != w.ordered || g.On != w.on {
			t.Errorf("served %+v, want %+v", g, w)
		}
	}
	if got := Serve(0, open[:1], nil)[0]; got.Ordered || got.Short != 2000 {
		t.Errorf("nothing is ordered, but %+v", got)
	}
}
