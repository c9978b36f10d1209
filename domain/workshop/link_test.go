package workshop_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// link makes a link of a job and returns its secret and who comes by it.
func (h *house) link(id domain.JobID, days int) (string, domain.Actor) {
	h.t.Helper()
	secret, err := h.work.AddJobLink(h.ctx, h.counter, id, days)
	h.must(err)
	l, err := h.work.OpenLink(h.ctx, h.store, secret)
	h.must(err)
	return secret, l.Actor()
}

func (h *house) shut(secret string) {
	h.t.Helper()
	_, err := h.work.OpenLink(h.ctx, h.store, secret)
	h.refused(err, domain.NotFound, "there is no page at this address")
}

func TestLinksEnd(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		usual, _ := h.link(id, 0)
		short, _ := h.link(id, 1)
		long, _ := h.link(id, workshop.MostLinkDays)
		links, err := s.LinksOf(h.ctx, id)
		h.must(err)
		if len(links) != 3 || links[2].Hash != workshop.HashToken(usual) || !links[2].Expires.Equal(h.clock.Now().AddDate(0, 0, workshop.UsualLinkDays)) || links[2].By != "Ivo" || !links[2].Used.Equal(h.clock.Now()) {
			t.Fatalf("got %+v, want three, the oldest for 90 days, used now", links)
		}
		if strings.Contains(links[2].Hash, usual) || len(usual) != 43 {
			t.Errorf("the secret %q has not 256 bits in base64, or is kept", usual)
		}
		h.clock.pass(h.day - time.Microsecond)
		if _, err := h.work.OpenLink(h.ctx, s, short); err != nil {
			t.Errorf("within the day: %v", err)
		}
		h.clock.pass(time.Microsecond)
		h.shut(short)
		h.shut("")
		h.shut(usual + "x")
		h.must(h.work.RevokeJobLink(h.ctx, h.owner, id, links[2].ID))
		h.must(h.work.RevokeJobLink(h.ctx, h.owner, id, links[2].ID)) // twice is once
		h.shut(usual)
		h.refused(h.work.RevokeJobLink(h.ctx, h.owner, id+1, links[0].ID), domain.NotFound, "no link")
		if _, err := h.work.OpenLink(h.ctx, s, long); err != nil {
			t.Errorf("the third still works: %v", err)
		}
		for _, days := range []int{-1, workshop.MostLinkDays + 1} {
			_, err := h.work.AddJobLink(h.ctx, h.counter, id, days)
			h.refused(err, domain.Invalid, "days")
		}
	})
}

func TestErasingEndsLinks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.collected()
		secret, _ := h.link(id, 0)
		_, err := h.work.Erase(h.ctx, h.owner, h.customer, "M. Oduya", "asked by letter")
		h.must(err)
		h.shut(secret)
		_, err = h.work.AddJobLink(h.ctx, h.counter, id, 0)
		h.refused(err, domain.Conflict, "was erased")
	})
}

func TestWhoMakesLinksAndWhatALinkMay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		_, err := h.work.AddJobLink(h.ctx, h.bench, id, 0)
		h.refused(err, domain.Denied, "link")
		h.refused(h.work.RevokeJobLink(h.ctx, h.bench, id, 1), domain.Denied, "link")
		_, who := h.link(id, 0)
		may := []workshop.Action{}
		for _, a := range workshop.Actions() {
			if workshop.May(who, a) == nil {
				may = append(may, a)
			}
			if hats := workshop.Allowed(a); slices.Contains(hats, domain.ByLink) != (a == workshop.ActAnswerOwn) {
				t.Errorf("%s: allowed to %v", a, hats)
			}
		}
		if !slices.Equal(may, []workshop.Action{workshop.ActAnswerOwn}) {
			t.Errorf("a customer by link may %v, want the answer alone", may)
		}
		if workshop.May(h.owner, workshop.ActAnswerOwn) == nil {
			t.Error("the owner answers as a customer")
		}
	})
}

