package web

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
)

// fillCalibration adds the form of a calibration with its cautions.
func (s *Server) fillCalibration(c *gin.Context, p *MeterPage, m air.Meter, now time.Time, errs domain.Fields, mine bool) {
	for _, text := range air.SaltCautions() {
		p.Cautions = append(p.Cautions, Caution{Text: text})
	}
	p.Cautions = append(p.Cautions, Caution{Text: "Keep salts away from food and from children, and follow the label."})
	p.Salts = saltTable()
	value := func(name, usual string) string {
		if mine {
			return typedOr(c, name, usual)
		}
		return usual
	}
	if !mine {
		errs = nil
	}
	when := []Field{
		momentField("at", "When it was read", value("at", "")).Hint("empty for now"),
		DateField("due", "Next due", domain.Date(value("due", ""))).Hint("empty for the usual: monthly from October to April, else before it begins; now " + Civil(air.UsualDue(domain.DateOf(now)))),
		TextField("note", "Note", value("note", "")).Limit(300).Hint("for another salt: its name and where its humidity is printed"),
	}
	if m.Last(now) != nil {
		when = append(when, TextField("wrong", "The last check was wrong: reason", value("wrong", "")).Limit(300).Hint("then this one replaces it; else empty"))
	}
	if _, asked := errs["sure"]; asked || value("sure", "") == "yes" {
		when = append(when, CheckField("sure", "It really shows that", value("sure", "") == "yes"))
	}
	p.Calibrate = []Group{
		{Legend: "First salt", Fields: markAll(errs, pointFields(0, value, wood.Salts()[0]))},
		{Legend: "Second salt", Note: "A second point puts a meter right at both ends: two that agree at 75 % may differ by 4 at 55 %. None is possible too.", Fields: markAll(errs, pointFields(1, value, ""))},
		{Legend: "When", Fields: markAll(errs, when)},
	}
}

func pointName(i int, field string) string { return fmt.Sprintf("points[%d].%s", i, field) }

// pointFields asks for one salt. Its choices show the humidity at the
// temperature that was typed, else at 20 °C.
func pointFields(i int, value func(name, usual string) string, salt string) []Field {
	warm := value(pointName(i, "celsius"), "20")
	celsius := 20.0
	if m, err := wood.ParseMeasure(warm, wood.Celsius); err == nil && m.Is() {
		celsius = m.Value.InexactFloat64()
	}
	var options []Option
	if i > 0 {
		options = []Option{{Value: "", Label: "none"}}
	}
	for _, name := range wood.Salts() {
		options = append(options, Option{Value: name, Label: fmt.Sprintf("%s, %s %% at %.0f °C", name, saltText(name, celsius), celsius)})
	}
	options = append(options, Option{Value: air.OtherSalt, Label: "another salt"})
	of := []string{"first salt", "second salt"}[i]
	box := func(name, label, unit, usual, keys string) Field {
		return Field{Kind: "text", Name: pointName(i, name), Label: label, Value: value(pointName(i, name), usual), Unit: unit, Keys: keys, Width: "short", Max: 24, Of: of}
	}
	choice := ChoiceField(pointName(i, "salt"), "Salt", value(pointName(i, "salt"), salt), options)
	choice.Of = of
	return []Field{
		choice, box("celsius", "Temperature of the closed box", "°C", "20", "text"), box("hours", "It lay there for", "hours", "", "decimal").Hint("8 to 24"),
		box("read", "The meter shows", "%", "", "decimal"), box("true", "True humidity", "%", "", "decimal").Hint("for another salt only"),
	}
}

// pointIn reads one salt; false for none.
func pointIn(f domain.Fields, c *gin.Context, i int) (air.Point, bool) {
	p := air.Point{Salt: form(c, pointName(i, "salt"))}
	if p.Salt == "" {
		if form(c, pointName(i, "read")) != "" {
			f.Add(pointName(i, "salt"), "choose the salt that was read")
		}
		return p, false
	}
	need := func(name string, unit wood.Unit, into *decimal.Decimal) {
		if v := decimalIn(f, c, pointName(i, name), unit); v != nil {
			*into = *v
		} else {
			f.Add(pointName(i, name), "is needed")
		}
	}
	need("celsius", wood.Celsius, &p.Celsius)
	need("read", wood.Percent, &p.Read)
	p.Hours = hoursOf(f, c, pointName(i, "hours"))
	if p.Salt == air.OtherSalt {
		need("true", wood.Percent, &p.True)
	}
	return p, true
}

func hoursOf(f domain.Fields, c *gin.Context, name string) decimal.Decimal {
	m, err := wood.ParseMeasure(form(c, name), wood.Percent) // a bare number
	if err != nil || !m.Is() {
		f.Add(name, "must be a number of hours, such as 12")
		return decimal.Zero
	}
	return m.Value
}

func (s *Server) calibrate(c *gin.Context) {
	m, _, now, ok := s.openMeter(c)
	if !ok {
		return
	}
	f := domain.Fields{}
	k := air.Calibration{Meter: m.ID, At: momentIn(f, c, "at", now.Location()), Note: form(c, "note"), Wrong: form(c, "wrong"), Sure: form(c, "sure") == "yes"}
	if due := form(c, "due"); due != "" {
		d, err := domain.ParseDate(due)
		f.AddErr("due", err)
		k.Due = d
	}
	for i := range 2 {
		if p, ok := pointIn(f, c, i); ok {
			k.Points = append(k.Points, p)
		} else if i == 0 {
			f.Add(pointName(0, "salt"), "choose the salt")
		}
	}
	err := f.Err()
	if err == nil {
		_, err = s.Work.Calibrate(keyed(c), actor(c), k)
	}
	s.answer(c, err, func(errs domain.Fields) { s.showMeter(c, http.StatusUnprocessableEntity, errs) }, m.Name+" is calibrated.", meterPath(m.ID))
}
