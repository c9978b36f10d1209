package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func (s *Server) airPlaceRoutes(r *gin.RouterGroup) {
	r.GET("/air/places", s.airPlaces)
	r.GET("/air/places/:place", s.airPlace)
	r.POST("/air/places/:place", s.saveAirPlace)
}

// AirPlacesPage lists the places of the air.
type AirPlacesPage struct {
	Page
	Table Table
	Add   *Link // nil when the reader may not
	SetUp bool
	Back  Link
}

func (s *Server) airPlaces(c *gin.Context) {
	err := workshop.May(actor(c), workshop.ActRead)
	var all []air.Place
	if err == nil {
		all, err = s.Read.AirPlaces(c.Request.Context())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AirPlacesPage{Page: s.frame(c, "Places of the air", deskDoor(c)), Back: Link{Href: "/air", Text: "The shop’s air"}}
	may := workshop.May(actor(c), workshop.ActMeter) == nil
	p.Answer = placesAnswer(all)
	p.SetUp = may && len(all) == 0
	if may {
		p.Add = &Link{Href: "/air/places/new", Text: "Add a place"}
	}
	p.Table = Table{
		Caption: "Places", Hidden: true, Empty: Empty{Text: "Four places do for most shops: counter wall, bench, hold cabinet, outdoors."},
		Columns: []Column{Head("Place"), Head("Kind"), Head("Band"), Head("Alarms"), Head("In use")},
	}
	for _, x := range all {
		row := Row{Cells: []Cell{{Text: x.Name, Href: airPlacePath(x.ID)}, {Text: string(x.Kind)}, {Text: bandText(x.Rules)}, {Text: alarmText(x.Rules)}, {Text: "yes"}}}
		if !may {
			row.Cells[0].Href = airReadingsPath(x.ID)
		}
		if !x.Retired.IsZero() {
			row.Struck, row.Cells[4].Text = true, "until "+Day(x.Retired.In(s.zone.Load()))
		}
		p.Table.Rows = append(p.Table.Rows, row)
	}
	s.page(c, http.StatusOK, "air/places", p)
}

func placesAnswer(all []air.Place) string {
	used := 0
	for _, p := range all {
		if p.Retired.IsZero() {
			used++
		}
	}
	if used == 0 {
		return "No place of the shop’s air is kept yet: begin with the usual ones."
	}
	return fmt.Sprintf("The air of %s is kept.", Plural(used, "place", "places"))
}

// placeRuleAnswer says how the air of a place is kept.
func placeRuleAnswer(x air.Place) string {
	switch {
	case x.ID == 0:
		return "The band says how the air should be; the alarms say when somebody must look."
	case !x.Retired.IsZero():
		return x.Name + " is no longer in use."
	case x.Rules.High.IsZero():
		return x.Name + " is read without a band."
	}
	said := fmt.Sprintf("%s is to be at %s to %s %%", x.Name, x.Rules.Low, x.Rules.High)
	if !x.Rules.Stop.IsZero() {
		said += fmt.Sprintf("; above %s %% everything there stops", x.Rules.Stop)
	}
	return said + "."
}

func bandText(r air.Rules) string {
	if r.High.IsZero() {
		return "no band"
	}
	text := fmt.Sprintf("%s to %s %%", r.Low, r.High)
	if !r.Target.IsZero() {
		text += fmt.Sprintf(", aims at %s %%", r.Target)
	}
	return text
}

func alarmText(r air.Rules) string {
	text := ""
	add := func(on bool, format string, args ...any) {
		if on {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf(format, args...)
		}
	}
	add(!r.LowAtOnce.IsZero(), "below %s %%", r.LowAtOnce)
	add(!r.HighAtOnce.IsZero(), "above %s %%", r.HighAtOnce)
	add(!r.Stop.IsZero(), "stop above %s %%", r.Stop)
	add(r.SilentHours > 0, "silent for %d h", r.SilentHours)
	return or(text, "none of the air itself")
}

// AirPlacePage adds or changes a place and its rules.
type AirPlacePage struct {
	Page
	Action string
	Hidden []Pair
	Groups []Group
	Retire *Field // nil for a new one
	Button string
	Back   Link
	Look   *Link // to its readings; nil for a new one
}

// ruleNumber is one figure of a place's rules on its form.
type ruleNumber struct {
	name, label, unit string
	of                func(*air.Rules) *decimal.Decimal
	count             func(*air.Rules) *int // instead of of
}

var bandNumbers = []ruleNumber{
	{name: "rules.target", label: "Aims at", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.Target }},
	{name: "rules.low", label: "Band from", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.Low }},
	{name: "rules.high", label: "Band to", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.High }},
}

var alarmNumbers = []ruleNumber{
	{name: "rules.out_hours", label: "Outside the band for", unit: "hours", count: func(r *air.Rules) *int { return &r.OutHours }},
	{name: "rules.low_at_once", label: "At once below", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.LowAtOnce }},
	{name: "rules.high_at_once", label: "At once above", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.HighAtOnce }},
	{name: "rules.stop", label: "Stop above", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.Stop }},
	{name: "rules.silent_hours", label: "Without a reading for", unit: "hours", count: func(r *air.Rules) *int { return &r.SilentHours }},
	{name: "rules.stuck_after", label: "Same value running", unit: "times", count: func(r *air.Rules) *int { return &r.StuckAfter }},
	{name: "rules.apart", label: "Two meters apart by", unit: "%", of: func(r *air.Rules) *decimal.Decimal { return &r.Apart }},
}

