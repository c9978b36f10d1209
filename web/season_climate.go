package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/season"
	"winterbench/domain/workshop"
)

const climatePath = "/season/climate"

// ClimateImportBody is the most bytes that the form with a file of months may carry: a
// file chosen and one kept from the look before.
const ClimateImportBody = 2*season.MaxClimateFile + 1<<16

func (s *Server) climateRoutes(r *gin.RouterGroup) {
	r.GET(climatePath, s.climate)
	r.POST(climatePath, s.saveClimate)
	r.POST(climatePath+"/import", s.importClimate)
	r.POST(climatePath+"/forget", s.forgetClimate)
	r.POST(climatePath+"/winter", s.saveWinter)
}

// ClimatePage shows and asks for the outdoor climate of the town.
type ClimatePage struct {
	Page
	Months    Table
	Measured  Table
	Used      string // whether the forecast goes by it
	Scores    Table
	Town      []Field
	Rows      []Group // one for each month
	Seen      int     // version of the climate, 0 for none
	Winter    []Field
	Where     string // where the winter is and how that is known
	ShopSeen  int    // version of the settings
	WinterKey string
	Import    []Field
	ImportKey string
	Kept      string // the file that was looked through, packed; "" for none
	Look      *ClimateSeen
	ForgetKey string // "" when there is nothing to forget
}

// ClimateSeen is what a file of months holds.
type ClimateSeen struct {
	Facts  Facts
	Months Table
	Wrong  Table
	More   int // wrong lines that are not listed
	Why    string
	Hidden []Pair
	Key    string
}

// climateShown is what the page shows beside what is kept.
type climateShown struct {
	status int
	errs   domain.Fields
	typed  bool // the months come from the form
	winter bool // the winter comes from the form
	kept   string
	look   *workshop.ClimateLook
}

func (s *Server) climate(c *gin.Context) { s.showClimate(c, climateShown{status: http.StatusOK}) }

// townClimate reads the climate of the town, nil while nobody gave it.
func (s *Server) townClimate(c *gin.Context) (*workshop.Climate, error) {
	k, err := s.Read.TownClimate(c.Request.Context())
	if domain.KindOf(err) == domain.NotFound {
		return nil, nil
	}
	return k, err
}

