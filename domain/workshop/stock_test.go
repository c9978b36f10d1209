package workshop_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// listed puts a part on the list.
func (h *house) listed(code, name string) domain.PartID {
	h.t.Helper()
	id, err := h.work.NotePart(h.ctx, h.owner, stock.Part{Code: code, Name: name, Unit: "each", Kind: money.Part, Price: 1400, Cost: 520, Shelf: "drawer 3"})
	h.must(err)
	return id
}

// received puts whole pieces on the shelf.
func (h *house) received(part domain.PartID, pieces stock.Quantity, cost money.Amount) domain.ReceiptID {
	h.t.Helper()
	id, err := h.work.Receive(h.ctx, h.counter, workshop.Delivery{Part: part, Quantity: 1000 * pieces, Cost: cost})
	h.must(err)
	return id
}

func (h *house) level(part domain.PartID, want stock.Level) {
	h.t.Helper()
	got, err := h.store.LevelOf(h.ctx, part)
	h.must(err)
	if got.Level != want {
		h.t.Errorf("the shelf holds %+v, want %+v", got.Level, want)
	}
}

// replayed proves that the level of a part is the sum of its moves, each of which says
// what it left.
func (h *house) replayed(part domain.PartID) {
	h.t.Helper()
	rows, _, err := h.store.MovesOf(h.ctx, part, workshop.Page{Limit: 200})
	h.must(err)
	var moves []stock.Move
	for i := len(rows) - 1; i >= 0; i-- {
		moves = append(moves, rows[i].Move)
		so, err := stock.Replay(moves)
		h.must(err)
		if so != rows[i].Left {
			h.t.Errorf("move %d left %+v, its moves come to %+v", rows[i].ID, rows[i].Left, so)
		}
	}
	sum, err := stock.Replay(moves)
	h.must(err)
	level, err := h.store.LevelOf(h.ctx, part)
	h.must(err)
	sum.Reserved = level.Reserved
	if sum != level.Level {
		h.t.Errorf("the level is %+v, its %d moves come to %+v", level.Level, len(moves), sum)
	}
}

// yes brings a job to a yes with a saddle on the quote.
func (h *house) yes(rows ...quote.Row) domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	s := crack()
	s.Rows = append(s.Rows, rows...)
	q := h.said(id, s)
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
	return id
}

func saddleRow() quote.Row { return quote.Row{Part: "saddle", Quantity: "1", For: "CG"} }

func TestPartsThatAreNotKeptAreUsedAsEver(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		id := h.yes(saddleRow())
		h.must(h.work.UsePart(h.ctx, h.bench, id, h.task(id, "CG").ID, saddle, dec("1")))
		used := h.folder(id).Job.Parts[0]
		if used.Move != 0 || used.AtCost() != 520 {
			t.Errorf("used %+v, want no move and the cost of the list", used)
		}
		h.received(saddle, 2, 1040)
		h.must(h.work.PutBack(h.ctx, h.bench, id, used.ID)) // it left before stock was kept
		h.level(saddle, stock.Level{Quantity: 2000, Value: 1040})
	})
}

func TestUsedAtAverageCostAndPutBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 2, 667)
		h.received(saddle, 1, 333)
		id := h.yes()
		task := h.task(id, "CG").ID
		h.must(h.work.UsePart(h.ctx, h.bench, id, task, saddle, dec("2")))
		h.level(saddle, stock.Level{Quantity: 1000, Value: 333})
		used := h.folder(id).Job.Parts[0]
		if used.Move == 0 || used.Value != 667 || used.AtCost() != 667 {
			t.Errorf("used %+v, want two of three that cost 1000: 667", used)
		}
		err := h.work.UsePart(h.ctx, h.bench, id, task, saddle, dec("2"))
		h.refused(err, domain.Conflict, "2 each of Saddle blank wanted, but 1 free")
		h.must(h.work.PutBack(h.ctx, h.bench, id, used.ID))
		h.refused(h.work.PutBack(h.ctx, h.bench, id, used.ID), domain.Conflict, "put back before")
		h.level(saddle, stock.Level{Quantity: 3000, Value: 1000})
		h.replayed(saddle)
		if back := h.folder(id).Job.Parts[1]; back.AtCost() != -667 {
			t.Errorf("put back at %d, want -667", back.AtCost())
		}
	})
}

