package web

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/workshop"
)

// AirImportBody is the most bytes that the form with a logger's file may carry:
// a file chosen and one kept from the look before.
const AirImportBody = 2*air.MaxFile + 1<<20

func (s *Server) airImportRoutes(r *gin.RouterGroup) {
	r.GET("/air/import", s.airImport)
	r.POST("/air/import", s.takeAirFile)
}

// AirImportPage takes in a logger's file: first a look, then the taking.
type AirImportPage struct {
	Page
	Fields  []Field
	Kept    string // the file that was looked through, packed; "" for none
	Note    string // what is kept
	Look    *AirLook
	Back    Link
	Nothing *Empty // why nothing can be taken in yet; nil when it can
}

// AirLook is what a file holds.
type AirLook struct {
	Facts  Facts
	Sample Table
	Wrong  Table
	More   int // wrong lines that are not listed
	Hidden []Pair
	Key    string
	Button string // "" when nothing is new
}

func (s *Server) airImport(c *gin.Context) { s.showAirImport(c, http.StatusOK, "", nil, nil) }

// showAirImport writes the page with a file that is kept, packed, what it holds,
// and what is wrong.
func (s *Server) showAirImport(c *gin.Context, status int, kept string, look *workshop.AirImport, errs domain.Fields) {
	v := s.openAir(c)
	if v == nil {
		return
	}
	if err := workshop.May(actor(c), workshop.ActAir); err != nil {
		s.fail(c, err)
		return
	}
	p := &AirImportPage{Page: s.frame(c, "A logger’s file", deskDoor(c)), Back: Link{Href: "/air", Text: "The shop’s air"}, Kept: kept}
	p.Answer, p.Errors = "Choose whose file it is and look through it; nothing is kept before you say so.", errs
	if kept != "" {
		p.Note = "The file you sent is still here; choose or paste another to look at that instead."
	}
	switch {
	case len(v.now.Places) == 0:
		p.Nothing = &Empty{Text: "A file belongs to a place; none is kept yet.", Do: &Link{Href: "/air/places", Text: "Places of the air"}}
	case len(v.now.Meters) == 0:
		p.Nothing = &Empty{Text: "A file belongs to a meter; none is noted yet.", Do: &Link{Href: "/meters", Text: "Meters"}}
	}
	p.Fields = markAll(errs, importFields(c, v))
	if look != nil {
		p.Answer = lookAnswer(look)
		p.Look = airLook(c, v, look)
	}
	s.page(c, status, "air/import", p)
}

func importFields(c *gin.Context, v *airView) []Field {
	places := []Option{}
	for _, n := range v.now.Places {
		places = append(places, Option{Value: strconv.FormatInt(int64(n.Place.ID), 10), Label: n.Place.Name})
	}
	orders := []Option{{Value: "", Label: "found out from the file"}, {Value: string(air.DayFirst), Label: "day first: 13/04/2026 is in April"}, {Value: string(air.MonthFirst), Label: "month first: 04/13/2026 is in April"}}
	file := FileField("file", "The file", ".csv,.txt,text/csv,text/plain").Hint("a line of column names with a time and a humidity; comma, semicolon or tab, decimal point or comma; at most 5 MB")
	text := AreaField("text", "Or paste it", form(c, "text"))
	text.Rows = 4
	return []Field{
		ChoiceField("place", "Place", form(c, "place"), places).Need(), airMeterField(v.now.Meters, form(c, "meter"), v.moment, "choose the logger").Need(),
		file, text, ChoiceField("order", "Dates in figures", form(c, "order"), orders),
	}
}

// lookAnswer says what a file would bring.
func lookAnswer(n *workshop.AirImport) string {
	said := fmt.Sprintf("%s new", Plural(n.Taken, "reading is", "readings are"))
	if n.There > 0 {
		said += fmt.Sprintf(", %d are there already", n.There)
	}
	if n.Wrong > 0 {
		said += ", " + Plural(n.Wrong, "line makes no sense and is", "lines make no sense and are") + " left out"
	}
	return said + ". Nothing is kept yet."
}

func airLook(c *gin.Context, v *airView, n *workshop.AirImport) *AirLook {
	zone := v.moment.Location()
	look := &AirLook{Key: NewKey(), More: n.Wrong - len(n.Errors), Hidden: []Pair{{Name: "place", Value: form(c, "place")}, {Name: "meter", Value: form(c, "meter")}, {Name: "order", Value: form(c, "order")}}}
	if n.Taken > 0 {
		look.Button = fmt.Sprintf("Take in %s", Plural(n.Taken, "reading", "readings"))
	}
	look.Facts = Facts{{Name: "Read as", Value: n.Columns}}
	if !n.From.IsZero() {
		look.Facts = append(look.Facts,
			Fact{Name: "From", Value: fullDay(n.From.In(zone)) + ", " + Hour(n.From.In(zone))}, Fact{Name: "To", Value: fullDay(n.To.In(zone)) + ", " + Hour(n.To.In(zone))},
			Fact{Name: "Humidity", Value: fmt.Sprintf("%s to %s %%", n.Low.Round(1), n.High.Round(1)), Note: "put right by the meter’s calibration"})
	}
	if n.Doubted > 0 {
		look.Facts = append(look.Facts, Fact{Name: "Not trusted", Value: Plural(n.Doubted, "reading", "readings"), Note: n.Doubt})
	}
	look.Sample = Table{Caption: "The first readings", Hidden: true, Columns: []Column{Head("When"), Figures("As logged", "%"), Figures("Air", "%"), Figures("Temperature", warmUnit(v.shop.Units))}, Empty: Empty{Text: "The file holds no reading that can be taken."}}
	for _, r := range n.Sample {
		look.Sample.Rows = append(look.Sample.Rows, Line(DayHour(r.At.In(zone)), r.Raw.String(), r.RH.StringFixed(1), warmFigure(r.Celsius, v.shop.Units)))
	}
	look.Wrong = Table{Caption: "Lines left out", Hidden: true, Columns: []Column{Figures("Line", ""), Head("It")}}
	for _, e := range n.Errors {
		look.Wrong.Rows = append(look.Wrong.Rows, Line(strconv.Itoa(e.Line), e.Text))
	}
	return look
}

