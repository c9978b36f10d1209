package billing

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Out of 8.73 kept, in coins of 0.05, at most 8.70 goes out in cash. Reckoned by hand.
func TestStoreCreditIsPaidOutOfWhatThereIs(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	for name, c := range map[string]struct {
		p     PayOut
		coin  Coin
		kind  domain.Kind
		field string // that is named, "" for none
		says  string
	}{
		"all by card":              {PayOut{873, "card", "Mara"}, coin, 0, "", ""},
		"in coins":                 {PayOut{870, Cash, "Mara"}, coin, 0, "", ""},
		"where cash goes to cents": {PayOut{873, Cash, "Mara"}, Coin{}, 0, "", ""},
		"a cent more":              {PayOut{874, "card", "Mara"}, coin, domain.Conflict, "", "has 8.73 CAD of store credit, less than 8.74"},
		"a coin more":              {PayOut{875, Cash, "Mara"}, coin, domain.Conflict, "", "less than 8.75"},
		"in no coins":              {PayOut{873, Cash, "Mara"}, coin, domain.Invalid, "amount", "the step is 0.05 CAD, so at most 8.70 CAD goes out in cash"},
		"nothing":                  {PayOut{0, "card", "Mara"}, coin, domain.Invalid, "amount", "more than 0"},
		"less than nothing":        {PayOut{-5, Cash, "Mara"}, coin, domain.Invalid, "amount", "more than 0"},
		"into itself":              {PayOut{873, FromCredit, "Mara"}, coin, domain.Invalid, "tender", "choose with what money"},
		"in shells":                {PayOut{873, "shells", "Mara"}, coin, domain.Invalid, "tender", "cash"},
		"to nobody":                {PayOut{873, "card", "  "}, coin, domain.Invalid, "to", "needed"},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.p.Check(873, c.coin, dollars(t))
			if c.says == "" {
				if err != nil {
					t.Fatalf("got %v, want it paid out", err)
				}
				return
			}
			text := domain.TextOf(err)
			if c.field != "" {
				text = domain.FieldsOf(err)[c.field]
			}
			if domain.KindOf(err) != c.kind || !strings.Contains(text, c.says) {
				t.Errorf("got %v %q, want %v with %q", domain.KindOf(err), text, c.kind, c.says)
			}
		})
	}
}

func TestStoreCreditPaidOutIsPosted(t *testing.T) {
	want := lines([]Posting{{Account: StoreCredit, Debit: 870}, {Account: CashBox, Credit: 870}})
	if diff := cmp.Diff(want, lines(PostCreditPaidOut(Cash, 870))); diff != "" {
		t.Error(diff)
	}
}
