package workshop_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// The clock on the shop's wall stands at 10:00 on 25 November, when the meter was
// found to read 3 % too high: what it logged from then on is put right by as much.
func TestALoggersFileIsLookedThroughAndTakenIn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, cabinet, m := h.keepAir()
		h.clock.pass(5 * time.Hour)
		at := time.Date(2026, 11, 25, 16, 20, 0, 0, time.UTC)
		_, err := h.work.NoteAir(h.ctx, h.bench, air.Reading{Place: cabinet.ID, Meter: m, Raw: dec("50"), At: at}) // by hand: the file's own is new beside it
		h.must(err)
		file := workshop.AirFile{Place: cabinet.ID, Meter: m, CSV: []byte("Time;RH %\n" +
			"2026-11-25 09:50;47,0\n2026-11-25 10:10;51,0\n2026-11-25 10:20;48,5\n2026-11-25 10:20;48,5\n2026-11-25 10:30;damp\n2026-11-25 10:40;55,0\n")}
		seen, err := h.work.PreviewAir(h.ctx, h.bench, file)
		h.must(err)
		if seen.Taken != 4 || seen.There != 1 || seen.Wrong != 1 || len(seen.Errors) != 1 || seen.Errors[0].Line != 6 || len(seen.Sample) != 4 {
			t.Errorf("looked through: %+v, want 4 new, 1 twice and line 6 wrong", seen)
		}
		if !seen.From.Equal(at.Add(-30*time.Minute)) || !seen.To.Equal(at.Add(20*time.Minute)) || !seen.Low.Equal(dec("45.5")) || !seen.High.Equal(dec("52")) {
			t.Errorf("from %v to %v, %s to %s %%; want 15:50 to 16:40 and 45.5 to 52 %%", seen.From, seen.To, seen.Low, seen.High)
		}
		if seen.Doubted != 1 || !strings.Contains(seen.Doubt, "never calibrated") || seen.Sample[0].Trusted || !seen.Sample[1].RH.Equal(dec("48")) || !seen.Sample[1].Trusted {
			t.Errorf("%d doubted because %q, the first two are %+v", seen.Doubted, seen.Doubt, seen.Sample[:2])
		}
		if got := h.logged(cabinet.ID); got != 0 {
			t.Fatalf("looking through a file kept %d readings", got)
		}

		keyed := workshop.WithKey(h.ctx, "file", "one")
		for range 2 { // the same form sent twice
			got, err := h.work.ImportAir(keyed, h.bench, file)
			h.must(err)
			if got.Taken != 4 || got.There != 1 || h.logged(cabinet.ID) != 4 {
				t.Errorf("took in %d and left %d out, %d are kept; want 4, 1 and 4", got.Taken, got.There, h.logged(cabinet.ID))
			}
		}
		for name, read := range map[string]func() (*workshop.AirImport, error){
			"looked through": func() (*workshop.AirImport, error) { return h.work.PreviewAir(h.ctx, h.bench, file) },
			"taken in":       func() (*workshop.AirImport, error) { return h.work.ImportAir(h.ctx, h.bench, file) },
		} {
			if got, err := read(); err != nil || got.Taken != 0 || got.There != 5 || h.logged(cabinet.ID) != 4 {
				t.Errorf("the same file %s again: %+v, %v; want nothing new", name, got, err)
			}
		}
	})
}

// logged counts what loggers noted at a place.
func (h *house) logged(id domain.AirPlaceID) int {
	h.t.Helper()
	rs, err := h.store.AirReadings(h.ctx, id, h.clock.Now().Add(-h.day), h.clock.Now())
	h.must(err)
	n := 0
	for _, r := range rs {
		if r.Source == air.Logger {
			n++
		}
	}
	return n
}

func TestALoggersFileThatCannotBeTaken(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h := open(t, s)
	room, _, m := h.keepAir()
	good := []byte("Time;RH %\n2026-11-25 09:50;47,0\n")
	for name, read := range map[string]func(domain.Actor, workshop.AirFile) (*workshop.AirImport, error){
		"look": func(by domain.Actor, f workshop.AirFile) (*workshop.AirImport, error) {
			return h.work.PreviewAir(h.ctx, by, f)
		},
		"take": func(by domain.Actor, f workshop.AirFile) (*workshop.AirImport, error) {
			return h.work.ImportAir(h.ctx, by, f)
		},
	} {
		for _, c := range []struct {
			by    domain.Actor
			file  workshop.AirFile
			kind  domain.Kind
			field string
		}{
			{domain.Actor{}, workshop.AirFile{Place: room.ID, Meter: m, CSV: good}, domain.SignIn, ""},
			{h.bench, workshop.AirFile{Place: 99, Meter: m, CSV: good}, domain.Invalid, "place"},
			{h.bench, workshop.AirFile{Place: room.ID, Meter: 99, CSV: good}, domain.Invalid, "meter"},
			{h.bench, workshop.AirFile{Place: room.ID, Meter: m, CSV: []byte("not a table")}, domain.Invalid, "file"},
			{h.bench, workshop.AirFile{Place: room.ID, Meter: m, CSV: []byte("Time,RH\n03/04/2026 09:00,41\n")}, domain.Invalid, "order"},
		} {
			got, err := read(c.by, c.file)
			if got != nil || domain.KindOf(err) != c.kind || c.field != "" && domain.FieldsOf(err)[c.field] == "" {
				t.Errorf("%s: got %+v, %v; want kind %d with the field %q", name, got, err, c.kind, c.field)
			}
		}
		nothing, err := read(h.bench, workshop.AirFile{Place: room.ID, Meter: m, CSV: []byte("Time;RH %\n2026-11-25 09:50;damp\n")})
		if err != nil || nothing.Taken != 0 || nothing.Wrong != 1 || !nothing.From.IsZero() || len(nothing.Sample) != 0 {
			t.Errorf("%s: a file without one good line: %+v, %v", name, nothing, err)
		}
	}
	if got := h.logged(room.ID); got != 0 {
		t.Errorf("files that cannot be taken left %d readings", got)
	}
}

func TestALongFileIsShownByItsFirstTen(t *testing.T) {
	s := storetest.Open(t, "sqlite")
	h := open(t, s)
	room, _, m := h.keepAir()
	file := "Time;RH %\n"
	for i := range 25 {
		file += fmt.Sprintf("2026-11-25 08:%02d;%d\n", i, 40+i%7)
	}
	got, err := h.work.ImportAir(h.ctx, h.counter, workshop.AirFile{Place: room.ID, Meter: m, CSV: []byte(file)})
	h.must(err)
	if got.Taken != 25 || len(got.Sample) != 10 || got.Sample[0].By != "Ivo" || !got.Sample[9].At.Equal(got.From.Add(9*time.Minute)) {
		t.Errorf("took %d, shows %d", got.Taken, len(got.Sample))
	}
}
