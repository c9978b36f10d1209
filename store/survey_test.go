package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// surveyOf is a survey with every kind of answer in it.
func surveyOf(id domain.JobID, n int) job.Survey {
	return job.Survey{
		Job: id, At: hours(n), By: "Runa", Moment: "before hold", Strings: "slack", Tuning: "E standard", Indoors: "2 h",
		RoomRH: percent("28"), CaseRH: couldNotReach, Weight: notMeasured, Note: "cold day",
		Room: wood.Measure{Known: wood.Measured, Typed: "-3", Value: decimal.NewFromInt(-3), Unit: wood.Celsius},
		Findings: []job.Finding{
			{Symptom: "crack length", Place: "bass lower bout", Measure: mm("120", "120"), Grade: job.Severe, Note: "follows the grain",
				Detail: job.Detail{Side: "bass", FromSeam: mm("-62", "-62"), Kind: "open", Width: mm("0.3", "0.3"), Closes: "yes", Reaches: []string{"edge"}, Wings: [3]wood.Measure{1: mm("2", "2")}},
				Causes: []job.Cause{{What: "dryness", Sure: "likely"}, {What: "another's workmanship", Sure: "possible"}}},
			{Symptom: "buzz", Measure: notMeasured, Grade: job.Fine},
		},
	}
}

func TestSurveysComeBackNewestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, other := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		first, second, foreign := surveyOf(j.ID, 1), surveyOf(j.ID, 30), surveyOf(other.ID, 50)
		second.Findings = second.Findings[:1]
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, survey := range []*job.Survey{&second, &first, &foreign} {
				if err := tx.AddSurvey(ctx, survey); err != nil {
					return err
				}
			}
			last, err := tx.LastSurvey(ctx, j.ID)
			if diff := cmp.Diff(&second, last, sameValue); diff != "" {
				t.Errorf("last survey (-want +got):\n%s", diff)
			}
			return err
		})
		if first.ID == 0 || first.Findings[0].ID == 0 || first.Findings[1].ID == 0 {
			t.Errorf("identities were not set: %+v", first)
		}
		got, err := s.SurveysOf(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]job.Survey{second, first}, got, sameValue); diff != "" {
			t.Errorf("surveys (-want +got):\n%s", diff)
		}
	})
}

func TestNoSurveyYet(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		j := addJob(t, s, addPeople(t, s).newJob(7))
		err := s.InTx(t.Context(), func(tx workshop.Tx) error {
			_, err := tx.LastSurvey(t.Context(), j.ID)
			return err
		})
		wantKind(t, err, domain.NotFound)
		if got, err := s.SurveysOf(t.Context(), j.ID); err != nil || len(got) != 0 {
			t.Errorf("got %v and error %v, want no surveys", got, err)
		}
	})
}

func TestGradesFromFineToStop(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		j := addJob(t, s, addPeople(t, s).newJob(7))
		for grade, want := range map[job.Grade]domain.Kind{-1: domain.Invalid, job.Fine: domain.Internal, job.Stop: domain.Internal, 5: domain.Invalid} {
			survey := surveyOf(j.ID, 1)
			survey.Findings[0].Grade = grade
			err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddSurvey(t.Context(), &survey) })
			if domain.KindOf(err) != want || (err == nil) != (want == domain.Internal) {
				t.Errorf("grade %d: got error %v, want kind %d, 0 for none", grade, err, want)
			}
		}
	})
}

func TestDiaryIsReadNewestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, other := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		entries := []workshop.Entry{
			{Job: j.ID, At: hours(1), By: "Odo", What: "took it in under tag 7", After: "The top has cracked"},
			{Job: j.ID, At: hours(2), By: "Runa", What: "surveyed it", Before: "arrived", After: "surveyed"},
			{Job: j.ID, At: hours(2), By: "Runa", What: "noted at the same moment, later"},
			{Job: other.ID, At: hours(3), By: "Odo", What: "another job"},
			{At: hours(4), By: "Odo", What: "changed the shop's hours"},
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for i := range entries {
				if err := tx.Note(ctx, &entries[i]); err != nil {
					return err
				}
			}
			return nil
		})
		got, err := s.DiaryOf(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]workshop.Entry{entries[2], entries[1], entries[0]}, got, sameValue); diff != "" {
			t.Errorf("diary (-want +got):\n%s", diff)
		}
	})
}
