package workshop_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store/storetest"
	"winterbench/templates"
)

func TestWithoutAQueueADayIsSaidAndMovedAllTheSame(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h := open(t, s)
	var none *workshop.Outlook
	if p, err := none.OfJob(h.ctx, 1); p != nil || err != nil {
		t.Errorf("no queue says %+v, %v of a job", p, err)
	}
	if a, err := none.Ask(h.ctx, &quote.Quote{}, quote.Shelf{}, nil); a != nil || err != nil {
		t.Errorf("no queue says %+v, %v of a quote", a, err)
	}
	id := h.agreed("2026-12-18")
	h.must(h.work.MoveDay(h.ctx, h.counter, id, "2026-12-23", "the wood takes longer"))
	told, err := s.PromisesOf(h.ctx, id)
	h.must(err)
	if len(told) != 2 || told[0].Window != nil || told[0].Because != "" || told[1].Window != nil || told[1].Said != "2026-12-23" {
		t.Errorf("told %+v, want both days without a window", told)
	}
}

func TestAQuoteWithNothingToDoIsSaidWithoutAWindow(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, _ := playing(t, s)
	h.refused(h.work.SayQuote(h.ctx, h.counter, 9999, "2026-12-18"), domain.NotFound, "")
	id := h.arrive()
	h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Name: "Case latch", Kind: "part", Price: "12.35"}}})
	told, err := s.PromisesOf(h.ctx, id)
	h.must(err)
	if len(told) != 1 || told[0].Window != nil || told[0].Because != "" || told[0].Said != "2026-12-18" {
		t.Errorf("told %+v, want the day alone", told)
	}
}

func TestAQuoteThatNeedsWhatTheShopLacks(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	shop, err := s.ShopSettings(h.ctx)
	h.must(err)
	shop.Places = nil
	h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
	h.clock.pass(time.Minute)
	priced, err := h.work.PriceQuote(h.ctx, h.counter, h.arrive(), crack())
	h.must(err)
	asked, err := o.Ask(h.ctx, &priced, quote.Shelf{}, nil)
	h.must(err)
	if asked == nil || !strings.HasPrefix(asked.Trouble, "This quote needs a place in the cabinet, and there is none") {
		t.Errorf("asked %+v, want what to change", asked)
	}
}

// A quote keeps the edition that it was priced with: the queue reads it when the
// template has a newer one.
func TestAnOlderEditionIsAskedOfTheQueue(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	id := h.arrive()
	priced, err := h.work.PriceQuote(h.ctx, h.counter, id, glued(false))
	h.must(err)
	before, err := o.Ask(h.ctx, &priced, quote.Shelf{}, nil)
	h.must(err)
	newest := priced.Lines[0].Edition
	e, err := s.EditionOf(h.ctx, "CG", newest)
	h.must(err)
	slow := e.Template
	slow.Setup = templates.Range{Low: 6000, Typical: 6000, High: 6000}
	_, err = h.work.NoteTemplate(h.ctx, h.owner, slow, newest)
	h.must(err)
	after, err := o.Ask(h.ctx, &priced, quote.Shelf{}, nil)
	h.must(err)
	if before == nil || after == nil || !after.Promise.P50.Equal(before.Promise.P50) {
		t.Errorf("with the edition it was priced with: %+v, want %+v as before", after, before)
	}
	dearer, err := h.work.PriceQuote(h.ctx, h.counter, id, glued(false))
	h.must(err)
	long, err := o.Ask(h.ctx, &dearer, quote.Shelf{}, nil)
	h.must(err)
	if dearer.Lines[0].Edition == newest || !long.Promise.P50.After(after.Promise.P50) {
		t.Errorf("with the new edition %d: ready %v, want later than %v", dearer.Lines[0].Edition, long.Promise.P50, after.Promise.P50)
	}
}

// What the store cannot read is an error for the caller, and nothing is told.
func TestTheQueueTellsNothingThatItCouldNotRead(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	id := h.agreed("2026-12-18")
	priced, err := h.work.PriceQuote(h.ctx, h.counter, id, crack())
	h.must(err)
	h.clock.pass(time.Hour) // what was read a moment ago is out of date
	gone, stop := context.WithCancel(h.ctx)
	stop()
	q, err := o.Queue(gone)
	if q != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("the queue: %+v, %v", q, err)
	}
	a, err := o.Ask(gone, &priced, quote.Shelf{}, nil)
	if a != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("a quote: %+v, %v", a, err)
	}
	if err := h.work.MoveDay(gone, h.counter, id, "2026-12-23", "x"); !errors.Is(err, context.Canceled) {
		t.Errorf("another day: %v", err)
	}
	told, err := s.PromisesOf(h.ctx, id)
	h.must(err)
	if len(told) != 1 || h.folder(id).Job.Promised != "2026-12-18" {
		t.Errorf("told %+v, promised %s; want what was said before", told, h.folder(id).Job.Promised)
	}
}
