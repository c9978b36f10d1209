package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// airRoutes registers the shop's own air: places, meters, readings, alarms.
func (s *Server) airRoutes(r *gin.RouterGroup) {
	r.GET("/air", s.air)
	r.POST("/air/set-up", s.setUpAir)
	r.POST("/air/alarms", s.answerAlarm)
	s.airReadingRoutes(r)
	s.airPlaceRoutes(r)
	s.meterRoutes(r)
	s.airImportRoutes(r)
}

func airPlacePath(id domain.AirPlaceID) string { return fmt.Sprintf("/air/places/%d", id) }
func meterPath(id domain.MeterID) string       { return fmt.Sprintf("/meters/%d", id) }

func airReadingsPath(id domain.AirPlaceID) string { return fmt.Sprintf("/air/readings?place=%d", id) }

// AirPage is the shop's own air at this moment.
type AirPage struct {
	Page
	Alarms   []AlarmLine
	SeenTo   []AlarmLine // answered, still standing
	Places   []Reading
	Outdoor  string
	Spans    []SpanLink
	Pictures []Picture
	Note     []Field // empty when the reader may not note a reading
	Ways     []Link
	SetUp    bool // the reader may set up the usual places, and there are none
	Nothing  Empty
}

// AlarmLine is one alarm with what to do about it.
type AlarmLine struct {
	Place, Kind, Text, Do string
	Since                 time.Time // zero when it was never otherwise
	Stop                  bool
	Seen                  string // what was done, who and when; "" for nothing yet
	Way                   *Link  // what ends it; nil for nothing
	Hidden                []Pair // of the form; empty when it cannot be answered
	Key                   string
	Action                Field
}

// SpanLink is one choice of how far back the pictures reach.
type SpanLink struct {
	Link
	Here bool
}

// airView is what the pages of the air have read.
type airView struct {
	now    *workshop.AirNow
	shop   *workshop.Shop
	moment time.Time // in the shop's zone
}

// place finds a place in use.
func (v airView) place(id domain.AirPlaceID) *workshop.PlaceNow {
	for i := range v.now.Places {
		if v.now.Places[i].Place.ID == id {
			return &v.now.Places[i]
		}
	}
	return nil
}

func (v airView) meterName(id domain.MeterID) string { return meterName(v.now.Meters, id) }

func meterName(all []air.Meter, id domain.MeterID) string {
	for _, m := range all {
		if m.ID == id {
			return m.Name
		}
	}
	return "no meter named"
}