// TestTheLastSaddle lets two people take the last one at the same moment.
func TestTheLastSaddle(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 1, 520)
		jobs := []domain.JobID{h.yes(), h.yes()}
		tasks := []domain.TaskID{h.task(jobs[0], "CG").ID, h.task(jobs[1], "CG").ID}
		errs := make([]error, len(jobs))
		var start, done sync.WaitGroup
		start.Add(1)
		for i := range jobs {
			done.Add(1)
			go func() {
				defer done.Done()
				start.Wait()
				errs[i] = h.work.UsePart(h.ctx, h.bench, jobs[i], tasks[i], saddle, dec("1"))
			}()
		}
		start.Done()
		done.Wait()
		if (errs[0] == nil) == (errs[1] == nil) {
			t.Fatalf("got %v and %v, want one that has it and one refused", errs[0], errs[1])
		}
		for _, err := range errs {
			if err != nil {
				h.refused(err, domain.Conflict, "1 each of Saddle blank wanted, but 0 free")
			}
		}
		h.level(saddle, stock.Level{})
		h.replayed(saddle)
	})
}

func (h *house) waits(id domain.JobID) []job.Wait {
	h.t.Helper()
	var out []job.Wait
	for _, w := range h.folder(id).Job.Waits {
		if w.End.IsZero() {
			out = append(out, w)
		}
	}
	return out
}

func TestAShortageIsAWaitThatTheReceiptEnds(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 1, 520)
		first, second := h.yes(saddleRow()), h.yes(saddleRow())
		h.level(saddle, stock.Level{Quantity: 1000, Value: 520, Reserved: 2000})
		if got := h.waits(first); len(got) != 0 {
			t.Errorf("the first job waits for %+v, want nothing: its saddle lies there", got)
		}
		got := h.waits(second)
		if len(got) != 1 || got[0].Kind != job.PartOrdered || !got[0].Until.IsZero() || got[0].Note != "1 each of Saddle blank, not ordered yet" || got[0].Task != h.task(second, "CG").ID {
			t.Fatalf("the second job waits for %+v, want its saddle, without a day", got)
		}
		// Who came second cannot take what the first reserved.
		h.refused(h.work.UsePart(h.ctx, h.bench, second, h.task(second, "CG").ID, saddle, dec("1")), domain.Conflict, "0 free")

		supplier, err := h.work.NoteSupplier(h.ctx, h.owner, stock.Supplier{Name: "Bone and Brass", Days: 6})
		h.must(err)
		order, err := h.work.DraftOrder(h.ctx, h.owner, 0, workshop.Draft{Supplier: supplier, Lines: []stock.OrderLine{{Part: saddle, Quantity: 4000, Cost: 2000}}}, 0)
		h.must(err)
		if w := h.waits(second); !w[0].Until.IsZero() {
			t.Errorf("a draft gives the wait a day: %+v", w)
		}
		h.must(h.work.SendOrder(h.ctx, h.owner, order, "2026-12-02"))
		w := h.waits(second)[0]
		if want := time.Date(2026, 12, 3, 6, 0, 0, 0, time.UTC); !w.Until.Equal(want) || !strings.Contains(w.Note, "expected 2026-12-02") {
			t.Errorf("the wait says %+v, want the end of 2 December in Winnipeg, %s", w, want)
		}
		o, err := h.store.PurchaseByID(h.ctx, order)
		h.must(err)
		h.must(h.work.ReceiveOrder(h.ctx, h.counter, order, "note 17", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: 1000}}))
		if got := h.waits(second); len(got) != 0 {
			t.Errorf("after the receipt the job still waits for %+v", got)
		}
		o, err = h.store.PurchaseByID(h.ctx, order)
		h.must(err)
		if o.State() != stock.OrderInPart || o.Lines[0].Missing() != 3000 {
			t.Errorf("the order is %s with %d missing, want received in part with 3000", o.State(), o.Lines[0].Missing())
		}
		h.must(h.work.UsePart(h.ctx, h.bench, second, h.task(second, "CG").ID, saddle, dec("1")))
		h.must(h.work.UsePart(h.ctx, h.bench, first, h.task(first, "CG").ID, saddle, dec("1")))
		h.level(saddle, stock.Level{})
		h.replayed(saddle)
	})
}

