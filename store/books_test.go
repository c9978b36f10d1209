package store_test

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
	"winterbench/migrations"
	"winterbench/store"
	"winterbench/store/storetest"
)

var bookedAt = time.Date(2027, time.January, 15, 17, 0, 0, 0, time.UTC)

func settled() billing.Entry {
	return billing.Entry{
		Date: "2027-01-15", Event: billing.CardSettled, Text: "takings of Friday", At: bookedAt, By: "Runa",
		Postings: billing.PostCardSettled(12117, 303),
	}
}

// added writes an entry and reads it back in the same transaction.
func added(t *testing.T, s *store.Store, e billing.Entry) (got billing.Entry, err error) {
	t.Helper()
	err = s.InTx(t.Context(), func(tx workshop.Tx) error {
		if err := tx.AddEntry(t.Context(), &e); err != nil {
			return err
		}
		back, err := tx.JournalEntry(t.Context(), e.ID)
		if err == nil {
			got = *back
		}
		return err
	})
	return got, err
}

func TestEntriesComeBackAsTheyWere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		got, err := added(t, s, settled())
		if err != nil {
			t.Fatal(err)
		}
		want := settled()
		want.ID = got.ID
		if diff := gocmp.Diff(want, got); diff != "" || got.ID == 0 {
			t.Errorf("entry %d (-want +got)\n%s", got.ID, diff)
		}
		back := got.Reversed("2027-02-01", "wrong day")
		back.At = bookedAt
		if _, err := added(t, s, back); err != nil {
			t.Fatal(err)
		}
		if _, err := added(t, s, back); domain.KindOf(err) != domain.Conflict {
			t.Errorf("a second reversal gives %v, want a conflict", err)
		}
	})
}

// raw runs statements in one transaction, past every use case.
func raw(t *testing.T, s *store.Store, statements ...string) error {
	t.Helper()
	return s.DB().WithContext(t.Context()).Transaction(func(db *gorm.DB) error {
		for _, do := range statements {
			if err := db.Exec(do).Error; err != nil {
				return err
			}
		}
		return nil
	})
}

// The database itself refuses what no use case would write.
func TestTheDatabaseKeepsTheJournalWhole(t *testing.T) {
	entry := "INSERT INTO journal_entries (id, dated, event, text, made_at, made_by) VALUES (900, '2027-01-15', 'deposit taken', '', '2027-01-15 17:00:00+00:00', 'Runa')"
	posting := "INSERT INTO journal_postings (entry_id, place, account, detail, debit, credit) VALUES "
	pair := posting + "(900, 1, 'cash', '', 500, 0), (900, 2, 'bank', '', 0, 500)"
	for name, do := range map[string][]string{
		"an entry without postings":     {entry},
		"one posting":                   {posting + "(900, 1, 'cash', '', 500, 0)", entry},
		"debits that are not credits":   {posting + "(900, 1, 'cash', '', 500, 0), (900, 2, 'bank', '', 0, 501)", entry},
		"a place left out":              {posting + "(900, 1, 'cash', '', 500, 0), (900, 3, 'bank', '', 0, 500)", entry},
		"postings without an entry":     {pair},
		"both sides":                    {posting + "(900, 1, 'cash', '', 500, 500), (900, 2, 'bank', '', 0, 500), (900, 3, 'bank', '', 500, 0)", entry},
		"no side":                       {posting + "(900, 1, 'cash', '', 0, 0), (900, 2, 'bank', '', 0, 0)", entry},
		"below zero":                    {posting + "(900, 1, 'cash', '', -5, 0), (900, 2, 'bank', '', 0, -5)", entry},
		"postings for a sealed entry":   {pair, entry, posting + "(900, 3, 'cash', '', 5, 0), (900, 4, 'bank', '', 0, 5)"},
		"a changed posting":             {pair, entry, "UPDATE journal_postings SET debit = 600 WHERE entry_id = 900 AND place = 1"},
		"a removed posting":             {pair, entry, "DELETE FROM journal_postings WHERE entry_id = 900"},
		"a changed entry":               {pair, entry, "UPDATE journal_entries SET dated = '2027-02-15' WHERE id = 900"},
		"a removed entry":               {pair, entry, "DELETE FROM journal_entries WHERE id = 900"},
		"an entry of a month closed":    {"INSERT INTO periods (month, closed_at, closed_by, version) VALUES ('2027-01', '2027-02-01 09:00:00+00:00', 'Runa', 1)", pair, entry},
		"a month that is none":          {"INSERT INTO periods (month, closed_by, version) VALUES ('2027-13', '', 1)"},
		"a change opened for no reason": {"INSERT INTO periods (month, closed_by, version) VALUES ('2027-01', '', 1)", "INSERT INTO period_changes (month, change, reason, entries, debits, changed_at, changed_by) VALUES ('2027-01', 'opened again', '', 0, 0, '2027-02-01 09:00:00+00:00', 'Runa')"},
	} {
		t.Run(name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, s *store.Store) {
				if err := raw(t, s, do...); err == nil {
					t.Error("was taken")
				}
				if err := raw(t, s, pair, entry); err != nil {
					t.Errorf("afterwards a good entry is refused: %v", err)
				}
			})
		})
	}
}

