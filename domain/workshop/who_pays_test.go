package workshop_test

import (
	"context"
	"errors"
	"strconv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

// glued is the crack without a hold, so that the work can begin at once.
func glued(comeback bool) quote.Sheet {
	return quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60", Comeback: comeback}}}
}

// finished agrees on what was said, does the glueing and issues the invoice.
func (h *house) finished(id domain.JobID, q domain.QuoteID) {
	h.t.Helper()
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
	glue := h.task(id, "CG")
	h.must(h.work.ClockOn(h.ctx, h.owner, id, glue.ID, true))
	h.clock.pass(30 * time.Minute)
	h.must(h.work.Finish(h.ctx, h.owner, id, glue.ID))
	h.passed(id, glue)
	h.must(h.work.Pass(h.ctx, h.bench, id))
	_, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
	h.must(err)
}

// collected mends the crack once and hands the guitar over.
func (h *house) collected() domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	h.finished(id, h.said(id, glued(false)))
	_, err := h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: h.folder(id).Balance.Due})
	h.must(err)
	h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M. Oduya", TagShown: true}))
	return id
}

// wasIt reads what the record says of earlier work, with its answer held to want.
func (h *house) wasIt(id domain.JobID, want string) *workshop.WasItUs {
	h.t.Helper()
	w, err := workshop.ReadWasItUs(h.ctx, h.store, h.folder(id))
	h.must(err)
	if !strings.HasPrefix(w.Answer, want) || want == "" && w.Answer != "" {
		h.t.Fatalf("the record says %q, want it to begin with %q", w.Answer, want)
	}
	return w
}

// tag is the number on the tag of a job.
func (h *house) tag(id domain.JobID) string { return strconv.Itoa(h.folder(id).Job.Tag) }

// wrote holds the newest line of a job's diary.
func (h *house) wrote(id domain.JobID, what, before, after string) {
	h.t.Helper()
	if e := h.folder(id).Diary[0]; e.What != what || e.Before != before || e.After != after {
		h.t.Errorf("the diary says %q, from %q to %q; want %q, from %q to %q", e.What, e.Before, e.After, what, before, after)
	}
}

func TestHowAJointWasMadeIsNoted(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.collected()
		glue := h.task(id, "CG")
		h.refused(h.work.NoteMade(h.ctx, h.counter, id, glue.ID, "fish glue"), domain.Denied, "")
		h.refused(h.work.NoteMade(h.ctx, h.bench, id, 9999, "fish glue"), domain.NotFound, "")
		h.refused(h.work.NoteMade(h.ctx, h.bench, id, glue.ID, strings.Repeat("x", 121)), domain.Invalid, "")
		h.must(h.work.NoteMade(h.ctx, h.bench, id, glue.ID, "fish glue")) // late, and better than never
		h.wrote(id, "noted how it was made: "+glue.Name, "", "fish glue")
		h.must(h.work.NoteMade(h.ctx, h.bench, id, glue.ID, "hot hide glue"))
		h.wrote(id, "noted how it was made: "+glue.Name, "fish glue", "hot hide glue")
		if got := h.task(id, "CG").Made; got != "hot hide glue" {
			t.Errorf("the joint is kept as made with %q", got)
		}
	})
}

func TestWorkThatCameBackIsLinkedAndDecided(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		first := h.collected()
		h.wasIt(first, "")
		if got := workshop.PricedBefore(h.folder(first)); got != "" {
			t.Errorf("work that never came back is told as %q", got)
		}
		h.clock.pass(20*h.day + time.Hour)
		id := h.arrive()
		h.wasIt(id, "It was here before; survey it")
		ours := job.Comeback{Cause: "glue failed", Share: job.Ours, Why: "the line opened"}
		h.refused(h.work.DecideComeback(h.ctx, h.bench, id, ours), domain.Denied, "")
		h.refused(h.work.DecideComeback(h.ctx, h.owner, id, ours), domain.Conflict, "link it first")
		h.refused(h.work.LinkComeback(h.ctx, h.counter, id, id), domain.Invalid, "from itself")
		h.refused(h.work.LinkComeback(h.ctx, h.counter, id, 9999), domain.NotFound, "")
		h.must(h.work.LinkComeback(h.ctx, h.counter, id, first))
		tag := "tag " + h.tag(first)
		h.wrote(id, "linked it to the earlier job", "", tag)
		if w := h.wasIt(id, "It comes back from "+tag+"; survey it"); w.Linked == nil || w.Linked.ID != first || w.Survey != nil {
			t.Errorf("linked %+v, survey %+v", w.Linked, w.Survey)
		}
		h.must(h.work.LinkComeback(h.ctx, h.counter, id, 0))
		h.wrote(id, "took the link to the earlier job away", tag, "")
		if got := h.folder(id).Job.ComebackOf; got != 0 {
			t.Errorf("the link is still to %d", got)
		}
		h.must(h.work.LinkComeback(h.ctx, h.counter, id, first))

		h.clock.pass(3 * h.day) // the days are counted to the arrival, not to the survey
		h.survey(id)
		w := h.wasIt(id, "Crack, treble lower bout: we worked there under "+tag+", 20 days after hand-over. ")
		if !strings.HasSuffix(w.Answer, " The owner decides.") || len(w.Worked()) != 1 || len(w.Past) != 1 {
			t.Errorf("answer %q, %d cases with work, %d visits before", w.Answer, len(w.Worked()), len(w.Past))
		}
		if c := w.Worked()[0]; c.Days != 20 || !c.Counted || c.Facts.Job != first || c.Evidence.Sum == "" {
			t.Errorf("the case is %+v", c)
		}
		h.decided(id, first)
	})
}

