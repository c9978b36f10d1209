package web

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &StockPage{Page: sampleFrame("Saddle blank"), Cautions: []Caution{{Text: "Past its date.", Stop: true}}, Ways: []Link{{Href: "/stock", Text: "Stock"}}}
		p.Answer = "3 each on the shelf, 0 free."
		p.Errors = domain.Fields{"receive.quantity": "must be more than 0"}
		table := shelfTable("Drawer 2", []workshop.ShelfRow{{Part: stock.Part{ID: 4, Name: "Saddle <b>blank</b>", Unit: "each", Kept: true}, Level: stock.Level{Quantity: 3000, Reserved: 4000}}})
		p.Sections = []StockSection{
			{Lead: "The part", Facts: Facts{{Name: "Shelf", Value: "drawer 2"}}, Table: table, Pager: &Pager{From: 1, To: 1, Total: 9, What: "moves", Later: "/stock/4?from=1"}},
			{ID: "moves", Lead: "Note a move", Note: "What is noted stays.", Forms: []StockForm{
				{Action: "/stock/4/receive", Legend: "It came in", Key: "k1", Across: true, Now: true, Button: "Put it on the shelf", Fields: stockFields("receive", p.Errors, CountField("quantity", "How much", "0", "each").Need(), MoneyField("cost", "Cost", "", "EUR"))},
				{Action: "/stock/file", Key: "k2", File: true, Do: "look", Note: "CSV", Button: "Look", Hidden: []Pair{{Name: "text", Value: "code"}}, Fields: stockFields("parts", nil, FileField("file", "The file", ".csv"))},
			}},
		}
		return map[string]Paged{"stock/show": p}
	})
}

// saddle puts a part with a shelf on the list.
func (s *openShop) saddle() domain.PartID {
	s.Helper()
	id, err := s.work.NotePart(s.Context(), s.owner, stock.Part{Code: "saddle", Name: "Saddle blank", Unit: "each", Kind: money.Part, Price: 1400, Cost: 520, Shelf: "drawer 2", ReorderAt: 2000, ReorderTo: 6000})
	s.must(err)
	return id
}

// form sends a form that must be answered with a status, and returns the page.
func (s *openShop) form(path string, v url.Values, status int) *html.Node {
	s.Helper()
	w := s.as(s.owner, path, v, "")
	if w.Code != status {
		s.Fatalf("POST %s: got %d, want %d\n%s", path, w.Code, status, plain(w.Body.String()))
	}
	if status != 303 {
		checkHTML(s.T, w.Body.Bytes())
	}
	return parse(s.T, w.Body.String())
}

func (s *openShop) raw(path string) string { return s.as(s.owner, path, nil, "").Body.String() }

func wantIn(t *testing.T, got string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(got, w) {
			t.Errorf("%q is not in %q", w, got)
		}
	}
}

func TestStockFromReceiptToCount(t *testing.T) {
	s := newShop(t)
	id := s.saddle()
	at := fmt.Sprintf("/stock/%d", id)
	wantIn(t, mainText(s.get("/stock")), "No stock is kept yet", "Drawer 2", "not kept yet")
	wantIn(t, mainText(s.get(at)), "No stock is kept of it")

	page := s.form(at+"/receive", url.Values{"quantity": {"-2"}, "cost": {"x"}}, 422)
	wantIn(t, mainText(page), "It came in", "Not done yet")
	if v := attr(find(page, "id", FieldID("receive.quantity")), "value"); v != "-2" {
		t.Errorf("the quantity comes back as %q, want as typed", v)
	}
	s.form(at+"/receive", url.Values{"quantity": {"2"}, "cost": {"10.40"}, "paper": {"note 7"}}, 303)
	wantIn(t, mainText(s.get(at)), "2 each on the shelf, 2 free", "note 7", "Bills to come")
	wantIn(t, mainText(s.get("/stock")), "1 part is to be ordered", "low")
	wantIn(t, mainText(s.form(at+"/damage", url.Values{"quantity": {"3"}, "reason": {"split"}}, 422)), "3 each of Saddle blank wanted, but 2 free")
	s.form(at+"/bill", url.Values{"receipt": {"1"}, "amount": {""}, "tax": {"1.00"}}, 422)
	s.form(at+"/bill", url.Values{"receipt": {"1"}, "amount": {"11.40"}, "tax": {"1.00"}}, 303)
	wantIn(t, mainText(s.get(at)), "repriced", "11.40")

	sheet := s.get("/stock/count?shelf=drawer+2")
	if text := mainText(sheet); strings.Contains(text, "2 each") || strings.Contains(text, "expected") {
		t.Errorf("the sheet tells what should be there: %q", text)
	}
	s.form("/stock/count", url.Values{"shelf": {"drawer 2"}, fmt.Sprintf("found%d", id): {"1"}}, 303)
	wantIn(t, mainText(s.get("/stock/count/1")), "1 differs", "-1")
	wantIn(t, mainText(s.form("/stock/count/1/post", url.Values{}, 422)), "Not done yet")
	s.form("/stock/count/1/post", url.Values{fmt.Sprintf("reasons[%d]", id): {"searched twice"}}, 303)
	wantIn(t, mainText(s.get("/stock/count/1")), "Posted by", "searched twice")
	wantIn(t, mainText(s.get(at)), "1 each on the shelf")
}

