package api_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/store"
	"winterbench/store/storetest"
)

// The rules of these tests are those of docs/books.md: a closed month takes no
// entries, and what is refused leaves nothing behind.

// ownEntry is an entry by hand on a day.
func ownEntry(day, amount string) map[string]any {
	return map[string]any{"date": day, "event": string(billing.CashBanked), "text": "to the bank", "debit": string(billing.Bank), "credit": string(billing.CashBox), "amount": amount}
}

func TestAClosedMonthTakesNoEntryByHand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		old := owner.post("/books/entries", ownEntry("2026-10-31", "12.00")).is(201).want("date", "2026-10-31").id("id")
		h.clock.pass(12 * time.Hour) // the next day in UTC, the same evening in the shop
		owner.post("/books/months/2026-13/close", map[string]any{}).problem(422, "2026-11")
		owner.post("/books/months/2026-11/close", map[string]any{}).problem(409, "November 2026 is not over")
		owner.post("/books/months/2026-10/open", map[string]any{"reason": "a slip"}).problem(409, "October 2026 is open")
		h.post("/books/months/2026-10/close", map[string]any{}).problem(403)
		owner.post("/books/months/2026-10/close", map[string]any{}).problem(409, "Below zero at the end", "cash -12.00")
		owner.get("/books/months/2026-10").want("month.closed", "").want("changes", "")
		closed := owner.post("/books/months/2026-10/close", map[string]any{"despite": true}).is(200)
		closed.want("month.entries", "1").want("month.debits", "12.00").want("month.closed_by", "Tove").want("changes.0.change", "closed")
		owner.post("/books/months/2026-10/close", map[string]any{"despite": true}).problem(409, "was closed on 2026-11-25 by Tove")

		before := owner.get("/books/entries").text("lines")
		key := headers{"Idempotency-Key": "late one"}
		for _, day := range []string{"2026-10-01", "2026-10-31"} {
			owner.post("/books/entries", ownEntry(day, "5.00"), key).problem(409, day+" is in October 2026", "closed on 2026-11-25 by Tove", "date it in a month that is open")
		}
		owner.get("/books/entries").want("lines", before)
		owner.get("/books/months/2026-10").want("month.entries", "1").want("month.debits", "12.00")
		for day, words := range map[string]string{"2026-11-26": "after today", "2026-10-32": "", "yesterday": ""} {
			owner.post("/books/entries", ownEntry(day, "5.00")).wrong(422, "date", words)
		}
		back := owner.post(fmt.Sprintf("/books/entries/%d/reverse", old), map[string]any{"why": "it was not taken there"}).is(201)
		back.want("date", "2026-11-25").want("reverses", fmt.Sprint(old))
		owner.get("/books/months/2026-10").want("month.entries", "1").want("month.debits", "12.00")

		// What was refused left its key free.
		owner.post("/books/entries", ownEntry("2026-11-01", "5.00"), key).is(201).want("date", "2026-11-01")
		owner.post("/books/entries", ownEntry("2026-09-30", "1.00")).is(201)
	})
}

func TestAMonthOpenedAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		owner := open(t, s).as(domain.Owner)
		const october = "/books/months/2026-10"
		owner.post("/books/entries", ownEntry("2026-10-30", "12.00")).is(201)
		owner.post(october+"/close", map[string]any{"despite": true}).is(200)
		for _, why := range []string{"", "  ", strings.Repeat("x", 201)} {
			owner.post(october+"/open", map[string]any{"reason": why}).wrong(422, "reason", "")
		}
		owner.as(domain.Bench).post(october+"/open", map[string]any{"reason": "a slip"}).problem(403)
		owner.post("/books/entries", ownEntry("2026-10-31", "5.00")).problem(409)
		owner.post(october+"/open", map[string]any{"reason": "the bank sent its paper late"}).is(200).want("month.closed", "").want("changes.0.reason", "the bank sent its paper late")
		owner.post("/books/entries", ownEntry("2026-10-31", "5.00")).is(201)
		again := owner.post(october+"/close", map[string]any{"despite": true}).is(200).want("month.entries", "2").want("month.debits", "17.00")
		again.want("changes.0.change", "closed").want("changes.0.entries", "2").want("changes.1.change", "opened again").want("changes.1.entries", "1").want("changes.2.debits", "12.00")
		owner.post("/books/entries", ownEntry("2026-10-31", "1.00")).problem(409)
	})
}

