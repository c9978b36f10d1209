package workshop_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// diaryStore keeps the lines that are written into the diary.
type diaryStore struct {
	workshop.Store
	mu    sync.Mutex
	lines []workshop.Entry
}

type diaryTx struct {
	workshop.Tx
	keep func(workshop.Entry)
}

func (s *diaryStore) InTx(ctx context.Context, fn func(workshop.Tx) error) error {
	return s.Store.InTx(ctx, func(tx workshop.Tx) error {
		return fn(diaryTx{tx, func(e workshop.Entry) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.lines = append(s.lines, e)
		}})
	})
}

func (t diaryTx) Note(ctx context.Context, e *workshop.Entry) error {
	t.keep(*e)
	return t.Tx.Note(ctx, e)
}

// cracked glues n cracks of 60 mm, one a day, each in so many minutes.
func (h *house) cracked(n, minutes int) {
	h.t.Helper()
	for range n {
		id := h.arrive()
		h.survey(id)
		q := h.said(id, glued(false))
		h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
		h.worked(id, "CG", minutes)
		h.clock.pass(24*time.Hour - time.Duration(minutes)*time.Minute)
	}
}

// Of several people who adopt at the same moment one is kept, and the diary says what
// it was learned from.
func TestOneOfManyAdopts(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.cracked(12, 150)
		l, err := workshop.ReadLearned(h.ctx, s, h.clock.Now())
		h.must(err)
		crack, ok := l.Of("CG")
		if !ok || crack.Offer == nil || crack.N != 12 {
			t.Fatalf("learned %+v, want an offer from 12 tasks", crack)
		}
		if _, ok := l.Of("XX"); ok {
			t.Error("a template that nobody has was learned")
		}
		diary := &diaryStore{Store: s}
		work := workshop.New(diary, h.clock)
		ask := workshop.Adopt{Code: "CG", Edition: crack.Edition, Figures: crack.Offer.Figures}
		h.refused(errOf(work.AdoptLearned(h.ctx, h.bench, ask)), domain.Denied, "")
		errs := make([]error, 4)
		var wait sync.WaitGroup
		for i := range errs {
			wait.Go(func() { _, errs[i] = work.AdoptLearned(h.ctx, h.owner, ask) })
		}
		wait.Wait()
		kept := 0
		for _, err := range errs {
			if err == nil {
				kept++
				continue
			}
			h.refused(err, domain.Conflict, "changed meanwhile")
		}
		editions, err := s.EditionsOf(h.ctx, "CG")
		h.must(err)
		if kept != 1 || len(editions) != 2 || editions[0].Origin != workshop.ShopsOwn {
			t.Errorf("%d were kept and there are %d editions, want one more", kept, len(editions))
		}
		last := diary.lines[len(diary.lines)-1]
		if last.What != "adopted the shop’s own minutes for the template CG "+crack.Name+", learned from 12 finished tasks" || last.Before == "" || last.After == "" {
			t.Errorf("the diary says %+v", last)
		}
		after, err := workshop.ReadLearned(h.ctx, s, h.clock.Now())
		h.must(err)
		if again, _ := after.Of("CG"); again.Before != 12 || again.N != 0 || again.Flagged() {
			t.Errorf("adopted, then %+v; want the twelve in the minutes and nothing to say", again)
		}
		// Another figure typed by hand is an opinion, against which the work speaks again.
		e, err := s.EditionOf(h.ctx, "CG", 2)
		h.must(err)
		typed := e.Template
		typed.Summary += " Slowly."
		_, err = h.work.NoteTemplate(h.ctx, h.owner, typed, 2)
		h.must(err)
		if e, err = s.EditionOf(h.ctx, "CG", 3); err != nil || e.Learned().IsZero() {
			t.Errorf("other words took the mark away: %q, %v", e.LearnedUntil, err)
		}
		typed.Labour.High++
		_, err = h.work.NoteTemplate(h.ctx, h.owner, typed, 3)
		h.must(err)
		if e, err = s.EditionOf(h.ctx, "CG", 4); err != nil || !e.Learned().IsZero() {
			t.Errorf("typed minutes are marked as learned: %q, %v", e.LearnedUntil, err)
		}
	})
}

func errOf(_ int, err error) error { return err }
