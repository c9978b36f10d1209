package store_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestPromisesAreKeptAndNeverChanged(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := loadBeginning(t, s)
		at := time.Date(2026, 11, 25, 16, 0, 0, 1000, time.UTC)
		j := d.Jobs[3]
		hour := func(n int) time.Time { return at.Add(time.Duration(n) * time.Hour) }
		said := &workshop.PromiseMade{
			Job: j.ID, At: at, By: "Noor", Said: "2026-12-18", Because: "a part is late",
			Window: &queue.Window{P20: hour(1), P50: hour(2), P80: hour(3), P95: hour(4)},
		}
		none := &workshop.PromiseMade{Job: j.ID, At: hour(1), By: "Noor", Because: "nobody works here"}
		err := s.InTx(t.Context(), func(tx workshop.Tx) error {
			if err := tx.AddPromise(t.Context(), said); err != nil {
				return err
			}
			return tx.AddPromise(t.Context(), none)
		})
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.PromisesOf(t.Context(), j.ID)
		if err != nil || len(got) < 2 {
			t.Fatalf("read %d promises, %v", len(got), err)
		}
		if diff := cmp.Diff([]workshop.PromiseMade{*said, *none}, got[len(got)-2:], sameValue); diff != "" {
			t.Errorf("promises (-made +read)\n%s", diff)
		}
		kept, err := s.PromisesKept(t.Context(), at)
		if err != nil || len(kept) != 2 {
			t.Fatalf("read %d promises from that moment on, %v; want 2", len(kept), err)
		}
		if diff := cmp.Diff([]workshop.PromiseMade{*said, *none}, []workshop.PromiseMade{kept[0].PromiseMade, kept[1].PromiseMade}, sameValue); diff != "" {
			t.Errorf("promises with what became of them (-made +read)\n%s", diff)
		}
		if kept[0].Tag != j.Tag || !kept[0].Approved.Equal(j.Approved) || !kept[0].Checked.Equal(j.Checked) {
			t.Errorf("what became of tag %d is %+v", j.Tag, kept[0])
		}
		if err := s.DB().Exec("UPDATE promises SET said = NULL").Error; err == nil {
			t.Error("a promise was changed")
		}
		wrong := &workshop.PromiseMade{Job: j.ID, At: at, Window: &queue.Window{P20: hour(2), P50: hour(1), P80: hour(3), P95: hour(4)}}
		if err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddPromise(t.Context(), wrong) }); domain.KindOf(err) == domain.NotFound || err == nil {
			t.Errorf("a window out of order: %v", err)
		}
	})
}
