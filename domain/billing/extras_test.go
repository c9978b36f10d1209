package billing

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
)

func TestSurchargesThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		charge TenderCharge
		field  string
	}{
		"on a card":                {TenderCharge{Tender: "card", Percent: dec("1.75")}, ""},
		"nothing":                  {TenderCharge{Tender: "card"}, ""},
		"the most":                 {TenderCharge{Tender: "card", Percent: dec("10")}, ""},
		"on cash":                  {TenderCharge{Tender: Cash, Percent: dec("1")}, "tender"},
		"on store credit":          {TenderCharge{Tender: FromCredit, Percent: dec("1")}, "tender"},
		"on shells":                {TenderCharge{Tender: "shells", Percent: dec("1")}, "tender"},
		"below nothing":            {TenderCharge{Tender: "card", Percent: dec("-0.1")}, "percent"},
		"above the most":           {TenderCharge{Tender: "card", Percent: dec("10.001")}, "percent"},
		"with a fourth decimal":    {TenderCharge{Tender: "card", Percent: dec("1.7501")}, "percent"},
		"with zeros at its end":    {TenderCharge{Tender: "card", Percent: dec("1.75000")}, ""},
		"on nothing that was said": {TenderCharge{Percent: dec("1")}, "tender"},
	} {
		t.Run(name, func(t *testing.T) { wantField(t, c.charge.Check(), c.field) })
	}
}

// wantField wants an error that names a field, or none for "".
func wantField(t *testing.T, err error, field string) {
	t.Helper()
	if field == "" && err != nil || field != "" && domain.FieldsOf(err)[field] == "" {
		t.Errorf("got %v, want the field %q", err, field)
	}
}

func TestStorageThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		rule  StorageRule
		field string
	}{
		"none":                    {StorageRule{}, ""},
		"after a month":           {StorageRule{PerDay: 150, FreeDays: 30}, ""},
		"below nothing":           {StorageRule{PerDay: -1}, "per_day"},
		"too large":               {StorageRule{PerDay: money.MaxAmount + 1}, "per_day"},
		"free days below nothing": {StorageRule{FreeDays: -1}, "free_days"},
		"free for over a year":    {StorageRule{FreeDays: 366}, "free_days"},
	} {
		t.Run(name, func(t *testing.T) { wantField(t, c.rule.Check(), c.field) })
	}
}

// Told on 1 November with 30 free days: 1 December is the thirtieth day after, the
// last that is free.
func TestDaysOfStorage(t *testing.T) {
	r := StorageRule{PerDay: 150, FreeDays: 30}
	for name, c := range map[string]struct {
		rule        StorageRule
		agreed      bool
		told, today domain.Date
		want        int
	}{
		"not agreed in writing": {r, false, "2026-11-01", "2026-12-25", 0},
		"nobody was told":       {r, true, "", "2026-12-25", 0},
		"nothing is charged":    {StorageRule{FreeDays: 30}, true, "2026-11-01", "2026-12-25", 0},
		"the last free day":     {r, true, "2026-11-01", "2026-12-01", 0},
		"the day after":         {r, true, "2026-11-01", "2026-12-02", 1},
		"over a leap day":       {r, true, "2028-01-30", "2028-03-01", 1},
		"told later than today": {r, true, "2026-12-05", "2026-12-01", 0},
		"from the first day":    {StorageRule{PerDay: 150}, true, "2026-11-01", "2026-11-03", 2},
	} {
		t.Run(name, func(t *testing.T) {
			if got := c.rule.Days(c.agreed, c.told, c.today); got != c.want {
				t.Errorf("got %d days, want %d", got, c.want)
			}
		})
	}
}

// drawn is a bill of 100.00 with 13 % tax, 113.00, of which no more than 120.00 was
// agreed.
func drawn(t *testing.T) *Invoice {
	t.Helper()
	inv := billed(t, false, priced(money.Labour, "100.00"))
	inv.Lines[0].Count, inv.Lines[0].Price, inv.Limit = dec("1"), dec("100"), 12000
	inv.Taxes = []money.Tax{{Name: "HST", Percent: dec("13"), On: []money.LineKind{money.Labour, money.Part}}}
	return inv
}

// Seven days at 1.50 are 10.50, without tax in this invented place: 123.50. The fee has
// an agreement of its own, so the limit rises by as much.
func TestStorageOnABill(t *testing.T) {
	inv := drawn(t)
	if err := inv.AddStorage(StorageRule{PerDay: 150, FreeDays: 30}, 7); err != nil {
		t.Fatal(err)
	}
	l := inv.Lines[1]
	if inv.Totals.Total != 12350 || inv.Limit != 13050 || l.Net != 1050 || l.Kind != money.Storage || l.Detail != "7 days after notice and 30 free days" {
		t.Errorf("got %d of at most %d with %+v", inv.Totals.Total, inv.Limit, l)
	}
	for _, c := range []struct {
		rule StorageRule
		days int
	}{{StorageRule{PerDay: 150}, 0}, {StorageRule{PerDay: 150}, -1}, {StorageRule{}, 7}} {
		before := drawn(t)
		if err := before.AddStorage(c.rule, c.days); err != nil || len(before.Lines) != 1 {
			t.Errorf("%+v for %d days: got %d lines, %v; want nothing charged", c.rule, c.days, len(before.Lines), err)
		}
	}
}

// 2.5 % of the 83.00 that are left of 113.00 after 30.00 are 2.075, rounded up to 2.08.
func TestASurchargeIsOnWhatIsLeft(t *testing.T) {
	inv := drawn(t)
	card := TenderCharge{Tender: "card", Percent: dec("2.5")}
	if err := inv.AddTenderCharge(card, 3000); err != nil {
		t.Fatal(err)
	}
	l := inv.Lines[1]
	if inv.Totals.Total != 11508 || inv.Limit != 12208 || l.Net != 208 || l.Name != "Surcharge for paying by card" || l.Detail != "2.5 % of 83.00 CAD" {
		t.Errorf("got %d of at most %d with %+v", inv.Totals.Total, inv.Limit, l)
	}
	for name, c := range map[string]struct {
		charge TenderCharge
		paid   money.Amount
	}{"all is paid": {card, 11300}, "more is paid": {card, 20000}, "no surcharge": {TenderCharge{Tender: "card"}, 0}} {
		t.Run(name, func(t *testing.T) {
			inv := drawn(t)
			if err := inv.AddTenderCharge(c.charge, c.paid); err != nil || len(inv.Lines) != 1 {
				t.Errorf("got %d lines, %v; want nothing charged", len(inv.Lines), err)
			}
		})
	}
	open := drawn(t)
	open.Limit = money.MaxAmount
	if err := open.AddTenderCharge(card, 0); err != nil || open.Limit != money.MaxAmount {
		t.Errorf("a bill without a limit got %d, %v", open.Limit, err)
	}
	broken := drawn(t)
	broken.Lines[0].Kind = ""
	if err := broken.AddTenderCharge(card, 0); err == nil {
		t.Error("a bill that cannot be added up takes a surcharge")
	}
}
