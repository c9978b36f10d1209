package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// part is a priced part and its path on the shelf.
func (h *house) part() (id int64, shelf string) {
	h.t.Helper()
	id = (&walk{house: h, bench: h.as(domain.Bench)}).strings()
	return id, fmt.Sprintf("/stock/%d", id)
}

// file sends a CSV file.
func (h *house) file(path, csv string) reply {
	h.t.Helper()
	return h.ask(http.MethodPost, path, csv, headers{"Content-Type": "text/csv"})
}

func amount(quantity, more string) map[string]any {
	return map[string]any{"quantity": quantity, "reason": more}
}

// Ten for 95.00 are 9.50 each. The average is ours to work out by hand: 10 for 95.00
// and 10 for 105.00 are 20 for 200.00.
func TestTheShelfOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		_, shelf := h.part()
		h.get(shelf).want("quantity", "0")
		owner.post(shelf+"/receipts", map[string]any{"quantity": "10", "cost": "95.00", "paper": "note 71"}).is(200).want("quantity", "10").want("value", "95.00")
		owner.post(shelf+"/receipts", map[string]any{"quantity": "10", "cost": "105.00"}).is(200).want("quantity", "20").want("value", "200.00")
		owner.post(shelf+"/damage", amount("2", "bent in the drawer")).is(200).want("quantity", "18").want("value", "180.00")
		owner.post(shelf+"/send-back", amount("3", "the wrong gauge")).is(200).want("quantity", "15").want("value", "150.00")
		if got := h.get(shelf).text("value"); got != "" {
			t.Errorf("the counter reads the value %q", got)
		}
		moves := owner.get(shelf+"/moves").want("total", "4").want("items.0.kind", "sent back").want("items.0.quantity", "-3").want("items.0.left", "15")
		moves.want("items.1.reason", "bent in the drawer").want("items.3.kind", "received").want("items.3.worth", "95.00")
		h.refusedOnTheShelf(shelf)
		h.get(shelf).want("quantity", "15")
		h.get(shelf+"/moves").want("total", "4")
	})
}

// refusedOnTheShelf asks what must not be; 15 lie there.
func (h *house) refusedOnTheShelf(shelf string) {
	h.t.Helper()
	owner := h.as(domain.Owner)
	for _, quantity := range []string{"-1", "0", "", "1e3", "0.0001", "many", "9999999999999"} {
		owner.post(shelf+"/receipts", map[string]any{"quantity": quantity, "cost": "1"}).wrong(422, "quantity", "must")
		owner.post(shelf+"/damage", amount(quantity, "broken")).wrong(422, "quantity", "must")
		owner.post(shelf+"/send-back", amount(quantity, "wrong")).wrong(422, "quantity", "must")
	}
	owner.post(shelf+"/receipts", map[string]any{"quantity": "1", "cost": "-1"}).wrong(422, "cost", "must")
	owner.post(shelf+"/receipts", map[string]any{"quantity": "1", "cost": "1.005"}).wrong(422, "cost", "")
	owner.post(shelf+"/damage", amount("1", "")).wrong(422, "reason", "")
	owner.post(shelf+"/damage", amount("15.001", "broken")).problem(409, "15")
	owner.post(shelf+"/send-back", amount("16", "wrong")).problem(409, "15")
	owner.post("/stock/999999/damage", amount("1", "broken")).problem(404)
	h.as(domain.Bench).post(shelf+"/receipts", map[string]any{"quantity": "1", "cost": "1"}).problem(403)
}

func TestAReceiptUnderOneKeyIsOne(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, shelf := h.part()
		key, came := headers{"Idempotency-Key": "shelf-1"}, map[string]any{"quantity": "4", "cost": "38.00"}
		h.post(shelf+"/receipts", came, key).is(200)
		h.post(shelf+"/receipts", came, key).is(200).want("quantity", "4")
		h.post(shelf+"/receipts", map[string]any{"quantity": "5", "cost": "38.00"}, key).problem(409)
		h.get(shelf).want("quantity", "4")
		h.get(shelf+"/moves").want("total", "1")
	})
}

func TestTwoTakeTheLastPiece(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, shelf := h.part()
		h.post(shelf+"/receipts", map[string]any{"quantity": "1", "cost": "9.50"}).is(200)
		owner := h.as(domain.Owner)
		got := make([]int, 4)
		var wg sync.WaitGroup
		for i := range got {
			wg.Go(func() { got[i] = owner.post(shelf+"/damage", amount("1", "broken")).status })
		}
		wg.Wait()
		took := 0
		for _, status := range got {
			if status == 200 {
				took++
			} else if status != 409 {
				t.Errorf("got %d, want 200 or 409", status)
			}
		}
		if took != 1 {
			t.Errorf("%d took the last piece: %v", took, got)
		}
		h.get(shelf).want("quantity", "0")
	})
}

func TestAnOrderOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		owner.post("/suppliers", map[string]any{"name": ""}).wrong(422, "name", "")
		owner.post("/suppliers", map[string]any{"name": "Nordlys Strings", "days": -1}).wrong(422, "days", "")
		from := owner.post("/suppliers", map[string]any{"name": "Nordlys Strings", "reach": "by post", "days": 5}).is(201).id("id")
		h.get("/suppliers").want("total", "1").want("items.0.name", "Nordlys Strings")
		lines := func(quantity, cost string) map[string]any {
			return map[string]any{"supplier": from, "lines": []any{map[string]any{"part": part, "quantity": quantity, "cost": cost}}}
		}
		owner.post("/orders", lines("-1", "1")).wrong(422, "lines[0].quantity", "must")
		owner.post("/orders", lines("1", "-1")).wrong(422, "lines[0].cost", "must")
		o := owner.post("/orders", lines("10", "100.00")).is(201).want("state", "draft").want("total", "100.00")
		path, line := fmt.Sprintf("/orders/%d", o.id("id")), o.id("lines.0.id")
		came := func(quantity string) map[string]any {
			return map[string]any{"lines": []any{map[string]any{"line": line, "quantity": quantity}}}
		}
		owner.post(path+"/receipts", came("1")).problem(409)
		owner.post(path+"/send", map[string]any{"expected": "soon"}).wrong(422, "expected", "")
		owner.post(path+"/send", map[string]any{"expected": "2026-12-01"}).is(200).want("state", "sent")
		h.get(shelf).want("on_order", "10").want("expected", "2026-12-01")
		owner.post(path+"/receipts", came("-4")).problem(422)
		key := headers{"Idempotency-Key": "came-1"}
		owner.post(path+"/receipts", came("4"), key).is(200).want("state", "received in part").want("lines.0.missing", "6")
		owner.post(path+"/receipts", came("4"), key).is(200).want("lines.0.received", "4")
		owner.get(shelf).want("quantity", "4").want("value", "40.00").want("on_order", "6")
		owner.post(path+"/close", map[string]any{"reason": "no more to be had"}).is(200).want("state", "closed")
		owner.post(path+"/receipts", came("1")).problem(409)
		h.get(shelf).want("quantity", "4").want("on_order", "0")
	})
}

func TestACountOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		owner.post(shelf+"/receipts", map[string]any{"quantity": "10", "cost": "95.00"}).is(200)
		found := func(quantity string) map[string]any {
			return map[string]any{"lines": []any{map[string]any{"part": part, "found": quantity}}}
		}
		owner.post("/counts", found("-1")).wrong(422, "lines[0].found", "must")
		owner.post("/counts", found("ten")).wrong(422, "lines[0].found", "must")
		c := owner.post("/counts", found("8")).is(201).want("lines.0.difference", "-2")
		path := fmt.Sprintf("/counts/%d", c.id("id"))
		h.get(shelf).want("quantity", "10")
		owner.post(path+"/post", map[string]any{}).problem(422, "reason")
		why := map[string]any{"reasons": []any{map[string]any{"part": part, "reason": "taken and not noted"}}}
		owner.post(path+"/post", why).is(200)
		owner.post(path+"/post", why).problem(409)
		owner.get(shelf).want("quantity", "8").want("value", "76.00")
	})
}

func TestFilesOfPartsOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s).as(domain.Owner)
		before := h.get("/parts").text("total")
		good := "code,name,unit,kind,price\nnut-bone,Bone nut blank,each,part,12.00\n"
		h.file("/stock/parts/import?dry_run=true", good).is(200).want("added.0", "nut-bone")
		h.get("/parts").want("total", before)
		broken := good + "nut-brass,Brass nut,each,part,twelve\n"
		h.file("/stock/parts/import?dry_run=true", broken).is(200).want("wrong.0.line", "3")
		h.file("/stock/parts/import", broken).problem(422)
		h.file("/stock/parts/import", "code,name\n\"nut-bone,Bone\n").problem(422)
		h.file("/stock/parts/import", "code,name\nnut-bone,R\xf6hre\n").wrong(422, "file", "UTF-8")
		h.file("/stock/parts/import", "").problem(400)
		h.file("/stock/parts/import", "name,price\nBone,1\n").wrong(422, "file", "code")
		h.get("/parts").want("total", before)
		h.file("/stock/parts/import", good).is(200).want("added.0", "nut-bone")
		h.file("/stock/parts/import", good).is(200).want("same", "1")
		if out := h.get("/stock/parts/csv"); !strings.Contains(string(out.raw), "nut-bone,Bone nut blank,each,part,12.00") {
			t.Errorf("the list does not hold the part: %s", out.raw)
		}
		h.file("/counts/import", "code,found\nno-such-part,3\n").problem(422)
		h.file("/counts/import?dry_run=true", "code,found\nnut-bone,3\n").is(200).want("counted", "1")
		h.get("/counts").want("total", "0")
		h.file("/counts/import", "code,found\nnut-bone,3\n").is(200)
		h.get("/counts").want("total", "1")
	})
}
