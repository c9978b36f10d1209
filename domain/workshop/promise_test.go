package workshop_test

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// playing opens a house whose use cases ask the queue, with a bench that is staffed
// on weekdays.
func playing(t *testing.T, s *store.Store) (*house, *workshop.Outlook) {
	h := open(t, s)
	o := workshop.NewOutlook(s, h.clock)
	h.work = workshop.New(s, h.clock, workshop.WithOutlook(o))
	shop, err := s.ShopSettings(h.ctx)
	h.must(err)
	for i := range 5 {
		shop.Hours[i] = workshop.Hours{Open: "09:00", Close: "17:00"}
	}
	h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
	h.shop = *shop
	return h, o
}

// agreed has the crack agreed on and returns the job.
func (h *house) agreed(day domain.Date) domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q, err := h.work.DraftQuote(h.ctx, h.counter, id, crack(), 0)
	h.must(err)
	h.must(h.work.SayQuote(h.ctx, h.counter, q, day))
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
	return id
}

func TestWhatIsSaidOfADayIsKeptWithItsWindow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h, o := playing(t, s)
		id := h.agreed("2026-11-27") // a hold of ten days cannot be done in two
		told, err := s.PromisesOf(h.ctx, id)
		h.must(err)
		if len(told) != 1 || told[0].Said != "2026-11-27" || told[0].Window == nil || !strings.Contains(told[0].Because, "the cabinet") {
			t.Fatalf("told %+v, want the day with its window and what the time goes into", told)
		}
		if w := told[0].Window; w.P20.After(w.P50) || w.P50.After(w.P80) || w.P80.After(w.P95) || !w.P20.After(h.clock.Now()) {
			t.Errorf("the window is %+v", w)
		}
		h.clock.pass(time.Minute) // what the queue was played from a moment ago is out of date
		live, err := o.OfJob(h.ctx, id)
		h.must(err)
		if live == nil {
			t.Fatal("the queue says nothing of agreed work")
		}
		f := h.folder(id)
		f.ByQueue(live, f.Shop, h.clock.Now())
		if f.Window.Late != live.Say || !strings.Contains(f.Answer, "say ") || strings.Contains(f.Answer, "waits alone") {
			t.Errorf("window %+v, answer %q", f.Window, f.Answer)
		}
		h.refused(h.work.MoveDay(h.ctx, h.bench, id, "2026-12-23", "x"), domain.Denied, "")
		h.refused(h.work.MoveDay(h.ctx, h.counter, id, "2026-12-23", " "), domain.Invalid, "")
		h.refused(h.work.MoveDay(h.ctx, h.counter, id, "soon", "x"), domain.Invalid, "")
		h.refused(h.work.MoveDay(h.ctx, h.counter, id, "2026-11-01", "x"), domain.Invalid, "over")
		h.refused(h.work.MoveDay(h.ctx, h.counter, id, "2026-11-27", "x"), domain.Conflict, "said already")
		h.must(h.work.MoveDay(h.ctx, h.counter, id, "2026-12-23", "the wood takes longer"))
		told, err = s.PromisesOf(h.ctx, id)
		h.must(err)
		if got := h.folder(id).Job.Promised; len(told) != 2 || got != "2026-12-23" || told[1].Quote != 0 || told[1].Because != "the wood takes longer" {
			t.Errorf("promised %s, told %+v", got, told)
		}
		kept, err := workshop.HowKept(h.ctx, s, h.clock.Now())
		h.must(err)
		if kept.Open != 1 || kept.All.Said != 0 {
			t.Errorf("how well days are kept: %+v", kept)
		}
		h.clock.pass(40 * h.day)
		kept, err = workshop.HowKept(h.ctx, s, h.clock.Now())
		h.must(err)
		if kept.All != (workshop.KeptMonth{Said: 1, Moved: 1, Windows: 1}) || kept.Months[0].Month != "2026-11" {
			t.Errorf("forty days on: %+v", kept)
		}
	})
}

