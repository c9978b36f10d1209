package workshop_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestWhoMakesAndRevokesCalendars(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, err := h.work.AddFeed(h.ctx, domain.Actor{}, 0, "phone")
		h.refused(err, domain.SignIn, "sign in")
		_, err = h.work.AddFeed(h.ctx, h.bench, 0, "phone")
		h.refused(err, domain.Denied, "only an owner makes the calendar of the whole shop")
		_, err = h.work.AddFeed(h.ctx, h.owner, h.bench.Staff, "phone")
		h.refused(err, domain.Denied, "everybody makes their own")
		for _, name := range []string{" ", strings.Repeat("x", 61)} {
			_, err = h.work.AddFeed(h.ctx, h.bench, h.bench.Staff, name)
			h.refused(err, domain.Invalid, "")
			if fields := domain.FieldsOf(err); fields["name"] == "" || len(fields) != 1 {
				t.Errorf("%q: got %v, want the name refused", name, fields)
			}
		}
		secret := h.address(h.bench, h.bench.Staff)
		feeds, err := s.FeedsOf(h.ctx, h.bench.Staff)
		h.must(err)
		if len(feeds) != 1 || feeds[0].Name != "phone" || feeds[0].By != "Runa" || !feeds[0].Revoked.IsZero() {
			t.Fatalf("got %+v, want the one that was not refused", feeds)
		}
		h.refused(h.work.RevokeFeed(h.ctx, h.owner, 99), domain.NotFound, "99")
		h.clock.pass(h.day)
		h.must(h.work.RevokeFeed(h.ctx, h.owner, feeds[0].ID))
		first := h.clock.Now()
		h.clock.pass(h.day)
		h.must(h.work.RevokeFeed(h.ctx, h.bench, feeds[0].ID)) // again: it is so already
		all, err := s.AllFeeds(h.ctx)
		h.must(err)
		if len(all) != 1 || !all[0].Revoked.Equal(first) {
			t.Errorf("got %+v, want it revoked at %v, once", all, first)
		}
		_, err = h.work.OpenFeed(h.ctx, s, secret)
		h.refused(err, domain.NotFound, "no calendar at this address")
	})
}

// Who left the shop reads no more of it.
func TestCalendarOfWhoLeft(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		secret := h.address(h.bench, h.bench.Staff)
		if got := h.titles(secret); len(got) != 0 {
			t.Errorf("got %v, want an empty calendar that opens", got)
		}
		people, err := s.StaffList(h.ctx)
		h.must(err)
		who := people[slices.IndexFunc(people, func(p workshop.Staff) bool { return p.ID == h.bench.Staff })]
		who.Active = false
		h.must(h.work.ChangeStaff(h.ctx, h.owner, who, "", people))
		_, err = h.work.OpenFeed(h.ctx, s, secret)
		h.refused(err, domain.NotFound, "no calendar at this address")
	})
}

// handedOver is a paid job that is to be looked at again on a day.
func (h *house) handedOver(again domain.Date) domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{{Task: "CC", Quantity: "2"}, {Task: "FU"}}})
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
	h.worked(id, "CC", 10)
	h.must(h.work.Pass(h.ctx, h.bench, id))
	_, err := h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{})
	h.must(err)
	_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: h.folder(id).Balance.Due})
	h.must(err)
	h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true, Recheck: again}))
	return id
}

// The promised day goes with the instrument; the look thirty days on comes in its
// place, beside the holidays of the shop, until it was had.
func TestCalendarAfterTheHandOver(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.handedOver("2026-12-25")
		secret := h.address(h.counter, h.counter.Staff)
		again := "2026-12-25 tag 1 to be looked at again: Orrin No. 3, steel-string guitar"
		if diff := cmp.Diff([]string{again}, h.titles(secret)); diff != "" {
			t.Errorf("after the hand-over (-want +got):\n%s", diff)
		}
		shop, err := s.ShopSettings(h.ctx)
		h.must(err)
		shop.Region, shop.Closed = "AT", []workshop.DaySpan{{From: "2026-12-28", To: "2026-12-30", Why: "midwinter"}}
		h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
		got := h.titles(secret)
		if !slices.Contains(got, again) || !slices.Contains(got, "2026-12-28 closed: midwinter") || !slices.ContainsFunc(got, func(l string) bool { return strings.HasPrefix(l, "2026-12-25 closed: ") }) {
			t.Errorf("got %q, want the look, the holiday on its day and the closed days", got)
		}
		follow := h.task(id, "FU").ID
		h.must(h.work.ClockOn(h.ctx, h.bench, id, follow, false))
		h.clock.pass(h.day / 72)
		h.must(h.work.Finish(h.ctx, h.bench, id, follow))
		if got := h.titles(secret); slices.Contains(got, again) {
			t.Errorf("the look was had and still stands in %q", got)
		}
	})
}