// openAir reads the air, or answers the request itself and returns nil.
func (s *Server) openAir(c *gin.Context) *airView {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	v := &airView{}
	if err == nil {
		v.shop, err = s.Read.ShopSettings(ctx)
	}
	if err == nil {
		v.moment = s.now().In(v.shop.Location())
		v.now, err = workshop.AirOf(ctx, s.Read, v.moment)
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return v
}

func (s *Server) air(c *gin.Context) { s.showAir(c, http.StatusOK, nil) }

// showAir writes the page; errs tells what is wrong with a form that came back.
func (s *Server) showAir(c *gin.Context, status int, errs domain.Fields) {
	v := s.openAir(c)
	if v == nil {
		return
	}
	p := &AirPage{Page: s.frame(c, "The shop’s air", deskDoor(c)), Outdoor: workshop.OutdoorAnswer(v.now)}
	p.Answer, p.Errors = v.now.Answer, errs
	for _, a := range air.WorstFirst(v.now.Alarms) {
		line := s.alarmLine(c, v, a, errs)
		if line.Seen != "" && !a.Stop {
			p.SeenTo = append(p.SeenTo, line)
		} else {
			p.Alarms = append(p.Alarms, line)
		}
	}
	if err := s.fillPlaces(c.Request.Context(), c, v, p); err != nil {
		s.fail(c, err)
		return
	}
	if workshop.May(actor(c), workshop.ActAir) == nil && len(v.now.Places) > 0 {
		p.Note = s.noteFields(c, v, errs)
	}
	p.Ways = []Link{{Href: "/air/import", Text: "Take in a logger’s file"}, {Href: "/air/places", Text: "Places and alarms"}, {Href: "/meters", Text: "Meters"}, {Href: "/cabinet", Text: "Cabinet"}}
	if len(v.now.Places) == 0 {
		p.SetUp = workshop.May(actor(c), workshop.ActMeter) == nil
		p.Nothing = Empty{Text: "Four places do for most shops: counter wall, bench, hold cabinet, outdoors. Each begins with the usual band and alarms."}
		p.Ways = []Link{{Href: "/air/places", Text: "Places and alarms"}, {Href: "/meters", Text: "Meters"}}
	}
	s.page(c, status, "air/show", p)
}

// fillPlaces adds a line and a picture for each place.
func (s *Server) fillPlaces(ctx context.Context, c *gin.Context, v *airView, p *AirPage) error {
	days := spanIn(c)
	p.Spans = spanLinks("/air?", days)
	may := workshop.May(actor(c), workshop.ActAir) == nil
	for _, n := range v.now.Places {
		rs, err := s.Read.AirReadings(ctx, n.Place.ID, v.moment.AddDate(0, 0, -days), v.moment.Add(time.Microsecond))
		if err != nil {
			return err
		}
		p.Places = append(p.Places, placeLine(v, n, rs, may))
		if pic := airPicture(n.Place, rs, v, days); pic != nil {
			p.Pictures = append(p.Pictures, *pic)
		}
	}
	return nil
}

// placeLine is one place with its last reading.
func placeLine(v *airView, n workshop.PlaceNow, rs []air.Reading, may bool) Reading {
	out := Reading{Mark: n.Place.Name, Tag: "readings", Href: airReadingsPath(n.Place.ID)}
	if may {
		out.Next = &Link{Href: fmt.Sprintf("/air?place=%d#note", n.Place.ID), Text: "Note a reading"}
	}
	if n.Last == nil {
		out.Verdict = "Not read yet."
		return out
	}
	out.When = DayHour(n.Last.At.In(v.moment.Location()))
	out.Facts = []Pair{{Name: "air", Value: n.Last.RH.StringFixed(1) + " %"}}
	if n.Last.Celsius != nil {
		out.Facts = append(out.Facts, Pair{Name: "temperature", Value: warmText(n.Last.Celsius, v.shop.Units)})
	}
	if len(rs) == 0 {
		rs = []air.Reading{*n.Last}
	}
	where, since := air.Lately(n.Place, rs, v.moment)
	if r := n.Place.Rules; where != air.NoBand {
		out.Facts = append(out.Facts, Pair{Name: "band", Value: fmt.Sprintf("%s to %s %%", r.Low, r.High)})
		out.Verdict = fmt.Sprintf("%s since %s. ", capital(string(where)), DayHour(since.In(v.moment.Location())))
	}
	out.Verdict += trustText(v.meterName(n.Last.Meter), n.Last.Trusted)
	for _, a := range n.Alarms {
		out.Stop = out.Stop || a.Stop
	}
	return out
}

// warmUnit is the shop's unit of temperature.
func warmUnit(u wood.Units) string {
	if u.Temperature == "F" {
		return "°F"
	}
	return "°C"
}

// warmFigure is a temperature in the shop's unit without it, "" when it was not
// read. The minus is the true one.
func warmFigure(c *decimal.Decimal, u wood.Units) string {
	if c == nil {
		return ""
	}
	figure := c.StringFixed(1)
	if u.Temperature == "F" {
		figure, _, _ = strings.Cut(wood.Measure{Known: wood.Measured, Value: *c, Unit: wood.Celsius}.In(u), " ")
	}
	return strings.Replace(figure, "-", "\u2212", 1)
}

// warmText is a temperature in the shop's unit, "" when it was not read.
func warmText(c *decimal.Decimal, u wood.Units) string {
	if c == nil {
		return ""
	}
	return warmFigure(c, u) + " " + warmUnit(u)
}

// trustText is a meter's name with a mark and a word for how far it is believed.
func trustText(meter string, trusted bool) string {
	if trusted {
		return meter + ": \u2713 trusted."
	}
	return meter + ": \u2717 not trusted."
}

// alarmLine is one alarm; what cannot be answered says what ends it.
func (s *Server) alarmLine(c *gin.Context, v *airView, a air.Alarm, errs domain.Fields) AlarmLine {
	out := AlarmLine{Kind: a.Kind, Text: a.Text, Do: a.Advice(), Since: a.Since, Stop: a.Stop, Place: v.meterName(a.Meter)}
	if n := v.place(a.Place); n != nil {
		out.Place = n.Place.Name
	}
	if i := slices.IndexFunc(v.now.Meters, func(m air.Meter) bool { return m.ID == a.Meter }); a.Kind == air.MeterDoubt && i >= 0 && !v.now.Meters[i].IsDue(v.moment) {
		out.Kind = "meter not trusted"
	}
	switch a.Kind {
	case air.MeterDoubt, air.Stuck:
		if a.Meter != 0 {
			out.Way = &Link{Href: meterPath(a.Meter), Text: "Calibrate it"}
		}
	case air.MetersApart:
		out.Way = &Link{Href: "/meters", Text: "Meters"}
	case air.NoReading:
		out.Way = &Link{Href: fmt.Sprintf("/air?place=%d#note", a.Place), Text: "Note a reading"}
	}
	if a.Answered != nil {
		out.Seen = fmt.Sprintf("%s. %s, %s", strings.TrimSuffix(a.Answered.Action, "."), a.Answered.By, DayHour(a.Answered.At.In(v.moment.Location())))
		return out
	}
	if a.Since.IsZero() || a.Place == 0 || workshop.May(actor(c), workshop.ActAir) != nil {
		return out
	}
	out.Key = NewKey()
	out.Hidden = []Pair{{Name: "place", Value: strconv.FormatInt(int64(a.Place), 10)}, {Name: "alarm", Value: a.Key()}, {Name: "since", Value: a.Since.UTC().Format(time.RFC3339Nano)}}
	out.Action = TextField("action", "What was done", "").Need().Limit(300)
	out.Action.Scope, out.Action.Of = alarmScope(int64(a.Place), a.Key()), out.Place
	if out.mine(c) {
		out.Action.Value = form(c, "action")
		out.Action = out.Action.Marked(errs)
	}
	return out
}

// alarmScope tells the form of one alarm from those of others.
func alarmScope(place int64, key string) string {
	return fmt.Sprintf("alarm-%d-%s", place, strings.NewReplacer(" ", "-", ":", "").Replace(key))
}

// mine reports whether the request's form is this alarm's.
func (l AlarmLine) mine(c *gin.Context) bool {
	if c.FullPath() != "/air/alarms" {
		return false
	}
	return !slices.ContainsFunc(l.Hidden, func(p Pair) bool { return form(c, p.Name) != p.Value })
}

// answerAlarm notes what was done about an alarm.
func (s *Server) answerAlarm(c *gin.Context) {
	since, err := time.Parse(time.RFC3339Nano, form(c, "since"))
	if err != nil {
		s.fail(c, domain.Invalidf("an alarm is answered from the page of the air; open it again"))
		return
	}
	place, _ := strconv.ParseInt(form(c, "place"), 10, 64)
	_, err = s.Work.AnswerAlarm(keyed(c), actor(c), air.Answer{Place: domain.AirPlaceID(place), Alarm: form(c, "alarm"), Since: since, Action: form(c, "action")})
	switch {
	case err == nil:
		s.say(c, "Noted. The alarm stays on the page until the air is right again.")
		Go(c, "/air")
	case domain.KindOf(err) == domain.Invalid:
		own := domain.Fields{}
		for name, text := range fieldErrors(err) {
			own.Add(alarmScope(place, form(c, "alarm"))+"."+name, "%s", text)
		}
		s.showAir(c, http.StatusUnprocessableEntity, own)
	default:
		s.fail(c, err)
	}
}

func (s *Server) setUpAir(c *gin.Context) {
	if err := s.Work.SetUpAir(keyed(c), actor(c)); err != nil {
		s.fail(c, err)
		return
	}
	s.say(c, "The usual places are kept. Add the meters that read them.")
	Go(c, "/air/places")
}

// airMeterField asks which meter showed a value. Those in doubt are named so.
func airMeterField(meters []air.Meter, chosen string, now time.Time, none string) Field {
	options := []Option{{Value: "", Label: none}}
	for _, m := range meters {
		if !m.Retired.IsZero() && strconv.FormatInt(int64(m.ID), 10) != chosen {
			continue
		}
		o := Option{Value: strconv.FormatInt(int64(m.ID), 10), Label: m.Name}
		if m.Doubt(now) != "" {
			o.Label += " (not trusted)"
		}
		options = append(options, o)
	}
	return ChoiceField("meter", "Meter", chosen, options)
}

// decimalIn reads a number with decimal point or comma and perhaps a unit that a
// bench writes behind it. The empty text is nil.
func decimalIn(f domain.Fields, c *gin.Context, name string, unit wood.Unit) *decimal.Decimal {
	m, err := wood.ParseMeasure(form(c, name), unit)
	f.AddErr(name, err)
	if err != nil || !m.Is() {
		return nil
	}
	return &m.Value
}

// idIn reads the number of a choice; "" is 0.
func idIn(f domain.Fields, c *gin.Context, name string) int64 {
	typed := form(c, name)
	if typed == "" {
		return 0
	}
	n, err := strconv.ParseInt(typed, 10, 64)
	if err != nil || n < 1 {
		f.Add(name, "choose one of the list")
		return 0
	}
	return n
}

// momentIn reads a moment on the shop's wall as a form sends it; "" is zero.
func momentIn(f domain.Fields, c *gin.Context, name string, zone *time.Location) time.Time {
	typed := form(c, name)
	if typed == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, typed, zone); err == nil {
			return t
		}
	}
	f.Add(name, "must be a date and a time, like 2026-12-03 17:30")
	return time.Time{}
}

// momentField asks for a moment on the shop's wall.
func momentField(name, label, value string) Field {
	return Field{Kind: "datetime-local", Name: name, Label: label, Value: value, Width: "middle"}
}
