package api_test

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// Another pays all but the customer's own part: docs/books.md. The sums are worked
// out from the total of the bill, which is checked elsewhere.

// insurer notes who pays for the customer and returns the identity and the path.
func (h *house) insurer() (id int64, path string) {
	h.t.Helper()
	r := h.post("/customers", map[string]any{"name": "Skarholm Mutual", "address": "4 Lantern Row"}).is(201)
	return r.id("id"), "/customers/" + r.text("id")
}

// insured is a job whose bill another pays but for 20.02, with both shares.
func (h *house) insured() (w *walk, who string, total, theirs decimal.Decimal) {
	h.t.Helper()
	w = h.finished()
	id, path := h.insurer()
	bill := map[string]any{"payer": id, "own_part": "20.02", "payer_reference": "claim 7-113"}
	total = dec(w.post(w.job+"/invoices", bill).is(201).text("totals.total"))
	return w, path, total, total.Sub(dec("20.02"))
}

func byPayer(tender, amount string) map[string]any {
	m := paid(tender, amount)
	m["by_payer"] = true
	return m
}

func (r reply) wantTrue(path string) reply {
	r.t.Helper()
	if r.at(path) != true {
		r.t.Errorf("%s: %s is %v, want true", r.asked, path, r.at(path))
	}
	return r
}

func TestABillToAnotherIsRefusedWithWords(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w := open(t, s).finished()
		id, _ := w.insurer()
		own := w.get(w.job).id("customer.id")
		total := dec(w.get(w.job + "/invoices/preview").text("totals.total"))
		bill := func(payer int64, own, reference string) map[string]any {
			return map[string]any{"payer": payer, "own_part": own, "payer_reference": reference}
		}
		for _, c := range []struct {
			bill         map[string]any
			field, words string
		}{
			{bill(own, "20.00", ""), "payer", "is the customer"},
			{bill(999999, "20.00", ""), "payer", "there is no customer 999999"},
			{bill(-1, "20.00", ""), "payer", "at least 0"},
			{bill(id, "-0.01", ""), "own_part", "must not be negative"},
			{bill(id, total.Add(dec("0.01")).String(), ""), "own_part", "at most the total"},
			{bill(id, "20.005", ""), "own_part", "CAD has 2"},
			{bill(id, "half", ""), "own_part", ""},
			{bill(id, "20.00", strings.Repeat("x", 81)), "payer_reference", "80"},
			{map[string]any{"own_part": "20.00"}, "payer", "own part"},
			{map[string]any{"payer_reference": "claim 7-113"}, "payer", "reference"},
			{map[string]any{"pay_by": "shells"}, "pay_by", "must be one of: cash"},
		} {
			w.post(w.job+"/invoices/preview", c.bill).wrong(422, c.field, c.words)
			w.post(w.job+"/invoices", c.bill).wrong(422, c.field, c.words)
		}
		w.post(w.job+"/invoices/preview", bill(id, total.String(), "claim 7-113")).is(200).want("own_part", total.StringFixed(2)).want("payer_reference", "claim 7-113")
		w.get("/invoices").want("total", "0")
		w.post(w.job+"/payments", byPayer("card", "1.00")).problem(409, "nobody but the customer pays")
	})
}

func TestAnotherPaysAllButTheOwnPart(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, insurer, total, theirs := open(t, s).insured()
		inv := w.get("/invoices").text("items.0.id")
		doc := w.get("/invoices/"+inv).want("own_part", "20.02").want("payer_reference", "claim 7-113").want("payer", strings.TrimPrefix(insurer, "/customers/"))
		if to := doc.text("billed_to"); !strings.Contains(to, "Skarholm Mutual") || !strings.Contains(to, "for M. Oduya") {
			t.Errorf("it is billed to %q, want the payer for the customer", to)
		}
		w.get(w.job).want("balance.due", total.StringFixed(2)).want("balance.payer_due", theirs.StringFixed(2)).want("balance.cash_due", "20.00")
		w.get(insurer+"/statement").want("owed", theirs.StringFixed(2))
		w.get(w.customer()+"/statement").want("owed", "20.02")

		w.post(w.job+"/payments", paid("card", "20.03")).problem(409, "at most", "20.02")
		w.post(w.job+"/payments", byPayer("card", theirs.Add(dec("0.01")).String())).problem(409, "at most")
		w.post(w.job+"/payments", byPayer("store credit", "1.00")).wrong(422, "tender", "the customer's own")
		tip := byPayer("card", "1.00")
		tip["tip"] = "1.00"
		w.post(w.job+"/payments", tip).wrong(422, "tip", "left by the customer")
		over := byPayer("card", "1.00")
		over["keep_over"] = true
		w.post(w.job+"/payments", over).wrong(422, "keep_over", "")
		w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true, "brief": true}).problem(409, "balance")
		w.get(w.job+"/payments").want("total", "0")

		cash := paid("cash", "20.00")
		cash["given"] = "50.00"
		w.post(w.job+"/payments", cash).is(201).want("payment.amount", "20.00").want("payment.rounding", "0.02").want("payment.change", "30.00").
			want("balance.due", theirs.StringFixed(2)).want("balance.payer_due", theirs.StringFixed(2)).want("balance.cash_due", "0.00")
		w.post(w.job+"/payments", paid("card", "0.01")).problem(409, "nothing is owed")
		w.get(w.customer()+"/statement").want("owed", "0.00")
		w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true, "brief": true}).is(200).want("stage", "collected")

		key := headers{"Idempotency-Key": "the insurer paid"}
		for range 2 {
			w.post(w.job+"/payments", byPayer("bank transfer", theirs.String()), key).is(201).wantTrue("payment.by_payer").want("balance.due", "0.00").want("balance.payer_due", "0.00")
		}
		w.get(w.job+"/payments").want("total", "2")
		w.get(insurer+"/statement").want("owed", "0.00")
	})
}

