package workshop_test

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// keepAir begins with the usual places and a meter that reads 3 % too high at
// the salt of 75.3 %.
func (h *house) keepAir() (room, cabinet air.Place, m domain.MeterID) {
	h.t.Helper()
	h.must(h.work.SetUpAir(h.ctx, h.bench))
	all, err := h.store.AirPlaces(h.ctx)
	h.must(err)
	for _, p := range all {
		switch p.Name {
		case "Bench":
			room = p
		case "Hold cabinet":
			cabinet = p
		}
	}
	m, err = h.work.SaveMeter(h.ctx, h.bench, air.Meter{Name: "Cabinet meter", Place: cabinet.ID})
	h.must(err)
	_, err = h.work.Calibrate(h.ctx, h.bench, air.Calibration{Meter: m, Points: []air.Point{
		{Salt: "sodium chloride", Celsius: dec("25"), Hours: dec("10"), Read: dec("78.3")},
	}})
	h.must(err)
	return room, cabinet, m
}

// inHold brings a guitar into the cabinet.
func (h *house) inHold() (domain.JobID, domain.HoldID) {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q := h.said(id, crack())
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone"}, nil))
	h.must(h.work.StartHold(h.ctx, h.bench, id, h.task(id, "RH").ID, "place 1"))
	j, err := h.store.JobByID(h.ctx, id)
	h.must(err)
	return id, j.Holds[0].ID
}

func TestAirIsKeptByThoseWhoMay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.refused(h.work.SetUpAir(h.ctx, h.counter), domain.Denied, "may not")
		room, _, m := h.keepAir()
		h.refused(h.work.SetUpAir(h.ctx, h.bench), domain.Conflict, "already")
		_, err := h.work.SaveMeter(h.ctx, h.counter, air.Meter{Name: "Mine"})
		h.refused(err, domain.Denied, "may not")
		_, err = h.work.PreviewAir(h.ctx, domain.Actor{}, workshop.AirFile{Place: room.ID, Meter: m})
		h.refused(err, domain.SignIn, "sign in")
		id, err := h.work.NoteAir(h.ctx, h.counter, air.Reading{Place: room.ID, Meter: m, Raw: dec("45")})
		h.must(err)
		got, err := h.store.AirReadingByID(h.ctx, id)
		h.must(err)
		if !got.RH.Equal(dec("42")) || !got.Trusted || got.By != "Ivo" || !got.At.Equal(h.clock.Now()) {
			t.Errorf("got %+v, want 42 %%, trusted, by Ivo, now", got)
		}
	})
}

func TestRetiredPlacesTakeNoReadings(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		room, _, m := h.keepAir()
		room.Retired = h.clock.Now().Add(99 * h.day) // whatever the caller says
		_, err := h.work.SavePlace(h.ctx, h.owner, room)
		h.must(err)
		_, err = h.work.NoteAir(h.ctx, h.bench, air.Reading{Place: room.ID, Raw: dec("45")})
		h.refused(err, domain.Invalid, "no longer in use")
		_, err = h.work.SaveMeter(h.ctx, h.bench, air.Meter{Name: "Another", Place: room.ID})
		h.refused(err, domain.Invalid, "no longer in use")
		all, err := h.store.Meters(h.ctx)
		h.must(err)
		gone := all[0]
		gone.Retired = h.clock.Now()
		_, err = h.work.SaveMeter(h.ctx, h.bench, gone)
		h.must(err)
		trusted, why, err := workshop.TrustOf(h.ctx, h.store, m, h.clock.Now())
		h.must(err)
		if trusted || !strings.Contains(why, "is retired") {
			t.Errorf("a retired meter: got trusted %v because %q", trusted, why)
		}
		_, _, err = workshop.TrustOf(h.ctx, h.store, 99, h.clock.Now())
		h.refused(err, domain.NotFound, "no meter")
	})
}

