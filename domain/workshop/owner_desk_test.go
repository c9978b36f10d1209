package workshop_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain/billing"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// gone has two cleats and a saddle blank agreed, works 10 minutes, fits the part, bills,
// takes the money in cash and hands over. It returns what was billed.
func (h *house) gone() *billing.Invoice {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}}})
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
	part, err := h.work.NotePart(h.ctx, h.owner, stock.Part{Code: "cleat-test", Name: "Cleat", Unit: "each", Kind: money.Part, Price: 150, Cost: 40})
	h.must(err)
	h.must(h.work.UsePart(h.ctx, h.bench, id, h.task(id, "CC").ID, part, dec("3")))
	h.worked(id, "CC", 10)
	h.must(h.work.Pass(h.ctx, h.bench, id))
	inv, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
	h.must(err)
	bill, err := h.store.InvoiceByID(h.ctx, inv)
	h.must(err)
	_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: bill.Totals.Total})
	h.must(err)
	h.must(h.work.Call(h.ctx, h.counter, id, job.Contact{About: "ready", Result: "spoke"}))
	h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true, Brief: true}))
	return bill
}

// An hour costs 36.00: ten minutes are 6.00; three cleats cost 1.20.
func TestOwnerDeskAddsUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		bill := h.gone()
		h.clock.pass(time.Minute)
		d, err := workshop.ReadOwnerDesk(h.ctx, h.store, nil, h.clock.Now())
		h.must(err)
		if d.Monday != "2026-11-23" {
			t.Errorf("the week begins on %s, want Monday 2026-11-23", d.Monday)
		}
		want := workshop.WeekFigures{Known: true, Arrived: 1, Seconds: 600, HandedOver: 1, Taken: bill.Totals.Total, Agreed: workshop.AgreedMoney{Jobs: 1, Total: bill.Agreed}}
		if diff := cmp.Diff(want, d.Week); diff != "" {
			t.Errorf("this week (-want +got):\n%s", diff)
		}
		if d.Then != (workshop.WeekFigures{}) || !strings.Contains(d.Answer, "there is no winter before") {
			t.Errorf("a winter before the first: %+v, %q", d.Then, d.Answer)
		}
		m := d.Margins
		if m.All.Jobs != 1 || m.All.Income != bill.Totals.Net || m.All.Labour != 600 || m.All.Parts != 120 || m.All.Left() != bill.Totals.Net-720 {
			t.Errorf("margin %+v, want income %d, labour 600, parts 120", m.All, bill.Totals.Net)
		}
		sum(t, "months", m.Months, m.All)
		sum(t, "templates", m.Templates, m.All)
		if len(m.Months) != 12 || m.Months[11].Key != "2026-11" || m.Months[11].Jobs != 1 || m.Months[0].Key != "2025-12" {
			t.Errorf("months from %+v to %+v, want twelve to November", m.Months[0], m.Months[len(m.Months)-1])
		}

		// A year later, in the same week: what was then stands beside it.
		h.clock.pass(52 * 7 * h.day)
		h.arrive()
		h.clock.pass(time.Minute)
		if d, err = workshop.ReadOwnerDesk(h.ctx, h.store, nil, h.clock.Now()); err != nil {
			t.Fatal(err)
		}
		if d.Week.Arrived != 1 || d.Week.Taken != 0 || cmp.Diff(want, d.Then) != "" || cmp.Diff(want, d.ThenFull) != "" {
			t.Errorf("now %+v, then %+v, that whole week %+v; want one in now and the former week then", d.Week, d.Then, d.ThenFull)
		}
		if !strings.Contains(d.Answer, "This week so far: 1 job in, 0.00 CAD agreed; in the same days last winter: 1 job and ") {
			t.Errorf("answer %q", d.Answer)
		}
		if len(d.House) != 1 || d.House[0] != (workshop.StageValue{Stage: job.Arrived, Jobs: 1, Unpriced: 1}) {
			t.Errorf("in the house: %+v, want one without a price", d.House)
		}
		if d.Margins.All.Jobs != 0 || d.Margins.Months[0].Key != "2026-12" {
			t.Errorf("margins %+v since %s, want nothing of twelve months from December on", d.Margins.All, d.Margins.Months[0].Key)
		}
	})
}

