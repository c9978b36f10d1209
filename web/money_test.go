package web

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
)

// TestMoneyFromDepositToHandOver follows one bill by hand: agreed 91.30, not
// above 100.43; 104 minutes at 1.00 and 10 % tax come to 114.40, kept to 91.30
// + 9.13 = 100.43. A deposit of 30 % of 91.30 is 27.39; 73.04 are left, in
// coins of 0.05 that is 73.05, and from 80.00 there are 6.95 to give back.
func TestMoneyFromDepositToHandOver(t *testing.T) {
	s := newShop(t)
	s.agreed()
	if got := attr(find(s.get("/jobs/1/money"), "name", "pay_amount"), "value"); got != "27.39" {
		t.Errorf("the deposit offered is %q, want 27.39", got)
	}
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "27.39")
	s.worked(44, 60)
	if page := s.get("/jobs/1/money"); find(page, "value", "issue") != nil {
		t.Error("the bill can be issued before the quality check")
	}
	s.post("/jobs/1/pass")

	box := textOf(find(s.get("/jobs/1/money"), "class", "limit-box"))
	for _, want := range []string{"114.40 EUR", "100.43 EUR", "Ask for a new yes", "Keep to the limit"} {
		if !strings.Contains(box, want) {
			t.Errorf("the limit box lacks %q: %s", want, box)
		}
	}
	if w := s.as(s.owner, "/jobs/1/money/bill", values("do", "issue"), ""); w.Code != http.StatusConflict {
		t.Errorf("a bill above the limit: got %d, want 409", w.Code)
	}
	w := s.as(s.owner, "/jobs/1/money/bill", values("do", "keep"), "")
	if w.Code != 200 || !strings.Contains(plain(w.Body.String()), "Total 100.43") {
		t.Errorf("kept to the limit: got %d without the total 100.43:\n%s", w.Code, plain(w.Body.String()))
	}
	at := s.post("/jobs/1/money/bill", "do", "issue", "keep", "yes")
	if got := textOf(find(s.get(at), "id", "answer")); !strings.Contains(got, "73.04 EUR is to pay on Invoice 000001") {
		t.Errorf("after the issue got %q", got)
	}

	page := s.get("/jobs/1/money")
	if got := textOf(find(page, "id", "main")); !strings.Contains(got, "In cash it is 73.05 EUR") || !strings.Contains(got, "0.01 EUR between") {
		t.Errorf("cash rounding is not explained: %s", got)
	}
	over := s.as(s.owner, "/jobs/1/money/pay", values("pay_tender", "card", "pay_amount", "80"), "")
	if over.Code != http.StatusConflict || !strings.Contains(over.Body.String(), "at most 73.04 EUR") {
		t.Errorf("more than is owed: got %d, want 409 with what would be right", over.Code)
	}
	s.post("/jobs/1/money/pay", "pay_tender", "cash", "pay_amount", "73.04", "pay_given", "80")
	text := textOf(find(s.get("/jobs/1/money"), "id", "main"))
	for _, want := range []string{"Invoice 000001 over 100.43 EUR is paid", "given 80.00 EUR, change 6.95 EUR", "Receipt 000002"} {
		if !strings.Contains(text, want) {
			t.Errorf("after the payment the page lacks %q: %s", want, text)
		}
	}

	s.post("/jobs/1/calls", "call_about", "ready", "call_result", "spoke")
	page = s.get("/jobs/1/hand-over")
	if got := textOf(page); !strings.Contains(got, "Nothing shows from outside") {
		t.Error("the hand-over does not say what to tell about cleats")
	}
	if got := attr(find(page, "name", "recheck"), "value"); got != "2027-01-02" {
		t.Errorf("the next look is on %q, want 2027-01-02, a month on", got)
	}
	if w := s.as(s.owner, "/jobs/1/hand-over", values("to", "A cousin"), ""); w.Code != 422 || !strings.Contains(w.Body.String(), "proved to be the owner") {
		t.Errorf("without the tag: got %d, want 422 with the reason", w.Code)
	}
	s.post("/jobs/1/hand-over", "to", "Mara", "tag_shown", "yes", "brief", "yes", "recheck", "2027-01-02")
	if got := textOf(find(s.get("/jobs/1"), "id", "answer")); !strings.Contains(got, "Collected by Mara") {
		t.Errorf("after the hand-over got %q", got)
	}
}

func TestGoodwillNeedsItsReason(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	w := s.as(s.owner, "/jobs/1/money/bill", values("do", "issue", "discount", "5"), "")
	if w.Code != 422 || attr(find(parse(t, w.Body.String()), "name", "reason"), "aria-invalid") != "true" {
		t.Errorf("a discount without a reason: got %d, want 422 with the reason marked", w.Code)
	}
	checkHTML(t, w.Body.Bytes())
	part := s.as(s.owner, "/jobs/1/money/draft", values("discount", "5", "reason", "waited long"), "bill").Body.String()
	// 83.00 - 5.00 = 78.00, with 10 % 85.80.
	if !strings.Contains(part, "85.80") || !strings.Contains(part, "waited long") || strings.Contains(part, "<html") {
		t.Errorf("the draft with goodwill: %s", textOf(parse(t, part)))
	}
	at := s.post("/jobs/1/money/bill", "do", "issue", "discount", "5", "reason", "waited long")
	inv, err := s.store.InvoiceByID(t.Context(), 1)
	s.must(err)
	if at != "/invoices/1" || inv.Totals.Total != money.Amount(8580) {
		t.Errorf("got %s with %d, want /invoices/1 with 8580", at, inv.Totals.Total)
	}
}

func TestOnlyTheOwnerLetsItGoUnpaid(t *testing.T) {
	s := newShop(t)
	counter := s.person("Ruben", domain.Counter)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	s.post("/jobs/1/money/bill", "do", "issue")
	if find(parse(t, s.as(counter, "/jobs/1/hand-over", nil, "").Body.String()), "name", "unpaid") != nil {
		t.Error("the counter is asked why it may leave unpaid")
	}
	w := s.as(counter, "/jobs/1/hand-over", values("to", "Mara", "tag_shown", "yes", "unpaid", "a friend"), "")
	if w.Code != http.StatusForbidden {
		t.Errorf("the counter lets it go unpaid: got %d, want 403", w.Code)
	}
	s.post("/jobs/1/hand-over", "to", "Mara", "tag_shown", "yes", "unpaid", "pays on Monday")
}
