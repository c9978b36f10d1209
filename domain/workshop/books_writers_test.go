package workshop_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// patient sends a use case again that lost its race for the locks, as a person does.
type patient struct{ workshop.Store }

func (p patient) InTx(ctx context.Context, fn func(workshop.Tx) error) (err error) {
	for range 100 {
		if err = p.Store.InTx(ctx, fn); err == nil || !strings.Contains(err.Error(), "somebody else is saving") {
			return err
		}
	}
	return err
}

// program is a program of its own on the same database, with its own clock and its own
// pair of hands.
func (h *house) program(n int) *house {
	h.t.Helper()
	own := *h
	own.clock = &clock{now: h.clock.Now()}
	own.work = workshop.New(patient{h.store}, own.clock)
	own.bench = h.hire(fmt.Sprintf("Bench %d", n), domain.Bench)
	return &own
}

// paid takes money and gives the job's balance back.
func (h *house) paid(id domain.JobID, p billing.Payment) {
	h.t.Helper()
	_, err := h.work.TakePayment(h.ctx, h.counter, id, p)
	h.must(err)
}

// visit is one job with a deposit, a part off the shelf, an invoice and what follows;
// which differs from visit to visit: after some, more is sold over the counter.
func (h *house) visit(n int, saddle domain.PartID) domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{
		{Task: "CC", Quantity: "2", Price: "100"}, {Name: "Tuner", Kind: money.Part, Quantity: "2", Price: "20.03"},
	}})
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
	if n%2 == 0 {
		h.paid(id, billing.Payment{Tender: billing.Cash, Amount: 3000})
	}
	h.must(h.work.UsePart(h.ctx, h.bench, id, h.task(id, "CC").ID, saddle, dec("1")))
	h.worked(id, "CC", 10)
	h.must(h.work.Pass(h.ctx, h.bench, id))
	_, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
	h.must(err)
	due := h.folder(id).Balance.Due
	switch n % 4 {
	case 0:
		h.paid(id, billing.Payment{Tender: billing.Cash, Amount: due})
	case 1:
		h.paid(id, billing.Payment{Tender: "card", Amount: 5000, Tip: 250})
		h.paid(id, billing.Payment{Tender: billing.Cash, Amount: due - 5000})
	case 2:
		h.paid(id, billing.Payment{Tender: "card", Amount: due})
		h.clock.pass(time.Minute)
		_, err := h.work.IssueCreditNote(h.ctx, h.owner, id, one(), "one too many")
		h.must(err)
		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: -h.folder(id).Balance.Due})
		h.must(err)
	case 3:
		h.overTheCounter(saddle)
	}
	return id
}

// overTheCounter sells two of a part for cash and takes one of them back.
func (h *house) overTheCounter(part domain.PartID) {
	h.t.Helper()
	id, err := h.work.Sell(h.ctx, h.counter, sells(part, "2", billing.Cash))
	h.must(err)
	h.clock.pass(time.Minute)
	_, err = h.work.TakeBack(h.ctx, h.owner, id, workshop.TakenBack{Lines: []workshop.BackLine{{Place: 1, Count: dec("1"), OnShelf: true}}, Reason: "one too many", Tender: "card"})
	h.must(err)
}

// A month of eight programs that write at once on one database, one of which closes it
// while the others still write, comes out to the cent.
func TestMonthClosesUnderWriters(t *testing.T) {
	const writers = 8
	visits := 8
	if testing.Short() {
		visits = 3
	}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		saddle := h.listed("saddle", "Saddle blank")
		h.received(saddle, 997, 519_37)
		programs := make([]*house, writers)
		for i := range programs {
			programs[i] = h.program(i)
		}
		began := time.Now()
		jobs := h.write(programs, visits, saddle)
		took := time.Since(began)
		n, debits := h.closed(programs, jobs)
		t.Logf("%d writers, %d visits, %d entries of %s: %.0f entries/s", writers, len(jobs), n, h.shop.Currency.Show(debits), float64(n)/took.Seconds())
		h.agree(jobs, saddle)
	})
}

