package web

import (
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

func (s *Server) meterRoutes(r *gin.RouterGroup) {
	r.GET("/meters", s.meters)
	r.GET("/meters/:meter", s.meter)
	r.POST("/meters/:meter", s.saveMeter)
	r.POST("/meters/:meter/calibrations", s.calibrate)
}

// MetersPage lists the meters of humidity.
type MetersPage struct {
	Page
	Table Table
	Add   *Link // nil when the reader may not
	Back  Link
}

// openMeters reads meters, places and the present moment on the shop's wall, or
// answers the request itself and returns false.
func (s *Server) openMeters(c *gin.Context) (meters []air.Meter, places []air.Place, now time.Time, ok bool) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(ctx)
	}
	if err == nil {
		now = s.now().In(shop.Location())
		meters, err = s.Read.Meters(ctx)
	}
	if err == nil {
		places, err = s.Read.AirPlaces(ctx)
	}
	if err != nil {
		s.fail(c, err)
	}
	return meters, places, now, err == nil
}

func (s *Server) meters(c *gin.Context) {
	all, places, now, ok := s.openMeters(c)
	if !ok {
		return
	}
	p := &MetersPage{Page: s.frame(c, "Meters", deskDoor(c)), Back: Link{Href: "/air", Text: "The shop’s air"}}
	p.Answer = metersAnswer(all, now)
	if workshop.May(actor(c), workshop.ActMeter) == nil {
		p.Add = &Link{Href: "/meters/new", Text: "Add a meter"}
	}
	p.Table = Table{
		Caption: "Meters", Hidden: true, Empty: Empty{Text: "No meter is noted yet. A reading without a meter is never trusted."},
		Columns: []Column{Head("Meter"), Head("Lies at"), Head("Trusted"), Head("Calibrated"), Head("Next due"), Figures("Adds", "%")},
	}
	for _, m := range all {
		row := Row{Struck: !m.Retired.IsZero(), Cells: []Cell{{Text: m.Name, Href: meterPath(m.ID), Note: m.Note}, {Text: or(placeNameOf(places, m.Place), "travels")}, {Text: "\u2713 trusted"}, {Text: "never"}, {}, {}}}
		if why := m.Doubt(now); why != "" {
			row.Cells[2] = Cell{Text: "\u2717 not trusted", Note: why}
		}
		if last := m.Last(now); last != nil {
			row.Cells[3], row.Cells[4], row.Cells[5] = Cell{Text: Day(last.At.In(now.Location()))}, Cell{Text: Civil(last.Due)}, Cell{Text: offsetsText(*last)}
		}
		p.Table.Rows = append(p.Table.Rows, row)
	}
	s.page(c, http.StatusOK, "air/meters", p)
}

func placeNameOf(all []air.Place, id domain.AirPlaceID) string {
	for _, p := range all {
		if p.ID == id {
			return p.Name
		}
	}
	return ""
}

func metersAnswer(all []air.Meter, now time.Time) string {
	used, doubted := 0, []string{}
	for _, m := range all {
		if !m.Retired.IsZero() {
			continue
		}
		used++
		if why := m.Doubt(now); why != "" {
			doubted = append(doubted, why)
		}
	}
	switch {
	case used == 0:
		return "The shop has no meter yet; what is read without one is never trusted."
	case len(doubted) == 0:
		return fmt.Sprintf("%s, all within calibration.", Plural(used, "meter is in use", "meters are in use"))
	case len(doubted) == used:
		return "No meter can be trusted now: " + strings.Join(doubted, "; ") + "."
	}
	return fmt.Sprintf("%d of %d meters can be trusted; %s.", used-len(doubted), used, strings.Join(doubted, "; "))
}

// offsetsText is what a calibration adds at each of its salts.
func offsetsText(k air.Calibration) string {
	var parts []string
	for _, p := range k.Points {
		parts = append(parts, signed(p.Offset().InexactFloat64()))
	}
	return strings.Join(parts, " / ")
}

