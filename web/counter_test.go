package web

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// billed brings job 1 to its invoice: 83.00 + 10 % = 91.30.
func (s *openShop) billed() {
	s.agreed()
	s.finished()
}

// finished works job 1 and bills it.
func (s *openShop) finished() {
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	s.post("/jobs/1/money/bill", "do", "issue")
}

// 100.00 by card on 91.30 with a tip of 5.00: 8.70 are kept. The first line is credited
// by half, and what it comes to goes back; the page, the store and the paper agree.
func TestKeptCreditedAndGivenBack(t *testing.T) {
	s := newShop(t)
	s.billed()
	w := s.as(s.owner, "/jobs/1/money/pay", values("pay_tender", "card", "pay_amount", "91.30", "pay_tip", "-5"), "")
	page := parse(t, w.Body.String())
	if w.Code != 422 || attr(find(page, "name", "pay_tip"), "value") != "-5" || attr(find(page, "name", "pay_tip"), "aria-invalid") != "true" {
		t.Errorf("a tip below zero: got %d, want 422 with what was typed", w.Code)
	}
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "100", "pay_tip", "5", "pay_keep_over", "yes")
	text := textOf(find(s.get("/jobs/1/money"), "id", "main"))
	for _, want := range []string{"is paid", "besides kept as store credit 8.70", "besides a tip of 5.00"} {
		if !strings.Contains(text, want) {
			t.Errorf("after the payment the page lacks %q: %s", want, text)
		}
	}
	again := s.as(s.owner, "/jobs/1/money/pay", values("pay_tender", "card", "pay_amount", "1"), "")
	if again.Code != http.StatusConflict || !strings.Contains(again.Body.String(), "nothing is owed") {
		t.Errorf("paid twice: got %d", again.Code)
	}

	w = s.as(s.owner, "/jobs/1/credit", values("lines[0].count", "7", "reason", "sounds dull"), "")
	page = parse(t, w.Body.String())
	if w.Code != 422 || attr(find(page, "name", "lines[0].count"), "value") != "7" || attr(find(page, "name", "reason"), "value") != "sounds dull" {
		t.Errorf("credit beyond the invoice: got %d, want 422 with what was typed", w.Code)
	}
	checkHTML(t, w.Body.Bytes())
	if w := s.as(s.owner, "/jobs/1/credit", values("reason", "nothing chosen"), ""); w.Code != 422 {
		t.Errorf("a credit of nothing: got %d, want 422", w.Code)
	}
	counter := s.person("Ruben", domain.Counter)
	for _, path := range []string{"/jobs/1/credit", "/jobs/1/write-off", "/tips", "/settings/counter"} {
		if w := s.as(counter, path, nil, ""); w.Code != http.StatusForbidden {
			t.Errorf("the counter opens %s: got %d, want 403", path, w.Code)
		}
	}
	at := s.post("/jobs/1/credit", "lines[0].count", "0.5", "reason", "sounds dull")
	inv, err := s.store.InvoiceByID(t.Context(), 1)
	s.must(err)
	total := inv.Credits[0].Totals.Total
	shown := inv.Currency.Text(total)
	if got := textOf(s.get(at)); !strings.Contains(got, "Total "+shown) || !strings.Contains(got, "sounds dull") {
		t.Errorf("the credit note's page lacks %s: %s", shown, got)
	}
	if pdf := s.as(s.owner, at+"/paper.pdf", nil, ""); pdf.Code != 200 || !strings.HasPrefix(pdf.Body.String(), "%PDF") || pdf.Body.String() != s.as(s.owner, at+"/paper.pdf", nil, "").Body.String() {
		t.Errorf("the paper: got %d, want the same PDF twice", pdf.Code)
	}
	if got := attr(find(s.get("/jobs/1/money"), "name", "back_amount"), "value"); got != shown {
		t.Errorf("%q is offered to give back, want %s", got, shown)
	}
	over := s.as(s.owner, "/jobs/1/money/give-back", values("back_tender", "card", "back_amount", "80"), "")
	if over.Code != http.StatusConflict || !strings.Contains(over.Body.String(), "at most "+inv.Currency.Show(total)) || attr(find(parse(t, over.Body.String()), "name", "back_amount"), "value") != "80" {
		t.Errorf("a refund beyond the credit: got %d, want 409 with the limit and what was typed", over.Code)
	}
	s.post("/jobs/1/money/give-back", "back_tender", "card", "back_amount", shown)
	f, err := workshop.ReadFolder(t.Context(), s.store, 1, s.clock.now)
	s.must(err)
	if f.Balance.Due != 0 || f.Balance.Paid != inv.Totals.Total-total {
		t.Errorf("balance %+v", f.Balance)
	}
	for _, path := range []string{"/invoices/1", "/jobs/1/hand-over", "/customers/1/account", "/jobs/1/credit", "/jobs/1/write-off"} {
		s.get(path)
	}
	if got := textOf(s.get("/customers/1/account")); !strings.Contains(got, "8.70 EUR is kept as store credit") {
		t.Errorf("the account lacks the store credit: %s", got)
	}
	if got := textOf(s.get("/tips")); !strings.Contains(got, "5.00 EUR of tips is held") {
		t.Errorf("tips: %s", got)
	}
	more := s.as(s.owner, "/tips", values("amount", "6", "to", "Una", "tender", "card"), "")
	if more.Code != http.StatusConflict || !strings.Contains(more.Body.String(), "the shop holds 5.00 EUR of tips") || attr(find(parse(t, more.Body.String()), "name", "amount"), "value") != "6" {
		t.Errorf("more tips than there are: got %d, want 409 with the reason and what was typed", more.Code)
	}
	s.post("/tips", "amount", "5", "to", "Una", "tender", "card")
	if got := textOf(s.get("/tips")); !strings.Contains(got, "0.00 EUR of tips is held") || !strings.Contains(got, "to Una") {
		t.Errorf("tips after they were paid out: %s", got)
	}
}