func TestAQuoteIsAnsweredByLink(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		first := h.said(id, crack())
		_, who := h.link(id, 0)
		second := h.said(id, crack())
		h.refused(h.work.AnswerByLink(h.ctx, who, first, quote.Whole, nil), domain.Conflict, "replaced")
		h.refused(h.work.AnswerQuote(h.ctx, who, second, quote.Answer{Outcome: quote.Whole, Who: "x", Channel: "phone"}, nil), domain.Denied, "")
		h.refused(h.work.AnswerQuote(h.ctx, h.counter, second, quote.Answer{Outcome: quote.Whole, Who: "x", Channel: quote.ByLink}, nil), domain.Invalid, "channel")
		other := h.arrive()
		_, stranger := h.link(other, 0)
		h.refused(h.work.AnswerByLink(h.ctx, stranger, second, quote.Whole, nil), domain.NotFound, "no such quote")
		ctx := workshop.WithKey(h.ctx, "one form", "as sent")
		h.must(h.work.AnswerByLink(ctx, who, second, quote.Whole, nil))
		h.must(h.work.AnswerByLink(ctx, who, second, quote.Whole, nil)) // the same form again
		h.refused(h.work.AnswerByLink(h.ctx, who, second, quote.Denied, nil), domain.Conflict, "has its answer")
		f := h.stage(id, job.Approved, "Approved")
		a := f.Quote.Answer
		if a.Channel != quote.ByLink || a.Who != "M. Oduya" || a.RecordedBy != who.Name || f.Quote.YesTotal != f.Quote.Totals.Total || f.Quote.YesLimit != f.Quote.Ceiling {
			t.Errorf("the answer is %+v, total %d, not above %d", a, f.Quote.YesTotal, f.Quote.YesLimit)
		}
		n := 0
		for _, e := range f.Diary {
			if e.By == who.Name {
				n++
				if e.What != "M. Oduya said yes to version 2 (whole, link)" {
					t.Errorf("the diary says %q", e.What)
				}
			}
		}
		if n != 1 || len(f.Job.Tasks) != 3 {
			t.Errorf("%d entries and %d tasks, want 1 and 3", n, len(f.Job.Tasks))
		}
	})
}

func TestARevokedLinkAnswersNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.arrive()
		h.survey(id)
		q := h.said(id, crack())
		_, who := h.link(id, 0)
		_, late := h.link(id, 1)
		h.must(h.work.RevokeJobLink(h.ctx, h.counter, id, who.Link))
		h.refused(h.work.AnswerByLink(h.ctx, who, q, quote.Whole, nil), domain.NotFound, "no such quote")
		h.clock.pass(h.day)
		h.refused(h.work.AnswerByLink(h.ctx, late, q, quote.Whole, nil), domain.NotFound, "no such quote")
	})
}

func TestCalendarAddressesEndAndAreRenewed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		old := h.address(h.bench, h.bench.Staff)
		shop := h.address(h.owner, 0)
		_, err := h.work.RenewFeed(h.ctx, h.counter, 1)
		h.refused(err, domain.NotFound, "no calendar")
		_, err = h.work.RenewFeed(h.ctx, h.owner, 1) // whose secret would be shown to somebody else
		h.refused(err, domain.NotFound, "no calendar")
		fresh, err := h.work.RenewFeed(h.ctx, h.bench, 1)
		h.must(err)
		_, err = h.work.OpenFeed(h.ctx, s, old)
		h.refused(err, domain.NotFound, "no calendar at this address")
		_, err = h.work.RenewFeed(h.ctx, h.bench, 1)
		h.refused(err, domain.Conflict, "was revoked")
		h.titles(fresh)
		h.clock.pass(365*h.day - time.Microsecond)
		h.titles(fresh)
		h.clock.pass(time.Microsecond)
		for _, over := range []string{fresh, shop} {
			_, err = h.work.OpenFeed(h.ctx, s, over)
			h.refused(err, domain.NotFound, "no calendar at this address")
		}
		again, err := h.work.RenewFeed(h.ctx, h.owner, 2)
		h.must(err)
		h.titles(again)
	})
}
