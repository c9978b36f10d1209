package money

import (
	"testing"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Source: testdata/compliance_rules.json: limits of Ontario, Ohio and California
// with eight pass or fail cases derived from them.
func TestGuardCases(t *testing.T) {
	var file struct {
		Guards []struct {
			ID       string
			Percent  *string `json:"limit_percent"`
			Absolute *string `json:"limit_absolute"`
			Combine  *string
		} `json:"estimate_guards"`
		Cases []struct {
			Guard, Estimate, Charge string
			Allowed                 bool
		} `json:"guard_cases"`
	}
	readJSON(t, "compliance_rules.json", &file)
	c := Currency{"CAD", 2}
	guards := map[string]Guard{}
	for _, g := range file.Guards {
		var out Guard
		if g.Percent != nil {
			out.Percent = dec(*g.Percent)
		}
		if g.Absolute != nil {
			out.Absolute = minor(t, c, *g.Absolute)
		}
		if g.Combine != nil {
			out.Combine = map[string]Combine{"the greater of the two": Greater}[*g.Combine]
		}
		guards[g.ID] = out
	}
	if len(file.Cases) != 8 {
		t.Fatalf("got %d cases, want 8", len(file.Cases))
	}
	for _, k := range file.Cases {
		ceiling := Ceiling(minor(t, c, k.Estimate), guards[k.Guard])
		if got := minor(t, c, k.Charge) <= ceiling; got != k.Allowed {
			t.Errorf("%s: %s on an estimate of %s: got allowed %v, want %v (ceiling %s)", k.Guard, k.Charge, k.Estimate, got, k.Allowed, c.Show(ceiling))
		}
	}
}

func TestCeiling(t *testing.T) {
	ten := decimal.New(10, 0)
	for _, c := range []struct {
		about    string
		estimate Amount
		guard    Guard
		want     Amount
	}{
		{"no rise at all", 5000, Guard{}, 5000},
		{"the lesser of two", 3000, Guard{ten, 500, Lesser}, 3300},
		{"the lesser of two, the other way", 8000, Guard{ten, 500, Lesser}, 8500},
		{"the greater of two", 3000, Guard{ten, 500, Greater}, 3500},
		{"only an amount", 3000, Guard{Absolute: 250}, 3250},
		{"a share is rounded down", 999, Guard{Percent: ten}, 1098},
		{"a guard that is wrong allows no rise", 1000, Guard{ten, 500, ""}, 1000},
		{"an estimate below zero does not rise", -100, Guard{Percent: ten}, -100},
		{"never above the largest amount", MaxAmount, Guard{Percent: ten}, MaxAmount},
	} {
		if got := Ceiling(c.estimate, c.guard); got != c.want {
			t.Errorf("%s: got %d, want %d", c.about, got, c.want)
		}
	}
}

func TestGuardValidate(t *testing.T) {
	err := Guard{Percent: dec("101"), Absolute: -1, Combine: "both"}.Validate()
	for _, field := range []string{"percent", "absolute", "combine"} {
		if domain.FieldsOf(err)[field] == "" {
			t.Errorf("%s is not named in %v", field, err)
		}
	}
	if domain.FieldsOf(Guard{Percent: dec("10"), Absolute: 1}.Validate())["combine"] == "" {
		t.Error("two limits without a way to combine them were accepted")
	}
	if err := (Guard{Percent: dec("10"), Absolute: 1, Combine: Greater}).Validate(); err != nil {
		t.Errorf("a good guard: got %v", err)
	}
}
