package api_test

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/store"
	"winterbench/store/storetest"
)

// Every figure of a report has the address of its lines, and they come to it.
func TestFiguresOpenToTheirLinesOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, total, _ := open(t, s).agreed()
		owner := w.as(domain.Owner)
		w.post(w.job+"/payments", paid("card", "20.00")).is(201)
		w.worked("CC", 30)
		w.bench.post(w.job+"/pass", nil).is(200)
		w.post(w.job+"/invoices", nil).is(201)
		owner.post(w.job+"/credit-notes", map[string]any{"reason": "a gift", "lines": []any{map[string]any{"place": 1, "count": "0.1"}}}).is(201)
		for name, amount := range map[string]string{"": "5.00", "GST": "3.00"} {
			e := ownEntry("2026-11-25", amount)
			e["event"], e["debit"], e["credit"], e["detail"] = string(billing.TaxRemitted), string(billing.OutputTax), string(billing.Bank), name
			owner.post("/books/entries", e).is(201)
		}
		for _, report := range []string{"trial-balance", "sales-tax", "sales-tax-paid", "margin", "receivables"} {
			if n := owner.figures(report); n == 0 {
				t.Errorf("%s has no figure that opens to its lines after a job of %s", report, total)
			}
		}
	})
}

// figures asks for the lines behind each figure of a report and returns how many there
// were.
func (h *house) figures(report string) (n int) {
	h.t.Helper()
	r := h.get("/books/reports/" + report)
	rows, _ := r.at("rows").([]any)
	for _, row := range rows {
		cells, _ := row.(map[string]any)["cells"].(map[string]any)
		behind, _ := row.(map[string]any)["lines"].(map[string]any)
		for column, address := range behind {
			n++
			if got := h.get(strings.TrimPrefix(address.(string), "/api/v1")).text("sum"); got != cells[column] {
				h.t.Errorf("%s: %s is %v in %v, its lines at %s come to %s", report, column, cells[column], cells, address, got)
			}
		}
	}
	return n
}
