package workshop_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// titles are those of the events of an address.
func (h *house) titles(secret string) []string {
	h.t.Helper()
	a, err := h.work.OpenFeed(h.ctx, h.store, secret)
	h.must(err)
	var out []string
	for _, e := range a.Events {
		out = append(out, string(e.Day)+" "+e.Title)
	}
	return out
}

func (h *house) address(who domain.Actor, whose domain.StaffID) string {
	h.t.Helper()
	secret, err := h.work.AddFeed(h.ctx, who, whose, "phone")
	h.must(err)
	return secret
}

func TestCalendarsHoldWhatTheirPersonWorksOn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.inHold() // arrives on 25 November, tag 1
		promise := "2026-12-18 tag 1 promised: Orrin No. 3, steel-string guitar"
		shop, own, counter := h.address(h.owner, 0), h.address(h.bench, h.bench.Staff), h.address(h.counter, h.counter.Staff)
		read := "2026-11-26 tag 1 hold to be read: Orrin No. 3, steel-string guitar"
		for name, c := range map[string]struct {
			secret string
			want   []string
		}{"shop": {shop, []string{read, promise}}, "bench": {own, []string{read, promise}}, "counter": {counter, []string{promise}}} {
			if diff := cmp.Diff(c.want, h.titles(c.secret)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", name, diff)
			}
		}
		other := h.hire("Odd", domain.Bench)
		odd := h.address(other, other.Staff)
		if diff := cmp.Diff([]string{read, promise}, h.titles(odd)); diff != "" {
			t.Errorf("nobody works on it yet, so all who can have it (-want +got):\n%s", diff)
		}
		task := h.task(1, "RH").ID
		h.must(h.work.ClockOn(h.ctx, h.bench, 1, task, false))
		h.clock.pass(10 * time.Minute)
		h.must(h.work.ClockOff(h.ctx, h.bench, 1, task))
		if diff := cmp.Diff([]string{read}, h.titles(odd)); diff != "" {
			t.Errorf("Runa works on it, so Odd's has the hold alone (-want +got):\n%s", diff)
		}
		if diff := cmp.Diff([]string{read, promise}, h.titles(own)); diff != "" {
			t.Errorf("Runa works on it (-want +got):\n%s", diff)
		}
		h.clock.pass(3 * h.day) // nobody reads it: it stands on today
		if got := h.titles(shop)[0]; got != "2026-11-28 tag 1 hold to be read: Orrin No. 3, steel-string guitar" {
			t.Errorf("got %q, want the late reading today", got)
		}
	})
}

func TestCalendarNamesNoCustomer(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.inHold()
		a, err := h.work.OpenFeed(h.ctx, s, h.address(h.owner, 0))
		h.must(err)
		for _, e := range a.Events {
			if text := e.Title + e.Text + e.UID + e.Path; strings.Contains(text, "Oduya") || strings.Contains(text, "555") {
				t.Errorf("the customer is named: %q", text)
			}
		}
	})
}

// The same matter keeps its UID, and its sequence never falls.
func TestCalendarEventsKeepTheirName(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.inHold()
		secret, seen := h.address(h.owner, 0), map[string]int{}
		for range 4 {
			a, err := h.work.OpenFeed(h.ctx, s, secret)
			h.must(err)
			for _, e := range a.Events {
				if last, was := seen[e.UID]; was && e.Sequence < last {
					t.Errorf("%s: sequence %d after %d", e.UID, e.Sequence, last)
				}
				seen[e.UID] = e.Sequence
			}
			h.clock.pass(h.day)
		}
		if len(seen) != 2 {
			t.Errorf("got %v, want one promise and one hold", seen)
		}
	})
}

func TestCalendarUseIsKeptByTheHour(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		secret, used := h.address(h.bench, h.bench.Staff), h.clock.Now()
		for _, pass := range []time.Duration{0, 59 * time.Minute, 2 * time.Minute} {
			h.clock.pass(pass)
			h.titles(secret)
			if pass == 2*time.Minute {
				used = h.clock.Now()
			}
			feeds, err := s.FeedsOf(h.ctx, h.bench.Staff)
			h.must(err)
			if len(feeds) != 1 || !feeds[0].Used.Equal(used) || feeds[0].Hash != workshop.HashToken(secret) {
				t.Errorf("got %+v, want one, used at %s", feeds, used)
			}
		}
		h.refused(h.work.RevokeFeed(h.ctx, h.counter, 1), domain.NotFound, "no calendar")
		h.must(h.work.RevokeFeed(h.ctx, h.bench, 1))
		for _, wrong := range []string{secret, "", secret + "x"} {
			_, err := h.work.OpenFeed(h.ctx, s, wrong)
			h.refused(err, domain.NotFound, "no calendar at this address")
		}
	})
}
