package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

// The past of an instrument is what one job at a time reads, newest first.
func TestPastOfAnInstrument(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		var ids []domain.JobID
		for n, tag := range []int{7, 8, 9} {
			j := p.newJob(tag)
			j.Arrival.At = hours(100 * n)
			ids = append(ids, addJob(t, s, j).ID)
		}
		other := instrumentOf(p.customer.ID, "Orrin", "No. 9", "W-9")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddInstrument(ctx, &other) })
		stranger := p.newJob(10)
		stranger.Instrument = other.ID
		addJob(t, s, stranger)
		for _, id := range ids[:2] {
			change(t, s, id, func(j *job.Job) {
				j.Approved = hours(2)
				j.Tasks = []job.Task{{Template: "CG", Edition: 1, Name: "Crack", Phase: templates.PhaseCracks, Quantity: 60, Unit: "mm", Made: "hot hide glue"}}
			})
			change(t, s, id, func(j *job.Job) {
				j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "place 1", Start: hours(3), By: "Odo", Readings: []job.Reading{{At: hours(4), RH: percent("44"), By: "Odo"}}}}
				j.Clockings = []job.Clocking{{Task: j.Tasks[0].ID, Staff: p.runa.ID, Name: "Runa", Start: hours(5), End: hours(6)}}
			})
			change(t, s, id, func(j *job.Job) {
				j.Holds[0].End, j.Holds[0].Reason, j.Holds[0].EndedBy = hours(9), "owner's exception", "Odo"
			})
			for n := range 2 {
				survey := surveyOf(id, n)
				inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddSurvey(ctx, &survey) })
			}
		}
		for _, c := range []struct {
			before domain.JobID
			want   []domain.JobID
		}{{ids[2], []domain.JobID{ids[1], ids[0]}}, {ids[1], []domain.JobID{ids[0]}}, {ids[0], nil}, {0, []domain.JobID{ids[2], ids[1], ids[0]}}} {
			past, err := s.PastOf(t.Context(), p.instrument.ID, c.before)
			if err != nil {
				t.Fatal(err)
			}
			var got []domain.JobID
			for _, one := range past {
				got = append(got, one.ID)
				whole, err := s.JobByID(t.Context(), one.ID)
				if err != nil {
					t.Fatal(err)
				}
				surveys, err := s.SurveysOf(t.Context(), one.ID)
				if err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(job.PastJob{Job: whole, Surveys: surveys}, one, sameValue); diff != "" {
					t.Errorf("job %d differs from what is read alone:\n%s", one.ID, diff)
				}
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("before job %d: %s", c.before, diff)
			}
		}
	})
}