func TestAnAccountLetsItLeaveAndADebtIsGivenUp(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.post("/customers/1/account", "account", "yes", "account_days", "30", "account_limit", "0")
	s.refusedForm("/customers/1/account", "from 0 to 365", "account", "yes", "account_days", "400", "account_limit", "1")
	s.post("/customers/1/account", "account", "yes", "account_days", "30", "account_limit", "100")
	s.finished()
	s.post("/jobs/1/hand-over", "to", "Mara", "tag_shown", "yes", "brief", "yes", "recheck", "2027-01-02")
	if got := textOf(s.get("/customers/1/account")); !strings.Contains(got, "91.30 EUR is owed") || !strings.Contains(got, "not due") {
		t.Errorf("the statement: %s", got)
	}
	s.refusedForm("/jobs/1/write-off", "needed", "reason", "")
	s.post("/jobs/1/write-off", "reason", "cannot be found", "tax", "yes")
	if got := textOf(find(s.get("/jobs/1/money"), "id", "answer")); !strings.Contains(got, "91.30 EUR on Invoice 000001 was given up") {
		t.Errorf("after it was given up: %s", got)
	}
	page := s.get("/jobs/1/money")
	if got := textOf(page); !strings.Contains(got, "Take what comes in after all") || !strings.Contains(got, "ask your adviser when") || attr(find(page, "name", "pay_amount"), "value") != "" {
		t.Errorf("nothing can come in after all: %s", got)
	}
	more := s.as(s.owner, "/jobs/1/money/pay", values("pay_tender", "card", "pay_amount", "91.31"), "")
	if more.Code != http.StatusConflict || !strings.Contains(more.Body.String(), "at most 91.30 EUR") || attr(find(parse(t, more.Body.String()), "name", "pay_amount"), "value") != "91.31" {
		t.Errorf("more than was given up: got %d, want 409 with the limit and what was typed", more.Code)
	}
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "40")
	for _, want := range []string{"51.30 EUR on Invoice 000001 is given up; 40.00 EUR came in after that", "Came in after that 40.00", "51.30 EUR was given up"} {
		if got := textOf(s.get("/jobs/1/money")); !strings.Contains(got, want) {
			t.Errorf("after some of it came in the page lacks %q: %s", want, got)
		}
	}
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "51.30")
	if got := textOf(s.get("/jobs/1/money")); !strings.Contains(got, "is paid") || strings.Contains(got, "after all") {
		t.Errorf("after all of it came in: %s", got)
	}
}

// Supplies at 5 % and rush at 20 % of labour 83.00: 4.15 and 16.60.
func TestWhatIsChargedBesides(t *testing.T) {
	s := newShop(t)
	s.refusedForm("/settings/counter", "from 0 to 100", "version", "1", "charges.rush", "120", "storage.free_days", "14")
	s.refusedForm("/settings/counter", "from 0 to 10", "version", "1", "surcharge.card", "11", "storage.free_days", "14")
	s.post("/settings/counter", "version", "1", "charges.rush", "20", "charges.supplies", "5", "charges.minimum", "50", "storage.per_day", "2", "storage.free_days", "14", "surcharge.card", "1.5")
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	if k := shop.Counter; k.Storage.PerDay != money.Amount(200) || k.Surcharge("card").Percent.String() != "1.5" || k.Charges.Minimum != 5000 {
		t.Errorf("kept %+v", k)
	}
	s.surveyed()
	form := values("basis", "quote", "rows[0].task", "CG", "rows[0].quantity", "60", "rows[0].price", "83", "do", "extra-supplies")
	page := parse(t, s.as(s.owner, "/jobs/1/quote", form, "").Body.String())
	if got := attr(find(page, "name", "rows[1].price"), "value"); got != "4.15" {
		t.Errorf("supplies at %q, want 4.15", got)
	}
	form.Set("do", "extra-rush")
	page = parse(t, s.as(s.owner, "/jobs/1/quote", form, "").Body.String())
	if got := attr(find(page, "name", "rows[1].price"), "value"); got != "16.60" {
		t.Errorf("rush at %q, want 16.60", got)
	}
	form.Set("do", "extra-minimum")
	if w := s.as(s.owner, "/jobs/1/quote", form, ""); w.Code != 422 || !strings.Contains(w.Body.String(), "comes to nothing") {
		t.Errorf("a minimum that is passed: got %d, want 422 with the reason", w.Code)
	}
}