func TestReservationsAreReleased(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 1, 520)
		dropped := h.yes(saddleRow())
		waiting := h.yes(saddleRow())
		h.must(h.work.Drop(h.ctx, h.bench, dropped, h.task(dropped, "CC").ID, "not needed"))
		h.level(saddle, stock.Level{Quantity: 1000, Value: 520, Reserved: 2000})
		h.must(h.work.Drop(h.ctx, h.bench, dropped, h.task(dropped, "CG").ID, "not needed"))
		h.level(saddle, stock.Level{Quantity: 1000, Value: 520, Reserved: 1000})
		if got := h.waits(waiting); len(got) != 0 {
			t.Errorf("the saddle is free, but the other job still waits for %+v", got)
		}
		h.must(h.work.Damage(h.ctx, h.bench, saddle, 1000, "split in the vice"))
		h.level(saddle, stock.Level{Reserved: 1000})
		got := h.waits(waiting)
		if len(got) != 1 {
			t.Fatalf("the saddle is broken and %+v waits, want the job", got)
		}
		// To wait for a part begins nothing: the task can still be dropped.
		h.must(h.work.Drop(h.ctx, h.bench, waiting, got[0].Task, "the customer does without"))
		h.level(saddle, stock.Level{})
		if got := h.waits(waiting); len(got) != 0 {
			t.Errorf("a dropped task still waits: %+v", got)
		}
	})
}

func TestANewVersionKeepsItsPlaceInTheRow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 1, 520)
		first, second := h.yes(saddleRow()), h.yes(saddleRow())
		f := h.folder(first)
		sheet, _ := workshop.NextSheet(f.Versions)
		q := h.said(first, sheet)
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
		if len(h.waits(first)) != 0 || len(h.waits(second)) != 1 {
			t.Errorf("%d and %d wait, want the second alone", len(h.waits(first)), len(h.waits(second)))
		}
		sheet.Rows = sheet.Rows[:len(sheet.Rows)-1] // without the saddle
		q = h.said(first, sheet)
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
		h.level(saddle, stock.Level{Quantity: 1000, Value: 520, Reserved: 1000})
		if len(h.waits(second)) != 0 {
			t.Error("the saddle is free again, but the second job waits")
		}
	})
}

func TestABillThatDiffers(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		receipt := h.received(saddle, 10, 8500)
		id := h.yes()
		h.must(h.work.UsePart(h.ctx, h.bench, id, h.task(id, "CG").ID, saddle, dec("6")))
		h.must(h.work.Bill(h.ctx, h.counter, receipt, 8600, 1118)) // postings L14 and L15 of the worked ledger
		h.level(saddle, stock.Level{Quantity: 4000, Value: 3440})
		h.refused(h.work.Bill(h.ctx, h.counter, receipt, 8600, 1118), domain.Conflict, "was noted")
		r, err := h.store.ReceiptByID(h.ctx, receipt)
		h.must(err)
		if r.Bill.Gone != 60 || r.Bill.Repriced == 0 {
			t.Errorf("the bill is %+v, want 60 on what has left", r.Bill)
		}
		p, err := h.store.PartByID(h.ctx, saddle)
		h.must(err)
		if p.Cost != 860 {
			t.Errorf("a saddle costs %d, want 860 as billed", p.Cost)
		}
		h.replayed(saddle)
	})
}

