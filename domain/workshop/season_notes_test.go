package workshop_test

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/season"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// aClimate is an invented town's.
func aClimate() workshop.Climate {
	c := workshop.Climate{Town: "  Kaldvik ", Source: "invented", Months: season.Climate{Past: map[season.YearMonth]season.Month{{Year: 2026, Month: 1}: {Celsius: -9.4, RH: 81.5}}}}
	for i := range c.Months.Usual {
		c.Months.Usual[i] = season.Month{Celsius: float64(i) - 6.5, RH: 70 + float64(i)}
	}
	return c
}

func TestTheClimateOfTheTownIsKept(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, err := s.TownClimate(h.ctx)
		h.refused(err, domain.NotFound, "not known")
		h.refused(h.work.SetClimate(h.ctx, h.bench, aClimate()), domain.Denied, "climate")
		h.must(h.work.SetClimate(h.ctx, h.owner, aClimate()))
		h.refused(h.work.SetClimate(h.ctx, h.owner, aClimate()), domain.Conflict, "meanwhile")
		got, err := s.TownClimate(h.ctx)
		h.must(err)
		want := aClimate()
		if got.Town != "Kaldvik" || got.Version != 1 || got.By != "Tove" || got.Months.Usual != want.Months.Usual || got.Months.Past[season.YearMonth{Year: 2026, Month: 1}] != (season.Month{Celsius: -9.4, RH: 81.5}) {
			t.Errorf("kept %+v, want what was given", got)
		}
		bad := *got
		bad.Town, bad.Months.Usual[3].RH = "", 120
		fields := domain.FieldsOf(h.work.SetClimate(h.ctx, h.owner, bad))
		if fields["town"] == "" || fields["rh_4"] == "" || len(fields) != 2 {
			t.Errorf("got %v, want town and April's humidity named", fields)
		}
		file := workshop.ClimateImport{Version: got.Version, CSV: []byte("year,month,celsius,rh\n,1,-3,60\n2026,2,-4,70\n,2,wet,60\n")}
		look, err := h.work.ImportClimate(h.ctx, h.owner, got, file)
		h.must(err)
		if look.File.Usual != 1 || look.File.Past != 1 || len(look.File.Bad) != 1 || look.File.Bad[0].Line != 4 {
			t.Errorf("took %+v, want a month of each and line 4 left out", look.File)
		}
		got, err = s.TownClimate(h.ctx)
		h.must(err)
		if got.Version != 2 || got.Town != "Kaldvik" || got.Months.Usual[0] != (season.Month{Celsius: -3, RH: 60}) || got.Months.Usual[1] != want.Months.Usual[1] || len(got.Months.Past) != 2 {
			t.Errorf("after the file: %+v, want January new and the rest as it was", got)
		}
		h.refused(h.work.ForgetClimate(h.ctx, h.owner, 1), domain.Conflict, "meanwhile")
		h.must(h.work.ForgetClimate(h.ctx, h.owner, 2))
		_, err = s.TownClimate(h.ctx)
		h.refused(err, domain.NotFound, "not known")
		_, err = h.work.ImportClimate(h.ctx, h.owner, nil, file)
		if text := domain.FieldsOf(err)["file"]; !strings.Contains(text, "February to December is missing") {
			t.Errorf("one month alone: got %v, want the missing ones named", err)
		}
	})
}

func TestAnExpectationIsNotedAndTakenBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		o := workshop.NewOutlook(s, h.clock)
		h.work = workshop.New(s, h.clock, workshop.WithOutlook(o))
		before, err := o.Season(h.ctx)
		h.must(err)
		if again, err := o.Season(h.ctx); err != nil || again != before {
			t.Errorf("asked again: another season, %v; want the one kept", err)
		}
		g := workshop.ArrivalGuess{Monday: "2026-12-09", Kind: workshop.KindCracks, Jobs: 9, Reason: "a school's guitars"}
		_, err = h.work.GuessArrivals(h.ctx, h.counter, g)
		h.refused(err, domain.Denied, "expect")
		id, err := h.work.GuessArrivals(h.ctx, h.owner, g)
		h.must(err)
		after, err := o.Season(h.ctx)
		h.must(err)
		if len(after.Guesses) != 1 || after.Guesses[0].Monday != "2026-12-07" || after.Weeks[2].Guessed != 1 || !(after.Weeks[2].Arrivals.P50 > before.Weeks[2].Arrivals.P50) {
			t.Errorf("guesses %+v, %.1f jobs, not %.1f; want 9 in the week of 7 December and more jobs", after.Guesses, after.Weeks[2].Arrivals.P50, before.Weeks[2].Arrivals.P50)
		}
		g.Jobs = 2
		next, err := h.work.GuessArrivals(h.ctx, h.owner, g)
		h.must(err)
		all, err := s.ArrivalGuesses(h.ctx, "")
		h.must(err)
		if len(all) != 1 || all[0].ID != next || next == id || all[0].Jobs != 2 {
			t.Errorf("standing %+v, want the second alone", all)
		}
		h.must(h.work.TakeGuessBack(h.ctx, h.owner, next))
		h.refused(h.work.TakeGuessBack(h.ctx, h.owner, next), domain.NotFound, "")
		gone, err := o.Season(h.ctx)
		h.must(err)
		if len(gone.Guesses) != 0 || gone.Weeks[2].Arrivals != before.Weeks[2].Arrivals {
			t.Errorf("after all: %+v, want the forecast of before", gone.Weeks[2])
		}
		fields := domain.FieldsOf(func() error {
			_, err := h.work.GuessArrivals(h.ctx, h.owner, workshop.ArrivalGuess{Monday: "2026-11-20", Kind: "kites", Jobs: -1})
			return err
		}())
		for _, f := range []string{"week", "kind", "jobs", "reason"} {
			if fields[f] == "" {
				t.Errorf("%s is not named in %v", f, fields)
			}
		}
	})
}

// The season is worked out anew when a job of a week that is over comes into the
// books, when settings change, and on a new day.
func TestTheForecastKnowsWhenItIsStale(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h := open(t, s)
	o := workshop.NewOutlook(s, h.clock)
	h.work = workshop.New(s, h.clock, workshop.WithOutlook(o))
	ask := func() *workshop.SeasonAhead {
		t.Helper()
		a, err := o.Season(h.ctx)
		h.must(err)
		return a
	}
	first := ask()
	h.clock.pass(time.Minute)
	if ask() != first {
		t.Error("a minute later: another season, want the one kept")
	}
	shop, err := s.ShopSettings(h.ctx)
	h.must(err)
	shop.Hemisphere = workshop.South
	h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
	south := ask()
	if south == first || !strings.Contains(south.Model, "southern hemisphere") {
		t.Errorf("after the settings: %q, want the south", south.Model)
	}
	h.must(h.work.SetClimate(h.ctx, h.owner, aClimate()))
	if warm := ask(); warm == south || !warm.KnowsClimate() {
		t.Error("after the climate was given it is not known")
	}
	h.agreed("2026-12-18")
	h.clock.pass(time.Minute)
	if got := ask(); got.Visits != 0 {
		t.Errorf("%d jobs count, want none before the week is over", got.Visits)
	}
	h.clock.pass(7 * h.day)
	if got := ask(); got.Visits != 1 {
		t.Errorf("a week later %d jobs count, want 1", got.Visits)
	}
}
