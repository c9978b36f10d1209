package store_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// Eight people take numbers at once; every third transaction fails after it took
// one. What was kept counts from 1 without a gap.
func TestSeriesHasNoGap(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		const hands, times = 8, 12
		refusal := errors.New("no")
		var mu sync.Mutex
		var kept []int
		var wg sync.WaitGroup
		for hand := range hands {
			wg.Go(func() {
				for i := range times {
					number := 0
					err := s.InTx(t.Context(), func(tx workshop.Tx) (err error) {
						if number, err = tx.Next(t.Context(), workshop.Invoices); err == nil && (hand+i)%3 == 0 {
							err = refusal
						}
						return err
					})
					mu.Lock()
					switch {
					case err == nil:
						kept = append(kept, number)
					case !errors.Is(err, refusal):
						t.Errorf("hand %d: %v", hand, err)
					}
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		slices.Sort(kept)
		if want := hands * times * 2 / 3; len(kept) != want {
			t.Errorf("got %d numbers, want %d", len(kept), want)
		}
		for i, n := range kept {
			if n != i+1 {
				t.Fatalf("got numbers %v, want them from 1 without a gap", kept)
			}
		}
	})
}

func TestSeriesAreApart(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, want := range []struct {
				series workshop.Series
				number int
			}{{workshop.Tags, 1}, {workshop.Quotes, 1}, {workshop.Invoices, 1}, {workshop.Receipts, 1}, {workshop.Tags, 2}, {workshop.Receipts, 2}} {
				n, err := tx.Next(ctx, want.series)
				if err != nil {
					return err
				}
				if n != want.number {
					t.Errorf("%s: got %d, want %d", want.series, n, want.number)
				}
			}
			return nil
		})
		err := s.InTx(t.Context(), func(tx workshop.Tx) error {
			_, err := tx.Next(t.Context(), "parcels")
			return err
		})
		if err == nil || domain.KindOf(err) != domain.Internal {
			t.Errorf("got %v, want an error of the program", err)
		}
	})
}

// once carries out work under a key and returns its result, and whether it was
// done now.
func once(ctx context.Context, s *store.Store, k workshop.Key, work func(tx workshop.Tx) (int64, error)) (result int64, now bool, err error) {
	err = s.InTx(ctx, func(tx workshop.Tx) error {
		kept, done, err := tx.ClaimKey(ctx, k)
		result, now = kept, !done
		if err != nil || done {
			return err
		}
		if result, err = work(tx); err != nil {
			return err
		}
		return tx.KeepResult(ctx, k, result)
	})
	return result, now, err
}

func TestAKeyIsUsedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		ctx := t.Context()
		key := workshop.Key{Staff: p.runa.ID, Key: "k1", Use: "take money abc", At: start}
		try := func(k workshop.Key, result int64, now bool) {
			t.Helper()
			got, did, err := once(ctx, s, k, func(workshop.Tx) (int64, error) { return result, nil })
			if err != nil || got != result || did != now {
				t.Errorf("got result %d, done now %v, error %v; want %d, %v", got, did, err, result, now)
			}
		}
		try(key, 41, true)
		try(key, 41, false) // the same again
		_, _, err := once(ctx, s, workshop.Key{Staff: p.runa.ID, Key: "k1", Use: "take money xyz", At: start}, nil)
		wantKind(t, err, domain.Conflict)
		another := key
		another.Staff = p.odo.ID
		try(another, 42, true) // keys of another person are others

		failed := workshop.Key{Staff: p.runa.ID, Key: "k2", Use: "x", At: start}
		refusal := errors.New("no")
		if _, _, err := once(ctx, s, failed, func(workshop.Tx) (int64, error) { return 0, refusal }); !errors.Is(err, refusal) {
			t.Errorf("got %v, want the refusal", err)
		}
		try(failed, 43, true) // what failed left the key free
		err = s.InTx(ctx, func(tx workshop.Tx) error { return tx.KeepResult(ctx, workshop.Key{Staff: p.runa.ID, Key: "k3"}, 1) })
		if err == nil {
			t.Error("a result was kept under a key that nobody claimed")
		}
	})
}

// Eight requests with one key at once: one does the work, all get its result.
func TestAKeyIsUsedOnceUnderConcurrency(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		key := workshop.Key{Staff: p.runa.ID, Key: "k1", Use: "take an instrument in", At: start}
		var mu sync.Mutex
		did, results := 0, map[int64]int{}
		var wg sync.WaitGroup
		for range 8 {
			wg.Go(func() {
				result, now, err := once(t.Context(), s, key, func(tx workshop.Tx) (int64, error) {
					j := p.newJob(7)
					err := tx.AddJob(t.Context(), j)
					return int64(j.ID), err
				})
				mu.Lock()
				defer mu.Unlock()
				if err != nil {
					t.Error(err)
				}
				if now {
					did++
				}
				results[result]++
			})
		}
		wg.Wait()
		if did != 1 || len(results) != 1 {
			t.Errorf("done %d times with results %v, want once and one result", did, results)
		}
	})
}
