package quote

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain/money"
)

func TestCompareSaysWhatIsNewAgainstTheAgreedVersion(t *testing.T) {
	one, two := decimal.NewFromInt(1), decimal.NewFromInt(2)
	agreed := &Quote{Currency: money.Currency{Code: "EUR", Digits: 2}, Lines: []Line{
		{Template: "CG", Name: "Crack glued", Quantity: 60, Unit: "mm", Count: one, Net: 4400, Agreed: true},
		{Template: "CC", Name: "Cleats", Quantity: 2, Unit: "cleats", Count: one, Net: 3900, Agreed: true},
		{Template: "FT", Name: "Touch-up", Quantity: 1, Count: one, Net: 7500},
		{Part: "strings-set", For: "SU", Name: "Strings", Count: one, Net: 1200, Agreed: true},
		{Name: "Courier", Count: one, Net: 1000, Agreed: true},
		{Template: "SU", Name: "Set-up", Quantity: 1, Count: one, Net: 7000, Agreed: true},
	}}
	later := &Quote{Currency: agreed.Currency, Lines: []Line{
		{Template: "CG", Name: "Crack glued", Quantity: 80, Unit: "mm", Count: one, Net: 5200},
		{Template: "CC", Name: "Cleats", Quantity: 2, Unit: "cleats", Count: one, Net: 4000},
		{Template: "FT", Name: "Touch-up", Quantity: 1, Count: one, Net: 7500},
		{Part: "strings-set", For: "SU", Name: "Strings", Unit: "set", Count: two, Net: 2400},
		{Name: "Parcel", Count: one, Net: 1000},
		{Template: "SU", Name: "Set-up", Quantity: 1, Count: one, Net: 7000},
	}}
	var got []string
	for _, c := range Compare(agreed, later) {
		got = append(got, c.Line.Name+": "+c.What)
	}
	want := []string{
		"Crack glued: 60 to 80 mm", "Cleats: 39.00 to 40.00", "Touch-up: new", "Strings: 1 to 2 set",
		"Parcel: new", "Courier: falls away",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("changes (-want +got):\n%s", diff)
	}
	if same := Compare(agreed, agreed); len(same) != 1 || same[0].Line.Name != "Touch-up" {
		t.Errorf("against itself got %v, want only the line that was not agreed", same)
	}
}