// MeterPage shows one meter, changes it and notes its calibrations.
type MeterPage struct {
	Page
	Action    string
	Facts     Facts
	Effect    Table // what the correction does
	History   Table
	Older     Table // calibrations before the newest
	Cautions  []Caution
	Salts     Table
	Calibrate []Group // empty when the reader may not, or for a new meter
	KeyOf     string  // of the calibration's form
	Hidden    []Pair
	Fields    []Field // of the meter itself; empty when the reader may not
	Button    string
	Back      Link
}

// openMeter reads the meter of the path; identity 0 for a new one.
func (s *Server) openMeter(c *gin.Context) (m air.Meter, places []air.Place, now time.Time, ok bool) {
	all, places, now, ok := s.openMeters(c)
	if !ok {
		return m, nil, now, false
	}
	if c.Param("meter") == "new" {
		if err := workshop.May(actor(c), workshop.ActMeter); err != nil {
			s.fail(c, err)
			return m, nil, now, false
		}
		return m, places, now, true
	}
	id := domain.MeterID(number(c, "meter"))
	i := slices.IndexFunc(all, func(x air.Meter) bool { return x.ID == id })
	if i < 0 {
		s.fail(c, domain.NotFoundf("there is no such meter; choose one of the list"))
		return m, nil, now, false
	}
	return all[i], places, now, true
}

func (s *Server) meter(c *gin.Context) { s.showMeter(c, http.StatusOK, nil) }

func (s *Server) showMeter(c *gin.Context, status int, errs domain.Fields) {
	m, places, now, ok := s.openMeter(c)
	if !ok {
		return
	}
	title, button := m.Name, "Save"
	if m.ID == 0 {
		title, button = "A new meter", "Add the meter"
	}
	p := &MeterPage{Page: s.frame(c, title, deskDoor(c)), Action: "/meters/" + c.Param("meter"), Button: button, Back: Link{Href: "/meters", Text: "Meters"}, KeyOf: NewKey()}
	p.Errors = errs
	if p.Answer = "Give it the name that is written on it; then calibrate it over salt."; m.ID != 0 {
		p.Answer = meterAnswer(m, now)
		p.Facts = Facts{{Name: "Lies at", Value: or(placeNameOf(places, m.Place), "it travels")}, {Name: "Note", Value: or(m.Note, "none")}}
		p.Effect, p.History = effectTable(m, now), historyTable(m, now)
		p.Older = p.History
		n := min(len(p.History.Rows), newestChecks)
		p.History.Rows, p.Older.Rows = p.History.Rows[:n], p.Older.Rows[n:]
		p.Older.Caption = "Older calibrations"
	}
	if workshop.May(actor(c), workshop.ActMeter) == nil {
		calibrating := strings.HasSuffix(c.FullPath(), "/calibrations")
		p.Hidden, p.Fields = meterFields(c, m, places, errs, !calibrating)
		if m.ID != 0 && m.Retired.IsZero() {
			s.fillCalibration(c, p, m, now, errs, calibrating)
		}
	}
	s.page(c, status, "air/meter", p)
}

func meterAnswer(m air.Meter, now time.Time) string {
	if why := m.Doubt(now); why != "" {
		return why + ": its readings are noted, and no hold is called steady by them."
	}
	last := m.Last(now)
	return fmt.Sprintf("%s is trusted until %s; it adds %s %% to what it shows.", m.Name, Civil(last.Due), offsetsText(*last))
}

// newestChecks is how many lines of calibrations are in sight.
const newestChecks = 6

// effectTable shows what the correction makes of some values.
func effectTable(m air.Meter, now time.Time) Table {
	t := Table{Caption: "What the correction does", Hidden: true, Columns: []Column{Head("It shows"), Figures("The air is at", "%"), Figures("Added", "%")}}
	if m.Last(now) == nil {
		t.Empty = Empty{Text: "Nothing yet: it was never calibrated, so its values stand as they were read."}
		return t
	}
	for _, raw := range []int64{30, 45, 60} {
		rh, offset, _, _ := m.Correct(decimal.NewFromInt(raw), now)
		t.Rows = append(t.Rows, Line(fmt.Sprintf("%d %%", raw), rh.StringFixed(1), signed(offset.InexactFloat64())))
	}
	return t
}

