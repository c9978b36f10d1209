package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func (s *Server) airReadingRoutes(r *gin.RouterGroup) {
	r.GET("/air/readings", s.airReadings)
	r.POST("/air/readings", s.noteAir)
	r.GET("/air/readings/:reading", s.airReading)
	r.POST("/air/readings/:reading", s.correctAir)
}

// sessionPlace is the place of the air last chosen, as text.
const sessionPlace = "air place"

// typedOr is what came with the form that is shown again, else the usual value.
func typedOr(c *gin.Context, name, usual string) string {
	if c.Request.Method == http.MethodPost {
		return form(c, name)
	}
	return usual
}

// noteFields asks for a reading made by hand. Only a form of readings that came
// back keeps what was typed.
func (s *Server) noteFields(c *gin.Context, v *airView, errs domain.Fields) []Field {
	mine := c.Request.Method == http.MethodPost && c.FullPath() == "/air/readings"
	value := func(name, usual string) string {
		if mine {
			return form(c, name)
		}
		return usual
	}
	ctx := c.Request.Context()
	place := c.Query("place")
	if place == "" {
		place = s.Sessions.GetString(ctx, sessionPlace)
	}
	var places []Option
	for _, n := range v.now.Places {
		places = append(places, Option{Value: strconv.FormatInt(int64(n.Place.ID), 10), Label: n.Place.Name})
	}
	meter := s.Sessions.GetString(ctx, sessionMeter)
	if own := meterAt(v.now.Meters, place); own != "" {
		meter = own
	}
	fields := []Field{
		ChoiceField("place", "Place", value("place", place), places).Radio().Need(),
		airMeterField(v.now.Meters, value("meter", meter), v.moment, "nobody knows which: not trusted"),
		{Kind: "text", Name: "rh", Label: "Humidity as the meter shows it", Value: value("rh", ""), Unit: "%", Keys: "decimal", Width: "short", Needed: true, Max: 24},
		{Kind: "text", Name: "celsius", Label: "Temperature", Value: value("celsius", ""), Unit: "°C", Keys: "text", Width: "short", Max: 24, Help: "or as 68 F; may stay empty"},
		momentField("at", "When it was read", value("at", "")).Hint("empty for now"),
		TextField("note", "Note", value("note", "")).Limit(300),
	}
	if mine {
		fields = markAll(errs, fields)
	}
	return fields
}

// meterAt is the meter in use that lies at a place, "" for none.
func meterAt(meters []air.Meter, place string) string {
	for _, m := range meters {
		if m.Retired.IsZero() && m.Place != 0 && strconv.FormatInt(int64(m.Place), 10) == place {
			return strconv.FormatInt(int64(m.ID), 10)
		}
	}
	return ""
}

// readingIn reads what a meter showed.
func readingIn(c *gin.Context, f domain.Fields) air.Reading {
	r := air.Reading{Meter: domain.MeterID(idIn(f, c, "meter")), Note: form(c, "note"), Celsius: decimalIn(f, c, "celsius", wood.Celsius)}
	if rh := decimalIn(f, c, "rh", wood.Percent); rh != nil {
		r.Raw = *rh
	} else {
		f.Add("rh", "is needed: what the meter shows, in %%")
	}
	return r
}

