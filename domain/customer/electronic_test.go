package customer

import (
	"strings"
	"testing"

	"winterbench/domain"
)

// The account numbers are examples of the IBAN registry, from memory; each with one
// digit changed, and two swapped, must not pass (MOD 97-10 finds both).
func TestAccountNumbers(t *testing.T) {
	for _, good := range []string{"AT61 1904 3002 3457 3201", "DE89370400440532013000", "GB29 NWBK 6016 1331 9268 19", "no93 8601 1117 947"} {
		f := domain.Fields{}
		iban := CheckIBAN(f, "iban", good)
		if f.Err() != nil || strings.Contains(iban, " ") {
			t.Errorf("%s: got %q and %v", good, iban, f.Err())
		}
		for i := 4; i < len(iban)-1; i++ {
			other := byte('0')
			if iban[i] == '0' {
				other = '1'
			}
			changed := iban[:i] + string(other) + iban[i+1:]
			swapped := iban[:i] + string(iban[i+1]) + string(iban[i]) + iban[i+2:]
			for _, bad := range []string{changed, swapped} {
				f := domain.Fields{}
				if CheckIBAN(f, "iban", bad); bad != iban && f.Err() == nil {
					t.Errorf("%s passes for %s", bad, iban)
				}
			}
		}
	}
	for _, bad := range []string{"AT61", "AT61 1904 3002 3457 32-1", strings.Repeat("A", 35)} {
		f := domain.Fields{}
		if CheckIBAN(f, "iban", bad); f["iban"] == "" {
			t.Errorf("%s passes", bad)
		}
	}
}

func TestWhatAnElectronicInvoiceNeedsOfACustomer(t *testing.T) {
	c := Customer{Name: "Mara Oduya", Electronic: &Electronic{Country: " at ", TaxNumber: "atu 1234 5678", BuyerRef: "D-7", Address: "mara@example.org", Scheme: "9914"}}
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	if e := *c.Electronic; e.Country != "AT" || e.TaxNumber != "ATU12345678" {
		t.Errorf("got %+v", e)
	}
	c.Electronic = &Electronic{}
	if err := c.Check(); err != nil || c.Electronic != nil {
		t.Errorf("got %v and %+v, want nothing kept of nothing", err, c.Electronic)
	}
	for field, e := range map[string]Electronic{
		"electronic.country":    {Country: "Austria"},
		"electronic.tax_number": {Country: "AT", TaxNumber: "12345678"},
		"electronic.scheme":     {Country: "AT", Address: "mara@example.org"},
		"electronic.address":    {Country: "AT", Scheme: "9914"},
	} {
		c.Electronic = &e
		if f := domain.FieldsOf(c.Check()); f[field] == "" {
			t.Errorf("%+v: got %v, want %s named", e, f, field)
		}
	}
	c.Electronic = &Electronic{BuyerRef: "D-7"}
	if f := domain.FieldsOf(c.Check()); f["electronic.country"] == "" {
		t.Errorf("got %v, want the country asked for", f)
	}
	c.Electronic = &Electronic{Country: "AT", Address: "x", Scheme: "12"}
	if f := domain.FieldsOf(c.Check()); f["electronic.scheme"] == "" {
		t.Errorf("got %v, want four digits asked for", f)
	}
}