func historyTable(m air.Meter, now time.Time) Table {
	t := Table{
		Caption: "Calibrations", Hidden: true, Empty: Empty{Text: "It was never calibrated."},
		Columns: []Column{Head("When"), Head("Salt"), Figures("True", "%"), Figures("Read", "%"), Figures("Adds", "%"), Head("Next due"), Head("Who")},
	}
	for i := len(m.Calibrations) - 1; i >= 0; i-- {
		k := m.Calibrations[i]
		for n, x := range k.Points {
			row := Line(fullDay(k.At.In(now.Location())), x.Salt, x.True.String(), x.Read.String(), signed(x.Offset().InexactFloat64()), Civil(k.Due), k.By)
			row.Cells[1].Note = fmt.Sprintf("%s h at %s °C", x.Hours, x.Celsius)
			if n == 0 {
				row.Cells[6].Note = k.Note
			}
			if why := m.Replaced(k.ID); why != "" {
				row.Struck, row.Cells[0].Note = true, "replaced: "+why
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

func meterFields(c *gin.Context, m air.Meter, places []air.Place, errs domain.Fields, mine bool) ([]Pair, []Field) {
	value := func(name, usual string) string {
		if mine {
			return typedOr(c, name, usual)
		}
		return usual
	}
	at := []Option{{Value: "", Label: "it travels"}}
	for _, p := range places {
		if p.Retired.IsZero() || p.ID == m.Place {
			at = append(at, Option{Value: strconv.FormatInt(int64(p.ID), 10), Label: p.Name})
		}
	}
	place := ""
	if m.Place != 0 {
		place = strconv.FormatInt(int64(m.Place), 10)
	}
	note := TextField("note", "Note", value("note", m.Note)).Limit(300)
	note.Scope = "meter"
	fields := []Field{TextField("name", "Name", value("name", m.Name)).Need().Limit(60), ChoiceField("place", "Where it lies", value("place", place), at), note}
	if m.ID != 0 {
		fields = append(fields, CheckField("retired", "No longer in use", value("retired", yesWhen(!m.Retired.IsZero())) == "yes"))
	}
	if mine {
		fields = markAll(errs, fields)
	}
	return []Pair{{Name: "version", Value: value("version", strconv.Itoa(m.Version))}}, fields
}

func (s *Server) saveMeter(c *gin.Context) {
	m, _, _, ok := s.openMeter(c)
	if !ok {
		return
	}
	f := domain.Fields{}
	n := air.Meter{ID: m.ID, Name: form(c, "name"), Note: form(c, "note"), Place: domain.AirPlaceID(idIn(f, c, "place")), Retired: s.whenTicked(c, "retired")}
	n.Version, _ = strconv.Atoi(form(c, "version"))
	err := f.Err()
	id := m.ID
	if err == nil {
		id, err = s.Work.SaveMeter(keyed(c), actor(c), n)
	}
	s.answer(c, err, func(errs domain.Fields) {
		if text := errs["note"]; text != "" { // the calibration has a note too
			delete(errs, "note")
			errs.Add("meter.note", "%s", text)
		}
		s.showMeter(c, http.StatusUnprocessableEntity, errs)
	}, n.Name+" is saved.", meterPath(id))
}

// saltTemperatures are those of the table beside the form.
var saltTemperatures = []float64{15, 20, 25, 30}

func saltTable() Table {
	t := Table{Caption: "Humidity over a wet slurry of each salt", Hidden: true, Columns: []Column{Head("Salt")}}
	for _, c := range saltTemperatures {
		t.Columns = append(t.Columns, Figures(fmt.Sprintf("%.0f °C", c), "%"))
	}
	for _, salt := range wood.Salts() {
		row := Line(salt)
		for _, c := range saltTemperatures {
			row.Cells = append(row.Cells, Cell{Text: saltText(salt, c)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func saltText(salt string, celsius float64) string {
	rh, ok := wood.SaltRH(salt, celsius)
	if !ok {
		return "unknown"
	}
	return strconv.FormatFloat(rh, 'f', 1, 64)
}