func TestCalibrationsComeInOrder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, _, m := h.keepAir()
		older := air.Calibration{Meter: m, At: h.clock.Now().Add(-time.Hour), Points: []air.Point{{Salt: "sodium chloride", Celsius: dec("20"), Hours: dec("10"), Read: dec("75")}}}
		_, err := h.work.Calibrate(h.ctx, h.bench, older)
		h.refused(err, domain.Conflict, "was calibrated after that")
		newer := older
		newer.At, newer.Points = time.Time{}, []air.Point{{Salt: "sodium chloride", Celsius: dec("20"), Hours: dec("10"), Read: dec("60")}}
		_, err = h.work.Calibrate(h.ctx, h.bench, newer)
		h.refused(err, domain.Invalid, "really shows that")
		newer.Sure = true
		_, err = h.work.Calibrate(h.ctx, h.bench, newer)
		h.must(err)
		if trusted, why, _ := workshop.TrustOf(h.ctx, h.store, m, h.clock.Now()); trusted || !strings.Contains(why, "out by 15.5 %") {
			t.Errorf("shows 60 for 75.5: got trusted %v because %q", trusted, why)
		}
		newer.Points[0].Read, newer.Wrong, newer.Sure = dec("78"), "60 was a slip for 78", false
		_, err = h.work.Calibrate(h.ctx, h.bench, newer)
		h.must(err)
		if trusted, why, _ := workshop.TrustOf(h.ctx, h.store, m, h.clock.Now()); !trusted {
			t.Errorf("after the slip was replaced: got a doubt, %s", why)
		}
		older.Meter = 99
		_, err = h.work.Calibrate(h.ctx, h.bench, older)
		h.refused(err, domain.Invalid, "not a meter")
	})
}

func TestHoldReadingIsPutRightByItsMeter(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, _, m := h.keepAir()
		id, hold := h.inHold()
		rh := measure(t, "43 %", wood.Percent)
		h.refused(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{RH: rh, Meter: 99}), domain.Invalid, "not a meter")
		h.refused(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{RH: measure(t, "101 %", wood.Percent), Meter: m}), domain.Invalid, "0 to 100")
		h.must(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{RH: rh, Meter: m}))
		h.must(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{RH: rh, Trusted: true, Offset: dec("9")}))
		h.must(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{Weight: measure(t, "2100 g", wood.Gram), Meter: m}))
		h.clock.pass(90 * h.day) // past the day the meter was due
		h.must(h.work.NoteReading(h.ctx, h.bench, id, hold, job.Reading{RH: rh, Meter: m}))
		j, err := h.store.JobByID(h.ctx, id)
		h.must(err)
		for i, want := range []struct {
			rh, offset string
			trusted    bool
		}{{"40", "-3", true}, {"43", "0", false}, {"0", "0", false}, {"40", "-3", false}} {
			r := j.Holds[0].Readings[i]
			if !r.RH.Value.Equal(dec(want.rh)) || !r.Offset.Equal(dec(want.offset)) || r.Trusted != want.trusted {
				t.Errorf("reading %d: got %s %% with offset %s, trusted %v; want %+v", i, r.RH.Value, r.Offset, r.Trusted, want)
			}
			if r.RH.Is() && r.RH.Typed != "43 %" {
				t.Errorf("reading %d: typed %q, want what the meter showed", i, r.RH.Typed)
			}
		}
	})
}

