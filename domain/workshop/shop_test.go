package workshop_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// clock is a clock that tests move.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// house is an open shop with one person for each hat.
type house struct {
	t                     *testing.T
	ctx                   context.Context
	store                 *store.Store
	work                  *workshop.Workshop
	clock                 *clock
	owner, counter, bench domain.Actor
	customer              domain.CustomerID
	instrument            domain.InstrumentID
	day                   time.Duration
	shop                  workshop.Shop
}

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func settings(t *testing.T) workshop.Shop {
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	return workshop.Shop{
		Name: "Frost and Fret", Zone: "America/Winnipeg", Currency: c, Rate: 8400, CostRate: 3600, ValidDays: 14, QuarterUp: 15, SurveyFee: 3000,
		Guard:   money.Guard{Percent: dec("10")},
		Deposit: quote.DepositRule{Above: dec("3"), Percent: dec("30"), HighAbove: dec("6"), HighPercent: dec("50")},
		Places:  []string{"place 1", "place 2"},
		Hours:   [7]workshop.Hours{1: {Open: "09:00", Close: "17:00"}},
		Profile: money.Profile{
			Name: "test", Currency: "CAD", DepositTax: "on_application", CashStep: 5, CashMode: money.HalfUp,
			Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
			Components: []money.Component{
				{Name: "GST", On: money.LineKinds(), Rates: []money.Rate{{From: "2008-01-01", Percent: dec("5")}}},
				{Name: "PST", On: []money.LineKind{money.Labour, money.Part}, Rates: []money.Rate{{From: "2013-01-01", Percent: dec("7")}}},
			},
		},
	}
}

// open opens a house on a fresh database.
func open(t *testing.T, s *store.Store) *house {
	t.Helper()
	h := &house{t: t, ctx: t.Context(), store: s, clock: &clock{now: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)}, day: 24 * time.Hour, shop: settings(t)}
	h.work = workshop.New(s, h.clock)
	id, err := h.work.SetUp(h.ctx, workshop.Founding{Shop: h.shop, Owner: "Tove", Password: "snow on the roof"})
	h.must(err)
	h.owner = domain.Actor{Staff: id, Name: "Tove", Roles: domain.Roles()}
	h.counter = h.hire("Ivo", domain.Counter)
	h.bench = h.hire("Runa", domain.Bench)
	h.customer, err = h.work.NoteCustomer(h.ctx, h.counter, customer.Customer{Name: "M. Oduya", Phone: "555-0142"})
	h.must(err)
	h.instrument, err = h.work.NoteInstrument(h.ctx, h.counter, customer.Instrument{Owner: h.customer, Kind: "steel-string guitar", Maker: "Orrin", Model: "No. 3", Serial: "1187"})
	h.must(err)
	return h
}

func (h *house) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatalf("got %v, want no error", err)
	}
}

func (h *house) refused(err error, kind domain.Kind, words string) {
	h.t.Helper()
	if domain.KindOf(err) != kind || !strings.Contains(err.Error(), words) {
		h.t.Fatalf("got %v (kind %d), want kind %d with %q", err, domain.KindOf(err), kind, words)
	}
}

func (h *house) hire(name string, hat domain.Role) domain.Actor {
	h.t.Helper()
	id, err := h.work.AddStaff(h.ctx, h.owner, workshop.Staff{Name: name, Roles: []domain.Role{hat}}, "long enough "+name)
	h.must(err)
	return domain.Actor{Staff: id, Name: name, Roles: []domain.Role{hat}}
}

// arrive takes the guitar in.
func (h *house) arrive() domain.JobID {
	h.t.Helper()
	id, err := h.work.Arrive(h.ctx, h.counter, workshop.Taking{
		Instrument: h.instrument, Arrival: job.Arrival{Complaint: "a crack since the heating is on", CaseOpened: true, SurveyFee: 3000},
		Marks: []job.Mark{{What: "ding", Place: "top, upper bout"}},
	})
	h.must(err)
	return id
}

func measure(t *testing.T, typed string, unit wood.Unit) wood.Measure {
	m, err := wood.ParseMeasure(typed, unit)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (h *house) survey(id domain.JobID) {
	h.t.Helper()
	h.must(h.work.NoteSurvey(h.ctx, h.bench, job.Survey{
		Job: id, Moment: "before hold", Strings: "slack", CaseRH: measure(h.t, "27 %", wood.Percent),
		Findings: []job.Finding{{Symptom: "crack length", Place: "treble lower bout", Measure: measure(h.t, "60 mm", wood.Millimetre), Grade: job.Moderate, Causes: []job.Cause{{What: "dryness", Sure: "likely"}}}},
	}))
}

func crack() quote.Sheet {
	return quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "RH"}, {Task: "CG", Quantity: "60"}, {Task: "CC", Quantity: "2"}}}
}

