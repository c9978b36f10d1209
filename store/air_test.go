package store_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// addAir keeps a room and a meter that was calibrated.
func addAir(t testing.TB, s *store.Store) (air.Place, air.Meter) {
	t.Helper()
	p := air.Place{Name: "Bench", Kind: air.Room, Rules: air.UsualRules(air.Room)}
	m := air.Meter{Name: "Meter 1", Note: "on the wall"}
	c := air.Calibration{
		At: start, By: "Runa", Due: "2026-12-24", Note: "quiet shelf",
		Points: []air.Point{{Salt: "sodium chloride", Celsius: dec("20.5"), Hours: dec("12"), True: dec("75.5"), Read: dec("77")}},
	}
	inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
		if err := tx.AddAirPlace(ctx, &p); err != nil {
			return err
		}
		m.Place = p.ID
		if err := tx.AddMeter(ctx, &m); err != nil {
			return err
		}
		c.Meter = m.ID
		return tx.AddCalibration(ctx, &c)
	})
	m.Calibrations = []air.Calibration{c}
	return p, m
}

func TestAirPlacesAndMetersComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p, m := addAir(t, s)
		attic := air.Place{Name: "attic", Kind: air.Outdoors, Retired: hours(5)}
		travels := air.Meter{Name: "ambler", Retired: hours(6)}
		late := air.Calibration{Meter: m.ID, At: hours(9), By: "Odo", Due: "2027-01-24", Wrong: "the wrong jar", Points: []air.Point{{Salt: "other", True: dec("50"), Read: dec("51.5")}, {Salt: "other", True: dec("75"), Read: dec("76")}}}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddAirPlace(ctx, &attic); err != nil {
				return err
			}
			if err := tx.AddMeter(ctx, &travels); err != nil {
				return err
			}
			return tx.AddCalibration(ctx, &late)
		})
		m.Calibrations = append(m.Calibrations, late)
		places, err := s.AirPlaces(t.Context())
		same(t, "places by name, whatever the case", []air.Place{attic, p}, places, err)
		meters, err := s.Meters(t.Context())
		same(t, "meters with calibrations", []air.Meter{travels, m}, meters, err)

		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			locked, err := tx.AirPlace(ctx, p.ID)
			same(t, "place in a transaction", &p, locked, err)
			locked.Retired, locked.Rules.Low, locked.Name = hours(8), dec("41.5"), "The bench"
			if err := tx.SaveAirPlace(ctx, locked); err != nil {
				return err
			}
			p = *locked
			m.Name, m.Place, m.Note, m.Retired = "Meter one", 0, "", hours(7)
			return tx.SaveMeter(ctx, &m)
		})
		if p.Version != 2 || m.Version != 2 {
			t.Errorf("versions: got %d and %d, want 2", p.Version, m.Version)
		}
		places, err = s.AirPlaces(t.Context())
		same(t, "places after a save", []air.Place{attic, p}, places, err)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			meters, err := tx.Meters(ctx)
			same(t, "meters after a save", []air.Meter{travels, m}, meters, err)
			return nil
		})
		for name, save := range map[string]func(tx workshop.Tx) error{
			"place": func(tx workshop.Tx) error { v := p; v.Version = 1; return tx.SaveAirPlace(t.Context(), &v) },
			"meter": func(tx workshop.Tx) error { v := m; v.Version = 1; return tx.SaveMeter(t.Context(), &v) },
			"a name twice": func(tx workshop.Tx) error {
				return tx.AddMeter(t.Context(), &air.Meter{Name: "METER ONE"})
			},
		} {
			if err := s.InTx(t.Context(), save); domain.KindOf(err) != domain.Conflict {
				t.Errorf("%s: got %v, want a conflict", name, err)
			}
		}
	})
}

func hand(p domain.AirPlaceID, at time.Time, rh string) air.Reading {
	return air.Reading{Place: p, At: at, Raw: dec(rh), RH: dec(rh), Source: air.Hand, Noted: at, By: "Runa"}
}

func TestAirReadingsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p, m := addAir(t, s)
		warm := decimal.RequireFromString("20.5")
		full := air.Reading{
			Place: p.ID, Meter: m.ID, At: hours(4), Raw: dec("42.5"), RH: dec("41"), Celsius: &warm, Trusted: true, Source: air.Hand, Note: "at opening", Noted: hours(5), By: "Runa",
		}
		first, slip := hand(p.ID, hours(1), "40"), hand(p.ID, hours(8), "14")
		right := hand(p.ID, hours(8), "41")
		right.Note, right.Noted = "read upside down", hours(9)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, r := range []*air.Reading{&full, &first, &slip} {
				if err := tx.AddAirReading(ctx, r); err != nil {
					return err
				}
			}
			right.Replaces = slip.ID
			return tx.AddAirReading(ctx, &right)
		})
		got, err := s.AirReadings(t.Context(), p.ID, start, hours(100))
		same(t, "readings, oldest first", []air.Reading{first, full, slip, right}, got, err)
		got, err = s.AirReadings(t.Context(), p.ID, hours(1), hours(4))
		same(t, "from one moment until before another", []air.Reading{first}, got, err)
		got, err = s.LastAir(t.Context())
		same(t, "last that stands", []air.Reading{right}, got, err)
		page, total, err := s.AirReadingPage(t.Context(), p.ID, start, hours(100), workshop.Page{Offset: 1, Limit: 2})
		same(t, "page, newest first", []air.Reading{slip, full}, page, err)
		if total != 4 {
			t.Errorf("total: got %d, want 4", total)
		}
		one, err := s.AirReadingByID(t.Context(), full.ID)
		same(t, "one reading", &full, one, err)
		_, err = s.AirReadingByID(t.Context(), 999)
		wantKind(t, err, domain.NotFound)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			one, err := tx.AirReading(ctx, slip.ID)
			same(t, "one reading in a transaction", &slip, one, err)
			return nil
		})
	})
}

