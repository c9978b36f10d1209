package billing

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/templates"
)

var (
	day   = time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)
	today = domain.Date("2026-12-01")
	runa  = domain.Actor{Staff: 1, Name: "Runa"}
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func cad() money.Currency {
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		panic(err)
	}
	return c
}

// terms: 84.00 an hour, one tax of 5 % on everything, no more than 10 % above an estimate.
func terms() quote.Terms {
	return quote.Terms{
		Currency: cad(), HourlyRate: 8400, Guard: money.Guard{Percent: dec("10")}, ValidDays: 14, Today: today,
		Profile: money.Profile{
			Name: "test", Currency: "CAD", DepositTax: "on_application", Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
			Components: []money.Component{{Name: "GST", On: money.LineKinds(), Rates: []money.Rate{{From: "2013-01-01", Percent: dec("5")}}}},
		},
	}
}

// agreed quotes rows, gets a whole yes and makes the job with its tasks done.
func agreed(t testing.TB, s quote.Sheet) (*job.Job, *quote.Quote) {
	t.Helper()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	shelf := quote.Shelf{Templates: map[string]quote.Edition{}, Parts: map[string]stock.Part{
		"strings-set": {ID: 1, Code: "strings-set", Name: "Strings, set", Unit: "set", Kind: money.Part, Price: 1450},
	}}
	for _, one := range all {
		shelf.Templates[one.Code] = quote.Edition{Number: 1, Template: one}
	}
	q, err := quote.Build(s, shelf, terms())
	if err != nil {
		t.Fatal(err)
	}
	q.ID = 5
	for i := range q.Lines {
		q.Lines[i].ID = domain.LineID(i + 1)
	}
	if err := q.Say(1, runa, day, today); err != nil {
		t.Fatal(err)
	}
	if err := q.Take(quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone", At: day}, nil, terms().Guard, today); err != nil {
		t.Fatal(err)
	}
	j := &job.Job{ID: 9, Tag: 318, Customer: 2, Approved: day, Arrival: job.Arrival{SurveyFee: 3000, CaseOpened: true}}
	fresh, err := quote.Plan(j, &q, shelf, decimal.Zero, day)
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range fresh {
		j.Tasks[i].ID = domain.TaskID(i + 1)
		j.Tasks[i].Done = day.Add(240 * time.Hour)
		q.Lines[line].Task = j.Tasks[i].ID
	}
	return j, &q
}

func clocked(j *job.Job, task domain.TaskID, minutes int) {
	j.Clockings = append(j.Clockings, job.Clocking{
		ID: domain.ClockingID(len(j.Clockings) + 1), Task: task, Staff: 1, Start: day, End: day.Add(time.Duration(minutes) * time.Minute),
	})
}

func draft(t *testing.T, j *job.Job, q *quote.Quote, o Options) Invoice {
	t.Helper()
	inv, err := Draft(j, q, terms(), o)
	if err != nil {
		t.Fatalf("draft: %v", err)
	}
	return inv
}

func TestFirmQuoteIsBilledAsSaid(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CG", Quantity: "60"}, {Task: "SU", WithParts: true}}})
	clocked(j, 1, 200) // far over; a firm quote does not care
	inv := draft(t, j, q, Options{QuarterUp: 15})
	if inv.Totals.Total != q.Totals.Total || inv.Quote != 5 || inv.Limit != q.YesLimit {
		t.Errorf("billed %d, said %d", inv.Totals.Total, q.Totals.Total)
	}
	if inv.Lines[0].Detail != "60 mm" || inv.Lines[0].Minutes != 0 {
		t.Errorf("line %+v", inv.Lines[0])
	}
}