// said drafts a sheet and says it.
func (h *house) said(id domain.JobID, s quote.Sheet) domain.QuoteID {
	h.t.Helper()
	q, err := h.work.DraftQuote(h.ctx, h.counter, id, s, 0)
	h.must(err)
	h.must(h.work.SayQuote(h.ctx, h.counter, q, "2026-12-18"))
	return q
}

func (h *house) folder(id domain.JobID) *workshop.Folder {
	h.t.Helper()
	f, err := workshop.ReadFolder(h.ctx, h.store, id, h.clock.Now())
	h.must(err)
	return f
}

func (h *house) stage(id domain.JobID, want job.Stage, words string) *workshop.Folder {
	h.t.Helper()
	f := h.folder(id)
	if f.Stage != want || !strings.Contains(f.Answer, words) {
		h.t.Fatalf("stage %q, answer %q; want %q and %q", f.Stage, f.Answer, want, words)
	}
	if f.Stage.Over() != (f.NextStep == "") {
		h.t.Errorf("next step %q of a job that is %s", f.NextStep, f.Stage)
	}
	return f
}

func (h *house) task(id domain.JobID, code string) *job.Task {
	h.t.Helper()
	f := h.folder(id)
	for i := range f.Job.Tasks {
		if f.Job.Tasks[i].Template == code {
			return &f.Job.Tasks[i]
		}
	}
	h.t.Fatalf("no task %s", code)
	return nil
}

// work does one task from clock to done, with all its checks passed.
func (h *house) worked(id domain.JobID, code string, minutes int) {
	h.t.Helper()
	t := h.task(id, code)
	h.must(h.work.ClockOn(h.ctx, h.bench, id, t.ID, false))
	h.clock.pass(time.Duration(minutes) * time.Minute)
	h.must(h.work.ClockOff(h.ctx, h.bench, id, t.ID))
	h.must(h.work.Finish(h.ctx, h.bench, id, t.ID))
	h.passed(id, t)
}

func (h *house) passed(id domain.JobID, t *job.Task) {
	h.t.Helper()
	e, err := h.store.EditionOf(h.ctx, t.Template, t.Edition)
	h.must(err)
	for _, what := range workshop.CheckNames(e.Template) {
		h.must(h.work.NoteCheck(h.ctx, h.bench, id, job.Check{Task: t.ID, What: what, Result: job.Pass}))
	}
}

