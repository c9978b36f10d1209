package billing

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

func TestStoreCreditIsTheCustomersOwn(t *testing.T) {
	b := Balance{Total: 10000, Due: 10000, CashDue: 2000, PayerDue: 8000}
	if _, err := Take(Payment{Tender: FromCredit, Amount: 8000, ByPayer: true}, b, true, 0, Coin{}); domain.FieldsOf(err)["tender"] == "" {
		t.Errorf("another pays out of the customer's store credit: %v", err)
	}
	if p, err := Take(Payment{Tender: FromCredit, Amount: 2000}, b, true, 0, Coin{}); err != nil || p.Amount != 2000 {
		t.Errorf("the customer pays with store credit: got %+v, %v", p, err)
	}
}

func TestOptionsOfABillThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		o     Options
		field string
	}{
		"an own part and no payer":  {Options{OwnPart: 500}, "payer"},
		"a reference and no payer":  {Options{PayerRef: "claim 7-113"}, "payer"},
		"a tender that is not one":  {Options{PayBy: "shells"}, "pay_by"},
		"a discount below nothing":  {Options{Discount: -1}, "discount"},
		"a discount and no reason":  {Options{Discount: 1}, "reason"},
		"all of it, with who pays":  {Options{PayBy: "card", Payer: 7, OwnPart: 500, PayerRef: "claim 7-113"}, ""},
		"a tender, and nobody else": {Options{PayBy: "card"}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Draft(&job.Job{Tag: 9}, nil, quote.Terms{}, c.o)
			fields := domain.FieldsOf(err)
			if c.field == "" && len(fields) > 0 || c.field != "" && fields[c.field] == "" {
				t.Errorf("got %v, want the field %q", err, c.field)
			}
		})
	}
}

func TestWhoElsePaysABill(t *testing.T) {
	for name, c := range map[string]struct {
		payer     domain.CustomerID
		own       money.Amount
		reference string
		field     string
	}{
		"all but a part":         {7, 2000, "claim 7-113", ""},
		"all of it":              {7, 0, "", ""},
		"nothing of it":          {7, 10000, "", ""},
		"the customer":           {3, 2000, "", "payer"},
		"a part below nothing":   {7, -1, "", "own_part"},
		"a part above the total": {7, 10001, "", "own_part"},
		"a reference in lines":   {7, 0, "a\nb", "payer_reference"},
	} {
		t.Run(name, func(t *testing.T) {
			inv := Invoice{Customer: 3, Totals: money.Totals{Total: 10000}}
			err := inv.BillTo(c.payer, c.own, c.reference)
			fields := domain.FieldsOf(err)
			if c.field == "" && err != nil || c.field != "" && fields[c.field] == "" {
				t.Errorf("got %v, want the field %q", err, c.field)
			}
		})
	}
}

// 100.00, of which 20.00 are the customer's: what is credited is first no longer the
// payer's, and what was given up nobody owes.
func TestSharesOfWhoPays(t *testing.T) {
	own, theirs := Payment{Invoice: 1, Amount: 2000}, Payment{Invoice: 1, Amount: 8000, ByPayer: true}
	credit := func(sum money.Amount) []CreditNote { return []CreditNote{{Totals: money.Totals{Total: sum}}} }
	for name, c := range map[string]struct {
		credits  []CreditNote
		given    *WriteOff
		ps       []Payment
		due, his money.Amount // his: the payer's
	}{
		"nothing paid":               {nil, nil, nil, 10000, 8000},
		"the own part paid":          {nil, nil, []Payment{own}, 8000, 8000},
		"the payer paid":             {nil, nil, []Payment{theirs}, 2000, 0},
		"all paid":                   {nil, nil, []Payment{own, theirs}, 0, 0},
		"credited below the share":   {credit(3000), nil, nil, 7000, 5000},
		"credited above the share":   {credit(9000), nil, nil, 1000, 0},
		"all credited, both paid":    {credit(10000), nil, []Payment{own, theirs}, -10000, -8000},
		"given up after an own part": {nil, &WriteOff{Amount: 8000}, []Payment{own}, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			inv := &Invoice{ID: 1, Customer: 3, Payer: 7, OwnPart: 2000, Totals: money.Totals{Total: 10000}, Credits: c.credits, WriteOff: c.given}
			b := BalanceOf(inv, c.ps, Coin{Step: 5, Mode: money.HalfUp})
			if diff := cmp.Diff([]money.Amount{c.due, c.his, c.due - c.his}, []money.Amount{b.Due, b.PayerDue, b.OwnDue()}); diff != "" {
				t.Errorf("due, the payer's and the customer's (-want +got)\n%s", diff)
			}
		})
	}
}
