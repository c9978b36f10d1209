package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
)

// airy is a shop with the usual places and a dial at the bench, calibrated five
// days ago to read 2 % too low.
type airy struct {
	*openShop
	bench domain.AirPlaceID
	meter domain.MeterID
}

func newAiry(t *testing.T) *airy {
	t.Helper()
	s := &airy{openShop: newShop(t)}
	s.must(s.work.SetUpAir(s.Context(), s.owner))
	places, err := s.store.AirPlaces(s.Context())
	s.must(err)
	for _, p := range places {
		if p.Name == "Bench" {
			s.bench = p.ID
		}
	}
	s.meter, err = s.work.SaveMeter(s.Context(), s.owner, air.Meter{Name: "Dial", Place: s.bench})
	s.must(err)
	twenty := decimal.NewFromInt(20)
	_, err = s.work.Calibrate(s.Context(), s.owner, air.Calibration{
		Meter: s.meter, At: s.clock.now.AddDate(0, 0, -5),
		Points: []air.Point{{Salt: air.OtherSalt, Celsius: twenty, Hours: twenty, True: decimal.NewFromInt(75), Read: decimal.NewFromInt(73)}}, Note: "a salt of known humidity",
	})
	s.must(err)
	return s
}

// read notes what the dial shows at the bench, some hours ago.
func (s *airy) read(raw string, hours int) {
	s.Helper()
	_, err := s.work.NoteAir(s.Context(), s.owner, air.Reading{Place: s.bench, Meter: s.meter, Raw: decimal.RequireFromString(raw), At: s.clock.now.Add(-time.Duration(hours) * time.Hour)})
	s.must(err)
}

func text(n int64) string { return strconv.FormatInt(n, 10) }

func (s *airy) benchForm(pairs ...string) []string {
	return append([]string{"place", text(int64(s.bench)), "meter", text(int64(s.meter))}, pairs...)
}

// refused sends a form that must come back with 422 and returns the page.
func (s *openShop) refused(path string, pairs ...string) *html.Node {
	s.Helper()
	w := s.as(s.owner, path, values(pairs...), "")
	if w.Code != http.StatusUnprocessableEntity {
		s.Fatalf("POST %s: got %d, want 422\n%s", path, w.Code, plain(w.Body.String()))
	}
	checkHTML(s.T, w.Body.Bytes())
	return parse(s.T, w.Body.String())
}

// wantField checks what a field holds and that it says what is wrong.
func (s *openShop) wantField(page *html.Node, name, value string, wrong bool) {
	s.Helper()
	n := find(page, "name", name)
	if n == nil {
		s.Fatalf("the page has no field %q", name)
	}
	got := attr(n, "value")
	switch n.Data {
	case "select":
		got = attr(find(n, "selected", ""), "value")
		for k := n.FirstChild; k != nil; k = k.NextSibling {
			for _, a := range k.Attr {
				if a.Key == "selected" {
					got = attr(k, "value")
				}
			}
		}
	case "textarea":
		got = textOf(n)
	}
	if got != value || (attr(n, "aria-invalid") == "true") != wrong {
		s.Errorf("%s: got %q, wrong %q; want %q, wrong %v", name, got, attr(n, "aria-invalid"), value, wrong)
	}
}

func TestAirFromNothing(t *testing.T) {
	s := newShop(t)
	page := s.get("/air")
	if find(page, "action", "/air/set-up") == nil {
		t.Error("an empty shop is not offered the usual places")
	}
	if got := s.post("/air/set-up"); got != "/air/places" {
		t.Errorf("leads to %q, want the places", got)
	}
	if page = s.get("/air/places"); !strings.Contains(textOf(page), "Hold cabinet") || find(page, "action", "/air/set-up") != nil {
		t.Error("the usual places are not kept, or are offered again")
	}
	ruben := s.person("Ruben", domain.Counter)
	if w := s.as(ruben, "/air/places/new", nil, ""); w.Code != http.StatusForbidden {
		t.Errorf("the counter opens the form of a place: got %d, want 403", w.Code)
	}
	if w := s.as(ruben, "/meters/new", nil, ""); w.Code != http.StatusForbidden {
		t.Errorf("the counter opens the form of a meter: got %d, want 403", w.Code)
	}
	if w := s.as(ruben, "/air", nil, ""); w.Code != http.StatusOK || find(parse(t, w.Body.String()), "action", "/air/readings") == nil {
		t.Errorf("the counter may not note a reading: got %d", w.Code)
	}
}

