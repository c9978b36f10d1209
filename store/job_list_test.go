package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestJobsInAList(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		over := fullJob(t, s, p) // tag 42, a comeback of tag 41
		plain := readJob(t, s, over.ComebackOf)
		want := func(j *job.Job) workshop.JobRow {
			return workshop.JobRow{
				ID: j.ID, Tag: j.Tag, Stage: job.StageOf(j), Since: job.StageSince(j), Arrived: j.Arrival.At,
				Customer: p.customer.ID, Name: "Ada Lind", Phone: "040-123 4567", Contact: customer.ByMessage,
				Instrument: p.instrument.ID, Title: "Orrin No. 3, steel-string guitar",
				Complaint: j.Arrival.Complaint, Rack: j.Arrival.Rack, Cold: !j.Arrival.CaseOpened, Promised: j.Promised, Recheck: j.HandOver.Recheck,
			}
		}
		first, second := want(over), want(plain)
		first.TasksDone, first.Comeback = 2, true
		got, total, err := s.Jobs(t.Context(), workshop.JobFilter{}, workshop.Page{Limit: 10})
		if err != nil || total != 2 {
			t.Fatalf("got %d in all and error %v, want 2", total, err)
		}
		if diff := cmp.Diff([]workshop.JobRow{first, second}, got, sameValue); diff != "" {
			t.Errorf("jobs (-want +got):\n%s", diff)
		}
	})
}

func TestJobsSayWhatTheyWaitFor(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j := approvedJob(t, s, p, 10, holdTask(), crackTask())
		waits := func(want string, until int) {
			t.Helper()
			rows, _, err := s.Jobs(t.Context(), workshop.JobFilter{}, workshop.Page{Limit: 10})
			if err != nil || len(rows) != 1 {
				t.Fatalf("got %d rows and error %v, want one row", len(rows), err)
			}
			r := rows[0]
			if r.Waits != want || (until == 0) != r.WaitUntil.IsZero() || until != 0 && !r.WaitUntil.Equal(hours(until)) {
				t.Errorf("got %q until %v, want %q until hour %d, 0 for no time", r.Waits, r.WaitUntil, want, until)
			}
			if r.TasksOpen != 2 || r.TasksDone != 0 {
				t.Errorf("got %d tasks open and %d done, want 2 and 0", r.TasksOpen, r.TasksDone)
			}
		}
		waits("", 0)
		change(t, s, j.ID, func(j *job.Job) {
			j.Waits = []job.Wait{
				{Kind: "assessor", Start: hours(1), End: hours(2), By: "Odo"},
				{Kind: "deposit", Start: hours(2), Until: hours(50), By: "Odo"},
				{Kind: "part ordered", Start: hours(3), Until: hours(20), By: "Odo"},
			}
		})
		waits("deposit", 50)
		change(t, s, j.ID, func(j *job.Job) {
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "A1", Start: hours(4), By: "Runa"}}
		})
		waits("A1", 0)
	})
}

func TestJobFilters(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		other := customer.Customer{Name: "Bo Sund", Contact: customer.ByPhone, Since: start}
		var lute customer.Instrument
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddCustomer(ctx, &other); err != nil {
				return err
			}
			lute = instrumentOf(other.ID, "Orrin", "No. 5", "")
			return tx.AddInstrument(ctx, &lute)
		})
		add := func(tag, hour int, fill func(j *job.Job)) {
			j := p.newJob(tag)
			j.Arrival.At = hours(hour)
			fill(j)
			addJob(t, s, j)
		}
		add(1, 10, func(j *job.Job) {})
		add(2, 30, func(j *job.Job) { j.Surveyed = hours(31) })
		add(3, 20, func(j *job.Job) { j.Collected = hours(40) })
		add(4, 20, func(j *job.Job) { j.Unclaimed = hours(50) })
		add(5, 40, func(j *job.Job) { j.Customer, j.Instrument, j.Quoted = other.ID, lute.ID, hours(41) })
		for name, c := range map[string]struct {
			filter workshop.JobFilter
			page   workshop.Page
			tags   []int
			total  int
		}{
			"all":                   {workshop.JobFilter{}, workshop.Page{Limit: 200}, []int{5, 2, 4, 3, 1}, 5},
			"oldest first":          {workshop.JobFilter{Oldest: true}, workshop.Page{Limit: 200}, []int{1, 3, 4, 2, 5}, 5},
			"open":                  {workshop.JobFilter{Open: true}, workshop.Page{Limit: 200}, []int{5, 2, 1}, 3},
			"two stages":            {workshop.JobFilter{Stages: []job.Stage{job.Arrived, job.Collected}}, workshop.Page{Limit: 200}, []int{3, 1}, 2},
			"a customer":            {workshop.JobFilter{Customer: other.ID}, workshop.Page{Limit: 200}, []int{5}, 1},
			"an instrument, open":   {workshop.JobFilter{Instrument: p.instrument.ID, Open: true}, workshop.Page{Limit: 200}, []int{2, 1}, 2},
			"nobody's":              {workshop.JobFilter{Customer: other.ID, Instrument: p.instrument.ID}, workshop.Page{Limit: 200}, nil, 0},
			"second page":           {workshop.JobFilter{}, workshop.Page{Offset: 2, Limit: 2}, []int{4, 3}, 5},
			"past the end":          {workshop.JobFilter{}, workshop.Page{Offset: 9, Limit: 2}, nil, 5},
			"limit and offset wild": {workshop.JobFilter{}, workshop.Page{Offset: -3, Limit: -3}, []int{5}, 5},
		} {
			rows, total, err := s.Jobs(t.Context(), c.filter, c.page)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			var tags []int
			for _, r := range rows {
				tags = append(tags, r.Tag)
			}
			if diff := cmp.Diff(c.tags, tags, sameValue); diff != "" || total != c.total {
				t.Errorf("%s: %d in all, want %d; tags (-want +got):\n%s", name, total, c.total, diff)
			}
		}
	})
}

// Stage names and filters reach the database as values, not as text of a query.
func TestStageWithAQuote(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		addJob(t, s, addPeople(t, s).newJob(1))
		rows, total, err := s.Jobs(t.Context(), workshop.JobFilter{Stages: []job.Stage{"' OR '1'='1"}}, workshop.Page{Limit: 5})
		if err != nil || total != 0 || len(rows) != 0 {
			t.Errorf("got %d rows, %d in all and error %v, want none", len(rows), total, err)
		}
	})
}