func (n ruleNumber) text(r air.Rules) string {
	if n.count != nil {
		return strconv.Itoa(*n.count(&r))
	}
	return n.of(&r).String()
}

func (n ruleNumber) read(f domain.Fields, c *gin.Context, into *air.Rules) {
	if n.count != nil {
		if form(c, n.name) != "" {
			*n.count(into) = countIn(f, c, n.name)
		}
		return
	}
	if v := decimalIn(f, c, n.name, wood.Percent); v != nil {
		*n.of(into) = *v
	}
}

// openAirPlace reads the place of the path; identity 0 for a new one. It answers
// the request itself when there is none, and returns false.
func (s *Server) openAirPlace(c *gin.Context) (air.Place, bool) {
	err := workshop.May(actor(c), workshop.ActMeter)
	p := air.Place{Kind: air.Room, Rules: air.UsualRules(air.Room)}
	if err == nil && c.Param("place") != "new" {
		p, err = s.findPlace(c, c.Param("place"))
	}
	if err != nil {
		s.fail(c, err)
		return p, false
	}
	return p, true
}

func (s *Server) airPlace(c *gin.Context) {
	if p, ok := s.openAirPlace(c); ok {
		s.showAirPlace(c, http.StatusOK, p, nil, false)
	}
}

// showAirPlace asks for a place; with kept the form shows what was typed, and of
// the rules too unless the usual ones were asked for.
func (s *Server) showAirPlace(c *gin.Context, status int, x air.Place, errs domain.Fields, usual bool) {
	kind := air.Kind(typedOr(c, "kind", string(x.Kind)))
	rules := x.Rules
	if usual {
		rules = air.UsualRules(kind)
	}
	title, button := x.Name, "Save"
	if x.ID == 0 {
		title, button = "A new place of the air", "Add the place"
	}
	p := &AirPlacePage{Page: s.frame(c, title, deskDoor(c)), Action: "/air/places/" + c.Param("place"), Button: button, Back: Link{Href: "/air/places", Text: "Places of the air"}}
	p.Answer = placeRuleAnswer(x)
	if usual {
		p.Answer = "These are the usual figures of a " + string(kind) + ". They are not saved yet."
	}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: typedOr(c, "version", strconv.Itoa(x.Version))}}
	number := func(n ruleNumber) Field {
		value := n.text(rules)
		if !usual {
			value = typedOr(c, n.name, value)
		}
		return Field{Kind: "text", Name: n.name, Label: n.label, Value: value, Unit: n.unit, Keys: "decimal", Width: "short", Max: 10, Help: "usual: " + n.text(air.UsualRules(kind))}.Marked(errs)
	}
	p.Groups = []Group{
		{Legend: "Place", Fields: markAll(errs, []Field{
			TextField("name", "Name", typedOr(c, "name", x.Name)).Need().Limit(60), ChoiceField("kind", "What it is", string(kind), Options(air.Kinds())).Radio(),
		})},
		{Legend: "Band", Note: "0 for none. The edges are still inside.", Across: true}, {Legend: "Alarms", Note: "0 switches an alarm off. The usual figures are common practice, no source.", Across: true},
	}
	for _, n := range bandNumbers {
		p.Groups[1].Fields = append(p.Groups[1].Fields, number(n))
	}
	for _, n := range alarmNumbers {
		p.Groups[2].Fields = append(p.Groups[2].Fields, number(n))
	}
	if x.ID != 0 {
		retire := CheckField("retired", "No longer in use", typedOr(c, "retired", yesWhen(!x.Retired.IsZero())) == "yes").Hint("Its readings stay; it has no alarms and takes no new readings.")
		p.Retire = &retire
		p.Look = &Link{Href: airReadingsPath(x.ID), Text: "Its readings"}
	}
	s.page(c, status, "air/place", p)
}

func yesWhen(so bool) string {
	if so {
		return "yes"
	}
	return ""
}

// whenTicked is now for a ticked box, else zero.
func (s *Server) whenTicked(c *gin.Context, name string) time.Time {
	if form(c, name) == "yes" {
		return s.now()
	}
	return time.Time{}
}

func (s *Server) saveAirPlace(c *gin.Context) {
	x, ok := s.openAirPlace(c)
	if !ok {
		return
	}
	if form(c, "do") == "usual" {
		s.showAirPlace(c, http.StatusOK, x, nil, true)
		return
	}
	f := domain.Fields{}
	n := air.Place{ID: x.ID, Name: form(c, "name"), Kind: air.Kind(form(c, "kind")), Retired: s.whenTicked(c, "retired")}
	n.Version, _ = strconv.Atoi(form(c, "version"))
	for _, k := range append(append([]ruleNumber{}, bandNumbers...), alarmNumbers...) {
		k.read(f, c, &n.Rules)
	}
	err := f.Err()
	if err == nil {
		_, err = s.Work.SavePlace(keyed(c), actor(c), n)
	}
	s.answer(c, err, func(errs domain.Fields) { s.showAirPlace(c, http.StatusUnprocessableEntity, x, errs, false) }, n.Name+" is saved.", "/air/places")
}
