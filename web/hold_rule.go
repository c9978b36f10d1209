package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/workshop"
)

// ruleFigure is one figure of the rule on its form.
type ruleFigure struct {
	name, label, unit, help string
	of                      func(*hold.Rule) *float64
}

var ruleFigures = []ruleFigure{
	{"low_rh", "The air in the body is right from", "%", "", func(r *hold.Rule) *float64 { return &r.LowRH }},
	{"high_rh", "up to", "%", "", func(r *hold.Rule) *float64 { return &r.HighRH }},
	{"still_hours", "Nothing may move for", "hours", "", func(r *hold.Rule) *float64 { return &r.StillHours }},
	{"gap_limit", "A crack counts as closed at", "mm", "", func(r *hold.Rule) *float64 { return &r.GapLimit }},
	{"gap_still", "A crack has not moved within", "mm", "what a feeler tells apart", func(r *hold.Rule) *float64 { return &r.GapStill }},
	{"weight_still", "The weight stands still under", "g a day", "", func(r *hold.Rule) *float64 { return &r.WeightStill }},
	{"arch_from", "The arch is back from", "mm", "", func(r *hold.Rule) *float64 { return &r.ArchFrom }},
	{"give_up_days", "A crack that stands open will not close after", "days", "", func(r *hold.Rule) *float64 { return &r.GiveUpDays }},
	{"max_rate", "The air may move by", "% a day", "museum guidance is 5 at most", func(r *hold.Rule) *float64 { return &r.MaxRate }},
	{"stop_rh", "A hold is stopped from", "%", "", func(r *hold.Rule) *float64 { return &r.StopRH }},
}

func (s *Server) holdRule(c *gin.Context) { s.showHoldRule(c, http.StatusOK, nil) }

func (s *Server) showHoldRule(c *gin.Context, status int, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActChangeShop); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "When a hold may end", domain.Owner), Action: "/settings/holds", Button: "Save", Back: Link{Href: "/cabinet", Text: "Cabinet"}}
	p.Answer = "A hold is steady when the air is right and nothing has moved for long enough; these are the figures it is judged by."
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(shop.Version)}}
	p.Notes = []Caution{{Text: "Never force a crack shut with moister air: it opens again, wood swells above 60 %, and long stays above 65 % grow mould."}}
	rule, usual := shop.Hold.Complete(), hold.Usual()
	fields := make([]Field, len(ruleFigures))
	for i, g := range ruleFigures {
		value := strconv.FormatFloat(*g.of(&rule), 'f', -1, 64)
		if errs != nil {
			value = form(c, g.name)
		}
		help := fmt.Sprintf("usual: %g", *g.of(&usual))
		if g.help != "" {
			help += "; " + g.help
		}
		fields[i] = Field{Kind: "text", Name: g.name, Label: g.label, Value: value, Unit: g.unit, Help: help, Keys: "decimal", Width: "short"}.Marked(errs)
	}
	p.Groups = []Group{{Legend: "Figures", Note: "Empty is the usual figure. Common practice, no source, unless said.", Fields: fields}}
	s.formPage(c, status, p)
}

func (s *Server) saveHoldRule(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f, next := domain.Fields{}, *shop
	next.Hold = hold.Rule{}
	for _, g := range ruleFigures {
		typed := strings.Replace(form(c, g.name), ",", ".", 1)
		if typed == "" {
			continue
		}
		v, err := strconv.ParseFloat(typed, 64)
		if err != nil {
			f.Add(g.name, "must be a number")
			continue
		}
		*g.of(&next.Hold) = v
	}
	next.Version, _ = strconv.Atoi(form(c, "version"))
	rule := next.Hold
	for name, text := range domain.FieldsOf(rule.Check()) {
		f.Add(name, "%s", text)
	}
	if err = f.Err(); err == nil {
		err = s.Work.ChangeShop(keyed(c), actor(c), next)
	}
	s.answer(c, err, func(errs domain.Fields) {
		own := domain.Fields{}
		for name, text := range errs {
			own[strings.TrimPrefix(name, "hold.")] = text
		}
		s.showHoldRule(c, http.StatusUnprocessableEntity, own)
	}, "The rule is saved.", "/settings/holds")
}
