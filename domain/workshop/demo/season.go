// Package demo invents a shop with three winters of history.
//
// The history is made by the shop's own use cases with a clock that moves, so
// it cannot contradict the rules: every stage, bill and diary entry came about
// as it would in the program. Names, makers, prices and figures are invented.
// They look like a shop in a cold place, and nothing more: demo data never
// serves as a check of anything, neither of sums nor of trade figures.
package demo

import (
	"context"
	"math/rand/v2"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// Season makes the shop as it stands at now. The same seed and the same now
// give the same season to the last digit. An error means that the history broke
// a rule of the shop, which is a mistake of this package.
//
// Passwords of staff are left empty; see [SignIns].
func Season(seed uint64, now time.Time) (*workshop.Season, error) {
	s, err := newSim(seed, domain.Moment(now))
	if err != nil {
		return nil, err
	}
	s.open()
	if err := s.run(); err != nil {
		return nil, err
	}
	if err := s.keepAir(); err != nil {
		return nil, err
	}
	if err := keepWindows(s.b.season, s.end); err != nil {
		return nil, err
	}
	s.now = s.end
	s.b.keepLevels()
	return s.b.season, takePhotos(s.b.season, seed)
}

// firstDay is 1 September before the first of three winters that are gone. A
// winter is gone from May on; one that has begun comes on top.
func firstDay(now time.Time, zone *time.Location) time.Time {
	local := now.In(zone)
	year := local.Year() - 3
	if local.Month() < time.May {
		year--
	}
	return time.Date(year, time.September, 1, 0, 0, 0, 0, zone)
}

func newSim(seed uint64, end time.Time) (*sim, error) {
	b := newBook()
	zone := time.UTC
	if shop, err := newShop(); err == nil {
		zone = shop.Location()
	}
	first := firstDay(end, zone)
	if err := b.found(domain.Moment(first)); err != nil {
		return nil, err
	}
	if err := b.engage(domain.DateOf(first), domain.DateOf(end.In(zone))); err != nil {
		return nil, err
	}
	s := &sim{
		ctx: context.Background(), b: b, seed: seed, r: rand.New(rand.NewPCG(seed, 0)),
		cal: newCalendar(&b.season.Shop, first, end.AddDate(0, 3, 0)), crowd: newCrowd(),
		now: domain.Moment(first), end: end, held: map[string]*walk{},
	}
	var err error
	if s.months, err = monthTable(); err != nil {
		return nil, err
	}
	s.w = workshop.New(b, s)
	staff := b.season.Staff
	s.owner, s.counter, s.saturday = staff[0].Actor(), staff[1].Actor(), staff[4].Actor()
	s.techs = []*tech{{s: s, actor: staff[2].Actor(), senior: true, off: time.Sunday}, {s: s, actor: staff[3].Actor(), off: time.Tuesday}}
	return s, nil
}

// open plans all arrivals and begins the first day.
func (s *sim) open() {
	first := s.cal.days[0].open
	s.at(first, s.openAir)
	s.at(first, s.openShelf)
	s.at(first, s.openSales)
	s.at(first, func() {
		for _, c := range houses(domain.DateOf(s.now.In(s.cal.zone))) {
			s.note(c)
		}
	})
	for _, d := range s.cal.days {
		m := s.months[d.open.In(s.cal.zone).Month()-1]
		for range poisson(s.r, m.arrivals/m.openDays) {
			span := int(d.end.Sub(d.open)/time.Minute) - 40
			s.at(d.open.Add(minutes(10+s.r.IntN(span))), func() { s.arrive(s.kindFor(m)) })
		}
	}
	for _, t := range s.techs {
		s.at(first, t.turn)
	}
	s.planPresent()
}