// Hand arithmetic: 40 + 33 = 73 minutes go up to 75, shared 41 and 34; at 84.00
// an hour 57.40 and 47.60, with 5 % tax 110.25.
func TestEstimateIsBilledByTheClock(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60"}, {Task: "CC", Quantity: "2"}}})
	clocked(j, 1, 40)
	clocked(j, 2, 33)
	inv := draft(t, j, q, Options{QuarterUp: 15})
	if inv.Lines[0].Minutes != 41 || inv.Lines[1].Minutes != 34 {
		t.Errorf("minutes %d and %d, want 41 and 34", inv.Lines[0].Minutes, inv.Lines[1].Minutes)
	}
	if inv.Totals.Net != 10500 || inv.Totals.Total != 11025 {
		t.Errorf("net %d total %d, want 10500 and 11025", inv.Totals.Net, inv.Totals.Total)
	}
	if inv.Lines[0].Detail != "60 mm, 41 min" {
		t.Errorf("detail %q", inv.Lines[0].Detail)
	}
	exact := draft(t, j, q, Options{QuarterUp: 1})
	if exact.Lines[0].Minutes+exact.Lines[1].Minutes != 73 {
		t.Errorf("exact billing gives %+v", exact.Lines)
	}
}

func TestNoMoreThanAgreed(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60"}}})
	clocked(j, 1, 300)
	_, err := Draft(j, q, terms(), Options{QuarterUp: 15})
	var limit *LimitError
	if !errors.As(err, &limit) || domain.KindOf(err) != domain.Conflict || limit.Limit != q.YesLimit {
		t.Fatalf("got %v, want the limit of %d", err, q.YesLimit)
	}
	inv := draft(t, j, q, Options{QuarterUp: 15, KeepToLimit: true})
	if inv.Totals.Total > q.YesLimit || inv.Totals.Total < q.YesLimit-2 {
		t.Errorf("kept to %d, limit %d", inv.Totals.Total, q.YesLimit)
	}
	if !strings.Contains(inv.Reason, "kept to the agreed limit") {
		t.Errorf("reason %q", inv.Reason)
	}
}

func TestPartsAsUsedOnAnEstimate(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "SU", WithParts: true}, {Task: "BR"}}})
	set := stock.Part{ID: 1, Code: "strings-set", Name: "Strings, set", Unit: "set", Kind: money.Part, Price: 1450}
	pins := stock.Part{ID: 2, Code: "pins", Name: "Bridge pins", Unit: "set", Kind: money.Part, Price: 900}
	glue := stock.Part{ID: 3, Code: "glue", Name: "Hide glue", Unit: "g", Kind: money.ShopSupplies, Price: 10}
	count := func(inv Invoice, name string) string {
		for _, l := range inv.Lines {
			if l.Name == name {
				return l.Count.String()
			}
		}
		return "none"
	}
	if got := count(draft(t, j, q, Options{}), "Strings, set"); got != "none" {
		t.Errorf("quoted and not used: billed %s", got)
	}
	done := j.Tasks[0].Done
	j.Tasks[0].Done = time.Time{}
	for _, u := range []struct {
		p stock.Part
		n string
	}{{set, "2"}, {pins, "1"}, {glue, "5"}} {
		if err := j.UsePart(1, u.p, dec(u.n), runa, day); err != nil {
			t.Fatal(err)
		}
	}
	j.Tasks[0].Done = done
	inv, err := Draft(j, q, terms(), Options{KeepToLimit: true})
	if err != nil {
		t.Fatal(err)
	}
	if count(inv, "Strings, set") != "2" || count(inv, "Bridge pins") != "1" || count(inv, "Hide glue") != "none" {
		t.Errorf("lines %+v", inv.Lines)
	}
}

func TestOnlyFinishedAndAgreedWorkIsBilled(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "FE"}, {Task: "SU", WithParts: true}, {Task: "FU"}}})
	j.Tasks[1].Done = time.Time{}
	if _, err := Draft(j, q, terms(), Options{}); !strings.Contains(fmt.Sprint(err), "is not finished") {
		t.Errorf("an open task: %v", err)
	}
	j.Tasks[1].Dropped = day
	j.Tasks[2].Done = time.Time{} // the follow-up comes later and is free
	inv := draft(t, j, q, Options{})
	if len(inv.Lines) != 1 || inv.Lines[0].Name != q.Lines[0].Name {
		t.Errorf("lines %+v, want the fret ends alone", inv.Lines)
	}
	q.Lines[0].Task = 99
	if _, err := Draft(j, q, terms(), Options{}); domain.KindOf(err) != domain.NotFound {
		t.Errorf("a line without its task: %v", err)
	}
}