func TestNoDayIsMovedForWorkThatIsNotAgreed(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	id := h.arrive()
	h.refused(h.work.MoveDay(h.ctx, h.counter, id, "2026-12-23", "x"), domain.Conflict, "not done")
	if p, err := o.OfJob(h.ctx, id); p != nil || err != nil {
		t.Errorf("the queue says %+v of work that is not agreed, %v", p, err)
	}
}

// The queue names whom to call, when a place is free and what the bench does first;
// where it cannot be played it says what to change, and a day is said all the same.
func TestTheQueueOfAHouse(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	id := h.agreed("2026-11-27")
	h.clock.pass(time.Minute)
	q, err := o.Queue(h.ctx)
	h.must(err)
	if len(q.Rows) != 1 || len(q.Calls) != 1 || q.Calls[0].JobRow.ID != id || !strings.Contains(q.Answer, "call M. Oduya") || len(q.Rows[0].Steps) == 0 {
		t.Errorf("the queue is %+v", q)
	}
	next, err := o.NextPlace(h.ctx)
	h.must(err)
	if next == nil || next.P50.Before(h.clock.Now().Add(-time.Hour)) {
		t.Errorf("a place is next free %+v", next)
	}
	free, err := s.OpenTasks(h.ctx)
	h.must(err)
	ordered, err := o.Order(h.ctx, free)
	h.must(err)
	if len(ordered) != len(free) || len(free) == 0 || !ordered[0].Task.Hold {
		t.Errorf("the bench begins with %+v, want the hold first", ordered)
	}
	shop, err := s.ShopSettings(h.ctx)
	h.must(err)
	shop.Hours = [7]workshop.Hours{}
	if err := h.work.ChangeShop(h.ctx, h.owner, *shop); err == nil { // a shop may be closed for ever
		h.clock.pass(time.Minute)
		q, err = o.Queue(h.ctx)
		h.must(err)
		if q.Trouble == "" || !strings.Contains(q.Answer, "Nobody can say") {
			t.Errorf("closed for ever: %q, trouble %q", q.Answer, q.Trouble)
		}
		if p, err := o.OfJob(h.ctx, id); p != nil || err != nil {
			t.Errorf("closed for ever: %+v, %v", p, err)
		}
		second := h.arrive()
		h.survey(second)
		h.said(second, crack())
		told, err := s.PromisesOf(h.ctx, second)
		h.must(err)
		if len(told) != 1 || told[0].Window != nil || !strings.Contains(told[0].Because, "hours") {
			t.Errorf("told without a queue: %+v", told)
		}
	}
}

func TestAQuoteIsAskedOfTheQueue(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h, o := playing(t, s)
	id := h.arrive()
	h.survey(id)
	priced, err := h.work.PriceQuote(h.ctx, h.counter, id, crack())
	h.must(err)
	surveys, err := s.SurveysOf(h.ctx, id)
	h.must(err)
	asked, err := o.Ask(h.ctx, &priced, quote.Shelf{}, &surveys[0])
	h.must(err)
	if asked == nil || asked.Trouble != "" {
		t.Fatalf("asked %+v", asked)
	}
	now, today := h.clock.Now(), h.shop.Today(h.clock.Now())
	w := workshop.WindowOfQuote(&priced, asked, &h.shop, now)
	alone := workshop.WindowOfQuote(&priced, nil, &h.shop, now)
	if !w.ByQueue || alone.ByQueue || w.Late != asked.Promise.Say || w.Likely < alone.Earliest {
		t.Errorf("by the queue %+v, by the waits alone %+v", w, alone)
	}
	for want, got := range map[string]string{
		"With the queue: likely": asked.Text(&h.shop, now), "nobody knows. No hours.": workshop.Asked{Trouble: "No hours."}.Text(&h.shop, now),
		"say ": workshop.QuoteAnswer(&priced, w, today), "by the waits alone": workshop.QuoteAnswer(&priced, alone, today),
		"No hours.": workshop.WindowOfQuote(&priced, &workshop.Asked{Trouble: "No hours."}, &h.shop, now).Text(today),
	} {
		if !strings.Contains(got, want) {
			t.Errorf("got %q, want %q in it", got, want)
		}
	}
	empty := quote.Quote{Job: id, Currency: priced.Currency}
	if got, err := o.Ask(h.ctx, &empty, quote.Shelf{}, nil); got != nil || err != nil {
		t.Errorf("a quote without work: %+v, %v", got, err)
	}
	if got := (workshop.Window{}).Text(today); got != "" {
		t.Errorf("no window is told as %q", got)
	}
}

