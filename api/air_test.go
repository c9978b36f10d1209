package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/store"
	"winterbench/store/storetest"
)

// airHouse is a house with the usual places and one calibrated meter.
type airHouse struct {
	*house
	bench *house
	room  string // path of the counter wall
	meter int64
}

func openAir(t *testing.T, s *store.Store) *airHouse {
	t.Helper()
	h := open(t, s)
	a := &airHouse{house: h, bench: h.as(domain.Bench)}
	a.bench.post("/air/usual-places", nil).is(200).want("total", "4")
	a.bench.post("/air/usual-places", nil).problem(409, "already")
	list := h.get("/air/places")
	a.room = fmt.Sprintf("/air/places/%d", list.id(fmt.Sprintf("items.%d.id", list.find("items", "name", "Counter wall"))))
	a.meter = a.bench.post("/air/meters", map[string]any{"name": "Wall meter", "place": h.get(a.room).id("id")}).is(201).id("id")
	return a
}

func (a *airHouse) calibrate() reply {
	a.t.Helper()
	return a.bench.post(fmt.Sprintf("/air/meters/%d/calibrations", a.meter), map[string]any{"points": []any{
		map[string]any{"salt": "sodium chloride", "celsius": "25 C", "hours": "12", "read": "77.3 %"},
		map[string]any{"salt": "magnesium chloride", "celsius": "77 F", "hours": "12", "read": "35.8"},
	}}).is(201)
}

func TestAirFromPlaceToAlarm(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		a := openAir(t, s)
		a.post("/air/places", map[string]any{"name": "Rack", "kind": "room"}).problem(403)
		a.get("/air").want("answer", "Bench was not read yet. Counter wall was not read yet. Hold cabinet was not read yet. 1 meter is not trusted.")

		m := fmt.Sprintf("/air/meters/%d", a.meter)
		if doubt := a.get(m).text("doubt"); doubt != "Wall meter was never calibrated" {
			t.Errorf("doubt: got %q", doubt)
		}
		r := a.calibrate() // -2 at 77.3, -3 at 35.8: true values 75.3 and 32.8 from package wood
		r.want("calibrations.0.points.0.true", "75.3").want("calibrations.0.points.0.offset", "-2").want("calibrations.0.points.1.offset", "-3").want("due", "2026-12-25").want("doubt", "")

		note := func(rh string, more ...any) reply {
			body := map[string]any{"rh": rh, "meter": a.meter}
			for i := 0; i < len(more); i += 2 {
				body[more[i].(string)] = more[i+1]
			}
			return a.post(a.room+"/readings", body)
		}
		note("35.8 %", "celsius", "68 F").is(201).want("read", "35.8").want("rh", "32.8").want("celsius", "20").want("source", "hand")
		now := a.get("/air")
		i := now.find("alarms", "kind", "too dry")
		at := func(field string) string { return now.text(fmt.Sprintf("alarms.%d.%s", i, field)) }
		if !strings.Contains(now.text("answer"), "Counter wall is at 32.8 %, too dry since today 08:00.") {
			t.Errorf("answer: got %q", now.text("answer"))
		}
		a.post(a.room+"/answers", map[string]any{"alarm": at("key"), "since": at("since"), "action": ""}).wrong(422, "action", "needed")
		a.post(a.room+"/answers", map[string]any{"alarm": at("key"), "since": "2026-11-25T15:00:00Z", "action": "filled the tray"}).problem(409, "over")
		a.post(a.room+"/answers", map[string]any{"alarm": at("key"), "since": at("since"), "action": "filled the tray"}).is(200).
			want(fmt.Sprintf("alarms.%d.answer.action", i), "filled the tray")

		a.clock.pass(time.Hour)
		slip := note("14").is(201)
		right := a.post(fmt.Sprintf("/air/readings/%d/correction", slip.id("id")), map[string]any{"rh": "47", "meter": a.meter, "reason": "read upside down"}).is(201)
		right.want("replaces", slip.text("id")).want("note", "read upside down")
		a.post(fmt.Sprintf("/air/readings/%d/correction", slip.id("id")), map[string]any{"rh": "48", "reason": "again"}).problem(409, "corrected before")
		a.post(fmt.Sprintf("/air/readings/%d/correction", right.id("id")), map[string]any{"rh": "48", "reason": ""}).wrong(422, "reason", "needed")
		for _, alarm := range a.get("/air").at("alarms").([]any) {
			if alarm.(map[string]any)["kind"] == "too dry" {
				t.Error("the room is still too dry after the slip was corrected")
			}
		}
		list := a.get(a.room + "/readings?limit=1")
		list.want("total", "3").want("items.0.id", right.text("id"))
		a.get(a.room+"/readings?from=2026-11-25T16:30:00Z").want("total", "2")
		a.get(a.room+"/readings?to=2026-11-25T16:30:00Z").want("total", "1")
		a.get(fmt.Sprintf("/air/readings/%d", slip.id("id"))).want("read", "14")

		note("").wrong(422, "rh", "needed")
		note("101").wrong(422, "rh", "0 to 100")
		note("45 in").wrong(422, "rh", "unit")
		note("45", "at", "2026-11-26T00:00:00Z").wrong(422, "at", "future")
		note("45", "at", "2026-11-25T09:00:00Z").is(201).want("trusted", "").want("rh", "45") // before the meter was calibrated
		a.post(a.room+"/readings", map[string]any{"rh": "45", "meter": 99}).wrong(422, "meter", "is not a meter")
		a.post("/air/places/99/readings", map[string]any{"rh": "45"}).problem(404)
	})
}