// The clock of the shop went back into a month that was closed since: no document of
// that day is kept, and no number is lost.
func TestDocumentsOfAClosedMonthAreRefusedWhole(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		w := h.finished()
		part, shelf := h.part()
		h.post(shelf+"/receipts", map[string]any{"quantity": "4", "cost": "38.00"}).is(200)
		h.post(w.job+"/payments", paid("card", "10.00")).is(201).want("payment.receipt", "1")
		h.clock.pass(10 * day)
		owner.post("/books/months/2026-11/close", map[string]any{}).problem(409, "had no invoice by the end of the month")
		owner.post("/books/months/2026-11/close", map[string]any{"despite": true}).is(200)
		h.clock.pass(-9 * day)

		version, lines := w.get(w.job).text("version"), owner.get("/books/entries").text("lines")
		const why = "2026-11-26 is in November 2026"
		w.post(w.job+"/payments", paid("card", "5.00")).problem(409, why, "takes no more entries")
		w.post(w.job+"/invoices", nil).problem(409, why)
		owner.post(w.job+"/refunds", paid("card", "10.00")).problem(409, why)
		owner.post(shelf+"/damage", amount("1", "bent")).problem(409, why)
		h.post(shelf+"/receipts", map[string]any{"quantity": "4", "cost": "38.00"}).problem(409, why)
		c := owner.post("/counts", map[string]any{"lines": []any{map[string]any{"part": part, "found": "3", "reason": "one lies elsewhere"}}}).is(201)
		owner.post(fmt.Sprintf("/counts/%d/post", c.id("id")), map[string]any{}).problem(409, why)

		w.get(w.job).want("version", version)
		w.get(w.job+"/payments").want("total", "1")
		h.get("/invoices").want("total", "0")
		owner.get(shelf).want("quantity", "4").want("value", "38.00")
		h.get(shelf+"/moves").want("total", "1")
		owner.get("/books/entries").want("lines", lines)
		w.stands(billing.CustomerDeposits, dec("10"))

		h.clock.pass(9 * day)
		w.post(w.job+"/payments", paid("card", "5.00")).is(201).want("payment.receipt", "2")
		w.post(w.job+"/invoices", nil).is(201).want("number", "1").want("date", "2026-12-05")
		w.stands(billing.CustomerDeposits, decimal.Zero)
	})
}

// Entries of the month and its closing meet: whoever comes after the closing is
// refused, and the month holds what it was closed with.
func TestClosingMeetsEntries(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		owner := open(t, s).as(domain.Owner)
		owner.post("/books/entries", ownEntry("2026-10-01", "1.00")).is(201)
		got := make([]int, 6)
		var closed int
		var wg sync.WaitGroup
		for i := range got {
			wg.Go(func() { got[i] = owner.post("/books/entries", ownEntry("2026-10-31", "1.00")).status })
		}
		wg.Go(func() {
			closed = owner.post("/books/months/2026-10/close", map[string]any{"despite": true}).status
		})
		wg.Wait()
		if closed != 200 {
			t.Fatalf("closing: got %d, want 200", closed)
		}
		kept := 1
		for _, status := range got {
			if status == 201 {
				kept++
			} else if status != 409 {
				t.Errorf("got %d, want 201 or 409", status)
			}
		}
		owner.get("/books/months/2026-10").want("month.entries", fmt.Sprint(kept)).want("changes.0.entries", fmt.Sprint(kept)).want("changes.0.debits", fmt.Sprintf("%d.00", kept))
	})
}
