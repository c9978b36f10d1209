package audit

import (
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
)

func TestStagesThatFactsDoNotTell(t *testing.T) {
	planted(t, true, map[string]plant{
		"as the facts tell": {func(*Facts) {}, nil},
		"another stage":     {func(f *Facts) { f.Stage = "ready" }, []string{`stage: tag 9 (job 4) is written down as "ready"; its facts say "on the bench"`}},
		"no stage":          {func(f *Facts) { f.Stage = "" }, []string{`stage: tag 9 (job 4) is written down as ""`}},
		"a second off": {func(f *Facts) { f.Since = f.Since.Add(time.Second) },
			[]string{`stage: tag 9 (job 4) is written down as "on the bench" since 2026-11-07 17:00:01 UTC; its facts say since 2026-11-07 17:00:00 UTC`}},
		"the moment in another zone": {func(f *Facts) { f.Since = f.Since.In(time.FixedZone("west", -8*3600)) }, nil},
		"ready, and nobody wrote it": {func(f *Facts) { f.Job.Checked, f.Job.Ready = hour(200), hour(201) }, []string{`stage: its facts say "ready"`}},
	})
}

func TestWhatHangsOnAnotherJob(t *testing.T) {
	planted(t, false, map[string]plant{
		"a part on a task of another": {func(f *Facts) { f.Named[0].Task = 99 }, []string{"belongs: tag 9 (job 4): part used 91 names task 99, which is not of this job"}},
		"a promise by another quote":  {func(f *Facts) { f.Promises[0].Quote = 99 }, []string{"belongs: promise 81 names quote 99"}},
		"an invoice by another quote": {func(f *Facts) { f.Invoice.Quote = 99 }, []string{"belongs: invoice 31 names quote 99"}},
		"an invoice for another":      {func(f *Facts) { f.Invoice.Customer = 8 }, []string{"belongs: invoice 31 is for customer 8, the job for customer 3"}},
		"an invoice without a quote":  {func(f *Facts) { f.Invoice.Quote = 0 }, nil},
		"a payment on another":        {func(f *Facts) { f.Payments[1].Invoice = 99 }, []string{"belongs: payment 72 names invoice 99"}},
	})
}

func TestPromisesThatWereNotTold(t *testing.T) {
	planted(t, false, map[string]plant{
		"an earlier day":        {func(f *Facts) { f.Job.Promised = "2026-11-18" }, []string{"promises: tag 9 (job 4) is promised for 2026-11-18; the customer was last told 2026-11-20"}},
		"no day":                {func(f *Facts) { f.Job.Promised = "" }, []string{"promises: tag 9 (job 4) is promised for no day; the customer was last told 2026-11-20"}},
		"before the ledger":     {func(f *Facts) { f.Promises, f.Job.Promised = nil, "2026-11-01" }, nil},
		"a quote without a day": {func(f *Facts) { f.Promises[1].Said, f.Job.Promised = "", "2026-11-18" }, nil},
		"no day was ever said":  {func(f *Facts) { f.Promises, f.Job.Promised = []Promise{{ID: 81}}, "2026-11-01" }, nil},
		"the last day is the first": {func(f *Facts) {
			f.Promises[0].Said, f.Promises[1].Said, f.Job.Promised = "2026-11-20", "2026-11-18", "2026-11-20"
		}, []string{"promises: last told 2026-11-18"}},
	})
}

func TestComebacksOfAnotherInstrument(t *testing.T) {
	for name, c := range map[string]struct {
		l    Link
		want []string
	}{
		"later, on the same": {Link{Job: 4, Of: 2, Instrument: 8, OfOne: 8, ArrivedAfter: true}, nil},
		"on another":         {Link{Job: 4, Of: 2, Instrument: 8, OfOne: 9, ArrivedAfter: true}, []string{"comebacks: job 4 on instrument 8 is a comeback of job 2 on instrument 9"}},
		"of a later one":     {Link{Job: 4, Of: 6, Instrument: 8, OfOne: 8}, []string{"comebacks: job 4 is a comeback of job 6, which arrived later"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			a.Link(c.l)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

// Two jobs name each other; a third hangs on them and is in no circle.
func TestACircleOfJobsIsFound(t *testing.T) {
	a := New(terms(t))
	for id, of := range map[domain.JobID]domain.JobID{4: 5, 5: 4, 6: 4} {
		a.Job(&Facts{Job: &job.Job{ID: id, ComebackOf: of, Arrival: job.Arrival{At: start}}, Stage: "arrived", Since: start})
	}
	wantBreaks(t, a.Done(), "comebacks: jobs 4, 5 are comebacks of each other in a circle")
}