func TestAirPlacesAndMetersChange(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		a := openAir(t, s)
		seen := a.get(a.room)
		rules := seen.at("rules").(map[string]any)
		rules["low"] = "42.5"
		body := map[string]any{"name": "Counter", "kind": "room", "rules": rules}
		match := headers{"If-Match": seen.header.Get("ETag")}
		a.bench.ask("PUT", a.room, body, match).is(200).want("rules.low", "42.5").want("version", "2")
		a.bench.ask("PUT", a.room, body, match).problem(412)
		a.bench.ask("PUT", a.room, body).problem(http.StatusPreconditionRequired)
		rules["high"] = "12"
		a.bench.ask("PUT", a.room, body, headers{"If-Match": a.get(a.room).header.Get("ETag")}).wrong(422, "rules.high", "below")
		a.bench.post("/air/places", map[string]any{"name": "counter", "kind": "room"}).wrong(409, "name", "taken")
		a.bench.post("/air/places", map[string]any{"name": "Shed", "kind": "shed"}).problem(422)

		m := fmt.Sprintf("/air/meters/%d", a.meter)
		gone := a.bench.ask("PUT", m, map[string]any{"name": "Wall meter", "retired": true}, headers{"If-Match": a.get(m).header.Get("ETag")}).is(200)
		gone.want("retired", "2026-11-25T16:00:00Z").want("doubt", "Wall meter is retired")
		a.clock.pass(time.Hour)
		a.bench.ask("PUT", m, map[string]any{"name": "Old meter", "retired": true}, headers{"If-Match": gone.header.Get("ETag")}).is(200).want("retired", "2026-11-25T16:00:00Z")
		a.bench.post("/air/meters", map[string]any{"name": "OLD METER"}).wrong(409, "name", "taken")
		a.bench.post("/air/meters", map[string]any{"name": "New", "place": 99}).wrong(422, "place", "not a place")
		a.bench.post("/air/meters/99/calibrations", map[string]any{"points": []any{map[string]any{"salt": "other", "celsius": "20", "hours": "9", "read": "50", "true": "53"}}}).problem(404)
		cal := m + "/calibrations"
		a.bench.post(cal, map[string]any{"points": []any{map[string]any{"salt": "sodium chloride", "celsius": "20", "hours": "2", "read": ""}}}).wrong(422, "points[0].read", "needed")
		a.bench.post(cal, map[string]any{"points": []any{map[string]any{"salt": "sodium chloride", "celsius": "20", "hours": "2", "read": "75"}}}).wrong(422, "points[0].hours", "8")
		a.bench.post(cal, map[string]any{"points": []any{}}).problem(422)
	})
}

const logged = "Date/Time;Humidity [%];Temp [°C]\r\n25.11.2026 06:00;43,8;20,5\r\n25.11.2026 06:10;wet;20,5\r\n25.11.2026 06:20;44;20\r\n25.11.2026 06:20;44;20\r\n"

func TestImportAir(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		a := openAir(t, s)
		a.calibrate()
		path := fmt.Sprintf("%s/import?meter=%d", a.room, a.meter)
		csv := headers{"Content-Type": "text/csv"}
		dry := a.post(path+"&dry_run=true", logged, csv).is(200)
		dry.want("taken", "2").want("there", "1").want("wrong", "1").want("lines.0.line", "3").want("from", "2026-11-25T14:00:00Z").want("doubted", "2")
		a.get(a.room+"/readings").want("total", "0")

		keyed := headers{"Content-Type": "text/csv", "Idempotency-Key": "file 1"}
		for range 2 {
			a.post(path, logged, keyed).is(200).want("taken", "2").want("there", "1")
		}
		a.post(path+"&order=day+first", logged, keyed).problem(409)
		a.post(path, logged, csv).is(200).want("taken", "0").want("there", "3")
		a.post(path+"&dry_run=true", logged, csv).is(200).want("taken", "0").want("there", "3")
		a.get(a.room+"/readings").want("total", "2").want("items.0.source", "logger").want("items.0.rh", "44").want("items.0.celsius", "20")

		two := "Time,RH\n03/04/2026 09:00,41\n"
		a.post(path, two, csv).wrong(422, "order", "needed")
		a.post(path+"&order=month+first", two, csv).is(200).want("from", "2026-03-04T17:00:00Z")
		a.post(path, "not a table", csv).wrong(422, "file", "names of its columns")
		a.post(fmt.Sprintf("%s/import?meter=99", a.room), logged, csv).wrong(422, "meter", "is not a meter")
		a.post(fmt.Sprintf("/air/places/99/import?meter=%d", a.meter), logged, csv).problem(422)
		a.post(path, strings.Repeat("x", air.MaxFile+10), csv).problem(413, "5 MB")
	})
}

func TestImportIsForTheStaff(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		a := openAir(t, s)
		a.house.place = ""
		a.post(fmt.Sprintf("%s/import?meter=%d", a.room, a.meter), logged, headers{"Content-Type": "text/csv"}).problem(401)
	})
}
