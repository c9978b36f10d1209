package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
)

// ComebackTx is what the use cases of comebacks write and read in a transaction:
// nothing beyond the job itself.
type ComebackTx interface{}

// ComebackQueries are the reads of earlier work on an instrument.
type ComebackQueries interface {
	// PastOf reads the visits of an instrument before a job, newest first, each
	// with all that belongs to it and its surveys; before 0 reads them all.
	PastOf(ctx context.Context, id domain.InstrumentID, before domain.JobID) ([]job.PastJob, error)
}

// NoteMade records how the joint of a task was made.
func (w *Workshop) NoteMade(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, made string) error {
	return w.onJob(ctx, by, ActMade, id, func(_ Tx, j *job.Job, _ time.Time) (did, error) {
		before, err := j.NoteMade(task, made)
		if err != nil {
			return did{}, err
		}
		t, err := j.Task(task)
		if err != nil {
			return did{}, err
		}
		return did{what: "noted how it was made: " + t.Name, before: before, after: t.Made}, nil
	})
}

// LinkComeback names the earlier job that a job repeats; earlier 0 takes the
// link away. It can be put right until the invoice is issued.
func (w *Workshop) LinkComeback(ctx context.Context, by domain.Actor, id, earlier domain.JobID) error {
	return w.onJob(ctx, by, ActLink, id, func(tx Tx, j *job.Job, _ time.Time) (did, error) {
		if err := notBilled(ctx, tx, j); err != nil {
			return did{}, err
		}
		before, err := tagOf(ctx, tx, j.ComebackOf)
		if err != nil {
			return did{}, err
		}
		if earlier == 0 {
			return did{what: "took the link to the earlier job away", before: before}, j.Link(nil)
		}
		old, err := tx.Job(ctx, earlier)
		if err != nil {
			return did{}, err
		}
		return did{what: "linked it to the earlier job", before: before, after: fmt.Sprintf("tag %d", old.Tag)}, j.Link(old)
	})
}

// tagOf names a job by its tag, "" for none.
func tagOf(ctx context.Context, tx Tx, id domain.JobID) (string, error) {
	if id == 0 {
		return "", nil
	}
	j, err := tx.Job(ctx, id)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("tag %d", j.Tag), nil
}

// DecideComeback records who pays for work that came back. Until the invoice
// is issued it can be decided again; the diary keeps both.
func (w *Workshop) DecideComeback(ctx context.Context, by domain.Actor, id domain.JobID, c job.Comeback) error {
	return w.onJob(ctx, by, ActComeback, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if err := notBilled(ctx, tx, j); err != nil {
			return did{}, err
		}
		before := j.Comeback.String()
		c.At, c.By = at, by.Name
		if err := j.Decide(c); err != nil {
			return did{}, err
		}
		return did{what: "decided who pays for the comeback", before: before, after: j.Comeback.String()}, nil
	})
}

// notBilled refuses a change on a job whose invoice is issued.
func notBilled(ctx context.Context, tx Tx, j *job.Job) error {
	_, err := tx.InvoiceOf(ctx, j.ID)
	switch {
	case err == nil:
		return domain.Conflictf("the invoice of tag %d is issued: the decision stands; give money back if it was wrong", j.Tag)
	case domain.KindOf(err) != domain.NotFound:
		return err
	}
	return nil
}

// WasItUs is what the record says about earlier work on the instrument of a job.
type WasItUs struct {
	Past    []job.PastJob // earlier visits, newest first
	Survey  *job.Survey   // the one that is compared; nil before the first
	Cases   []Case        // matches with their evidence, the linked job's first
	Linked  *job.PastJob  // the job that this one repeats; nil for none
	Explain string        // what the measures imply about the air; "" for nothing
	Answer  string        // the one sentence; "" when it was never here before
}

// Case is one match with its evidence.
type Case struct {
	job.Match
	Evidence job.Evidence
	Days     int  // from the hand-over to the arrival now
	Counted  bool // there was a hand-over to count from
}

// ReadWasItUs finds earlier work at the places of a job's findings and lays out
// the evidence. It reads nothing more for an instrument that was never here.
func ReadWasItUs(ctx context.Context, q Queries, f *Folder) (*WasItUs, error) {
	past, err := q.PastOf(ctx, f.Instrument.ID, f.Job.ID)
	if err != nil {
		return nil, err
	}
	return wasItUs(f, past), nil
}

