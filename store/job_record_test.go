package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// What goes round the program meets the database's own refusal.
func TestRecordsStandInTheDatabase(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j := fullJob(t, s, p)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			survey := surveyOf(j.ID, 1)
			if err := tx.AddSurvey(ctx, &survey); err != nil {
				return err
			}
			return tx.Note(ctx, &workshop.Entry{Job: j.ID, At: start, By: "Odo", What: "took it in"})
		})
		for _, table := range []string{"condition_marks", "readings", "parts_used", "checks", "contacts", "surveys", "findings", "diary", "clockings"} {
			for _, statement := range []string{"UPDATE %s SET id = id", "DELETE FROM %s"} {
				statement = fmt.Sprintf(statement, table)
				if err := s.DB().Exec(statement).Error; err == nil {
					t.Errorf("%s was carried out, want a refusal", statement)
				}
			}
		}
	})
}

// Without the lock on the job's row PostgreSQL would refuse most of these saves.
func TestManyHandsOnOneJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		id := addJob(t, s, p.newJob(7)).ID
		const hands, notes = 8, 5
		var wg sync.WaitGroup
		for h := range hands {
			wg.Go(func() {
				for n := range notes {
					err := s.InTx(t.Context(), func(tx workshop.Tx) error {
						j, err := tx.Job(t.Context(), id)
						if err != nil {
							return err
						}
						j.Contacts = append(j.Contacts, job.Contact{About: "notice", Result: "wrote", Note: fmt.Sprint(h, " ", n), At: hours(n), By: "Odo"})
						return tx.SaveJob(t.Context(), j)
					})
					if err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		j := readJob(t, s, id)
		if len(j.Contacts) != hands*notes || j.Version != 1+hands*notes {
			t.Errorf("got %d contacts at version %d, want %d at %d", len(j.Contacts), j.Version, hands*notes, 1+hands*notes)
		}
	})
}
