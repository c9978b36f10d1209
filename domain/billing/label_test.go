package billing

import "testing"

func TestLabels(t *testing.T) {
	for _, c := range []struct{ says, got, want string }{
		{"an invoice has six places", (&Invoice{Number: 123}).Label(), "Invoice 000123"},
		{"a number that needs more gets more", (&Invoice{Number: 1234567}).Label(), "Invoice 1234567"},
		{"an invoice not yet issued", (&Invoice{}).Label(), "draft invoice"},
		{"a receipt", Payment{Receipt: 45}.Label(), "Receipt 000045"},
		{"money without a receipt", Payment{Kind: Deposit}.Label(), "deposit without a receipt"},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %q, want %q", c.says, c.got, c.want)
		}
	}
}