// A dial that reads 2 % too low shows 40: the air is at 42 %.
func TestNoteAirOnThePage(t *testing.T) {
	s := newAiry(t)
	ilse := s.session(s.owner)
	if w := s.send(ilse, "/air/readings", values(s.benchForm("rh", "40", "celsius", "68 F")...), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("got %d, want 303\n%s", w.Code, plain(w.Body.String()))
	}
	page := parse(t, s.send(ilse, "/air", nil, "").Body.String())
	got := textOf(page)
	for _, want := range []string{"42.0 %", "20.0 °C", "Inside its band", "Dial: ✓ trusted", "Noted: 42 %, put right from the 40 %"} {
		if !strings.Contains(got, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	page = s.get("/air/readings?place=" + text(int64(s.bench)))
	if !strings.Contains(textOf(find(page, "class", "lines")), "42.0") {
		t.Error("the list does not hold the reading")
	}
}

// 20 °C is 68 °F and -40 is the same in both, by definition.
func TestTemperatureInTheShopsUnit(t *testing.T) {
	for celsius, want := range map[int64][2]string{20: {"20.0 °C", "68 °F"}, -40: {"−40.0 °C", "−40 °F"}} {
		c := decimal.NewFromInt(celsius)
		if got := [2]string{warmText(&c, wood.Units{}), warmText(&c, wood.Units{Temperature: "F"})}; got != want {
			t.Errorf("got %v, want %v", got, want)
		}
	}
}

func TestNoteAirNonsense(t *testing.T) {
	s := newAiry(t)
	for wrong, form := range map[string][]string{
		"rh":      s.benchForm("rh", "140", "celsius", "20", "at", "2026-12-02T17:30", "note", "by hand"),
		"celsius": s.benchForm("rh", "41", "celsius", "90", "at", "2026-12-02T17:30", "note", "by hand"),
		"at":      s.benchForm("rh", "41", "celsius", "20", "at", "2027-12-02T17:30", "note", "by hand"),
	} {
		page := s.refused("/air/readings", form...)
		v := values(form...)
		for _, name := range []string{"rh", "celsius", "at", "note", "meter"} {
			s.wantField(page, name, v.Get(name), name == wrong)
		}
	}
	for _, rh := range []string{"", "45 in", "wet"} {
		s.wantField(s.refused("/air/readings", s.benchForm("rh", rh)...), "rh", rh, true)
	}
	s.refused("/air/readings", "place", "999", "rh", "40")
	s.refused("/air/readings", "rh", "40")
	last, err := s.store.LastAir(s.Context())
	s.must(err)
	if len(last) != 0 {
		t.Errorf("nonsense left %d readings, want none", len(last))
	}
}

func TestCorrectAirOnThePage(t *testing.T) {
	s := newAiry(t)
	s.read("54", 1)
	last, err := s.store.LastAir(s.Context())
	s.must(err)
	at := "/air/readings/" + text(int64(last[0].ID))
	page := s.refused(at, "meter", text(int64(s.meter)), "rh", "44", "note", "")
	s.wantField(page, "note", "", true)
	s.wantField(page, "rh", "44", false)
	s.post(at, "meter", text(int64(s.meter)), "rh", "44", "note", "a five for a four")
	page = s.get("/air/readings?place=" + text(int64(s.bench)))
	if find(page, "class", "struck") == nil || !strings.Contains(textOf(page), "a five for a four") {
		t.Error("the old reading is not struck, or the reason is not shown")
	}
	if w := s.as(s.owner, at, values("meter", text(int64(s.meter)), "rh", "43", "note", "again"), ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(plain(w.Body.String()), "corrected before") {
		t.Errorf("a second correction: got %d\n%s", w.Code, plain(w.Body.String()))
	}
}

// 30 % as read is 32 %, below the alarm at once at 35 %.
func TestAlarmIsAnswered(t *testing.T) {
	s := newAiry(t)
	s.read("30", 2)
	page := s.get("/air")
	form := find(page, "action", "/air/alarms")
	if form == nil {
		t.Fatal("no alarm can be answered")
	}
	sent := []string{"place", attr(find(form, "name", "place"), "value"), "alarm", attr(find(form, "name", "alarm"), "value"), "since", attr(find(form, "name", "since"), "value")}
	back := s.refused("/air/alarms", append(sent, "action", "")...)
	s.wantField(back, "action", "", true)
	s.post("/air/alarms", append(sent, "action", "filled the humidifier")...)
	page = s.get("/air")
	if find(page, "action", "/air/alarms") != nil || !strings.Contains(textOf(page), "filled the humidifier. Ilse") {
		t.Errorf("the alarm is not seen to\n%s", textOf(find(page, "id", "main")))
	}
	s.read("41", 0)
	if w := s.as(s.owner, "/air/alarms", values(append(sent, "action", "late")...), ""); w.Code != http.StatusConflict {
		t.Errorf("an alarm that is over: got %d, want 409", w.Code)
	}
}

func TestBenchIsToldToStop(t *testing.T) {
	s := newAiry(t)
	places, err := s.store.AirPlaces(s.Context())
	s.must(err)
	for _, p := range places {
		if p.Kind == air.Cabinet {
			_, err = s.work.NoteAir(s.Context(), s.owner, air.Reading{Place: p.ID, Raw: decimal.NewFromInt(63)})
			s.must(err)
		}
	}
	if got := textOf(find(s.get("/bench"), "class", "caution stop")); !strings.Contains(got, "Hold cabinet") {
		t.Errorf("got %q, want the cabinet named", got)
	}
}

func TestPlaceForm(t *testing.T) {
	s := newAiry(t)
	at := airPlacePath(s.bench)
	fields := []string{"name", "Bench", "kind", "room", "version", "1", "rules.target", "45", "rules.low", "42", "rules.high", "41", "rules.out_hours", "4", "rules.stuck_after", "5"}
	page := s.refused(at, fields...)
	s.wantField(page, "rules.high", "41", true)
	s.wantField(page, "rules.low", "42", false)
	w := s.as(s.owner, at, values(append(fields, "do", "usual")...), "")
	s.wantField(parse(t, w.Body.String()), "rules.high", "50", false)
	fields[11] = "48,5"
	s.post(at, fields...)
	if got := textOf(s.get("/air/places")); !strings.Contains(got, "42 to 48.5 %") {
		t.Errorf("the band is not kept: %s", got)
	}
	if got := s.refused(at, append(fields[:6:6], "rules.low", "x")...); got != nil {
		s.wantField(got, "rules.low", "x", true)
	}
	s.post("/air/places/new", "name", "Case rack", "kind", "case")
	if got := textOf(s.get("/air/places")); !strings.Contains(got, "Case rack") {
		t.Error("the new place is not on the list")
	}
}

// Over sodium chloride at 20 °C the air is at 75.5 % (Greenspan 1977).
func TestCalibrateOnThePage(t *testing.T) {
	s := newAiry(t)
	at := meterPath(s.meter) + "/calibrations"
	first := []string{"points[0].salt", "sodium chloride", "points[0].celsius", "20", "points[0].hours", "12", "points[0].read", "75"}
	page := s.refused(at, "points[0].salt", "sodium chloride", "points[0].celsius", "20", "points[0].hours", "2", "points[0].read", "77", "note", "in the jar")
	s.wantField(page, "points[0].hours", "2", true)
	s.wantField(page, "points[0].read", "77", false)
	page = s.refused(at, append(first, "points[1].salt", "magnesium chloride", "points[1].celsius", "20", "points[1].hours", "12", "points[1].read", "90")...)
	s.wantField(page, "points[1].read", "90", true)
	s.post(at, first...)
	got := textOf(s.get(meterPath(s.meter)))
	for _, want := range []string{"75.5", "+0.5", "Dial is trusted until", "30.5"} {
		if !strings.Contains(got, want) {
			t.Errorf("the meter's page does not say %q", want)
		}
	}
	slip := []string{"points[0].salt", "sodium chloride", "points[0].celsius", "20", "points[0].hours", "12", "points[0].read", "60"}
	page = s.refused(at, slip...)
	s.wantField(page, "sure", "yes", true)
	s.wantField(page, "points[0].read", "60", false)
	s.post(at, append(slip, "sure", "yes")...)
	if got := textOf(s.get(meterPath(s.meter))); !strings.Contains(got, "out by 15.5 %") {
		t.Error("60 for 75.5 that was ticked is not out by 15.5")
	}
	s.post(at, append(first, "wrong", "a 60 for a 75")...)
	got = textOf(s.get(meterPath(s.meter)))
	for _, want := range []string{"Dial is trusted until", "replaced: a 60 for a 75"} {
		if !strings.Contains(got, want) {
			t.Errorf("after the slip was replaced the page does not say %q", want)
		}
	}
	if w := s.as(s.person("Ruben", domain.Counter), at, values(first...), ""); w.Code != http.StatusForbidden {
		t.Errorf("the counter calibrates: got %d, want 403", w.Code)
	}
}

func TestMeterForm(t *testing.T) {
	s := newAiry(t)
	page := s.refused("/meters/new", "name", "", "note", strings.Repeat("x", 301))
	s.wantField(page, "name", "", true)
	if got := s.post("/meters/new", "name", "Case logger", "note", "travels"); !strings.HasPrefix(got, "/meters/") {
		t.Errorf("leads to %q, want the new meter", got)
	}
	s.refused("/meters/new", "name", "Case logger")
	if got := textOf(s.get("/meters")); !strings.Contains(got, "Case logger was never calibrated") {
		t.Errorf("the list does not doubt it: %s", got)
	}
}

const loggerFile = "Time,RH %,Temp C\n2026-12-01 09:00,40.5,20.1\n2026-12-01 10:00,wet,20.1\n2026-12-01 11:00,41.5,20.2\n"

func TestImportLooksFirst(t *testing.T) {
	s := newAiry(t)
	w := s.as(s.owner, "/air/import", values(s.benchForm("text", loggerFile, "do", "look")...), "")
	page := parse(t, w.Body.String())
	got := textOf(page)
	for _, want := range []string{"2 readings are new", "1 line makes no sense", "42.5", "no number as humidity"} {
		if w.Code != http.StatusOK || !strings.Contains(got, want) {
			t.Errorf("got %d and no %q", w.Code, want)
		}
	}
	checkHTML(t, w.Body.Bytes())
	if last, err := s.store.LastAir(s.Context()); err != nil || len(last) != 0 {
		t.Fatalf("a look left %d readings (%v), want none", len(last), err)
	}
	kept := attr(find(page, "name", "kept"), "value")
	if to := s.post("/air/import", s.benchForm("kept", kept, "do", "take")...); to != airReadingsPath(s.bench) {
		t.Errorf("leads to %q, want the readings of the bench", to)
	}
	if got := textOf(s.get(airReadingsPath(s.bench))); !strings.Contains(got, "43.5") || !strings.Contains(got, "out of a logger’s file") {
		t.Errorf("the readings are not there: %s", got)
	}
	w = s.as(s.owner, "/air/import", values(s.benchForm("kept", kept, "do", "look")...), "")
	if got := plain(w.Body.String()); !strings.Contains(got, "2 are there already") || find(parse(t, w.Body.String()), "value", "take") != nil {
		t.Errorf("the same file again: got %s", got)
	}
}

func TestImportNonsense(t *testing.T) {
	s := newAiry(t)
	page := s.refused("/air/import", s.benchForm("text", "no table at all", "do", "look")...)
	s.wantField(page, "file", "", true)
	s.wantField(page, "text", "no table at all", false)
	s.wantField(page, "meter", text(int64(s.meter)), false)
	page = s.refused("/air/import", s.benchForm("text", "Time,RH\n03/04/2026 09:00,41\n", "do", "look")...)
	s.wantField(page, "order", "", true)
	kept := attr(find(page, "name", "kept"), "value")
	w := s.as(s.owner, "/air/import", values(s.benchForm("kept", kept, "order", "day first", "do", "look")...), "")
	if got := plain(w.Body.String()); w.Code != http.StatusOK || !strings.Contains(got, "Fri 3 Apr 2026") {
		t.Errorf("with its order chosen: got %d and %s", w.Code, got)
	}
	s.wantField(s.refused("/air/import", "place", text(int64(s.bench)), "text", loggerFile), "meter", "", true)
	s.wantField(s.refused("/air/import", s.benchForm("kept", "broken")...), "file", "", true)
	s.wantField(s.refused("/air/import", s.benchForm()...), "file", "", true)
}

// upload sends a file as a browser does.
func (s *airy) upload(content []byte) *httptest.ResponseRecorder {
	s.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for _, p := range [][2]string{{"place", text(int64(s.bench))}, {"meter", text(int64(s.meter))}, {"do", "look"}, {"text", ""}} {
		s.must(m.WriteField(p[0], p[1]))
	}
	part, err := m.CreateFormFile("file", "logger.csv")
	s.must(err)
	_, err = part.Write(content)
	s.must(err)
	s.must(m.Close())
	r := httptest.NewRequest(http.MethodPost, "/air/import", &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.AddCookie(&http.Cookie{Name: s.sessions.Cookie.Name, Value: s.session(s.owner)})
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w
}

func TestImportOfAnUpload(t *testing.T) {
	s := newAiry(t)
	if w := s.upload([]byte(loggerFile)); w.Code != http.StatusOK || !strings.Contains(plain(w.Body.String()), "2 readings are new") {
		t.Errorf("got %d\n%s", w.Code, plain(w.Body.String()))
	}
	if w := s.upload(bytes.Repeat([]byte("a"), air.MaxFile+1)); w.Code != http.StatusUnprocessableEntity || !strings.Contains(plain(w.Body.String()), "5 MB") {
		t.Errorf("too large: got %d, want 422", w.Code)
	}
}

// A file kept in a form must come back byte for byte, and one that unpacks to
// more than the largest file must not fill the memory.
func TestPackedComesBack(t *testing.T) {
	raw := append([]byte("\xff\xfeT\x00\r\n"), bytes.Repeat([]byte{0, 1, 2, 255}, 1000)...)
	if got, err := unpacked(packed(raw)); err != nil || !bytes.Equal(got, raw) {
		t.Errorf("got %d bytes and %v, want the %d packed", len(got), err, len(raw))
	}
	if got, err := unpacked(packed(make([]byte, 3*air.MaxFile))); err != nil || len(got) != air.MaxFile+1 {
		t.Errorf("got %d bytes and %v, want it cut at %d", len(got), err, air.MaxFile+1)
	}
}

// The lowest and the highest reading of a long series stay on the picture.
func TestThinnedKeepsExcursions(t *testing.T) {
	begin := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)
	var rs []air.Reading
	for i := range 3000 {
		rh := int64(45)
		if i == 1234 {
			rh = 71
		}
		if i == 1235 {
			rh = 12
		}
		rs = append(rs, air.Reading{At: begin.Add(time.Duration(i) * 20 * time.Minute), RH: decimal.NewFromInt(rh)})
	}
	out := thinned(rs, 200)
	low, high := out[0].RH, out[0].RH
	for i, r := range out {
		low, high = decimal.Min(low, r.RH), decimal.Max(high, r.RH)
		if i > 0 && r.At.Before(out[i-1].At) {
			t.Fatal("the thinned series is out of order")
		}
	}
	if len(out) > 202 || low.IntPart() != 12 || high.IntPart() != 71 {
		t.Errorf("got %d points from %s to %s, want about 200 from 12 to 71", len(out), low, high)
	}
}

func TestReadingsWithoutAPlaceShowTheFirst(t *testing.T) {
	s := newAiry(t)
	s.read("42", 3)
	if got := textOf(s.get("/air/readings")); !strings.Contains(got, "Air of Bench") || !strings.Contains(got, "44") {
		t.Errorf("the readings without a place are not those of the first: %s", got)
	}
	empty := newShop(t)
	if w := empty.as(empty.owner, "/air/readings", nil, ""); w.Code != http.StatusSeeOther {
		t.Errorf("without any place: got %d, want 303 to where places begin", w.Code)
	}
}

func TestWhatBeganWithADayHasNoClock(t *testing.T) {
	day := time.Date(2026, 9, 30, 0, 0, 0, 0, time.UTC)
	for want, at := range map[string]time.Time{"Wed 30 Sep": day, "Wed 30 Sep, 14:20": day.Add(14*time.Hour + 20*time.Minute)} {
		if got := sinceText(at); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