func TestOrdersFromDraftToShelf(t *testing.T) {
	s := newShop(t)
	id := s.saddle()
	s.form(fmt.Sprintf("/stock/%d/receive", id), url.Values{"quantity": {"1"}, "cost": {"5.20"}}, 303)
	s.form("/stock/suppliers/0", url.Values{"name": {"Bone and Brass"}, "days": {"6"}}, 303)
	wantIn(t, mainText(s.form("/stock/suppliers/0", url.Values{"name": {"bone and brass"}, "days": {"x"}}, 422)), "whole number of days")
	wantIn(t, mainText(s.get("/stock/orders")), "1 part is to be ordered", "Bone and Brass", "To order of no supplier")
	wantIn(t, mainText(s.form("/stock/orders", url.Values{"supplier": {"1"}, "part": {fmt.Sprint(id)}, "quantity": {"0"}}, 422)), "Not done yet")
	s.form("/stock/orders", url.Values{"supplier": {"1"}, "part": {fmt.Sprint(id)}, "quantity": {"5"}}, 303)
	wantIn(t, mainText(s.get("/stock/orders/1")), "A draft to Bone and Brass", "26.00", "Send it")
	s.form("/stock/orders/1", url.Values{"version": {"1"}, "supplier": {"1"}, fmt.Sprintf("quantity%d", id): {"6"}, fmt.Sprintf("cost%d", id): {"30.00"}}, 303)
	wantIn(t, mainText(s.form("/stock/orders/1/send", url.Values{"expected": {"2020-01-01"}}, 422)), "today or later")
	s.form("/stock/orders/1/send", url.Values{"expected": {""}}, 303)
	wantIn(t, mainText(s.get("/stock/orders/1")), "Sent to Bone and Brass", "It came")
	wantIn(t, mainText(s.form("/stock/orders/1/receive", url.Values{"lines[2].quantity": {"-1"}}, 422)), "Saddle blank", "Not done yet")
	s.form("/stock/orders/1/receive", url.Values{"lines[2].quantity": {"4"}, "lines[2].cost": {"22.00"}, "paper": {"note 8"}}, 303)
	wantIn(t, mainText(s.get("/stock/orders/1")), "Some of it came", "note 8", "2.00")
	s.form("/stock/orders/1/close", url.Values{"reason": {"no longer made"}}, 303)
	wantIn(t, mainText(s.get("/stock/orders/1")), "Closed: no longer made")
	wantIn(t, mainText(s.get(fmt.Sprintf("/stock/%d", id))), "5 each on the shelf")
}

func TestFilesOfTheShelf(t *testing.T) {
	s := newShop(t)
	s.saddle()
	look := func(text string) string {
		return mainText(s.form("/stock/file", url.Values{"do": {"look"}, "text": {text}}, 200))
	}
	wantIn(t, look("code;name;unit;price\nsaddle;Saddle blank, bone;each;15.00\nnut;Nut;bushel;1.00\n\"x;y"), "1 part is changed", "2 rows are wrong", "must be one of", "is not closed")
	s.form("/stock/file", url.Values{"do": {"take"}, "text": {"code,name\nsaddle,Saddle blank of bone\n"}}, 303)
	wantIn(t, mainText(s.get("/stock")), "Saddle blank of bone")
	wantIn(t, mainText(s.form("/stock/file", url.Values{"do": {"take"}, "text": {"code,colour\n"}}, 422)), "colour")
	wantIn(t, mainText(s.form("/stock/count", url.Values{"do": {"look"}, "text": {"code,found\nsaddle,4\n"}}, 200)), "1 part was counted")
	s.form("/stock/count", url.Values{"do": {"take"}, "text": {"code,found,reason\nsaddle,4,first count\n"}}, 303)
	wantIn(t, mainText(s.get("/stock/count/1")), "+4")
	wantIn(t, s.raw("/stock/parts.csv"), "code,name,unit", "saddle,Saddle blank of bone,each,part,14.00,5.20")
	wantIn(t, s.raw("/stock/count.csv"), "code,name,shelf,unit,found,reason", "saddle,Saddle blank of bone,drawer 2,each,,")
}