func TestWhatIfsAreKeptByName(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h, o := playing(t, s)
		what := workshop.Change{Days: 1, Places: 2}
		id, err := h.work.KeepScenario(h.ctx, h.owner, " A second bench ", what)
		h.must(err)
		_, err = h.work.KeepScenario(h.ctx, h.owner, "a second BENCH", what)
		h.refused(err, domain.Conflict, "already")
		_, err = h.work.KeepScenario(h.ctx, h.owner, "", workshop.Change{Hours: 200, Places: -1})
		h.refused(err, domain.Invalid, "")
		if fields := domain.FieldsOf(err); fields["name"] == "" || fields["hours"] == "" || fields["places"] == "" {
			t.Errorf("every wrong field is to be named: %v", fields)
		}
		_, err = h.work.KeepScenario(h.ctx, h.bench, "mine", what)
		h.refused(err, domain.Denied, "")
		other, err := h.work.KeepScenario(h.ctx, h.owner, "Colder", workshop.Change{Colder: 20})
		h.must(err)
		h.refused(h.work.RenameScenario(h.ctx, h.owner, other, "A second bench"), domain.Conflict, "already")
		h.refused(h.work.RenameScenario(h.ctx, h.owner, other, ""), domain.Invalid, "")
		h.must(h.work.RenameScenario(h.ctx, h.owner, other, "A cold one"))
		h.must(h.work.LetScenarioGo(h.ctx, h.owner, id))
		h.refused(h.work.LetScenarioGo(h.ctx, h.owner, id), domain.NotFound, "")
		all, err := s.Scenarios(h.ctx)
		h.must(err)
		if len(all) != 1 || all[0].Name != "A cold one" || all[0].What.Colder != 20 {
			t.Errorf("kept are %+v", all)
		}
		seen := workshop.WithVersion(h.ctx, 1)
		h.refused(h.work.RenameScenario(seen, h.owner, other, "B"), domain.Conflict, "meanwhile")
		seasonOfAHouse(t, h, o)
	})
}

// A house with one job has no history to foretell from, and says so; work in the
// house counts, and a change is set beside it.
func seasonOfAHouse(t *testing.T, h *house, o *workshop.Outlook) {
	h.agreed("2026-12-23")
	h.clock.pass(time.Hour)
	o.ForgetSeason()
	(*workshop.Outlook)(nil).ForgetSeason()
	a, err := o.Season(h.ctx)
	h.must(err)
	again, err := o.Season(h.ctx)
	h.must(err)
	if a != again || len(a.Weeks) == 0 || a.Answer == "" {
		t.Errorf("the season has %d weeks and says %q; asked again at once it is the same: %t", len(a.Weeks), a.Answer, a == again)
	}
	tried, err := a.Try(workshop.Change{Days: 2, Places: 3, Colder: 50, SetUpsMoved: 50})
	h.must(err)
	if len(tried.Weeks) != len(a.Weeks) || tried.Weeks[1].HandsThere <= a.Weeks[1].HandsThere || tried.Weeks[1].PlacesThere != a.Weeks[1].PlacesThere+3 {
		t.Errorf("with two more days and three places the first whole week is %+v, without %+v", tried.Weeks[1], a.Weeks[1])
	}
}
