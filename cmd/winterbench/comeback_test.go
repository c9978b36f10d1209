package main

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// cameBack takes the newest collected job with a glued crack in again, linked,
// and decides its share.
func cameBack(t *testing.T, ctx context.Context, s *store.Store, w *workshop.Workshop, by domain.Actor, share job.Share) domain.JobID {
	t.Helper()
	rows, _, err := s.Jobs(ctx, workshop.JobFilter{Stages: []job.Stage{job.Collected}}, workshop.Page{Limit: 200})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		old, err := s.JobByID(ctx, row.ID)
		if err != nil {
			t.Fatal(err)
		}
		if open, _, err := s.Jobs(ctx, workshop.JobFilter{Instrument: old.Instrument, Open: true}, workshop.Page{Limit: 1}); err != nil || len(open) > 0 {
			continue
		}
		c, err := s.CustomerByID(ctx, old.Customer)
		if err != nil {
			t.Fatal(err)
		}
		if !did(old, "CG") || c.Exempt != nil {
			continue
		}
		id, err := w.Arrive(ctx, by, workshop.Taking{Instrument: old.Instrument, ComebackOf: old.ID, Arrival: job.Arrival{Complaint: "It opened again.", CaseOpened: true}})
		if err != nil {
			t.Fatal(err)
		}
		mm, err := wood.ParseMeasure("61", wood.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		must(t, w.NoteSurvey(ctx, by, job.Survey{Job: id, Moment: "before hold", Strings: "slack", Findings: []job.Finding{
			{Symptom: "crack length", Place: "centre seam", Measure: mm, Grade: job.Moderate, Causes: []job.Cause{{What: "glue fault", Sure: "likely"}}},
		}}))
		must(t, w.DecideComeback(ctx, by, id, job.Comeback{Cause: "glue failed", Share: share, Why: "the line opened"}))
		return id
	}
	t.Fatal("the invented shop has no collected job with a glued crack")
	return 0
}

func did(j *job.Job, code string) bool {
	for _, t := range j.Tasks {
		if t.Template == code && !t.Done.IsZero() {
			return true
		}
	}
	return false
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// billed quotes the comeback with new damage beside it, gets a yes, does the
// work in the minutes given and issues the invoice.
func billed(t *testing.T, ctx context.Context, s *store.Store, w *workshop.Workshop, by domain.Actor, id domain.JobID) (domain.QuoteID, domain.InvoiceID) {
	t.Helper()
	rows := []quote.Row{{Task: "CG", Quantity: "61", Comeback: true}, {Name: "Case latch", Kind: "part", Price: "12.35", Comeback: true}, {Task: "SN"}}
	q, err := w.DraftQuote(ctx, by, id, quote.Sheet{Basis: quote.Estimate, Rows: rows}, 0)
	must(t, err)
	must(t, w.SayQuote(ctx, by, q, ""))
	must(t, w.AnswerQuote(ctx, by, q, quote.Answer{Outcome: quote.Whole, Who: "Their own", Channel: "phone"}, nil))
	j, err := s.JobByID(ctx, id)
	must(t, err)
	for _, task := range j.Tasks {
		must(t, w.ClockOn(ctx, by, id, task.ID, true))
		must(t, w.Finish(ctx, by, id, task.ID))
		e, err := s.EditionOf(ctx, task.Template, task.Edition)
		must(t, err)
		for _, what := range workshop.CheckNames(e.Template) {
			must(t, w.NoteCheck(ctx, by, id, job.Check{Task: task.ID, What: what, Result: job.Pass}))
		}
	}
	must(t, w.Pass(ctx, by, id))
	inv, err := w.IssueInvoice(ctx, by, id, billing.Options{})
	must(t, err)
	return q, inv
}

// Ours, shared and dried again come to the same cent on the page, in the JSON
// and on paper, of the quote and of the invoice.
func TestSplitOfAComebackAgreesEverywhere(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database := storetest.Database(t, engine)
			at, c := demoShopOn(t, database, "owner")
			s, err := store.Open(t.Context(), database, nil)
			must(t, err)
			defer s.Close()
			token, owner := tokenFor(t, s, domain.Owner), someOwner(t, s)
			w := workshop.New(s, domain.SystemClock{})
			for _, share := range job.Shares() {
				id := cameBack(t, t.Context(), s, w, owner, share)
				qid, iid := billed(t, t.Context(), s, w, owner, id)
				q, err := s.QuoteByID(t.Context(), qid)
				must(t, err)
				inv, err := s.InvoiceByID(t.Context(), iid)
				must(t, err)
				splitIs(t, share, q, inv)
				agree(t, c, at, token, fmt.Sprintf("/quotes/%d", qid), totals(q.Totals, q.Currency))
				agree(t, c, at, token, fmt.Sprintf("/invoices/%d", iid), totals(inv.Totals, inv.Currency))
				saysWhy(t, c, at, token, share, iid)
				if err := w.DecideComeback(t.Context(), owner, id, job.Comeback{Cause: "glue failed", Share: job.Ours, Why: "too late"}); domain.KindOf(err) != domain.Conflict {
					t.Errorf("%s: decided again after the invoice: got %v, want a conflict", share, err)
				}
			}
		})
	}
}

