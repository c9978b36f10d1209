package main

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// credited lists every amount of a credit note.
func credited(n *billing.CreditNote, c money.Currency) map[string]string {
	out := map[string]string{"net": c.Text(n.Totals.Net), "total": c.Text(n.Totals.Total)}
	for _, l := range n.Lines {
		out[fmt.Sprintf("line %d", l.Place)] = c.Text(l.Net)
	}
	for _, x := range n.Totals.Taxes {
		out["tax "+x.Name] = c.Text(x.Amount)
	}
	return out
}

// creditable are collected jobs with an invoice of some lines and taxes, of which
// nothing was credited yet.
func creditable(t *testing.T, s *store.Store, most int) []*billing.Invoice {
	t.Helper()
	rows, _, err := s.Jobs(t.Context(), workshop.JobFilter{Stages: []job.Stage{job.Collected}}, workshop.Page{Limit: 200})
	must(t, err)
	var out []*billing.Invoice
	for _, row := range rows {
		inv, err := s.InvoiceOfJob(t.Context(), row.ID)
		if err != nil || len(inv.Lines) < 3 || len(inv.Credits) > 0 || inv.WriteOff != nil || inv.Totals.Tax == 0 {
			continue
		}
		if out = append(out, inv); len(out) == most {
			return out
		}
	}
	t.Fatalf("the invented shop has %d invoices that can be credited, want %d", len(out), most)
	return nil
}

// inPieces takes an invoice back by a third of each line, and then what is left.
func inPieces(t *testing.T, w *workshop.Workshop, by domain.Actor, inv *billing.Invoice) {
	t.Helper()
	var third []billing.Wanted
	for i, l := range inv.Lines {
		third = append(third, billing.Wanted{Place: i + 1, Count: l.Count.DivRound(decimal.NewFromInt(3), 4)})
	}
	for _, lines := range [][]billing.Wanted{third, nil} {
		_, err := w.IssueCreditNote(t.Context(), by, inv.Job, lines, "The seam opened again")
		must(t, err)
	}
}

// The page, the JSON and the paper of a credit note show the same figures, and the
// notes that take an invoice back come to it, in each tax and in the total. The
// amounts looked for are those that the database keeps.
func TestPageJSONAndPaperOfACreditNoteAgree(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database := storetest.Database(t, engine)
			at, c := demoShopOn(t, database, "owner")
			s, err := store.Open(t.Context(), database, nil)
			must(t, err)
			defer s.Close()
			token, owner := tokenFor(t, s, domain.Owner), someOwner(t, s)
			w := workshop.New(s, domain.SystemClock{})
			for _, inv := range creditable(t, s, 2) {
				inPieces(t, w, owner, inv)
				inv, err = s.InvoiceOfJob(t.Context(), inv.Job)
				must(t, err)
				if len(inv.Credits) != 2 {
					t.Fatalf("invoice %d has %d credit notes, want 2", inv.Number, len(inv.Credits))
				}
				taxes := make([]money.Amount, len(inv.Totals.Taxes))
				for i := range inv.Credits {
					n := &inv.Credits[i]
					agree(t, c, at, token, fmt.Sprintf("/credit-notes/%d", n.ID), credited(n, inv.Currency))
					for at, x := range n.Totals.Taxes {
						taxes[at] += x.Amount
					}
				}
				if got := inv.CreditedTotal(); got != inv.Totals.Total {
					t.Errorf("invoice %d: the notes come to %d, want %d", inv.Number, got, inv.Totals.Total)
				}
				for i, x := range inv.Totals.Taxes {
					if taxes[i] != x.Amount {
						t.Errorf("invoice %d: the notes take %d of %s back, want %d", inv.Number, taxes[i], x.Name, x.Amount)
					}
				}
			}
		})
	}
}