func TestFromTheDoorToTheDoor(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.stage(id, job.Arrived, "not surveyed yet")
		h.survey(id)
		h.stage(id, job.Surveyed, "no quote said")
		q := h.said(id, crack())
		h.stage(id, job.Quoted, "Waits for the customer's answer to version 1")
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
		h.stage(id, job.Approved, "We said Fri 18 Dec")
		_, err := h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 3000})
		h.must(err)

		hold := h.task(id, "RH")
		h.must(h.work.StartHold(h.ctx, h.bench, id, hold.ID, "place 1"))
		f := h.stage(id, job.InHold, "In place 1 since")
		for _, rh := range []string{"30 %", "40 %", "46 %"} {
			h.must(h.work.NoteReading(h.ctx, h.bench, id, f.Job.Holds[0].ID, job.Reading{RH: measure(t, rh, wood.Percent), Gap: measure(t, "0.2", wood.Millimetre), Weight: measure(t, "2.1 kg", wood.Gram)}))
			h.clock.pass(2 * h.day)
		}
		h.stage(id, job.InHold, "crack still 0.2 mm")
		h.refused(h.work.EndHold(h.ctx, h.bench, id, f.Job.Holds[0].ID, job.SteadyByMeasure, ""), domain.Invalid, "the readings do not say so")
		h.must(h.work.EndHold(h.ctx, h.owner, id, f.Job.Holds[0].ID, job.OwnersException, "a concert on Friday"))
		h.refused(h.work.Finish(h.ctx, h.bench, id, hold.ID), domain.Conflict, "is finished")
		if f = h.folder(id); f.Diary[0].What != "ended the hold: owner's exception; finished Rehumidify hold" {
			t.Errorf("the diary says %q, want both the end and the task", f.Diary[0].What)
		}
		h.passed(id, hold)

		glue := h.task(id, "CG")
		h.must(h.work.ClockOn(h.ctx, h.bench, id, glue.ID, false))
		h.stage(id, job.OnBench, "Runa works on")
		h.clock.pass(40 * time.Minute)
		h.must(h.work.StartWait(h.ctx, h.bench, id, glue.ID, "glue clamp", h.clock.Now().Add(20*time.Hour), "under film"))
		f = h.stage(id, job.Waiting, "Waits for glue clamp")
		h.clock.pass(21 * time.Hour)
		h.stage(id, job.Waiting, "that should be over")
		h.must(h.work.EndWait(h.ctx, h.bench, id, f.Job.Waits[0].ID))
		h.must(h.work.Finish(h.ctx, h.bench, id, glue.ID))
		h.passed(id, glue)
		h.stage(id, job.OnBench, "Free at the bench")
		h.refused(h.work.Pass(h.ctx, h.bench, id), domain.Invalid, "not finished")
		h.worked(id, "CC", 33)
		_, err = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.refused(err, domain.Conflict, "not through")
		h.must(h.work.Pass(h.ctx, h.bench, id))
		h.stage(id, job.Checked, "Every check is through")
		h.must(h.work.Call(h.ctx, h.counter, id, job.Contact{About: "ready", Result: "spoke"}))

		draft, err := h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{})
		h.must(err)
		inv, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.must(err)
		f = h.stage(id, job.Ready, "To pay")
		if f.Invoice.ID != inv || f.Invoice.Totals.Total != draft.Totals.Total || f.Invoice.Number != 1 {
			t.Fatalf("invoice %+v, draft %d", f.Invoice, draft.Totals.Total)
		}
		_, err = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.refused(err, domain.Conflict, "already")
		h.refused(h.work.Finish(h.ctx, h.bench, id, glue.ID), domain.Conflict, "invoice")
		h.refused(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true}), domain.Conflict, "balance")
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: f.Balance.Due + 1})
		h.refused(err, domain.Conflict, "more than is owed")
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 5000})
		h.must(err)
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: billing.Cash, Amount: f.Balance.Due - 5000, Given: 50000})
		h.must(err)
		if f = h.folder(id); f.Balance.Due != 0 || len(f.Payments) != 3 || f.Payments[2].Receipt != 3 {
			t.Fatalf("balance %+v, payments %+v", f.Balance, f.Payments)
		}
		h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true, Brief: true}))
		f = h.stage(id, job.Collected, "Collected by M. Oduya")
		if f.Account.Went != 73 || !f.Account.Hold.Went.Equal(dec("6")) {
			t.Errorf("account %+v, want 73 minutes and 6 days of hold", f.Account)
		}
		if len(f.Diary) < 20 || f.Diary[0].What != "handed it over to M. Oduya" {
			t.Errorf("the diary has %d entries, the newest %q", len(f.Diary), f.Diary[0].What)
		}
	})
}

func TestFoundMoreNeedsItsYes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		first := h.said(id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CC", Quantity: "2"}}})
		yes := quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}
		h.must(h.work.AnswerQuote(h.ctx, h.counter, first, yes, nil))
		limit := h.folder(id).Quote.YesLimit

		sheet, seen := workshop.NextSheet(h.folder(id).Versions)
		sheet.Rows = append(sheet.Rows, quote.Row{Task: "BC", Quantity: "2"})
		second, err := h.work.DraftQuote(h.ctx, h.bench, id, sheet, seen)
		h.must(err)
		_, err = h.work.DraftQuote(h.ctx, h.counter, id, sheet, 0)
		h.refused(err, domain.Conflict, "changed this draft")
		if _, lock := workshop.NextSheet(h.folder(id).Versions); lock == 0 {
			t.Error("the draft's lock is not given back")
		}
		h.refused(h.work.SayQuote(h.ctx, h.counter, second, "2020-01-01"), domain.Invalid, "over")
		h.must(h.work.SayQuote(h.ctx, h.counter, second, ""))
		h.must(h.work.StartWait(h.ctx, h.bench, id, 0, "customer answer", time.Time{}, ""))
		third := h.said(id, sheet)
		h.refused(h.work.AnswerQuote(h.ctx, h.counter, second, yes, nil), domain.Conflict, "replaced")

		// No to the rest: the first yes stands, with its limit.
		h.must(h.work.AnswerQuote(h.ctx, h.counter, third, quote.Answer{Outcome: quote.Denied, Who: "M. Oduya", Channel: "phone"}, nil))
		f := h.folder(id)
		if f.Quote.Version != 1 || f.Quote.YesLimit != limit || len(f.Job.Tasks) != 1 || f.Job.Waits[0].End.IsZero() {
			t.Fatalf("version %d, limit %d, %d tasks", f.Quote.Version, f.Quote.YesLimit, len(f.Job.Tasks))
		}
		h.worked(id, "CC", 300)
		h.must(h.work.Pass(h.ctx, h.bench, id))
		_, err = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.refused(err, domain.Conflict, "was agreed")
		inv, err := h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{KeepToLimit: true})
		h.must(err)
		if inv.Totals.Total > limit {
			t.Errorf("billed %d above the limit of %d", inv.Totals.Total, limit)
		}
	})
}

func TestDeclinedJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		q := h.said(id, crack())
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Denied, Who: "M. Oduya", Channel: "letter"}, nil))
		h.stage(id, job.Declined, "said no")
		h.refused(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true}), domain.Conflict, "issue the invoice")
		_, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.must(err)
		due := h.folder(id).Balance.Due
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: due})
		h.must(err)
		h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true}))
		_, err = h.work.DraftQuote(h.ctx, h.counter, id, crack(), 0)
		h.refused(err, domain.Conflict, "open a new job")
	})
}

func TestRefundAndUnclaimed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}, {Task: "FE"}}})
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
		total := h.folder(id).Quote.Totals.Total
		_, err := h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: total + 1})
		h.refused(err, domain.Conflict, "at most")
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: total})
		h.must(err)
		h.must(h.work.Drop(h.ctx, h.bench, id, h.task(id, "FE").ID, "ends are fine after the hold"))
		h.worked(id, "CC", 30)
		h.must(h.work.Reopen(h.ctx, h.bench, id, h.task(id, "CC").ID))
		h.must(h.work.Finish(h.ctx, h.bench, id, h.task(id, "CC").ID))
		h.must(h.work.Pass(h.ctx, h.bench, id))
		_, err = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.must(err)
		h.must(h.work.Call(h.ctx, h.counter, id, job.Contact{About: "ready", Result: "no answer"}))
		h.refused(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true}), domain.Conflict, "owes the customer")
		back := -h.folder(id).Balance.Due
		_, err = h.work.GiveBack(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: back})
		h.refused(err, domain.Denied, "")
		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: back})
		h.must(err)
		if due := h.folder(id).Balance.Due; due != 0 {
			t.Errorf("due %d after the refund, want 0", due)
		}
		h.refused(h.work.CloseUnclaimed(h.ctx, h.owner, id, false), domain.Invalid, "local law")
		h.must(h.work.CloseUnclaimed(h.ctx, h.owner, id, true))
		h.stage(id, job.ClosedUnclaimed, "Closed unclaimed")
	})
}

// The day said at hand-over for another look comes up in the list, until the
// follow-up is done.
func TestLookAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}, {Task: "FU"}}})
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
		follow := h.task(id, "FU").ID
		h.refused(h.work.ClockOn(h.ctx, h.bench, id, follow, false), domain.Conflict, "after the hand-over")
		h.worked(id, "CC", 10)
		h.must(h.work.Pass(h.ctx, h.bench, id))
		_, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
		h.must(err)
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: h.folder(id).Balance.Due})
		h.must(err)
		h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true, Recheck: "2026-12-25"}))
		due := func(from, to domain.Date) int {
			t.Helper()
			rows, total, err := s.Jobs(h.ctx, workshop.JobFilter{Recheck: [2]domain.Date{from, to}}, workshop.Page{Limit: 10})
			h.must(err)
			if len(rows) > 0 && rows[0].Recheck != "2026-12-25" {
				t.Errorf("the row says %q, want 2026-12-25", rows[0].Recheck)
			}
			return total
		}
		if due("2026-12-01", "2026-12-25") != 1 || due("2026-12-26", "2027-01-31") != 0 || due("2026-11-01", "2026-12-24") != 0 {
			t.Error("the day for another look is found in its own range and no other")
		}
		h.must(h.work.ClockOn(h.ctx, h.bench, id, follow, false))
		h.clock.pass(20 * time.Minute)
		h.must(h.work.Finish(h.ctx, h.bench, id, follow))
		if due("2026-12-01", "2026-12-31") != 0 {
			t.Error("a follow-up that was done is still due")
		}
	})
}