// write lets all programs work at once and returns the jobs.
func (h *house) write(programs []*house, visits int, saddle domain.PartID) (jobs []domain.JobID) {
	var all sync.WaitGroup
	var mu sync.Mutex
	for i, p := range programs {
		all.Go(func() {
			for v := range visits {
				id := p.visit(i+v, saddle)
				mu.Lock()
				jobs = append(jobs, id)
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if len(jobs) != len(programs)*visits {
		h.t.Fatalf("%d jobs came through, want %d", len(jobs), len(programs)*visits)
	}
	return jobs
}

// closed closes the month while every program goes on taking payments of a cent, until
// it is refused, and returns what the month holds. What was closed is what is there.
func (h *house) closed(programs []*house, jobs []domain.JobID) (int, money.Amount) {
	h.t.Helper()
	var all sync.WaitGroup
	taken := make([]int, len(programs))
	for i, p := range programs {
		owing := domain.JobID(0)
		for _, id := range jobs[i*len(jobs)/len(programs):] {
			if p.folder(id).Balance.Due > 100 {
				owing = id
			}
		}
		if owing == 0 {
			continue
		}
		all.Go(func() {
			for range 100 {
				_, err := p.work.TakePayment(p.ctx, p.counter, owing, billing.Payment{Tender: "card", Amount: 1})
				if err != nil && strings.Contains(err.Error(), "takes no more entries") {
					return
				}
				if domain.KindOf(err) == domain.Conflict {
					continue // another program took the last cent of it, or was faster
				}
				p.must(err)
				taken[i]++
			}
		})
	}
	late := h.program(99)
	late.clock.now = time.Date(2026, 12, 1, 15, 0, 0, 0, time.UTC)
	h.must(late.work.CloseMonth(h.ctx, h.owner, "2026-11", true))
	all.Wait()
	changes, err := h.store.PeriodChanges(h.ctx)
	h.must(err)
	var n int
	var debits money.Amount
	h.must(h.store.InTx(h.ctx, func(tx workshop.Tx) (err error) {
		n, debits, err = tx.MonthTotals(h.ctx, "2026-11")
		return err
	}))
	if len(changes) != 1 || changes[0].Entries != n || changes[0].Debits != debits || n < 5*len(jobs) {
		h.t.Errorf("closed with %+v, the month holds %d entries of %d", changes, n, debits)
	}
	_, err = programs[0].work.TakePayment(h.ctx, h.counter, jobs[0], billing.Payment{Tender: "card", Amount: 1})
	if domain.KindOf(err) != domain.Conflict {
		h.t.Errorf("a payment in the closed month gives %v, want a conflict", err)
	}
	_, err = late.work.NoteEntry(h.ctx, h.owner, workshop.OwnEntry{Date: "2026-11-30", Event: billing.CardSettled, Text: "late", Debit: billing.Bank, Credit: billing.CardClearing, Amount: 100})
	h.refused(err, domain.Conflict, "2026-11-30 is in November 2026, which was closed on 2026-12-01 by Tove")
	return n, debits
}

// agree holds the accounts against the documents.
func (h *house) agree(jobs []domain.JobID, saddle domain.PartID) {
	h.t.Helper()
	var due, tax, cash, card, tips, credited money.Amount
	count := func(inv *billing.Invoice, payments []billing.Payment, b billing.Balance) {
		due += b.Due
		tax += inv.Totals.Tax
		for _, c := range inv.Credits {
			tax -= c.Totals.Tax
			credited += c.Totals.Total
		}
		for _, p := range payments {
			tips += p.Tip
			if p.Tender == billing.Cash {
				cash += p.Amount + p.Tip
			} else {
				card += p.Amount + p.Tip
			}
		}
	}
	sales, _, err := h.store.Sales(h.ctx, 0, workshop.Page{Limit: 100})
	h.must(err)
	if len(sales) == 0 {
		h.t.Error("nothing was sold over the counter")
	}
	for _, x := range sales {
		f, err := workshop.ReadSale(h.ctx, h.store, x.ID)
		h.must(err)
		count(f.Invoice, f.Payments, f.Balance)
	}
	for _, id := range jobs {
		f := h.folder(id)
		count(f.Invoice, f.Payments, f.Balance)
		h.standsOnJob(billing.Receivables, id, f.Balance.Due)
		h.standsOnJob(billing.CustomerDeposits, id, 0)
		h.standsOnJob(billing.WorkInProgress, id, 0)
	}
	level, err := h.store.LevelOf(h.ctx, saddle)
	h.must(err)
	for a, want := range map[billing.Account]money.Amount{
		billing.Receivables: due, billing.OutputTax: tax, billing.CashBox: cash, billing.CardClearing: card, billing.TipsHeld: tips,
		billing.PartsStock: level.Value, billing.CustomerDeposits: 0, billing.WorkInProgress: 0, billing.CostOfParts: 519_37 - level.Value,
	} {
		h.stands(a, want)
	}
	sums, err := h.store.AccountSums(h.ctx, "2026-11-01", "2026-11-30")
	h.must(err)
	if before, within := billing.TrialBalanceOf(sums, "2026-11-01", "2026-11-30").Off(); before != 0 || within != 0 {
		h.t.Errorf("the trial balance is off by %d and %d", before, within)
	}
	left, err := h.store.UnpostedUntil(h.ctx, "2026-12-31")
	h.must(err)
	if left.Sum() != 0 || credited == 0 || tips == 0 {
		h.t.Errorf("not posted: %+v; credited %d, tips %d", left, credited, tips)
	}
	h.audited()
}

func (h *house) standsOnJob(a billing.Account, id domain.JobID, want money.Amount) {
	h.t.Helper()
	h.must(h.store.InTx(h.ctx, func(tx workshop.Tx) error {
		got, err := tx.StandsOnJob(h.ctx, a, id)
		if got != want {
			h.t.Errorf("%s of job %d stands at %d, want %d", a, id, got, want)
		}
		return err
	}))
}