func (s *Server) noteAir(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	r := readingIn(c, f)
	r.Place, r.At = domain.AirPlaceID(idIn(f, c, "place")), momentIn(f, c, "at", shop.Location())
	if form(c, "place") == "" {
		f.Add("place", "choose where it was read")
	}
	var id domain.AirReadingID
	if err = f.Err(); err == nil {
		id, err = s.Work.NoteAir(keyed(c), actor(c), r)
	}
	if err != nil && domain.KindOf(err) == domain.Invalid {
		s.showAir(c, http.StatusUnprocessableEntity, fieldErrors(err))
		return
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	s.Sessions.Put(c.Request.Context(), sessionMeter, form(c, "meter"))
	s.Sessions.Put(c.Request.Context(), sessionPlace, form(c, "place"))
	s.say(c, s.notedText(c, id))
	Go(c, "/air")
}

// notedText says what was noted, with the correction that was made.
func (s *Server) notedText(c *gin.Context, id domain.AirReadingID) string {
	r, err := s.Read.AirReadingByID(c.Request.Context(), id)
	if err != nil {
		return "Noted."
	}
	text := fmt.Sprintf("Noted: %s %%", r.RH.Round(1))
	if !r.RH.Equal(r.Raw) {
		text += fmt.Sprintf(", put right from the %s %% that the meter shows", r.Raw)
	}
	return text + "."
}

// AirReadingsPage lists the readings of one place.
type AirReadingsPage struct {
	Page
	Places  []SpanLink
	Spans   []SpanLink
	Picture *Picture
	Table   Table
	Pager   Pager
	Back    Link
}

func (s *Server) airReadings(c *gin.Context) {
	v := s.openAir(c)
	if v == nil {
		return
	}
	ctx := c.Request.Context()
	if c.Query("place") == "" && len(v.now.Places) == 0 {
		Go(c, "/air") // which says how to begin
		return
	}
	place, err := s.chosenPlace(c, v)
	if err != nil {
		s.fail(c, err)
		return
	}
	days := spanIn(c)
	to := v.moment.Add(time.Microsecond)
	at := pageOf(c, 50)
	rs, total, err := s.Read.AirReadingPage(ctx, place.ID, v.moment.AddDate(-10, 0, 0), to, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	lately, err := s.Read.AirReadings(ctx, place.ID, v.moment.AddDate(0, 0, -days), to)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AirReadingsPage{Page: s.frame(c, "Air of "+place.Name, deskDoor(c)), Pager: pager(c, at, len(rs), total, "readings"), Back: Link{Href: "/air", Text: "The shop’s air"}}
	p.Answer = readingsAnswer(place, lately, days)
	p.Spans = spanLinks(airReadingsPath(place.ID)+"&", days)
	for _, n := range v.now.Places {
		p.Places = append(p.Places, SpanLink{Link: Link{Href: airReadingsPath(n.Place.ID), Text: n.Place.Name}, Here: n.Place.ID == place.ID})
	}
	p.Picture = airPicture(place, lately, v, days)
	p.Table = s.readingTable(c, v, rs)
	s.page(c, http.StatusOK, "air/readings", p)
}

func readingsAnswer(p air.Place, rs []air.Reading, days int) string {
	rs = air.Standing(rs)
	if len(rs) == 0 {
		return fmt.Sprintf("%s was not read in the last %d days.", p.Name, days)
	}
	return fmt.Sprintf("In the last %d days: h%s", days, strings.TrimPrefix(airPictureText(p, rs), "H"))
}

// chosenPlace is the place that ?place= names, also a retired one, the first of
// those in use when it names none.
func (s *Server) chosenPlace(c *gin.Context, v *airView) (air.Place, error) {
	if c.Query("place") == "" {
		return v.now.Places[0].Place, nil
	}
	return s.findPlace(c, c.Query("place"))
}

func (s *Server) findPlace(c *gin.Context, typed string) (air.Place, error) {
	all, err := s.Read.AirPlaces(c.Request.Context())
	if err != nil {
		return air.Place{}, err
	}
	for _, p := range all {
		if strconv.FormatInt(int64(p.ID), 10) == typed {
			return p, nil
		}
	}
	return air.Place{}, domain.NotFoundf("there is no such place of air; choose one of the list")
}

// readingTable lists readings, newest first; what was replaced is struck.
func (s *Server) readingTable(c *gin.Context, v *airView, rs []air.Reading) Table {
	t := Table{
		Caption: "Readings", Hidden: true, Empty: Empty{Text: "Nobody has read the air here yet.", Do: &Link{Href: "/air#note", Text: "Note a reading"}},
		Columns: []Column{Head("When"), Figures("Air", "%"), Figures("As read", "%"), Figures("Temperature", warmUnit(v.shop.Units)), Head("Meter"), Head("Who")},
	}
	replaced := map[domain.AirReadingID]bool{}
	for _, r := range rs {
		replaced[r.Replaces] = r.Replaces != 0
	}
	for _, r := range rs {
		row := Row{Struck: replaced[r.ID], Cells: []Cell{
			{Text: DayHour(r.At.In(v.moment.Location())), Href: fmt.Sprintf("/air/readings/%d", r.ID)}, {Text: r.RH.StringFixed(1)}, {Text: r.Raw.String()}, {Text: warmFigure(r.Celsius, v.shop.Units)},
			{Text: trustText(v.meterName(r.Meter), r.Trusted)}, {Text: r.By, Note: sourceNote(r)},
		}}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func sourceNote(r air.Reading) string {
	switch {
	case r.Replaces != 0:
		return "corrected: " + r.Note
	case r.Source == air.Logger:
		return "out of a logger’s file"
	}
	return r.Note
}

// AirReadingPage shows one reading and puts it right.
type AirReadingPage struct {
	Page
	At     string
	Facts  Facts
	Fields []Field // empty when the reader may not
	Back   Link
}

func (s *Server) airReading(c *gin.Context) { s.showAirReading(c, http.StatusOK, nil) }

func (s *Server) showAirReading(c *gin.Context, status int, errs domain.Fields) {
	v := s.openAir(c)
	if v == nil {
		return
	}
	r, err := s.Read.AirReadingByID(c.Request.Context(), domain.AirReadingID(number(c, "reading")))
	if err != nil {
		s.fail(c, err)
		return
	}
	place, err := s.findPlace(c, strconv.FormatInt(int64(r.Place), 10))
	if err != nil {
		s.fail(c, err)
		return
	}
	zone := v.moment.Location()
	p := &AirReadingPage{Page: s.frame(c, "A reading of the air", deskDoor(c)), At: fmt.Sprintf("/air/readings/%d", r.ID), Back: Link{Href: airReadingsPath(place.ID), Text: "All readings of " + place.Name}}
	p.Answer, p.Errors = fmt.Sprintf("%s was at %s %% on %s.", place.Name, r.RH.Round(1), DayHour(r.At.In(zone))), errs
	p.Facts = Facts{
		{Name: "Meter", Value: v.meterName(r.Meter), Note: trustWord(r.Trusted)}, {Name: "As read", Value: r.Raw.String() + " %", Note: fmt.Sprintf("put right by %s %%", signed(r.RH.Sub(r.Raw).InexactFloat64()))},
		{Name: "Temperature", Value: or(warmText(r.Celsius, v.shop.Units), "not read")}, {Name: "Noted", Value: DayHour(r.Noted.In(zone)), Note: r.By},
	}
	if note := sourceNote(*r); note != "" {
		p.Facts = append(p.Facts, Fact{Name: "Note", Value: note})
	}
	if workshop.May(actor(c), workshop.ActAir) == nil {
		p.Fields = correctionFields(c, v, r, errs)
	}
	s.page(c, status, "air/reading", p)
}

func trustWord(trusted bool) string { return strings.TrimPrefix(trustText("", trusted), ": ") }

func signed(v float64) string {
	return strings.Replace(fmt.Sprintf("%+.1f", v), "-", "\u2212", 1)
}

func correctionFields(c *gin.Context, v *airView, r *air.Reading, errs domain.Fields) []Field {
	meter, warm := "", ""
	if r.Meter != 0 {
		meter = strconv.FormatInt(int64(r.Meter), 10)
	}
	if r.Celsius != nil {
		warm = r.Celsius.String()
	}
	return markAll(errs, []Field{
		airMeterField(v.now.Meters, typedOr(c, "meter", meter), v.moment, "nobody knows which: not trusted"),
		{Kind: "text", Name: "rh", Label: "What the meter really showed", Value: typedOr(c, "rh", r.Raw.String()), Unit: "%", Keys: "decimal", Width: "short", Needed: true, Max: 24},
		{Kind: "text", Name: "celsius", Label: "Temperature", Value: typedOr(c, "celsius", warm), Unit: "°C", Keys: "text", Width: "short", Max: 24},
		TextField("note", "Why it was wrong", typedOr(c, "note", "")).Need().Limit(300),
	})
}

func (s *Server) correctAir(c *gin.Context) {
	f := domain.Fields{}
	r := readingIn(c, f)
	r.Replaces = domain.AirReadingID(number(c, "reading"))
	old, err := s.Read.AirReadingByID(c.Request.Context(), r.Replaces)
	if err != nil {
		s.fail(c, err)
		return
	}
	if err = f.Err(); err == nil {
		_, err = s.Work.CorrectAir(keyed(c), actor(c), r)
	}
	s.answer(c, err, func(errs domain.Fields) { s.showAirReading(c, http.StatusUnprocessableEntity, errs) }, "Put right. The old reading stays beside it.", airReadingsPath(old.Place))
}
