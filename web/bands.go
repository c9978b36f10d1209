package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

const bandsPath = "/settings/bands"

func (s *Server) bandRoutes(r *gin.RouterGroup) {
	r.GET(bandsPath, s.bands)
	r.POST(bandsPath, s.saveBands)
}

// BandsPage asks from which measure on a sign gets which grade.
type BandsPage struct {
	Page
	Action string
	Hidden []Pair
	Rows   []BandRow
	Back   Link
	Dirty  bool
}

// BandRow asks for the limits of one symptom.
type BandRow struct {
	Index    int
	Title    string
	Unit     string
	Own      bool // differs from the usual figures
	Limits   []Field
	Over     []Field // upwards, where too much is bad too; empty where it is not
	OverName string
}

func (s *Server) bands(c *gin.Context) {
	shop := s.shopToChange(c)
	if shop == nil {
		return
	}
	s.showBands(c, http.StatusOK, shop, typedBands(shop.Bands.Complete()), nil, false)
}

// shopToChange reads the settings for who may change them; else it answers the
// request itself and returns nil.
func (s *Server) shopToChange(c *gin.Context) *workshop.Shop {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err == nil {
		err = workshop.May(actor(c), workshop.ActChangeShop)
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return shop
}

// limits are the limits of one band as typed.
type limits struct{ edges, over []string }

func typedBands(bands job.Bands) []limits {
	out := make([]limits, len(bands))
	for i, b := range bands {
		for _, e := range b.Edges {
			out[i].edges = append(out[i].edges, e.String())
		}
		for _, e := range b.Over {
			out[i].over = append(out[i].over, e.String())
		}
	}
	return out
}

func edgeName(band, i int) string { return fmt.Sprintf("bands[%d].edges[%d]", band, i) }
func overName(band, i int) string { return fmt.Sprintf("bands[%d].over[%d]", band, i) }

// bandsIn reads the form: what was typed, the bands, and what is wrong.
func bandsIn(c *gin.Context) ([]limits, job.Bands, domain.Fields) {
	f := domain.Fields{}
	bands := job.UsualBands()
	typed := make([]limits, len(bands))
	for i := range bands {
		b := &bands[i]
		for k := range b.Edges {
			text := form(c, edgeName(i, k))
			typed[i].edges = append(typed[i].edges, text)
			b.Edges[k] = limitIn(f, edgeName(i, k), text)
		}
		usual := len(b.Over)
		b.Over = nil
		for k := range usual {
			text := form(c, overName(i, k))
			typed[i].over = append(typed[i].over, text)
			if text != "" {
				b.Over = append(b.Over, limitIn(f, overName(i, k), text))
			}
		}
	}
	if len(f) == 0 {
		for name, text := range domain.FieldsOf(bands.Check()) {
			f.Add(name, "%s", text)
		}
	}
	return typed, bands, firstLimits(f)
}

// firstLimits puts what is wrong with a whole row beside its first limit.
func firstLimits(f domain.Fields) domain.Fields {
	out := domain.Fields{}
	for name, text := range f {
		if strings.HasSuffix(name, ".edges") || strings.HasSuffix(name, ".over") {
			name += "[0]"
		}
		out.Add(name, "%s", text)
	}
	return out
}

func limitIn(f domain.Fields, name, typed string) decimal.Decimal {
	d, err := decimal.NewFromString(strings.NewReplacer(",", ".", "\u2212", "-").Replace(typed))
	if err != nil || len(typed) > 10 {
		f.Add(name, "%q is no number; write it like 0.15 or -0.5", typed)
		return decimal.Zero
	}
	return d
}

func (s *Server) saveBands(c *gin.Context) {
	shop := s.shopToChange(c)
	if shop == nil {
		return
	}
	typed, bands, wrong := bandsIn(c)
	if usual := typedBands(job.UsualBands()); form(c, "do") == "usual" {
		s.showBands(c, http.StatusOK, shop, usual, nil, true)
		return
	} else if i, err := strconv.Atoi(form(c, "usual")); err == nil && i >= 0 && i < len(usual) {
		typed[i] = usual[i]
		s.showBands(c, http.StatusOK, shop, typed, nil, true)
		return
	}
	err := wrong.Err()
	if err == nil {
		changed := *shop
		changed.Bands = ownBands(bands)
		changed.Version, _ = strconv.Atoi(form(c, "version"))
		err = s.Work.ChangeShop(keyed(c), actor(c), changed)
	}
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, "Saved. New surveys are graded so; those that were made keep their grades.")
		Go(c, bandsPath)
	case kind == domain.Invalid || kind == domain.Conflict:
		s.showBands(c, StatusOf(kind), shop, typed, fieldErrors(err), true)
	default:
		s.fail(c, err)
	}
}

// ownBands are the bands that differ from the usual ones.
func ownBands(bands job.Bands) job.Bands {
	var out job.Bands
	for _, b := range bands {
		if isOwn(b) {
			out = append(out, b)
		}
	}
	return out
}

func isOwn(b job.Band) bool {
	usual, ok := job.UsualBands().Of(b.Symptom)
	if !ok || len(usual.Over) != len(b.Over) {
		return true
	}
	for i, e := range append(b.Edges[:], b.Over...) {
		if !e.Equal(append(usual.Edges[:], usual.Over...)[i]) {
			return true
		}
	}
	return false
}

func (s *Server) showBands(c *gin.Context, status int, shop *workshop.Shop, typed []limits, errs domain.Fields, dirty bool) {
	p := &BandsPage{Page: s.frame(c, "What counts as dry", domain.Owner), Action: bandsPath, Back: Link{Href: "/settings", Text: "Shop settings"}, Dirty: dirty}
	p.Answer = "A measure gets its grade from these limits; whoever surveys may say otherwise and notes why."
	p.Because = []string{ownAnswer(shop.Bands), "The usual figures are common practice, no source. A finding that depends on them stands in the survey with its measure."}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: orElse(form(c, "version"), strconv.Itoa(shop.Version))}}
	now := shop.Bands.Complete()
	for i, b := range now {
		p.Rows = append(p.Rows, bandRow(i, b, typed[i], errs))
	}
	s.page(c, status, "survey/bands", p)
}

func ownAnswer(own job.Bands) string {
	if len(own) == 0 {
		return "All are as usual."
	}
	names := make([]string, len(own))
	for i, b := range own {
		names[i] = b.Symptom
	}
	return "Your own: " + strings.Join(names, ", ") + "; the others are as usual."
}

func bandRow(i int, b job.Band, typed limits, errs domain.Fields) BandRow {
	r := BandRow{Index: i, Title: b.Symptom, Unit: UnitWord(b.Unit), Own: isOwn(b), OverName: "too much is bad too, above"}
	word := "below"
	if b.Rising {
		word = "from"
	}
	limit := func(name, label, value string) Field {
		return Field{Kind: "text", Name: name, Label: label, Value: value, Unit: r.Unit, Keys: "text", Width: "short", Max: 10, Of: b.Symptom}.Marked(errs)
	}
	for k, text := range typed.edges {
		if b.Rising && k == len(typed.edges)-1 {
			word = "above"
		}
		r.Limits = append(r.Limits, limit(edgeName(i, k), job.Grade(k+1).String()+" "+word, text))
	}
	for k, text := range typed.over {
		r.Over = append(r.Over, limit(overName(i, k), job.Grade(k+1).String()+" above", text))
	}
	return r
}