// decided decides who pays twice: after the price was said, and after the decision.
func (h *house) decided(id, first domain.JobID) {
	h.t.Helper()
	said := h.said(id, glued(true))
	if got := workshop.PricedBefore(h.folder(id)); got != "" {
		h.t.Errorf("nothing is decided, yet the price is told as out of date: %q", got)
	}
	h.refused(h.work.DecideComeback(h.ctx, h.owner, id, job.Comeback{Cause: "bad luck", Share: "half"}), domain.Invalid, "")
	h.must(h.work.DecideComeback(h.ctx, h.owner, id, job.Comeback{Cause: "glue failed", Share: job.Shared, Why: "dry air too"}))
	h.wrote(id, "decided who pays for the comeback", "", "shared: glue failed; dry air too")
	h.wasIt(id, "Decided by Tove: shared, the labour is halved; cause: glue failed.")
	h.refused(h.work.LinkComeback(h.ctx, h.owner, id, 0), domain.Conflict, "who pays was decided")
	if got := workshop.PricedBefore(h.folder(id)); !strings.Contains(got, "The price of version 1 was said before") {
		h.t.Errorf("the price of before the decision is told as %q", got)
	}
	full := h.folder(id).Versions[0].Totals.Total
	sheet, seen := workshop.NextSheet(h.folder(id).Versions)
	again, err := h.work.DraftQuote(h.ctx, h.counter, id, sheet, seen)
	h.must(err)
	if got := workshop.PricedBefore(h.folder(id)); got != "" {
		h.t.Errorf("a version priced after the decision is told as out of date: %q", got)
	}
	h.must(h.work.DecideComeback(h.ctx, h.owner, id, job.Comeback{Cause: "dried again", Share: job.DriedAgain, Why: "no kit was used"}))
	h.wrote(id, "decided who pays for the comeback", "shared: glue failed; dry air too", "dried again: dried again; no kit was used")
	if got := workshop.PricedBefore(h.folder(id)); got != "" {
		h.t.Errorf("a version that nobody was told is told as out of date: %q", got)
	}
	h.refused(h.work.SayQuote(h.ctx, h.counter, again, "2027-01-29"), domain.Conflict, "save it again")
	h.must(h.work.DecideComeback(h.ctx, h.owner, id, job.Comeback{Cause: "glue failed", Share: job.Shared, Why: "dry air too"}))
	h.must(h.work.SayQuote(h.ctx, h.counter, again, "2027-01-29"))
	if f := h.folder(id); workshop.PricedBefore(f) != "" || f.Versions[0].Totals.Total >= full || again == said {
		h.t.Errorf("with the labour halved the price is %d, before %d; told %q", f.Versions[0].Totals.Total, full, workshop.PricedBefore(f))
	}
	h.finished(id, again)
	h.refused(h.work.DecideComeback(h.ctx, h.owner, id, job.Comeback{Cause: "glue failed", Share: job.Ours, Why: "late"}), domain.Conflict, "is issued")
	h.refused(h.work.LinkComeback(h.ctx, h.owner, id, first), domain.Conflict, "is issued")
	if c := h.folder(id).Job.Comeback; c == nil || c.Share != job.Shared || c.By != "Tove" || c.At.IsZero() {
		h.t.Errorf("the decision is kept as %+v", c)
	}
}

// pastOnly is a record that holds nothing but earlier visits.
type pastOnly struct {
	workshop.Queries
	past []job.PastJob
	err  error
}

func (p pastOnly) PastOf(context.Context, domain.InstrumentID, domain.JobID) ([]job.PastJob, error) {
	return p.past, p.err
}

// crackAt is a survey that names one crack.
func crackAt(moment, place string) job.Survey {
	return job.Survey{Moment: moment, Findings: []job.Finding{{Symptom: "crack length", Place: place, Grade: job.Moderate}}}
}