// splitIs holds the lines of the quote and the invoice to the share: half of an
// amount that is taken off is rounded up.
func splitIs(t *testing.T, share job.Share, q *quote.Quote, inv *billing.Invoice) {
	t.Helper()
	if len(inv.Lines) != 3 || len(q.Lines) != 3 {
		t.Fatalf("%s: got %d lines quoted and %d billed, want 3 each", share, len(q.Lines), len(inv.Lines))
	}
	for where, lines := range map[string][2]struct{ net, gross int64 }{
		"quoted": {{int64(q.Lines[0].Net), int64(q.Totals.Lines[0].Gross)}, {int64(q.Lines[1].Net), int64(q.Totals.Lines[1].Gross)}},
		"billed": {{int64(inv.Lines[0].Net), int64(inv.Totals.Lines[0].Gross)}, {int64(inv.Lines[1].Net), int64(inv.Totals.Lines[1].Gross)}},
	} {
		labour, part := lines[0].gross, lines[1].gross
		switch share {
		case job.Ours:
			labour, part = 0, 0
		case job.Shared:
			labour -= (labour + 1) / 2
		}
		if lines[0].net != labour || lines[1].net != part {
			t.Errorf("%s, %s: got %d and %d, want %d and %d", share, where, lines[0].net, lines[1].net, labour, part)
		}
	}
	if q.Lines[2].Net == 0 || q.Lines[2].Off.Sign() != 0 {
		t.Errorf("%s: new damage got %d with %s %% off, want it as usual", share, q.Lines[2].Net, q.Lines[2].Off)
	}
}

func saysWhy(t *testing.T, c *http.Client, at, token string, share job.Share, id domain.InvoiceID) {
	t.Helper()
	want := map[job.Share]string{job.Ours: "comeback: our work", job.Shared: "comeback: shared"}[share]
	path := fmt.Sprintf("/invoices/%d", id)
	_, page, _ := get(t, c, at+path)
	_, pdf, _ := get(t, c, at+path+"/paper.pdf")
	paper := strings.Join(strings.Fields(pdfText(t, pdf)), " ")
	for where, text := range map[string]string{"page": pageText(page), "JSON": withToken(t, at+"/api/v1"+path, token), "paper": paper} {
		if want != "" && !strings.Contains(text, "comeback:") {
			t.Errorf("%s: the %s does not say %q", share, where, want)
		}
		if want == "" && strings.Contains(text, "comeback:") {
			t.Errorf("%s: the %s speaks of a comeback where nothing is taken off", share, where)
		}
	}
}

// someOwner is somebody who wears every hat of an owner.
func someOwner(t *testing.T, s *store.Store) domain.Actor {
	t.Helper()
	people, err := s.StaffList(t.Context())
	must(t, err)
	for _, p := range people {
		if p.Actor().Wears(domain.Owner) && p.Active {
			return p.Actor()
		}
	}
	t.Fatal("the invented shop has no owner")
	return domain.Actor{}
}