// sum holds a list of margins against all together.
func sum(t *testing.T, what string, list []workshop.Margin, all workshop.Margin) {
	t.Helper()
	var got workshop.Margin
	for _, m := range list {
		got.Income, got.Labour, got.Parts = got.Income+m.Income, got.Labour+m.Labour, got.Parts+m.Parts
	}
	if got.Income != all.Income || got.Labour != all.Labour || got.Parts != all.Parts {
		t.Errorf("the %s come to %+v, want %+v", what, got, all)
	}
}

// The bill of 100.00 and 50.00 less 15.00 is shared 90.00 and 45.00; with 5 % inside,
// what is left of 135.00 is 128.57, and no cent is lost.
func TestMarginsShareDiscountAndTax(t *testing.T) {
	shop := settings(t)
	now := time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)
	bill := func(inside bool) workshop.EarnedJob {
		totals, err := money.Sum(money.Bill{
			Currency: shop.Currency, Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument}, PricesIncludeTax: inside, Discount: 1500,
			Lines: []money.Line{{Kind: money.Labour, Quantity: dec("1"), UnitPrice: dec("100")}, {Kind: money.RetailGoods, Quantity: dec("1"), UnitPrice: dec("50")}},
			Taxes: []money.Tax{{Name: "GST", Percent: dec("5"), On: money.LineKinds()}},
		})
		if err != nil {
			t.Fatal(err)
		}
		inv := &billing.Invoice{TaxInside: inside, Totals: totals, Lines: []billing.Line{{Kind: money.Labour}, {Kind: money.RetailGoods}}}
		return workshop.EarnedJob{Job: 1, Collected: now, Invoice: inv, LineOf: []string{"CG", ""}, Work: []workshop.EarnedWork{{Template: "CG", AtCost: workshop.AtCost{Seconds: 3600, Thousandths: 1499}}}}
	}
	free := workshop.EarnedJob{Job: 2, Collected: now.AddDate(0, -1, 0), Work: []workshop.EarnedWork{{Template: "CG", AtCost: workshop.AtCost{Seconds: 1800}}}}
	plain, err := workshop.MarginsOf([]workshop.EarnedJob{bill(false), free}, &shop, now, plainName)
	if err != nil {
		t.Fatal(err)
	}
	want := []workshop.Margin{{Name: "Fees and goods of no task", Jobs: 1, Income: 4500}, {Key: "CG", Name: "Task CG", Jobs: 2, Income: 9000, Labour: 5400, Parts: 1}}
	if diff := cmp.Diff(want, plain.Templates); diff != "" {
		t.Errorf("templates (-want +got):\n%s", diff)
	}
	if october := plain.Months[10]; october.Left() != -1800 || october.Jobs != 1 {
		t.Errorf("October, a comeback free of charge: %+v, want a loss of 18.00", october)
	}
	inside, err := workshop.MarginsOf([]workshop.EarnedJob{bill(true)}, &shop, now, plainName)
	if err != nil {
		t.Fatal(err)
	}
	if inside.All.Income != 12857 {
		t.Errorf("with tax inside %d was earned, want 12857", inside.All.Income)
	}
	sum(t, "templates", inside.Templates, inside.All)
	sum(t, "months", inside.Months, inside.All)
}

