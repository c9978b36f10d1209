package store_test

import (
	"testing"
	"time"

	"winterbench/domain/billing"
	"winterbench/store"
	"winterbench/store/storetest"
)

// What the store adds up is what the jobs and their invoices say, each read by itself:
// the clock by the rows of the jobs, the bill by the minutes and the prices of the lines.
func TestSpentTasksMeetTheJobsAndTheirBills(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := loadBeginning(t, s)
		var clocked, counted float64
		rows, lines := 0, 0
		byTime := 0
		for _, j := range d.Jobs {
			if j.Collected.IsZero() {
				continue
			}
			for _, c := range j.Clockings {
				rows++
				if c.Replaces == 0 {
					clocked += c.Span().Seconds()
				}
			}
			for _, c := range j.Counted() {
				counted += c.Span().Seconds()
			}
			inv, err := s.InvoiceOfJob(t.Context(), j.ID)
			if err != nil {
				continue
			}
			for _, l := range inv.Lines {
				if l.Kind == "labour" {
					lines++
					byTime += l.Minutes
				}
			}
		}
		tasks, err := s.SpentTasks(t.Context(), d.Jobs[0].Arrival.At, d.Jobs[0].Arrival.At.AddDate(50, 0, 0))
		if err != nil {
			t.Fatal(err)
		}
		var gotClocked, gotCounted, gotByTime int64
		gotLines := 0
		var all billing.Unbilled
		for _, x := range tasks {
			gotClocked, gotCounted = gotClocked+x.Clocked, gotCounted+x.Counted
			if x.ByTime {
				gotByTime += x.Full / 60
			}
			if x.OnBill {
				gotLines++
				if x.Full == 0 && x.Counted > 60 && x.Off.IsZero() {
					t.Errorf("%s was clocked for %d s and the bill pays for nothing", x.Template, x.Counted)
				}
			}
			all = all.Plus(billing.UnbilledOf(x.Spent))
		}
		if lines == 0 || rows == 0 || gotLines != lines || gotByTime != int64(byTime) {
			t.Errorf("%d lines with %d minutes by the clock, the invoices have %d with %d", gotLines, gotByTime, lines, byTime)
		}
		if off := clocked - float64(gotClocked); off < -float64(rows) || off > float64(rows) {
			t.Errorf("clocked %d s, the jobs have %.0f", gotClocked, clocked)
		}
		if off := counted - float64(gotCounted); off < -float64(rows) || off > float64(rows) {
			t.Errorf("counted %d s, the jobs have %.0f", gotCounted, counted)
		}
		sum := int64(0)
		for _, c := range all.Causes() {
			sum += c.Seconds
		}
		if sum != all.Clocked-all.Billed || all.Billed <= 0 {
			t.Errorf("the causes come to %d s of %d clocked and %d billed", sum, all.Clocked, all.Billed)
		}
		t.Logf("%+v", all)
		if none, err := s.SpentTasks(t.Context(), d.Jobs[0].Arrival.At.AddDate(50, 0, 0), time.Now().AddDate(90, 0, 0)); err != nil || len(none) != 0 {
			t.Errorf("in fifty years: %d tasks, %v", len(none), err)
		}
	})
}
