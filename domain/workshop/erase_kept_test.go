package workshop

import (
	"strings"
	"testing"

	"winterbench/domain/billing"
)

// What is said to stay of an erased customer is what stays.
func TestWhatStaysOfAnErasedCustomerIsSaid(t *testing.T) {
	papers := []*billing.Invoice{{Number: 8, Date: "2026-03-01"}, {Number: 3, Date: "2024-03-01"}}
	const to = "to whom store credit was paid out"
	for name, c := range map[string]struct {
		invoices []*billing.Invoice
		credit   bool
		want     string
		paidOut  bool
	}{
		"nothing":            {nil, false, "so nothing with the name stays", false},
		"papers":             {papers, false, "Invoice 3, 8 with name", false},
		"papers and credit":  {papers, true, "until the end of 2032.", true},
		"a deposit's credit": {nil, true, "No invoice was ever written", true},
	} {
		got := keptText(c.invoices, 6, c.credit)
		if !strings.Contains(got, c.want) || strings.Contains(strings.ToLower(got), to) != c.paidOut {
			t.Errorf("%s: got %q", name, got)
		}
	}
}
