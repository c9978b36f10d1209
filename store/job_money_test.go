package store_test

import (
	"context"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

var euro = money.Currency{Code: "EUR", Digits: 2}

// answered adds a version of a quote that was said and answered.
func answered(ctx context.Context, tx workshop.Tx, id domain.JobID, version int, outcome quote.Outcome, yes money.Amount) error {
	q := &quote.Quote{
		Job: id, Version: version, Basis: quote.Firm, Currency: euro, Drafted: start, DraftedBy: "Odo", ValidUntil: "2026-12-24",
		Totals: money.Totals{Total: 99999},
		Lines:  []quote.Line{{Kind: money.Labour, Name: "Glue a crack", Quantity: 1, Count: decimal.NewFromInt(1), Price: decimal.NewFromInt(50)}},
	}
	if err := tx.AddQuote(ctx, q); err != nil {
		return err
	}
	number, err := tx.Next(ctx, workshop.Quotes)
	if err != nil {
		return err
	}
	q.Number, q.Said, q.SaidBy = number, hours(1), "Odo"
	q.Answer = &quote.Answer{Outcome: outcome, Who: "Ada Lind", Channel: "phone", At: hours(2), RecordedBy: "Odo"}
	q.YesTotal, q.YesLimit = yes, yes
	return tx.SaveQuote(ctx, q)
}

func TestMoneyOfJobsInAList(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, other := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		amounts := func(total, agreed, paid money.Amount) {
			t.Helper()
			rows, _, err := s.Jobs(t.Context(), workshop.JobFilter{Oldest: true}, workshop.Page{Limit: 5})
			if err != nil || len(rows) != 2 {
				t.Fatalf("got %d rows and error %v, want 2", len(rows), err)
			}
			if r := rows[0]; r.Total != total || r.Agreed != agreed || r.Paid != paid {
				t.Errorf("got total %d, agreed %d, paid %d; want %d, %d, %d", r.Total, r.Agreed, r.Paid, total, agreed, paid)
			}
			if r := rows[1]; r.Total != 0 || r.Agreed != 0 || r.Paid != 500 {
				t.Errorf("the other job: got total %d, agreed %d, paid %d; want 0, 0, 500", r.Total, r.Agreed, r.Paid)
			}
		}
		pay := func(ctx context.Context, tx workshop.Tx, id domain.JobID, amount, rounding money.Amount) error {
			number, err := tx.Next(ctx, workshop.Receipts)
			if err != nil {
				return err
			}
			return tx.AddPayment(ctx, &billing.Payment{
				Job: id, Kind: billing.Deposit, Tender: billing.Cash, Amount: amount, Rounding: rounding, Receipt: number, At: hours(3), By: "Odo",
			})
		}
		step := func(fn func(ctx context.Context, tx workshop.Tx) error) { t.Helper(); inTx(t, s, fn) }
		step(func(ctx context.Context, tx workshop.Tx) error { return pay(ctx, tx, other.ID, 500, 0) })
		amounts(0, 0, 0)
		step(func(ctx context.Context, tx workshop.Tx) error { return answered(ctx, tx, j.ID, 1, quote.Whole, 20000) })
		amounts(0, 20000, 0)
		step(func(ctx context.Context, tx workshop.Tx) error { return answered(ctx, tx, j.ID, 2, quote.Part, 25000) })
		amounts(0, 25000, 0)
		step(func(ctx context.Context, tx workshop.Tx) error { return answered(ctx, tx, j.ID, 3, quote.Denied, 0) })
		amounts(0, 25000, 0) // the no to version 3 leaves version 2 agreed
		step(func(ctx context.Context, tx workshop.Tx) error {
			if err := pay(ctx, tx, j.ID, 10000, 2); err != nil {
				return err
			}
			return pay(ctx, tx, j.ID, -300, -1)
		})
		amounts(0, 25000, 9701)
		step(func(ctx context.Context, tx workshop.Tx) error {
			number, err := tx.Next(ctx, workshop.Invoices)
			if err != nil {
				return err
			}
			return tx.AddInvoice(ctx, &billing.Invoice{
				Number: number, Job: j.ID, Customer: p.customer.ID, Date: "2026-12-01", BilledTo: "Ada Lind", Currency: euro,
				Totals: money.Totals{Total: 24500}, IssuedBy: "Odo", IssuedAt: hours(4),
			})
		})
		amounts(24500, 25000, 9701)
	})
}