func (s *Server) showClimate(c *gin.Context, show climateShown) {
	a := s.seasonAhead(c)
	if a == nil {
		return
	}
	k, err := s.townClimate(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &ClimatePage{Page: s.frame(c, "The climate of the town", domain.Owner), WinterKey: NewKey(), ImportKey: NewKey(), Kept: show.kept, ShopSeen: shop.Version}
	p.Errors, p.Answer = show.errs, workshop.ClimateAnswer(k)
	p.Used, p.Scores = dryText(k, a.Dry), dryScores(a)
	get := climateGetter(k)
	if k != nil {
		p.Months, p.Measured, p.Seen, p.ForgetKey = climateTable(&k.Months), measuredTable(&k.Months), k.Version, NewKey()
	}
	if show.typed {
		get = func(name string) string { return c.PostForm(name) }
	}
	p.Town, p.Rows = climateFields(get, show.errs)
	winter := *shop
	if show.winter {
		winter.Hemisphere = workshop.Hemisphere(form(c, "hemisphere"))
	}
	p.Winter, p.Where = winterFields(&winter, show.errs), winterWords(shop)
	if show.winter {
		p.Winter[1].Value = form(c, "expected")
	}
	p.Import = markAll(show.errs, []Field{
		FileField("file", "The file", ".csv,.txt,text/csv,text/plain").Hint("a line of column names with month, celsius and rh, and if you like year; comma, semicolon or tab; a line without a year is of the usual year"),
		func() Field { f := AreaField("text", "Or paste it", form(c, "text")); f.Rows = 4; return f }(),
	})
	if show.look != nil {
		p.Look = climateSeen(show.look, k)
		p.Answer = lookedAt(show.look)
	}
	s.page(c, show.status, "season/climate", p)
}

// climateGetter gives the values of the form as they are kept.
func climateGetter(k *workshop.Climate) func(string) string {
	if k == nil {
		return func(string) string { return "" }
	}
	out := map[string]string{"town": k.Town, "source": k.Source}
	for i, m := range k.Months.Usual {
		out["celsius_"+strconv.Itoa(i+1)], out["rh_"+strconv.Itoa(i+1)] = tenthOrWhole(m.Celsius), tenthOrWhole(m.RH)
	}
	return func(name string) string { return out[name] }
}

func tenthOrWhole(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func climateFields(get func(string) string, errs domain.Fields) (town []Field, rows []Group) {
	town = markAll(errs, []Field{
		TextField("town", "Town", get("town")).Need().Limit(80).Middle(),
		TextField("source", "Where the figures are from", get("source")).Limit(200).Hint("a weather service, a climate table, your own notes"),
	})
	for m := time.January; m <= time.December; m++ {
		n := strconv.Itoa(int(m))
		g := Group{Legend: m.String(), Across: true, Fields: []Field{
			degrees("celsius_"+n, m.String()+" outdoors, mean", get("celsius_"+n), "°C"), degrees("rh_"+n, m.String()+" outdoors, humidity", get("rh_"+n), "%"),
		}}
		rows = append(rows, g.Marked(errs))
	}
	return town, rows
}

func degrees(name, label, value, unit string) Field {
	return Field{Kind: "text", Name: name, Label: label, Value: value, Unit: unit, Keys: "decimal", Width: "short", Needed: true}
}

// climateTable lists the usual year outdoors and in a heated room.
func climateTable(k *season.Climate) Table {
	t := Table{Caption: "A usual year", Hidden: true, Columns: []Column{Head("Month"), Figures("Outdoors", "°C"), Figures("Outdoors", "% humidity"), Figures("Heated room", "% humidity")}}
	for i, m := range k.Usual {
		t.Rows = append(t.Rows, Line(time.Month(i+1).String(), tenth(m.Celsius), tenth(m.RH), tenth(m.Indoor())))
	}
	return t
}

// measuredTable lists the months that were measured, newest first.
func measuredTable(k *season.Climate) Table {
	t := Table{Caption: "Months that were measured", Hidden: true, Columns: []Column{Head("Month"), Figures("Outdoors", "°C"), Figures("Outdoors", "% humidity"), Figures("Heated room", "% humidity")}}
	var all []season.YearMonth
	for at := range k.Past {
		all = append(all, at)
	}
	slices.SortFunc(all, func(a, b season.YearMonth) int { return 12*(b.Year-a.Year) + b.Month - a.Month })
	for _, at := range all {
		m := k.Past[at]
		t.Rows = append(t.Rows, Line(fmt.Sprintf("%s %d", time.Month(at.Month), at.Year), tenth(m.Celsius), tenth(m.RH), tenth(m.Indoor())))
	}
	return t
}

// dryText says whether the forecast goes by the climate.
func dryText(k *workshop.Climate, d season.Dry) string {
	switch {
	case k == nil:
		return "The forecast goes by the calendar alone. With the climate of your town it tries whether dry air tells more, and says so here. A colder winter can then be tried in degrees."
	case !d.Tried:
		return "The forecast goes by the calendar alone until two winters are in the books; then it tries whether dry air tells more. A colder winter can be tried in degrees now."
	case d.Used:
		return fmt.Sprintf("The forecast goes by the dryness of the air as well: it foretold the last year better with it. Air that is 10 percent drier brings %.0f percent more work.", 100*math.Expm1(d.Coefficient))
	}
	return "The forecast goes by the calendar alone: dryness did not foretell the last year clearly better, so it is left out. A colder winter can be tried in degrees all the same."
}

// dryScores sets the last year foretold with and without the dryness side by side.
func dryScores(a *workshop.SeasonAhead) Table {
	t := Table{Caption: "The last year, foretold 13 weeks at a time", Columns: []Column{Head("By"), Figures("Scaled error", ""), Figures("Loss of the range", "jobs"), Figures("Within the range", "of 100 weeks"), Head("Used")}}
	if !a.Dry.Tried {
		return t
	}
	row := func(name string, x season.Score, used bool) {
		word := "no"
		if used {
			word = "yes"
		}
		t.Rows = append(t.Rows, Line(name, fmt.Sprintf("%.2f", x.MASE), fmt.Sprintf("%.2f", x.Pinball), fmt.Sprintf("%.0f", 100*x.Covered), word))
	}
	row("the calendar", a.Dry.Without, !a.Dry.Used)
	row("the calendar and dry air", a.Dry.Score, a.Dry.Used)
	t.Rows = append(t.Rows, Line("the same week a year before", fmt.Sprintf("%.2f", a.Dry.Without.NaiveMASE), fmt.Sprintf("%.2f", a.Dry.Without.NaivePinball), "–", "no"))
	return t
}

// winterFields ask where the shop has its winter and, while nothing is in the books,
// how many jobs the owner expects.
func winterFields(shop *workshop.Shop, errs domain.Fields) []Field {
	options := []Option{{Value: "", Label: "by the time zone, " + shop.Zone}, {Value: string(workshop.North), Label: "around January"}, {Value: string(workshop.South), Label: "around July"}}
	return markAll(errs, []Field{
		ChoiceField("hemisphere", "Winter is", string(shop.Hemisphere), options).Middle(),
		CountField("expected", "Jobs a week that you expect", strconv.Itoa(shop.Expected), "a week").Hint("counts only while no full week of agreed work is in the books; 0 for no guess"),
	})
}

func winterWords(shop *workshop.Shop) string {
	if text := shop.SouthText(); text != "" {
		return text
	}
	return "The shop lies in the northern hemisphere: its winter is around January."
}

// saveClimate keeps the climate of the form; measured months stay.
func (s *Server) saveClimate(c *gin.Context) {
	old, err := s.townClimate(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	next := workshop.Climate{Town: form(c, "town"), Source: form(c, "source")}
	next.Version, _ = strconv.Atoi(form(c, "version"))
	for i := range next.Months.Usual {
		n := strconv.Itoa(i + 1)
		next.Months.Usual[i] = season.Month{Celsius: decimalOf(f, c, "celsius_"+n), RH: decimalOf(f, c, "rh_"+n)}
	}
	if old != nil {
		next.Months.Past = old.Months.Past
	}
	for name, text := range domain.FieldsOf(next.Check()) {
		if f[name] == "" {
			f.Add(name, "%s", text)
		}
	}
	if err = f.Err(); err == nil {
		err = s.Work.SetClimate(keyed(c), actor(c), next)
	}
	s.answer(c, err, func(errs domain.Fields) {
		s.showClimate(c, climateShown{status: http.StatusUnprocessableEntity, errs: errs, typed: true})
	}, "The climate is kept; the season is worked out anew.", climatePath)
}

// decimalOf reads a number of the form; a comma serves as a point.
func decimalOf(f domain.Fields, c *gin.Context, name string) float64 {
	typed := strings.Replace(strings.ReplaceAll(form(c, name), "−", "-"), ",", ".", 1)
	x, err := strconv.ParseFloat(typed, 64)
	if err != nil || x != x {
		f.Add(name, "must be a number such as -4.5, not %q", form(c, name))
	}
	return x
}

func (s *Server) forgetClimate(c *gin.Context) {
	version, _ := strconv.Atoi(form(c, "version"))
	err := s.Work.ForgetClimate(keyed(c), actor(c), version)
	s.answer(c, err, func(errs domain.Fields) {
		s.showClimate(c, climateShown{status: http.StatusUnprocessableEntity, errs: wholeError(errs, err)})
	}, "The climate is taken away.", climatePath)
}

// wholeError names what no field is to blame for.
func wholeError(errs domain.Fields, err error) domain.Fields {
	if len(errs) == 0 {
		return domain.Fields{"": domain.TextOf(err)}
	}
	return errs
}

// saveWinter keeps where the winter is and what the owner expects.
func (s *Server) saveWinter(c *gin.Context) {
	shop := s.shopToChange(c)
	if shop == nil {
		return
	}
	f := domain.Fields{}
	next := *shop
	next.Hemisphere, next.Expected = workshop.Hemisphere(form(c, "hemisphere")), countIn(f, c, "expected")
	next.Version, _ = strconv.Atoi(form(c, "version"))
	err := f.Err()
	if err == nil {
		err = s.Work.ChangeShop(keyed(c), actor(c), next)
	}
	s.answer(c, err, func(errs domain.Fields) {
		s.showClimate(c, climateShown{status: http.StatusUnprocessableEntity, errs: wholeError(errs, err), winter: true})
	}, "Saved; the season is worked out anew.", climatePath)
}

// importClimate looks through a file of months, or keeps it when that was asked for.
func (s *Server) importClimate(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActClimate); err != nil {
		s.fail(c, err)
		return
	}
	refuse := func(errs domain.Fields, kept string, look *workshop.ClimateLook) {
		s.showClimate(c, climateShown{status: http.StatusUnprocessableEntity, errs: errs, kept: kept, look: look})
	}
	raw, kept, err := monthsFileIn(c)
	if err != nil {
		refuse(fieldErrors(err), "", nil)
		return
	}
	old, err := s.townClimate(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in := workshop.ClimateImport{Town: form(c, "town"), Source: form(c, "source"), CSV: raw}
	in.Version, _ = strconv.Atoi(form(c, "version"))
	look, err := workshop.LookAtClimate(old, in)
	if err != nil {
		refuse(fieldErrors(err), kept, nil)
		return
	}
	if form(c, "do") != "take" {
		s.showClimate(c, climateShown{status: http.StatusOK, kept: kept, look: look})
		return
	}
	_, err = s.Work.ImportClimate(keyed(c), actor(c), old, in)
	s.answer(c, err, func(errs domain.Fields) { refuse(wholeError(errs, err), kept, look) }, "The months are kept; the season is worked out anew.", climatePath)
}

var monthsFileLimits = fileLimits{
	body: ClimateImportBody, most: season.MaxClimateFile,
	cut: "was cut off on its way, or is larger than 1 MB", large: "must have at most 1 MB",
}

// monthsFileIn is the file of the form as [fileIn] reads it; an empty one is refused.
func monthsFileIn(c *gin.Context) (raw []byte, kept string, err error) {
	raw, kept, err = fileIn(c, monthsFileLimits)
	if err == nil && len(raw) == 0 {
		err = fileError("is missing; choose one, or paste it")
	}
	return raw, kept, err
}

// climateSeen lays out what a file holds.
func climateSeen(l *workshop.ClimateLook, old *workshop.Climate) *ClimateSeen {
	out := &ClimateSeen{Key: NewKey(), Why: l.Why, More: max(0, len(l.File.Bad)-100)}
	out.Facts = Facts{
		{Name: "Read as", Value: l.File.Columns}, {Name: "Of a usual year", Value: Plural(l.File.Usual, "month", "months")}, {Name: "Of certain years", Value: Plural(l.File.Past, "month", "months")},
	}
	out.Months = climateTable(&l.Next.Months)
	out.Months.Caption, out.Wrong = "The usual year as it would be kept", Table{Caption: "Lines left out", Hidden: true, Columns: []Column{Figures("Line", ""), Head("Why")}}
	for _, b := range l.File.Bad[:min(100, len(l.File.Bad))] {
		out.Wrong.Rows = append(out.Wrong.Rows, Line(strconv.Itoa(b.Line), b.Text))
	}
	version := 0
	if old != nil {
		version = old.Version
	}
	out.Hidden = []Pair{{Name: "town", Value: l.Next.Town}, {Name: "source", Value: l.Next.Source}, {Name: "version", Value: strconv.Itoa(version)}}
	return out
}

// lookedAt says what a file would bring.
func lookedAt(l *workshop.ClimateLook) string {
	text := fmt.Sprintf("The file has %s of a usual year and %d of certain years", Plural(l.File.Usual, "month", "months"), l.File.Past)
	if n := len(l.File.Bad); n > 0 {
		text += "; " + Plural(n, "line makes no sense and is", "lines make no sense and are") + " left out"
	}
	return text + ". Nothing is kept yet."
}