// takeAirFile looks through a file, or takes it in when that was asked for.
func (s *Server) takeAirFile(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActAir); err != nil {
		s.fail(c, err)
		return
	}
	raw, kept, err := fileIn(c, airFileLimits)
	if err != nil {
		s.showAirImport(c, http.StatusUnprocessableEntity, "", nil, fieldErrors(err))
		return
	}
	f := domain.Fields{}
	in := workshop.AirFile{CSV: raw, Order: air.DateOrder(form(c, "order")), Place: domain.AirPlaceID(idIn(f, c, "place")), Meter: domain.MeterID(idIn(f, c, "meter"))}
	if form(c, "meter") == "" {
		f.Add("meter", "choose the logger; without one no reading is trusted")
	}
	if len(raw) == 0 {
		f.Add("file", "choose a file, or paste it")
	}
	if err = f.Err(); err != nil {
		s.showAirImport(c, http.StatusUnprocessableEntity, kept, nil, fieldErrors(err))
		return
	}
	take := form(c, "do") == "take"
	var out *workshop.AirImport
	if take {
		out, err = s.Work.ImportAir(keyed(c), actor(c), in)
	} else {
		out, err = s.Work.PreviewAir(c.Request.Context(), actor(c), in)
	}
	switch kind := domain.KindOf(err); {
	case err != nil && kind == domain.Invalid:
		s.showAirImport(c, http.StatusUnprocessableEntity, kept, nil, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	case !take:
		s.showAirImport(c, http.StatusOK, kept, out, nil)
	default:
		s.say(c, takenText(out))
		Go(c, airReadingsPath(in.Place))
	}
}

func takenText(n *workshop.AirImport) string {
	text := Plural(n.Taken, "reading is", "readings are") + " taken in"
	if n.There > 0 {
		text += fmt.Sprintf("; %d were there already", n.There)
	}
	if n.Wrong > 0 {
		text += fmt.Sprintf("; %s left out", Plural(n.Wrong, "line was", "lines were"))
	}
	return text + "."
}

// fileLimits are what a form with a file takes, and what is said of more.
type fileLimits struct {
	body, most int64
	cut, large string
}

var airFileLimits = fileLimits{
	body: AirImportBody, most: air.MaxFile,
	cut: "was cut off on its way, or is larger than 5 MB; send it again, or cut it into pieces", large: "must have at most 5 MB; cut it into pieces",
}

// fileIn is the file of the form, and the same packed for the next form: the
// chosen one, else what was pasted, else what was kept from the look before.
func fileIn(c *gin.Context, limits fileLimits) (raw []byte, kept string, err error) {
	if err := c.Request.ParseMultipartForm(limits.body); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return nil, "", fileError(limits.cut)
	}
	head, err := c.FormFile("file")
	switch {
	case err == nil && head.Size > limits.most:
		return nil, "", fileError(limits.large)
	case err == nil:
		file, err := head.Open()
		if err != nil {
			return nil, "", fmt.Errorf("open the file of a form: %w", err)
		}
		defer file.Close()
		if raw, err = io.ReadAll(io.LimitReader(file, limits.most+1)); err != nil {
			return nil, "", fileError("was cut off on its way; send it again")
		}
	case form(c, "text") != "":
		raw = []byte(c.PostForm("text"))
	default:
		if raw, err = unpacked(form(c, "kept")); err != nil {
			return nil, "", fileError("was not kept whole; choose it again")
		}
	}
	return raw, packed(raw), nil
}

func fileError(text string) error {
	return &domain.Error{Kind: domain.Invalid, Text: "the file " + text, Fields: domain.Fields{"file": text}}
}

// packed makes text of a file for a hidden field, byte for byte; "" of nothing.
func packed(raw []byte) string {
	if len(raw) == 0 {
		return ""
	}
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = z.Write(raw) // into memory
	_ = z.Close()
	return base64.StdEncoding.EncodeToString(b.Bytes())
}

// unpacked turns packed back, at most the largest file and one byte of it.
func unpacked(text string) ([]byte, error) {
	if text == "" {
		return nil, nil
	}
	b, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return nil, fmt.Errorf("read what was kept: %w", err)
	}
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, fmt.Errorf("read what was kept: %w", err)
	}
	return io.ReadAll(io.LimitReader(z, air.MaxFile+1))
}