func TestABlindCount(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle, nut := h.listed("saddle", "Saddle blank"), h.listed("nut", "Nut blank")
		h.received(saddle, 10, 8250)
		count, err := h.work.EnterCount(h.ctx, h.bench, "drawer 3", []stock.CountLine{{Part: saddle, Found: 8000}, {Part: nut, Found: 3000}})
		h.must(err)
		h.level(saddle, stock.Level{Quantity: 10_000, Value: 8250}) // nothing moved yet
		h.received(saddle, 1, 825)                                  // meanwhile
		h.refused(h.work.PostCount(h.ctx, h.bench, count, map[domain.PartID]string{saddle: "searched twice"}), domain.Invalid, "reasons")
		h.must(h.work.PostCount(h.ctx, h.bench, count, map[domain.PartID]string{saddle: "searched twice", nut: "first count"}))
		h.level(saddle, stock.Level{Quantity: 9000, Value: 7425})
		h.level(nut, stock.Level{Quantity: 3000, Value: 1560}) // at the cost of the list
		h.refused(h.work.PostCount(h.ctx, h.bench, count, nil), domain.Conflict, "posted by Runa before")
		h.refused(h.work.DropCount(h.ctx, h.bench, count, "twice"), domain.Conflict, "posted")

		again, err := h.work.EnterCount(h.ctx, h.bench, "", []stock.CountLine{{Part: saddle, Found: 0}})
		h.must(err)
		h.must(h.work.Damage(h.ctx, h.bench, saddle, 1000, "split"))
		h.refused(h.work.PostCount(h.ctx, h.bench, again, map[domain.PartID]string{saddle: "gone"}), domain.Conflict, "left the shelf since")
		h.must(h.work.DropCount(h.ctx, h.bench, again, "count once more"))
		h.replayed(saddle)
		h.replayed(nut)
	})
}

func TestRefusedOnTheShelf(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		deliver := func(q stock.Quantity, cost money.Amount) error {
			_, err := h.work.Receive(h.ctx, h.counter, workshop.Delivery{Part: saddle, Quantity: q, Cost: cost})
			return err
		}
		h.refused(deliver(-1000, 500), domain.Invalid, "sent back")
		h.refused(deliver(1000, -500), domain.Invalid, "negative")
		h.refused(h.work.Damage(h.ctx, h.bench, saddle, 1000, "split"), domain.Conflict, "no stock is kept")
		h.received(saddle, 1, 500)
		h.refused(h.work.SendBack(h.ctx, h.counter, saddle, 2000, "wrong size"), domain.Conflict, "2 each of Saddle blank wanted, but 1 free")
		h.refused(h.work.SendBack(h.ctx, h.counter, saddle, 1000, ""), domain.Invalid, "reason")
		h.must(h.work.SendBack(h.ctx, h.counter, saddle, 1000, "wrong size"))
		h.refused(deliver(0, 5), domain.Invalid, "more than 0")
		_, err := h.work.Receive(h.ctx, h.bench, workshop.Delivery{Part: saddle, Quantity: 1000, Cost: 1})
		h.refused(err, domain.Denied, "receive parts")
		_, err = h.work.EnterCount(h.ctx, h.bench, "", []stock.CountLine{{Part: saddle, Found: -1}})
		h.refused(err, domain.Invalid, "from 0")
		_, err = h.work.EnterCount(h.ctx, h.bench, "", nil)
		h.refused(err, domain.Invalid, "at least one")
		_, err = h.work.DraftOrder(h.ctx, h.counter, 0, workshop.Draft{}, 0)
		h.refused(err, domain.Denied, "order parts")
		_, err = h.work.NotePart(h.ctx, h.owner, stock.Part{ID: saddle, Code: "saddle", Name: "Saddle blank", Unit: "mm", Kind: money.Part, Version: 3})
		h.refused(err, domain.Conflict, "stays each")
		h.replayed(saddle)
	})
}