func wasItUs(f *Folder, past []job.PastJob) *WasItUs {
	w := &WasItUs{Past: past, Survey: job.AsItCame(f.Surveys)}
	for i := range past {
		if past[i].ID == f.Job.ComebackOf {
			w.Linked = &past[i]
		}
	}
	if w.Survey != nil {
		now := *w.Survey
		now.At = f.Job.Arrival.At // the warranty is counted to the day it came back, not to the day we looked
		for _, m := range job.Earlier(now.Findings, past) {
			c := Case{Match: m, Evidence: job.Weigh(m, now, *f.Instrument, f.Shop.Covers())}
			c.Days, c.Counted = m.Facts.Days(now.At)
			w.Cases = append(w.Cases, c)
		}
	}
	w.linkedFirst(f.Job.ComebackOf)
	w.Answer = w.answer(f)
	return w
}

// linkedFirst moves the matches with the linked job to the front, then those in
// which something was done.
func (w *WasItUs) linkedFirst(id domain.JobID) {
	rank := func(c Case) int {
		switch {
		case id != 0 && c.Facts.Job == id && len(c.Facts.Work) > 0:
			return 0
		case len(c.Facts.Work) > 0:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(w.Cases, func(a, b Case) int { return rank(a) - rank(b) })
}

// Worked lists the cases in which something was done at the place.
func (w *WasItUs) Worked() []Case {
	var out []Case
	for _, c := range w.Cases {
		if len(c.Facts.Work) > 0 {
			out = append(out, c)
		}
	}
	return out
}

func (w *WasItUs) answer(f *Folder) string {
	if len(w.Past) == 0 {
		return ""
	}
	if c := f.Job.Comeback; c != nil {
		return fmt.Sprintf("Decided by %s: %s; cause: %s.", c.By, shareSentence(c.Share), c.Cause)
	}
	worked := w.Worked()
	switch {
	case w.Survey == nil && w.Linked != nil:
		return fmt.Sprintf("It comes back from tag %d; survey it, and the measures are set beside those of then.", w.Linked.Tag)
	case w.Survey == nil:
		return "It was here before; survey it, and the program looks for earlier work at the same places."
	case w.Linked != nil && !slices.ContainsFunc(worked, func(c Case) bool { return c.Facts.Job == w.Linked.ID }):
		return fmt.Sprintf("It is linked to tag %d, but the survey finds nothing at a place where we worked then. The owner decides.", w.Linked.Tag)
	case len(worked) == 0:
		return "It was here before, but we did nothing at the places that the survey names now."
	}
	return caseAnswer(worked[0])
}

// caseAnswer says in a sentence what came back and how the record stands.
func caseAnswer(c Case) string {
	what := c.Sort
	if c.Place != "" {
		what += ", " + c.Place
	}
	since := ""
	if c.Counted {
		since = fmt.Sprintf(", %s after hand-over", dayCount(c.Days))
	}
	verb := "We worked there"
	if c.Fit == job.Perhaps {
		verb = "We perhaps worked there"
	}
	return fmt.Sprintf("%s: %s under tag %d%s. %s The owner decides.", strings.ToUpper(what[:1])+what[1:], lowerFirst(verb), c.Facts.Tag, since, c.Evidence.Sum)
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

func dayCount(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

func shareSentence(s job.Share) string {
	switch s {
	case job.Ours:
		return "ours, free of charge"
	case job.Shared:
		return "shared, the labour is halved"
	}
	return "priced as usual"
}

// PricedBefore warns that the newest quote was said before the owner decided, or
// decided anew, who pays for the comeback, so that its price does not follow the
// decision; "" when it does, or nothing was said, or the job is billed.
func PricedBefore(f *Folder) string {
	if f.Job.ComebackOf == 0 || f.Invoice != nil || f.Stage.Over() || len(f.Versions) == 0 {
		return ""
	}
	q := f.Versions[0]
	if q.Said.IsZero() || q.Priced(f.Job.Comeback) {
		return ""
	}
	return fmt.Sprintf("The price of version %d was said before it was decided who pays for the comeback: make a new version and say it again.", q.Version)
}