func TestDiscounts(t *testing.T) {
	j, q := agreed(t, quote.Sheet{Basis: quote.Firm, Discount: "10.00", Reason: "teacher", Rows: []quote.Row{{Task: "FE"}}})
	inv := draft(t, j, q, Options{Discount: 500, Reason: "late"})
	if inv.Discount != 1500 || inv.Reason != "teacher; late" {
		t.Errorf("discount %d for %q, want 1500 for both reasons", inv.Discount, inv.Reason)
	}
	_, err := Draft(j, q, terms(), Options{Discount: -1})
	if domain.FieldsOf(err)["discount"] == "" {
		t.Errorf("a negative discount: %v", err)
	}
	_, err = Draft(j, q, terms(), Options{Discount: 100})
	if domain.FieldsOf(err)["reason"] == "" {
		t.Errorf("a discount without a reason: %v", err)
	}
}

func TestDeclinedJobOwesTheSurvey(t *testing.T) {
	j := &job.Job{Tag: 4, Surveyed: day, Quoted: day, Declined: day.Add(time.Hour), Arrival: job.Arrival{SurveyFee: 3000}}
	inv := draft(t, j, nil, Options{})
	if inv.Totals.Total != 3150 || len(inv.Lines) != 1 {
		t.Errorf("billed %d, want 30.00 and 5 %%", inv.Totals.Total)
	}
	j.Arrival.SurveyFee = 0
	if _, err := Draft(j, nil, terms(), Options{}); !strings.Contains(fmt.Sprint(err), "nothing is owed") {
		t.Errorf("no fee: %v", err)
	}
	if _, err := Draft(&job.Job{}, nil, terms(), Options{}); !strings.Contains(fmt.Sprint(err), "no yes") {
		t.Errorf("no yes: %v", err)
	}
}

func TestBalanceAndCash(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	inv := &Invoice{Totals: money.Totals{Total: 10002}}
	b := BalanceOf(inv, []Payment{{Amount: 3000, Kind: Deposit}}, coin)
	if b.Due != 7002 || b.CashDue != 7000 || b.Deposits != 3000 {
		t.Fatalf("balance %+v", b)
	}
	// Several tenders: a card first, the rest in cash, rounded to the coin.
	card, err := Take(Payment{Tender: "card", Amount: 4000}, b, true, 0, coin)
	if err != nil || card.Kind != Settle {
		t.Fatalf("card: %v, %+v", err, card)
	}
	b = BalanceOf(inv, []Payment{{Amount: 3000}, {Amount: 4000, Invoice: 1}}, coin)
	cash, err := Take(Payment{Tender: Cash, Amount: 3002, Given: 5000}, b, true, 0, coin)
	if err != nil || cash.Amount != 3000 || cash.Rounding != 2 || cash.Change != 2000 {
		t.Fatalf("cash: %v, %+v; want 30.00, 0.02 by rounding, 20.00 change", err, cash)
	}
	b = BalanceOf(inv, []Payment{{Amount: 3000}, {Amount: 4000, Invoice: 1}, cash}, coin)
	if b.Due != 0 {
		t.Errorf("due %d after the cash, want 0", b.Due)
	}
	_, err = Take(Payment{Tender: "card", Amount: 1}, b, true, 0, coin)
	if domain.KindOf(err) != domain.Conflict {
		t.Errorf("paying more than is owed: %v", err)
	}
}