// An alarm that goes on keeps its beginning, and with it its answer, within the
// week; it is over when the air is.
func TestAnswersLastAsLongAsTheirAlarm(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s) // a Wednesday
		room, _, m := h.keepAir()
		read := func(rh string) {
			t.Helper()
			_, err := h.work.NoteAir(h.ctx, h.bench, air.Reading{Place: room.ID, Meter: m, Raw: dec(rh)})
			h.must(err)
		}
		dry := func() *air.Alarm {
			t.Helper()
			n, err := workshop.AirOf(h.ctx, h.store, h.clock.Now())
			h.must(err)
			for _, a := range n.Alarms {
				if a.Place == room.ID && a.Kind == air.OutOfBand {
					return &a
				}
			}
			return nil
		}
		read("41")
		h.clock.pass(4 * time.Hour)
		a := dry()
		if a == nil || a.Answered != nil {
			t.Fatalf("got %+v, want an alarm nobody saw to", a)
		}
		answer := air.Answer{Place: a.Place, Alarm: a.Key(), Since: a.Since, Action: "filled the humidifier"}
		_, err := h.work.AnswerAlarm(h.ctx, h.counter, answer)
		h.must(err)
		h.clock.pass(2 * h.day)
		read("42")
		if a := dry(); a == nil || a.Answered == nil || a.Answered.Action != answer.Action || a.Answered.By != "Ivo" {
			t.Errorf("two days on: got %+v, want the same alarm with its answer", a)
		}
		read("46")
		if a := dry(); a != nil {
			t.Errorf("back in the band: got %+v, want none", a)
		}
		_, err = h.work.AnswerAlarm(h.ctx, h.counter, answer)
		h.refused(err, domain.Conflict, "is over")
	})
}

func TestAirAnswer(t *testing.T) {
	shop := settings(t)
	now := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC) // 10:00 in Winnipeg
	last := func(rh string) *air.Reading { return &air.Reading{RH: dec(rh), At: now.Add(-time.Hour)} }
	room := air.Place{ID: 1, Name: "The room", Kind: air.Room, Rules: air.UsualRules(air.Room)}
	cabinet := air.Place{ID: 2, Name: "The cabinet", Kind: air.Cabinet, Rules: air.UsualRules(air.Cabinet)}
	out := air.Place{ID: 3, Name: "Outdoors", Kind: air.Outdoors}
	low := air.Alarm{Kind: air.OutOfBand, Since: now.Add(-18 * time.Hour)}
	due := air.Alarm{Kind: air.MeterDoubt, Meter: 4}
	checked := air.Calibration{At: now.AddDate(0, -2, 0), Due: "2026-10-25", Points: []air.Point{{True: dec("75"), Read: dec("74")}}}
	wanting := []air.Meter{{ID: 4, Calibrations: []air.Calibration{checked}}, {ID: 5}}
	for want, n := range map[string]*workshop.AirNow{
		"No place of the shop's air is kept yet: begin with the usual ones.": {},
		"The room is at 38 %, below its band since yesterday 16:00. The cabinet is at 46 %. 1 meter is due.": {
			Places: []workshop.PlaceNow{{Place: room, Last: last("38"), Alarms: []air.Alarm{low}}, {Place: cabinet, Last: last("46")}, {Place: out, Last: last("80")}},
			Alarms: []air.Alarm{low, due}, Meters: wanting,
		},
		"The cabinet is at 61 %, too moist: stop and open it. 1 meter is due, 1 is not trusted.": {
			Places: []workshop.PlaceNow{{Place: cabinet, Last: last("61"), Alarms: []air.Alarm{{Kind: air.StopNow, Since: now}}}},
			Alarms: []air.Alarm{due, {Kind: air.MeterDoubt, Meter: 5}}, Meters: wanting,
		},
		"The room is at 33.3 %, too dry since today 10:00. The cabinet was not read yet.": {
			Places: []workshop.PlaceNow{{Place: room, Last: last("33.28"), Alarms: []air.Alarm{{Kind: air.TooDry, Since: now}}}, {Place: cabinet}},
		},
		"The room is at 51 %, above its band since Mon 23 Nov 10:00.": {
			Places: []workshop.PlaceNow{{Place: room, Last: last("51"), Alarms: []air.Alarm{{Kind: air.OutOfBand, Since: now.Add(-48 * time.Hour)}}}},
		},
		"No room and no cabinet is kept.": {Places: []workshop.PlaceNow{{Place: out}}},
	} {
		if got := workshop.AirAnswer(n, &shop, now); got != want {
			t.Errorf("got  %q\nwant %q", got, want)
		}
	}
}