// Whole bills that are taken back are owed to each who paid: 20.02 to the customer,
// the rest to the payer.
func TestMoneyBackToWhoPaid(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, total, theirs := open(t, s).insured()
		owner := w.as(domain.Owner)
		w.post(w.job+"/payments", paid("card", "20.02")).is(201)
		w.post(w.job+"/payments", byPayer("bank transfer", theirs.String())).is(201)
		owner.post(w.job+"/refunds", byPayer("bank transfer", "0.01")).problem(409)
		owner.post(w.job+"/credit-notes", map[string]any{"reason": "the crack opened again"}).is(201).want("total", total.StringFixed(2))
		w.get(w.job).want("balance.due", "-"+total.StringFixed(2)).want("balance.payer_due", "-"+theirs.StringFixed(2)).want("balance.cash_due", "-20.00")

		w.post(w.job+"/refunds", byPayer("bank transfer", theirs.String())).problem(403)
		owner.post(w.job+"/refunds", byPayer("store credit", theirs.String())).wrong(422, "tender", "the customer's own")
		owner.post(w.job+"/refunds", byPayer("bank transfer", theirs.Add(dec("0.01")).String())).problem(409, "at most")
		owner.post(w.job+"/refunds", paid("card", "20.03")).problem(409, "at most")
		owner.post(w.job+"/refunds", byPayer("bank transfer", theirs.String())).is(201).wantTrue("payment.by_payer").want("payment.amount", "-"+theirs.StringFixed(2)).
			want("balance.due", "-20.02").want("balance.payer_due", "0.00")
		owner.post(w.job+"/refunds", paid("cash", "20.00")).is(201).want("payment.amount", "-20.00").want("payment.rounding", "-0.02").want("balance.due", "0.00")
		owner.post(w.job+"/refunds", byPayer("bank transfer", "0.01")).problem(409)
		w.get(w.job+"/payments").want("total", "4")
	})
}

// A credit note for less than the payer's share leaves the customer's own part as it
// was.
func TestACreditIsFirstThePayers(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, total, theirs := open(t, s).insured()
		owner := w.as(domain.Owner)
		one := map[string]any{"reason": "one cleat was not needed", "lines": []any{map[string]any{"place": 1, "count": "0.1"}}}
		less := dec(owner.post(w.job+"/credit-notes", one).is(201).text("total"))
		if !less.IsPositive() || less.GreaterThan(theirs) {
			t.Fatalf("the note comes to %s, want less than the payer's %s", less, theirs)
		}
		w.get(w.job).want("balance.due", total.Sub(less).StringFixed(2)).want("balance.payer_due", theirs.Sub(less).StringFixed(2)).want("balance.cash_due", "20.00")
		w.post(w.job+"/payments", byPayer("card", theirs.String())).problem(409, "at most")
		w.post(w.job+"/payments", paid("card", "20.02")).is(201)
		owner.post(w.job+"/write-off", map[string]any{"reason": "the claim was refused"}).is(200).want("given_up", theirs.Sub(less).StringFixed(2))
		w.get(w.job).want("balance.due", "0.00").want("balance.payer_due", "0.00")
		w.post(w.job+"/payments", paid("card", "0.01")).problem(409, "nothing is owed") // all of it was the payer's
		w.post(w.job+"/payments", byPayer("card", "1.00")).is(201).want("balance.recovered", "1.00").want("balance.due", "0.00").want("balance.payer_due", "0.00")
	})
}