func TestAClosedMonthWaitsForWhoPosts(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		posting, closed := make(chan struct{}), make(chan error, 1)
		go func() {
			<-posting
			closed <- s.InTx(t.Context(), func(tx workshop.Tx) error {
				p, err := tx.Period(t.Context(), "2027-01")
				if err != nil {
					return err
				}
				n, debits, err := tx.MonthTotals(t.Context(), p.Month)
				if err != nil {
					return err
				}
				p.Closed, p.By = bookedAt, "Runa"
				return tx.SavePeriod(t.Context(), p, &workshop.PeriodChange{Month: p.Month, Change: workshop.PeriodClosed, Entries: n, Debits: debits, At: bookedAt, By: "Runa"})
			})
		}()
		err := s.InTx(t.Context(), func(tx workshop.Tx) error {
			p, err := tx.PeriodFor(t.Context(), "2027-01")
			if err != nil || !p.Closed.IsZero() {
				return errors.Join(err, errors.New("the month is closed already"))
			}
			close(posting)
			time.Sleep(100 * time.Millisecond) // so that the other reaches the lock
			e := settled()
			return tx.AddEntry(t.Context(), &e)
		})
		if err != nil {
			t.Fatal(err)
		}
		if err := <-closed; err != nil {
			t.Fatal(err)
		}
		changes, err := s.PeriodChanges(t.Context())
		if err != nil || len(changes) != 1 || changes[0].Entries != 1 || changes[0].Debits != 12117 {
			t.Errorf("closed with %+v (%v), want the entry that was on its way in it", changes, err)
		}
		if _, err := added(t, s, settled()); domain.KindOf(err) != domain.Invalid {
			t.Errorf("an entry of the closed month gives %v, want it refused", err)
		}
	})
}

// plain is a journal without what depends on the order of writing.
func plain(all []billing.Entry) []billing.Entry {
	out := slices.Clone(all)
	for i := range out {
		out[i].ID = 0
	}
	slices.SortStableFunc(out, func(a, b billing.Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Job, b.Job), strings.Compare(string(a.Event), string(b.Event)), cmp.Compare(a.Payment, b.Payment))
	})
	return out
}

// journalOf reads the whole journal.
func journalOf(t *testing.T, s *store.Store) []billing.Entry {
	t.Helper()
	all, err := s.Journal(t.Context(), "0000-01-01", "9999-12-31")
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// What the use cases of the invented shop posted as its history happened is what its
// documents give when the books are opened later.
func TestOpenedBooksAreThoseOfTheHistory(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := beginning(t)
		late := *d
		late.Journal = nil
		if err := s.Load(t.Context(), &late); err != nil {
			t.Fatal(err)
		}
		want := slices.DeleteFunc(slices.Clone(d.Journal), func(e billing.Entry) bool {
			return e.Invoice == 0 && e.Payment == 0 || e.Event == billing.CostOfJob || e.Event == billing.WarrantyUsed
		})
		if diff := gocmp.Diff(plain(want), plain(journalOf(t, s)), sameValue); diff != "" || len(want) < 50 {
			t.Errorf("%d entries (-history +opened)\n%s", len(want), diff)
		}
	})
}

// withoutBooks takes the journal away, as a database from before it had none.
func withoutBooks(t *testing.T, s *store.Store) {
	t.Helper()
	do := []string{"TRUNCATE journal_entries, journal_postings"} // no trigger stands before it
	if s.Dialect() == migrations.SQLite {
		do = []string{"DROP TRIGGER journal_entries_not_removed", "DROP TRIGGER journal_postings_not_removed", "DELETE FROM journal_postings", "DELETE FROM journal_entries"}
	}
	if err := raw(t, s, do...); err != nil {
		t.Fatal(err)
	}
}

// A database from before the journal, opened by two programs at once, is posted once.
func TestTwoProgramsOpenTheBooksOnce(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database := storetest.Database(t, engine)
			first, err := store.Open(t.Context(), database, nil, store.PhotosIn(t.TempDir()))
			if err != nil {
				t.Fatal(err)
			}
			d := loadBeginning(t, first)
			withoutBooks(t, first)
			if err := first.Close(); err != nil {
				t.Fatal(err)
			}
			var both sync.WaitGroup
			for range 2 {
				both.Go(func() { openedOnce(t, database, d.Payments) })
			}
			both.Wait()
		})
	}
}

// openedOnce opens a database and looks whether each payment was posted once.
func openedOnce(t *testing.T, database string, payments []billing.Payment) {
	s, err := store.Open(context.Background(), database, nil)
	if err != nil {
		t.Error(err)
		return
	}
	defer s.Close()
	all, err := s.Journal(context.Background(), "0000-01-01", "9999-12-31")
	if err != nil {
		t.Error(err)
	}
	seen := map[domain.PaymentID]int{}
	for _, e := range all {
		seen[e.Payment]++
	}
	for _, p := range payments {
		if seen[p.ID] != 1 {
			t.Errorf("payment %d has %d entries, want 1", p.ID, seen[p.ID])
		}
	}
}