// visit is an earlier job, with a crack surveyed at a place and glued unless idle.
func visit(id domain.JobID, place string, left time.Time, idle bool) job.PastJob {
	j := &job.Job{ID: id, Tag: int(id) + 300, Instrument: 1, Arrival: job.Arrival{At: left.AddDate(0, 0, -9)}, Collected: left}
	if !idle {
		j.Tasks = []job.Task{{ID: 1, Template: "CG", Name: "Glue", Phase: templates.PhaseCracks, Done: left.Add(-time.Hour)}}
	}
	return job.PastJob{Job: j, Surveys: []job.Survey{crackAt("before hold", place)}}
}

func TestTheRecordOfEarlierWorkIsToldInASentence(t *testing.T) {
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	lower, upper := "treble lower bout", "bass upper bout"
	yesterday, before := now.AddDate(0, 0, -1), now.AddDate(0, 0, -50)
	nowhere := visit(3, "", before, false)
	nowhere.Surveys = nil
	for _, c := range []struct {
		name   string
		job    job.Job
		survey []job.Survey
		past   []job.PastJob
		want   string
	}{
		{"never here", job.Job{}, []job.Survey{crackAt("before hold", lower)}, nil, ""},
		{"one day", job.Job{}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(1, lower, yesterday, false)}, "Crack, treble lower bout: we worked there under tag 301, 1 day after hand-over. "},
		{"looked at only", job.Job{}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(1, lower, before, true)}, "It was here before, but we did nothing at the places that the survey names now."},
		{"linked elsewhere", job.Job{ComebackOf: 1}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(2, lower, yesterday, false), visit(1, upper, before, false)}, "It is linked to tag 301, but the survey finds nothing at a place where we worked then."},
		{"the linked one first", job.Job{ComebackOf: 1}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(2, lower, yesterday, false), visit(1, lower, before, false)}, "Crack, treble lower bout: we worked there under tag 301, 50 days after hand-over. "},
		{"work before a look", job.Job{}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(2, lower, yesterday, true), visit(1, lower, before, false)}, "Crack, treble lower bout: we worked there under tag 301, 50 days"},
		{"perhaps there, no place", job.Job{}, []job.Survey{crackAt("before hold", "")}, []job.PastJob{nowhere}, "Crack: we perhaps worked there under tag 303, 50 days after hand-over. "},
		{"never handed over", job.Job{}, []job.Survey{crackAt("before hold", lower)}, []job.PastJob{visit(1, lower, time.Time{}.AddDate(1, 0, 0), false)}, "Crack, treble lower bout: we worked there under tag 301. "},
		{"as it came in, not during the hold", job.Job{}, []job.Survey{crackAt("during hold", upper), crackAt("before hold", lower), crackAt("after work", upper)}, []job.PastJob{visit(1, lower, before, false)}, "Crack, treble lower bout: "},
		{"the oldest survey", job.Job{}, []job.Survey{crackAt("after work", upper), crackAt("during hold", lower)}, []job.PastJob{visit(1, lower, before, false)}, "Crack, treble lower bout: "},
		{"ours", job.Job{Comeback: &job.Comeback{By: "Tove", Share: job.Ours, Cause: "cleat off"}}, nil, []job.PastJob{visit(1, lower, before, false)}, "Decided by Tove: ours, free of charge; cause: cleat off."},
		{"dried again", job.Job{Comeback: &job.Comeback{By: "Tove", Share: job.DriedAgain, Cause: "dried again"}}, nil, []job.PastJob{visit(1, lower, before, false)}, "Decided by Tove: priced as usual; cause: dried again."},
	} {
		if c.name == "never handed over" {
			c.past[0].Collected = time.Time{}
		}
		c.job.ID, c.job.Arrival.At = 9, now
		f := &workshop.Folder{Shop: &workshop.Shop{}, Instrument: &customer.Instrument{ID: 1}, Surveys: c.survey}
		f.Job = &c.job
		w, err := workshop.ReadWasItUs(t.Context(), pastOnly{past: c.past}, f)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if !strings.HasPrefix(w.Answer, c.want) || c.want == "" && w.Answer != "" {
			t.Errorf("%s: got %q, want it to begin with %q", c.name, w.Answer, c.want)
		}
	}
	broken := errors.New("the disk is full")
	f := &workshop.Folder{Shop: &workshop.Shop{}, Instrument: &customer.Instrument{ID: 1}}
	f.Job = &job.Job{ID: 9}
	if w, err := workshop.ReadWasItUs(t.Context(), pastOnly{err: broken}, f); w != nil || !errors.Is(err, broken) {
		t.Errorf("a record that cannot be read: got %+v, %v", w, err)
	}
}
