package money

import (
	"encoding/json"
	"testing"
)

// oneOrMore reads a JSON value that stands alone or in a list.
type oneOrMore[T any] []T

func (o *oneOrMore[T]) UnmarshalJSON(raw []byte) error {
	if raw[0] == '[' {
		return json.Unmarshal(raw, (*[]T)(o))
	}
	*o = make([]T, 1)
	return json.Unmarshal(raw, &(*o)[0])
}

type category struct{ ID, Percent string }

// ruleAmounts is what a unit case gives, by the element names of UBL.
type ruleAmounts struct {
	LegalMonetaryTotal map[string]string
	InvoiceLine        oneOrMore[ruleLine]
	CreditNoteLine     oneOrMore[ruleLine]
	AllowanceCharge    oneOrMore[struct {
		ChargeIndicator, Amount string
		TaxCategory             category
	}]
	TaxTotal oneOrMore[struct {
		TaxAmount   string
		TaxSubtotal oneOrMore[struct {
			TaxableAmount, TaxAmount string
			TaxCategory              category
		}]
	}]
}

type ruleLine struct {
	LineExtensionAmount string
	Item                struct{ ClassifiedTaxCategory category }
}

// amount reads a decimal that may be missing or without a leading zero.
func (a ruleAmounts) amount(t *testing.T, s string) Amount {
	if s == "" {
		s = "0"
	}
	return minor(t, Currency{"EUR", 2}, s)
}

func (a ruleAmounts) stated(t *testing.T, name string) Amount {
	return a.amount(t, a.LegalMonetaryTotal[name])
}

// totals works out the lines, allowances (negative) and charges of the case.
func (a ruleAmounts) totals(t *testing.T, lines, allowances, charges bool) Totals {
	b := Bill{Currency: Currency{"EUR", 2}}
	add := func(c category, amount Amount) {
		name := taxOf(c.ID+"-", c.Percent)
		withTax(&b, name)
		b.Lines = append(b.Lines, Line{Kind: Part, Net: &amount, Taxes: []string{name}})
	}
	if lines {
		for _, l := range append(a.InvoiceLine, a.CreditNoteLine...) {
			add(l.Item.ClassifiedTaxCategory, a.amount(t, l.LineExtensionAmount))
		}
	}
	for _, x := range a.AllowanceCharge {
		switch {
		case x.ChargeIndicator == "true" && charges:
			add(x.TaxCategory, a.amount(t, x.Amount))
		case x.ChargeIndicator != "true" && allowances:
			add(x.TaxCategory, -a.amount(t, x.Amount))
		}
	}
	return mustSum(t, b)
}

// rests returns the differences that the rule wants to be zero, each what was
// stated less what our arithmetic gives.
func (a ruleAmounts) rests(t *testing.T, rule string) []Amount {
	switch rule {
	case "BR-CO-10":
		return []Amount{a.stated(t, "LineExtensionAmount") - a.totals(t, true, false, false).Sum}
	case "BR-CO-11":
		return []Amount{a.stated(t, "AllowanceTotalAmount") + a.totals(t, false, true, false).Sum}
	case "BR-CO-12":
		return []Amount{a.stated(t, "ChargeTotalAmount") - a.totals(t, false, false, true).Sum}
	case "BR-CO-13":
		lines, allow, charge := a.stated(t, "LineExtensionAmount"), -a.stated(t, "AllowanceTotalAmount"), a.stated(t, "ChargeTotalAmount")
		got := mustSum(t, Bill{Currency: Currency{"EUR", 2}, Lines: []Line{
			{Kind: Part, Net: &lines}, {Kind: Fee, Net: &allow}, {Kind: Fee, Net: &charge}}})
		return []Amount{a.stated(t, "TaxExclusiveAmount") - got.Net}
	case "BR-CO-14":
		var parts []Amount
		for _, s := range a.TaxTotal[0].TaxSubtotal {
			parts = append(parts, a.amount(t, s.TaxAmount))
		}
		return []Amount{a.amount(t, a.TaxTotal[0].TaxAmount) - added(t, parts...)}
	case "BR-CO-15":
		return []Amount{a.stated(t, "TaxInclusiveAmount") - added(t, a.stated(t, "TaxExclusiveAmount"), a.amount(t, a.TaxTotal[0].TaxAmount))}
	case "BR-CO-16":
		total := a.stated(t, "TaxInclusiveAmount")
		got := mustSum(t, Bill{Currency: Currency{"EUR", 2}, Deposit: a.stated(t, "PrepaidAmount"), Lines: []Line{{Kind: Part, Net: &total}}})
		return []Amount{a.stated(t, "PayableAmount") - got.Due - a.stated(t, "PayableRoundingAmount")}
	case "BR-CO-17", "BR-S-09", "BR-Z-09":
		return a.taxRests(t)
	case "BR-S-08":
		return a.baseRests(t, "S")
	case "BR-Z-08":
		return a.baseRests(t, "Z")
	}
	t.Fatalf("rule %s is unknown here", rule)
	return nil
}