func TestHouseIsWorthWhatWasAgreed(t *testing.T) {
	house, all := workshop.HouseOf([]workshop.JobRow{
		{Stage: job.Ready, Total: 10000, Agreed: 9000}, {Stage: job.Approved, Agreed: 4000}, {Stage: job.Approved, Agreed: 2500}, {Stage: job.Arrived}, {Stage: job.Quoted},
	})
	want := []workshop.StageValue{
		{Stage: job.Arrived, Jobs: 1, Unpriced: 1}, {Stage: job.Quoted, Jobs: 1, Unpriced: 1}, {Stage: job.Approved, Jobs: 2, Value: 6500}, {Stage: job.Ready, Jobs: 1, Value: 10000},
	}
	if diff := cmp.Diff(want, house); diff != "" {
		t.Errorf("by stage (-want +got):\n%s", diff)
	}
	if all != (workshop.StageValue{Jobs: 5, Value: 16500, Unpriced: 2}) {
		t.Errorf("all together %+v", all)
	}
}

func TestWorriesAreRankedAndSaidOnce(t *testing.T) {
	shop := settings(t)
	now := time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)
	ago := func(days int) time.Time { return now.AddDate(0, 0, -days) }
	rows := []workshop.JobRow{
		{ID: 1, Tag: 1, Stage: job.Ready, Since: ago(45)}, {ID: 2, Tag: 2, Stage: job.Ready, Since: ago(20)},
		{ID: 3, Tag: 3, Stage: job.OnBench, Since: ago(2), Promised: "2026-11-20"}, {ID: 4, Tag: 4, Stage: job.OnBench, Since: ago(2), Promised: "2026-11-10"},
		{ID: 5, Tag: 5, Stage: job.Quoted, Since: ago(9)}, {ID: 6, Tag: 6, Stage: job.InHold, Since: ago(9)}, {ID: 7, Tag: 7, Stage: job.InHold, Since: ago(9), Promised: "2026-11-27"},
		{ID: 8, Tag: 8, Stage: job.Surveyed, Since: ago(8)}, {ID: 9, Tag: 9, Stage: job.Checked, Since: ago(4)}, {ID: 10, Tag: 10, Stage: job.Arrived, Since: ago(1)},
		{ID: 11, Tag: 11, Stage: job.Approved, Since: ago(30)}, {ID: 12, Tag: 12, Stage: job.Declined, Since: ago(15)},
	}
	cabinet := &workshop.Cabinet{Held: []workshop.HeldRow{
		{HoldRow: workshop.HoldRow{Job: 6}, Says: hold.Judgement{Cautions: []hold.Caution{{Text: "mould: stop", Stop: true}}}},
		{HoldRow: workshop.HoldRow{Job: 3}, Says: hold.Judgement{Verdict: hold.WillNotClose}},
	}}
	late := workshop.QueueRow{JobRow: rows[6], Promise: workshop.Promise{Window: queue.Window{P50: now.AddDate(0, 0, 6), P80: now.AddDate(0, 0, 9)}}}
	got := workshop.WorriesOf(rows, cabinet, &workshop.Queue{Calls: []workshop.QueueRow{late}}, &shop, now)
	var tags []int
	why := map[int]string{}
	for _, w := range got {
		tags, why[w.JobRow.Tag] = append(tags, w.JobRow.Tag), w.Why
	}
	if diff := cmp.Diff([]int{6, 4, 3, 7, 1, 5, 9, 11, 8, 12}, tags); diff != "" {
		t.Errorf("tags, worst first (-want +got):\n%s", diff)
	}
	for tag, want := range map[int]string{
		6: "mould: stop", 4: "we said Tue 10 Nov: over for 15 days", 7: "we said Fri 27 Nov; likely 4 days too late", 1: "ready for 45 days and not collected",
		5: "no answer to the quote for 9 days", 9: "done for 4 days and nobody called", 8: "surveyed for 8 days without a quote", 11: "agreed, and nothing moved for 30 days", 12: "declined 15 days ago and still here",
	} {
		if why[tag] != want {
			t.Errorf("tag %d: %q, want %q", tag, why[tag], want)
		}
	}
	if !got[0].Alarm || got[3].Alarm {
		t.Error("what must stop is an alarm, what may be late is none")
	}
}