// Two places, so that the last of one is not taken for the other's; and the last
// by the moment it was read, not by when it was noted.
func TestLastAirOfEachPlace(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p, _ := addAir(t, s)
		other, never := air.Place{Name: "Cabinet", Kind: air.Cabinet}, air.Place{Name: "Rack", Kind: air.Room}
		late, early, there := hand(p.ID, hours(9), "44"), hand(p.ID, hours(3), "45"), hand(0, hours(1), "50")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, add := range []func() error{
				func() error { return tx.AddAirPlace(ctx, &other) },
				func() error { return tx.AddAirPlace(ctx, &never) },
				func() error { return tx.AddAirReading(ctx, &late) },
				func() error { return tx.AddAirReading(ctx, &early) },
				func() error { there.Place = other.ID; return tx.AddAirReading(ctx, &there) },
			} {
				if err := add(); err != nil {
					return err
				}
			}
			return nil
		})
		got, err := s.LastAir(t.Context())
		same(t, "last of each place", []air.Reading{late, there}, got, err)
	})
}

func TestLoggedAirIsAddedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p, m := addAir(t, s)
		const n = 1203 // more than two batches
		rows := make([]air.Reading, n)
		for i := range rows {
			rows[i] = air.Reading{
				Place: p.ID, Meter: m.ID, At: start.Add(time.Duration(i) * time.Minute), Raw: dec("42"), RH: dec("40.5"), Source: air.Logger, Noted: hours(30), By: "Runa",
			}
		}
		add := func(rs []air.Reading, want int) {
			t.Helper()
			inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
				got, err := tx.AddLoggedAir(ctx, rs)
				if got != want {
					t.Errorf("got %d new, want %d", got, want)
				}
				return err
			})
		}
		byHand := hand(p.ID, start, "43")
		byHand.Meter = m.ID
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddAirReading(ctx, &byHand) })
		add(rows[:700], 700) // the reading by hand of the same moment is none of theirs
		add(rows, n-700)
		add(rows, 0)
		add(nil, 0)
		got, err := s.AirReadings(t.Context(), p.ID, start, hours(100))
		if err != nil || len(got) != n+1 {
			t.Fatalf("got %d readings and %v, want %d", len(got), err, n+1)
		}
		i := slices.IndexFunc(got, func(r air.Reading) bool { return r.Source == air.Logger })
		rows[0].ID = got[i].ID
		same(t, "a logged row", rows[0], got[i], nil)
	})
}

func TestAlarmAnswersComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p, _ := addAir(t, s)
		old := air.Answer{Place: p.ID, Alarm: air.TooDry, Since: start, Action: "filled the tray", At: hours(1), By: "Odo"}
		late := air.Answer{Place: p.ID, Alarm: air.OutOfBand, Since: hours(2), Action: "shut the window", At: hours(3), By: "Runa"}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddAlarmAnswer(ctx, &old); err != nil {
				return err
			}
			return tx.AddAlarmAnswer(ctx, &late)
		})
		got, err := s.AlarmAnswers(t.Context(), start)
		same(t, "answers, newest first", []air.Answer{late, old}, got, err)
		got, err = s.AlarmAnswers(t.Context(), hours(2))
		same(t, "answers since", []air.Answer{late}, got, err)
	})
}

// A whole shop is loaded with its air; identities go on from the highest.
func TestLoadKeepsTheAir(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		whole := inventedShop(t)
		place := air.Place{ID: 7, Name: "Bench", Kind: air.Room, Rules: air.UsualRules(air.Room), Version: 1}
		check := air.Calibration{ID: 4, Meter: 3, At: hours(1), By: "Runa", Due: "2026-12-24", Points: []air.Point{{Salt: "other", True: dec("50"), Read: dec("51")}}}
		meter := air.Meter{ID: 3, Name: "Meter", Place: 7, Version: 1, Calibrations: []air.Calibration{check}}
		slip, right := hand(7, hours(2), "14"), hand(7, hours(2), "41")
		slip.ID, right.ID, right.Replaces, right.Note = 11, 12, 11, "turned round"
		answer := air.Answer{ID: 5, Place: 7, Alarm: air.TooDry, Since: hours(2), Action: "read again", At: hours(3), By: "Odo"}
		d := &workshop.Season{
			Shop: whole.Shop, AirPlaces: []air.Place{place}, Meters: []air.Meter{meter}, AirReadings: []air.Reading{slip, right}, AirAnswers: []air.Answer{answer},
		}
		if err := s.Load(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		places, err := s.AirPlaces(t.Context())
		same(t, "places", d.AirPlaces, places, err)
		meters, err := s.Meters(t.Context())
		same(t, "meters", d.Meters, meters, err)
		rs, err := s.AirReadings(t.Context(), 7, start, hours(9))
		same(t, "readings", d.AirReadings, rs, err)
		answers, err := s.AlarmAnswers(t.Context(), start)
		same(t, "answers", d.AirAnswers, answers, err)
		next := hand(7, hours(4), "42")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddAirReading(ctx, &next) })
		if next.ID != 13 {
			t.Errorf("the next reading got %d, want 13", next.ID)
		}
		wantKind(t, s.Load(t.Context(), &workshop.Season{Shop: whole.Shop}), domain.Conflict)
	})
}
