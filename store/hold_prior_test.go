package store_test

import (
	"math"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// shopOf gives the store settings, which past holds are judged by.
func shopOf(t *testing.T, s *store.Store) {
	t.Helper()
	err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveShop(t.Context(), &workshop.Shop{Name: "Frostgate"}) })
	if err != nil {
		t.Fatal(err)
	}
}

// closedHold is a hold of 12 days whose crack closed with a time constant of
// tau days.
func closedHold(task domain.TaskID, place string, from time.Time, tau float64) job.Hold {
	h := job.Hold{Task: task, Place: place, Start: from, By: "Runa", End: from.Add(12 * 24 * time.Hour), Reason: job.SteadyByMeasure, EndedBy: "Runa"}
	for d := range 13 {
		gap := decimal.NewFromFloat(0.02 + 0.4*math.Exp(-float64(d)/tau)).Round(2).String()
		h.Readings = append(h.Readings, job.Reading{
			At: from.Add(time.Duration(d) * 24 * time.Hour), RH: percent([]string{"46", "47", "48"}[d%3]), Gap: mm(gap, gap), Trusted: true, By: "Runa",
		})
	}
	return h
}

func TestPriorOfTheShopsOwnHolds(t *testing.T) {
	for n, want := range map[int]float64{7: 0, 9: 2.5} {
		storetest.Each(t, func(t *testing.T, s *store.Store) {
			shopOf(t, s)
			p := addPeople(t, s)
			for i := range n {
				j := approvedJob(t, s, p, 10+i, holdTask())
				change(t, s, j.ID, func(j *job.Job) {
					j.Holds = []job.Hold{closedHold(j.Tasks[0].ID, "A1", hours(-24*20*(i+1)), 2.5)}
				})
			}
			got, err := s.HoldPrior(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if want == 0 && got != (hold.Prior{}) {
				t.Errorf("%d past holds: got %+v, want the general prior", n, got)
			}
			if tau := math.Exp(got.LogDays); want != 0 && math.Abs(tau-want) > 0.5 {
				t.Errorf("%d past holds: got a time constant of %.2f days, want about %g", n, tau, want)
			}
		})
	}
}