func TestOrders(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle, nut := h.listed("saddle", "Saddle blank"), h.listed("nut", "Nut blank")
		supplier, err := h.work.NoteSupplier(h.ctx, h.owner, stock.Supplier{Name: "Bone and Brass"})
		h.must(err)
		_, err = h.work.NoteSupplier(h.ctx, h.owner, stock.Supplier{Name: "bone and brass"})
		h.refused(err, domain.Conflict, "of that name")
		lines := []stock.OrderLine{{Part: saddle, Quantity: 4000, Cost: 2000}, {Part: nut, Quantity: 2000, Cost: 900}}
		_, err = h.work.DraftOrder(h.ctx, h.owner, 0, workshop.Draft{Supplier: supplier, Lines: append(lines, lines[0])}, 0)
		h.refused(err, domain.Invalid, "stands twice")
		id, err := h.work.DraftOrder(h.ctx, h.owner, 0, workshop.Draft{Supplier: supplier, Lines: lines[:1]}, 0)
		h.must(err)
		_, err = h.work.DraftOrder(h.ctx, h.owner, id, workshop.Draft{Supplier: supplier, Lines: lines}, 1)
		h.must(err)
		_, err = h.work.DraftOrder(h.ctx, h.owner, id, workshop.Draft{Supplier: supplier, Lines: lines}, 1)
		h.refused(err, domain.Conflict, "somebody else saved order 1")
		o, err := h.store.PurchaseByID(h.ctx, id)
		h.must(err)
		h.refused(h.work.ReceiveOrder(h.ctx, h.counter, id, "", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: 1000}}), domain.Conflict, "is a draft")
		h.refused(h.work.SendOrder(h.ctx, h.owner, id, "2026-11-01"), domain.Invalid, "is over")
		h.must(h.work.SendOrder(h.ctx, h.owner, id, ""))
		h.refused(h.work.SendOrder(h.ctx, h.owner, id, ""), domain.Conflict, "sent before")
		h.must(h.work.ExpectOrder(h.ctx, h.counter, id, "2026-12-04"))
		dear := money.Amount(1100)
		h.refused(h.work.ReceiveOrder(h.ctx, h.counter, id, "", nil), domain.Invalid, "what came")
		h.refused(h.work.ReceiveOrder(h.ctx, h.counter, id, "", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: -1}}), domain.Invalid, "more than 0")
		h.must(h.work.ReceiveOrder(h.ctx, h.counter, id, "note 3", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: 2000, Cost: &dear}}))
		got, err := h.store.ReceiptsOfOrder(h.ctx, id)
		h.must(err)
		if difference, ok := got[0].Difference(); !ok || difference != 100 || got[0].Paper != "note 3" {
			t.Errorf("the receipt %+v differs by %d, want 100 more than the order expected", got[0], difference)
		}
		rows, err := h.store.ShelfRows(h.ctx)
		h.must(err)
		for _, r := range rows {
			if want := stock.Quantity(2000); (r.ID == saddle || r.ID == nut) && (r.OnOrder != want || r.Expected != "2026-12-04") {
				t.Errorf("%s: %d on order for %q, want %d for 4 December", r.Name, r.OnOrder, r.Expected, want)
			}
		}
		h.must(h.work.ReceiveOrder(h.ctx, h.counter, id, "", []workshop.Arrived{{Line: o.Lines[0].ID, Quantity: 2000}, {Line: o.Lines[1].ID, Quantity: 2000}}))
		o, err = h.store.PurchaseByID(h.ctx, id)
		h.must(err)
		if o.State() != stock.OrderClosed || o.ClosedWhy != "all came" {
			t.Errorf("the order is %s (%s), want closed: all came", o.State(), o.ClosedWhy)
		}
		h.refused(h.work.CloseOrder(h.ctx, h.owner, id, "late"), domain.Conflict, "closed before")
		h.level(saddle, stock.Level{Quantity: 4000, Value: 2100})
	})
}

func TestMarkupMakesThePrice(t *testing.T) {
	h := open(t, storetest.Open(t, "sqlite"))
	markup := dec("62.5")
	id, err := h.work.NotePart(h.ctx, h.owner, stock.Part{Code: "saddle", Name: "Saddle blank", Unit: "each", Kind: money.Part, Cost: 520, Markup: &markup})
	h.must(err)
	price := func() money.Amount {
		p, err := h.store.PartByID(h.ctx, id)
		h.must(err)
		return p.Price
	}
	if got := price(); got != 845 {
		t.Errorf("5.20 and 62.5 %% on it are %d, want 845", got)
	}
	h.received(id, 3, 1700) // 566.67 each, 567 rounded
	if got := price(); got != 921 {
		t.Errorf("after a dearer receipt the price is %d, want 921", got)
	}
}