// added is Add for amounts that are small enough.
func added(t *testing.T, amounts ...Amount) Amount {
	sum, err := Add(amounts...)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// taxRests compares each stated tax with base x rate.
func (a ruleAmounts) taxRests(t *testing.T) (rests []Amount) {
	for _, s := range a.TaxTotal[0].TaxSubtotal {
		base := a.amount(t, s.TaxableAmount)
		got := mustSum(t, Bill{Currency: Currency{"EUR", 2},
			Taxes: []Tax{{Name: "tax", Percent: orZero(s.TaxCategory.Percent)}},
			Lines: []Line{{Kind: Part, Net: &base, Taxes: []string{"tax"}}}})
		rests = append(rests, a.amount(t, s.TaxAmount)-got.Tax)
	}
	return rests
}

// baseRests compares each stated base of a category with its lines, charges and
// allowances.
func (a ruleAmounts) baseRests(t *testing.T, id string) (rests []Amount) {
	bases := map[string]Amount{}
	for _, x := range a.totals(t, true, true, true).Taxes {
		bases[x.Name] = x.Base
	}
	for _, s := range a.TaxTotal[0].TaxSubtotal {
		if s.TaxCategory.ID == id {
			rests = append(rests, a.amount(t, s.TaxableAmount)-bases[taxOf(id+"-", s.TaxCategory.Percent)])
		}
	}
	return rests
}

// Source: the 140 unit cases of the CEN/TC 434 validation artefacts. The checks
// there accept a difference below 1.00 for BR-CO-17, BR-S-08 and BR-S-09. Cases
// with two tax totals are left out: which of them is in the document's currency
// is not in the file.
func TestPublishedRuleCases(t *testing.T) {
	var file struct {
		Cases []struct {
			ID, Rule, Expect string
			Amounts          ruleAmounts
			Exact            *bool `json:"exact_equality"`
		}
	}
	readJSON(t, "en16931_rule_cases.json", &file)
	tolerated := map[string]Amount{"BR-CO-17": 99, "BR-S-08": 99, "BR-S-09": 99}
	run, left := 0, 0
	for _, c := range file.Cases {
		if len(c.Amounts.TaxTotal) > 1 {
			left++
			continue
		}
		run++
		exact, holds := true, true
		for _, rest := range c.Amounts.rests(t, c.Rule) {
			exact = exact && rest == 0
			holds = holds && rest.Abs() <= tolerated[c.Rule]
		}
		if want := c.Expect == "holds"; holds != want {
			t.Errorf("%s: our arithmetic says holds = %v, published %v", c.ID, holds, want)
		}
		if c.Exact != nil && exact != *c.Exact {
			t.Errorf("%s: got equality %v, want %v", c.ID, exact, *c.Exact)
		}
	}
	t.Logf("%d cases run, %d left out", run, left)
	if run+left != 140 || left > 8 {
		t.Errorf("got %d cases run and %d left out, want 140 together and at most 8 left out", run, left)
	}
}