func TestTakeRefuses(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Total: 10000, Due: 10000, CashDue: 10000}
	for _, c := range []struct {
		what, field string
		p           Payment
	}{
		{"nothing", "amount", Payment{Tender: "card"}},
		{"a negative amount", "amount", Payment{Tender: "card", Amount: -5}},
		{"shells", "tender", Payment{Tender: "shells", Amount: 5}},
		{"given on a card", "given", Payment{Tender: "card", Amount: 5, Given: 10}},
		{"too little given", "given", Payment{Tender: Cash, Amount: 500, Given: 400}},
		{"coins there are not", "amount", Payment{Tender: Cash, Amount: 501}},
	} {
		_, err := Take(c.p, b, true, 0, coin)
		if domain.FieldsOf(err)[c.field] == "" {
			t.Errorf("%s: got %v, want something said of %s", c.what, err, c.field)
		}
	}
	_, err := Take(Payment{Tender: "card", Amount: 5001}, Balance{}, false, 5000, coin)
	var over *OverpaidError
	if !errors.As(err, &over) || over.Limit != 5000 {
		t.Fatalf("a deposit above the room: %v", err)
	}
	if over.Currency = cad(); !strings.Contains(over.Error(), "50.00 CAD") {
		t.Errorf("text %q", over.Error())
	}
	if over.Limit = 0; !strings.Contains(over.Error(), "nothing is owed") {
		t.Errorf("text %q", over.Error())
	}
	if (&OverpaidError{}).Error() == "" {
		t.Error("an overpaid error without a currency says nothing")
	}
	dep, err := Take(Payment{Tender: "card", Amount: 5000}, Balance{}, false, 5000, coin)
	if err != nil || dep.Kind != Deposit {
		t.Errorf("deposit: %v, %+v", err, dep)
	}
}

func TestGiveBack(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Due: -1002, CashDue: -1000}
	if _, err := GiveBack(Payment{Tender: "card", Amount: 1003}, b, coin); domain.KindOf(err) != domain.Conflict {
		t.Errorf("more than is owed back: %v", err)
	}
	if _, err := GiveBack(Payment{Tender: "card"}, b, coin); domain.FieldsOf(err)["amount"] == "" {
		t.Errorf("nothing back: %v", err)
	}
	p, err := GiveBack(Payment{Tender: "card", Amount: 1002}, b, coin)
	if err != nil || p.Amount != -1002 || p.Kind != Refund {
		t.Errorf("card: %v, %+v", err, p)
	}
	p, err = GiveBack(Payment{Tender: Cash, Amount: 1002}, b, coin)
	if err != nil || p.Amount != -1000 || b.Due-p.Amount-p.Rounding != 0 {
		t.Errorf("cash: %v, %+v; want the balance at 0", err, p)
	}
}

// Whatever is clocked, kept to the limit or not: lines less discount are the
// net, net and tax the total, and the total is never above the limit.
func TestBillsAddUpAndKeepTheirLimit(t *testing.T) {
	codes := []string{"RH", "CG", "CC", "FT", "FE", "SU", "BR", "BS", "HC"}
	rapid.Check(t, func(r *rapid.T) {
		s := quote.Sheet{Basis: rapid.SampledFrom(quote.Bases()).Draw(r, "basis")}
		for _, c := range codes[:rapid.IntRange(1, len(codes)).Draw(r, "n")] {
			s.Rows = append(s.Rows, quote.Row{Task: c, Quantity: fmt.Sprint(rapid.IntRange(1, 90).Draw(r, "q"))})
		}
		j, q := agreed(t, s)
		for i := range j.Tasks {
			clocked(j, j.Tasks[i].ID, rapid.IntRange(0, 400).Draw(r, "min"))
		}
		inv, err := Draft(j, q, terms(), Options{QuarterUp: 15, KeepToLimit: true})
		if err != nil {
			r.Fatal(err)
		}
		var sum money.Amount
		for _, l := range inv.Lines {
			sum += l.Net
		}
		if sum-inv.Totals.Discount != inv.Totals.Net || inv.Totals.Net+inv.Totals.Tax != inv.Totals.Total || inv.Totals.Total > inv.Limit {
			r.Fatalf("sum %d, totals %+v, limit %d", sum, inv.Totals, inv.Limit)
		}
	})
}