func TestTheAnswerOfTheShelf(t *testing.T) {
	shop := settings(t)
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	row := func(name string, q, reserved stock.Quantity, mark stock.Quantity) workshop.ShelfRow {
		return workshop.ShelfRow{Part: stock.Part{Name: name, Unit: "each", Kept: true, ReorderAt: mark}, Level: stock.Level{Quantity: q, Reserved: reserved, Value: 100}}
	}
	old := row("Fish glue", 1000, 0, 0)
	old.ExpiresOn = "2026-11-01"
	for want, rows := range map[string][]workshop.ShelfRow{
		"No stock is kept yet: it begins with the first receipt or count of a part.": nil,
		"Nothing is short or low: 1 part is kept, worth CA$1.00 at cost.":            {row("Saddle", 2000, 0, 1000)},
		"Jobs wait for Saddle; 1 part is to be ordered. 1 part is kept, worth CA$1.00 at cost.": {
			row("Saddle", 1000, 2000, 0)},
		"2 parts are to be ordered; past its date: Fish glue. 3 parts are kept, worth CA$3.00 at cost.": {
			row("Saddle", 1000, 0, 1000), row("Nut", 500, 0, 1000), old},
	} {
		got := workshop.StockOf(rows, &shop, now).Answer
		want = strings.ReplaceAll(want, "CA$1.00", shop.Currency.Show(100))
		want = strings.ReplaceAll(want, "CA$3.00", shop.Currency.Show(300))
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("answer (-want +got):\n%s", diff)
		}
	}
	if got := fmt.Sprint(row("Saddle", 500, 0, 1000).ToOrder(), row("Saddle", 1000, 2000, 0).ToOrder(), row("Saddle", 2000, 0, 1000).ToOrder()); got != "500 1000 0" {
		t.Errorf("to order %s, want 500 1000 0", got)
	}
}

// TestRandomShelf lets four people move one part at the same time, a few hundred times:
// the level stays the sum of its moves, and the books agree with it.
func TestRandomShelf(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 5, 2600)
		jobs := []domain.JobID{h.yes(saddleRow()), h.yes()}
		tasks := []domain.TaskID{h.task(jobs[0], "CG").ID, h.task(jobs[1], "CG").ID}
		refused := 0
		var mu sync.Mutex
		var all sync.WaitGroup
		for who := range 4 {
			all.Add(1)
			go func() {
				defer all.Done()
				r := rand.New(rand.NewPCG(7, uint64(who)))
				for range 40 {
					err := h.randomMove(r, saddle, jobs, tasks)
					if kind := domain.KindOf(err); err != nil && kind != domain.Conflict && kind != domain.Invalid {
						t.Errorf("a move failed: %v", err)
					} else if err != nil {
						mu.Lock()
						refused++
						mu.Unlock()
					}
				}
			}()
		}
		all.Wait()
		h.replayed(saddle)
		level, err := h.store.LevelOf(h.ctx, saddle)
		h.must(err)
		var inBooks money.Amount
		h.must(h.store.InTx(h.ctx, func(tx workshop.Tx) (err error) {
			inBooks, err = tx.StandsOn(h.ctx, billing.PartsStock)
			return err
		}))
		if inBooks != level.Value {
			t.Errorf("the books hold parts of %d, the shelf of %d", inBooks, level.Value)
		}
		if refused == 0 || refused == 160 {
			t.Errorf("%d of 160 moves were refused, want some", refused)
		}
	})
}

// randomMove makes one of the moves that a shop makes.
func (h *house) randomMove(r *rand.Rand, part domain.PartID, jobs []domain.JobID, tasks []domain.TaskID) error {
	n := r.IntN(2)
	switch r.IntN(5) {
	case 0:
		_, err := h.work.Receive(h.ctx, h.counter, workshop.Delivery{Part: part, Quantity: stock.Quantity(r.IntN(2500)), Cost: money.Amount(r.IntN(1500))})
		return err
	case 1:
		return h.work.Damage(h.ctx, h.bench, part, stock.Quantity(1+r.IntN(400)), "chipped")
	case 2:
		f, err := workshop.ReadFolder(h.ctx, h.store, jobs[n], h.clock.Now())
		if err != nil || len(f.Job.Parts) == 0 {
			return err
		}
		return h.work.PutBack(h.ctx, h.bench, jobs[n], f.Job.Parts[r.IntN(len(f.Job.Parts))].ID)
	}
	return h.work.UsePart(h.ctx, h.bench, jobs[n], tasks[n], part, decimal.New(int64(1+r.IntN(1800)), -3))
}
