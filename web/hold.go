package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// HoldPage is one hold with its readings, what they say and how it ends.
type HoldPage struct {
	Page
	At       string
	Job      string
	Tag      string
	Place    string
	Open     bool
	MayWork  bool
	Cautions []Caution // stop first
	Verdict  string
	WhyHead  string   // what Why is: what is missing, or what makes the verdict
	Why      []string // reasons, one a line
	Doubts   []string // what is wrong with the readings
	Facts    Facts
	Splint   *Link // to the change of the quote; nil unless it will not close
	Pictures []Picture
	Fields   []Field
	EndForm  []Field
	EndKey   string
	NotYet   []Pair // reasons that are not possible now, with why
	Readings Table
	Ended    string
}

func (s *Server) hold(c *gin.Context) { s.showHold(c, http.StatusOK, nil) }

// findHold reads the hold of the path with its job, and answers the request
// itself when there is none.
func (s *Server) findHold(c *gin.Context) (*workshop.Folder, *job.Hold) {
	f, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return nil, nil
	}
	i := slices.IndexFunc(f.Job.Holds, func(h job.Hold) bool { return h.ID == domain.HoldID(number(c, "hold")) })
	if i < 0 {
		s.fail(c, domain.NotFoundf("tag %d has no such hold", f.Job.Tag))
		return nil, nil
	}
	return f, &f.Job.Holds[i]
}

func (s *Server) showHold(c *gin.Context, status int, errs domain.Fields) {
	f, h := s.findHold(c)
	if h == nil {
		return
	}
	meters, err := s.Read.Meters(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	says := workshop.Judge(h, f.Job, f.Shop.Hold, f.Prior, s.now())
	p := &HoldPage{
		Page: s.frame(c, "Hold in "+h.Place, domain.Bench), At: holdPath(f.Job.ID, h.ID), Job: jobPath(f.Job.ID),
		Tag: fmt.Sprintf("tag %d", f.Job.Tag), Place: h.Place, Open: h.End.IsZero(),
		MayWork: workshop.May(actor(c), workshop.ActHold) == nil, EndKey: NewKey(),
	}
	p.Folio, p.Errors = p.Tag, errs
	p.Answer = workshop.HoldAnswer(h, says, s.now(), f.Shop)
	p.judged(says, len(h.Standing()))
	if p.Open && says.Verdict == hold.WillNotClose && workshop.May(actor(c), workshop.ActQuote) == nil {
		p.Splint = &Link{Href: fmt.Sprintf("/jobs/%d/quote?splint=%d", f.Job.ID, h.ID), Text: "Offer a splint as a change of the quote", Now: true}
	}
	if !p.Open {
		p.Ended = strings.TrimSpace(fmt.Sprintf("%s, %s. %s", h.Reason, h.EndedBy, h.Note))
	}
	p.Pictures = s.holdPictures(h, says, f.Shop)
	p.Readings = s.readings(h, meters, f.Shop.Units)
	p.Fields = append(readingFields(c, errs, meterField(meters, s.roundMeter(c, *h), s.now())), s.replacesField(c, h).Marked(errs))
	p.release(c, says, errs)
	s.page(c, status, "cabinet/hold", p)
}

// judged lays out what the readings say.
func (p *HoldPage) judged(says hold.Judgement, readings int) {
	for _, x := range says.Cautions {
		p.Cautions = append(p.Cautions, Caution{Text: x.Text, Stop: x.Stop})
	}
	slices.SortStableFunc(p.Cautions, func(a, b Caution) int {
		switch {
		case a.Stop == b.Stop:
			return 0
		case a.Stop:
			return -1
		}
		return 1
	})
	p.Verdict, p.Why, p.Doubts = capital(string(says.Verdict)), says.Why, says.Doubts
	p.WhyHead = "What makes it so"
	if says.Verdict == hold.StillDrinking {
		p.WhyHead = "What is missing to be steady"
	}
	if readings == 0 {
		p.Verdict = "No reading yet"
	}
	if says.Signal == "" {
		return
	}
	places := decimalsOf(says.Signal)
	p.Facts = Facts{
		{Name: "Judged by", Value: signalWord(says.Signal)},
		{Name: "Settles at", Value: fmt.Sprintf("%.*f %s", places, says.Level.P50, says.Unit), Note: fmt.Sprintf("%.*f to %.*f in eight of ten cases", places, says.Level.P10, places, says.Level.P90)},
		{Name: "Two thirds in", Value: fmt.Sprintf("%.1f days", says.TauDays.P50), Note: fmt.Sprintf("%.1f to %.1f", says.TauDays.P10, says.TauDays.P90)},
	}
	if says.Ready.Known && says.Verdict == hold.StillDrinking {
		p.Facts = append(p.Facts, Fact{Name: "Window", Value: says.Ready.Text})
	}
}

// release offers the reasons that this person may give now, and says of the
// others why not.
func (p *HoldPage) release(c *gin.Context, says hold.Judgement, errs domain.Fields) {
	var can []Option
	for _, reason := range job.HoldEnds() {
		if why := job.NotYet(reason, says, actor(c)); why != "" {
			p.NotYet = append(p.NotYet, Pair{Name: reason, Value: why})
			continue
		}
		can = append(can, Option{Value: reason, Label: reason})
	}
	note := TextField("end_note", "Note", form(c, "end_note")).Limit(300).Marked(errs)
	if actor(c).Wears(domain.Owner) {
		note = note.Hint("Needed for an owner's exception.")
	}
	p.EndForm = []Field{ChoiceField("end_reason", "Why it ends", form(c, "end_reason"), can).Radio().Need().Marked(errs), note}
}

// signalWord names a series as the pages do.
func signalWord(signal string) string {
	return map[string]string{"gap": "crack", "weight": "weight", "arch": "arch", "rh": "air"}[signal]
}

// decimalsOf is how exactly a series is shown.
func decimalsOf(signal string) int { return map[string]int{"gap": 2, "arch": 1}[signal] }

// signal is one series of a hold as it is drawn.
type signal struct {
	name, title string
	unit        string
	of          func(job.Reading) wood.Measure
	limit       func(hold.Rule) float64
	limitIs     string
}

// signals are the series in the order of the pages.
var signals = []signal{
	{"gap", "The crack", "mm", func(r job.Reading) wood.Measure { return r.Gap }, func(r hold.Rule) float64 { return r.GapLimit }, "counts as closed"},
	{"weight", "The weight", "g", func(r job.Reading) wood.Measure { return r.Weight }, nil, ""},
	{"rh", "The air in the body", "%", func(r job.Reading) wood.Measure { return r.RH }, func(r hold.Rule) float64 { return r.LowRH }, "right for work from here"},
	{"arch", "The arch behind the bridge", "mm", func(r job.Reading) wood.Measure { return r.Arch }, func(r hold.Rule) float64 { return r.ArchFrom }, "back far enough"},
}

// holdPictures draws every series that was measured, the one that carries the
// judgement first.
func (s *Server) holdPictures(h *job.Hold, says hold.Judgement, shop *workshop.Shop) []Picture {
	var out []Picture
	rule := shop.Hold.Complete()
	for _, g := range signals {
		c := &Curve{Unit: g.unit, Marked: capital(signalWord(g.name)), Air: g.name == "rh", Decimals: decimalsOf(g.name), Today: s.now()}
		for _, r := range h.Standing() {
			if m := g.of(r); m.Is() {
				c.Points = append(c.Points, CurvePoint{At: r.At, Value: m.Value.InexactFloat64()})
			}
		}
		if len(c.Points) == 0 {
			continue
		}
		if g.limit != nil {
			c.Limit, c.LimitIs = g.limit(rule), fmt.Sprintf("%s %g %s", g.limitIs, g.limit(rule), g.unit)
		}
		if !h.End.IsZero() {
			c.Today = time.Time{}
		}
		if g.unit == "mm" && shop.Units.Length == "in" {
			c.Second = &SecondUnit{Unit: "in", Factor: 1 / 25.4, Decimals: c.Decimals + 1}
		}
		p := Picture{Title: g.title, Curve: c}
		if g.name == says.Signal {
			s.fitted(c, h, says)
			out = slices.Insert(out, 0, p)
		} else {
			out = append(out, p)
		}
	}
	for i := range out {
		s.curveWords(&out[i], shop.Location())
	}
	return out
}

// fitted adds the fitted curve and the window to the series that carries them.
func (s *Server) fitted(c *Curve, h *job.Hold, says hold.Judgement) {
	for _, p := range workshop.CurveOf(h, says, s.now()) {
		c.Fit = append(c.Fit, CurveFit{At: p.At, Low: p.P10, Mid: p.P50, High: p.P90})
	}
	if w := says.Ready; w.Known && says.Verdict == hold.StillDrinking && h.End.IsZero() && !workshop.Settled(says, s.now()) {
		c.Window = &CurveWindow{From: w.P10, Likely: w.P50, To: w.P90, Is: "likely steady"}
	}
	if c.Today.IsZero() {
		c.Today = h.End
	}
}

// curveWords gives a picture its sentence and its table.
func (s *Server) curveWords(p *Picture, zone *time.Location) {
	c := p.Curve
	first, last := c.Points[0], c.Points[len(c.Points)-1]
	p.Text = fmt.Sprintf("%s: %s on %s, %s on %s.", p.Title, c.text(first.Value), Day(first.At.In(zone)), c.text(last.Value), Day(last.At.In(zone)))
	if c.Window != nil {
		p.Text += fmt.Sprintf(" Likely steady %s, late %s.", Day(c.Window.Likely.In(zone)), Day(c.Window.To.In(zone)))
	}
	p.Table = Table{Caption: p.Title, Hidden: true, Columns: []Column{Head("When"), Figures("Read", c.Unit), Figures("Fitted", c.Unit)}}
	for _, x := range c.Points {
		fit := ""
		if f, ok := fitAt(c.Fit, x.At); ok {
			fit = fmt.Sprintf("%.*f", c.Decimals, f.Mid)
		}
		p.Table.Rows = append(p.Table.Rows, Line(DayHour(x.At.In(zone)), fmt.Sprintf("%.*f", c.Decimals, x.Value), fit))
	}
	if c.Window == nil {
		return
	}
	for _, x := range []struct {
		at   time.Time
		name string
	}{{c.Window.Likely, "likely steady"}, {c.Window.To, "late"}} {
		if f, ok := fitAt(c.Fit, x.at); ok {
			p.Table.Rows = append(p.Table.Rows, Line(Day(x.at.In(zone))+", "+x.name, "", fmt.Sprintf("%.*f", c.Decimals, f.Mid)))
		}
	}
}

// fitAt is the point of the fit nearest to a moment.
func fitAt(fit []CurveFit, t time.Time) (CurveFit, bool) {
	if len(fit) == 0 {
		return CurveFit{}, false
	}
	return slices.MinFunc(fit, func(a, b CurveFit) int { return int(a.At.Sub(t).Abs() - b.At.Sub(t).Abs()) }), true
}

func readingFields(c *gin.Context, errs domain.Fields, meter Field) []Field {
	var out []Field
	for _, q := range []struct {
		name, label string
		unit        wood.Unit
	}{
		{"gap", "Worst crack, width", wood.Millimetre}, {"rh", "Air in the body or case", wood.Percent}, {"weight", "Weight", wood.Gram},
		{"arch", "Arch behind the bridge, + is dome", wood.Millimetre}, {"air", "Temperature", wood.Celsius},
	} {
		known := wood.Known(form(c, q.name+"_known"))
		out = append(out, MeasureField(q.name, q.label, wood.Measure{Known: known, Typed: form(c, q.name)}, q.unit).Marked(errs))
		if q.name == "rh" {
			out = append(out, meter.Marked(errs))
		}
	}
	return append(out, TextField("note", "Note", form(c, "note")).Limit(300).Marked(errs))
}

// readings lists readings, the newest first.
func (s *Server) readings(h *job.Hold, meters []air.Meter, units wood.Units) Table {
	show := func(m wood.Measure) string { return workshop.Shown(m, units) }
	t := Table{
		Caption: "Readings", Hidden: true, Empty: Empty{Text: "No reading yet."},
		Columns: []Column{Head("When"), Figures("Crack", ""), Figures("Air", ""), Figures("Weight", ""), Figures("Arch", ""), Figures("Temperature", ""), Head("Who")},
	}
	for i := len(h.Readings) - 1; i >= 0; i-- {
		r := h.Readings[i]
		row := Line(DayHour(r.At.In(s.zone.Load())), show(r.Gap), show(r.RH), show(r.Weight), show(r.Arch), show(r.Air), r.By)
		row.Cells[0].Note = r.Note
		if by := h.ReplacedBy(r.ID); by != nil {
			row.Struck, row.Cells[0].Note = true, "no longer counts: "+by.Note
		}
		if r.Withdrawn() {
			row.Cells[0].Note = "takes a reading back: " + r.Note
		}
		if r.RH.Is() {
			row.Cells[2].Note = airNote(r, meters)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// airNote says how far the air of a reading can be trusted.
func airNote(r job.Reading, meters []air.Meter) string {
	name := "no meter"
	for _, m := range meters {
		if m.ID == r.Meter {
			name = m.Name
		}
	}
	if !r.Offset.IsZero() {
		name += fmt.Sprintf(", read %s, %+g", r.RH.Typed, r.Offset.InexactFloat64())
	}
	if !r.Trusted {
		name += ": not trusted"
	}
	return name
}

func (s *Server) noteReading(c *gin.Context) {
	f := domain.Fields{}
	read := func(name string, unit wood.Unit) wood.Measure {
		return MeasureIn(f, name, form(c, name), form(c, name+"_known"), unit)
	}
	r := job.Reading{
		Gap: read("gap", wood.Millimetre), RH: read("rh", wood.Percent), Weight: read("weight", wood.Gram),
		Arch: read("arch", wood.Millimetre), Air: read("air", wood.Celsius), Meter: meterIn(f, c), Note: form(c, "note"),
	}
	id, hold := domain.JobID(number(c, "job")), domain.HoldID(number(c, "hold"))
	if n, wrong := strconv.ParseInt(form(c, "replaces"), 10, 64); wrong == nil {
		r.Replaces = domain.ReadingID(n)
	}
	said, next := "The reading is noted.", "/cabinet"
	switch {
	case f.Err() != nil:
		s.doneHold(c, f.Err(), "", "")
		return
	case r.Replaces != 0:
		said, next = "The reading is put right; the old one stays on record.", holdPath(id, hold)
	}
	s.doneHold(c, s.keepReading(c, id, hold, r), said, next)
}

// keepReading notes a reading, or puts the one right that it names.
func (s *Server) keepReading(c *gin.Context, id domain.JobID, hold domain.HoldID, r job.Reading) error {
	if r.Replaces != 0 {
		return s.Work.CorrectReading(keyed(c), actor(c), id, hold, r)
	}
	return s.Work.NoteReading(keyed(c), actor(c), id, hold, r)
}

// replacesField offers the readings that stand, to put one right.
func (s *Server) replacesField(c *gin.Context, h *job.Hold) Field {
	options := []Option{{Value: "", Label: "nothing, it is a new one"}}
	for _, r := range slices.Backward(h.Standing()) {
		options = append(options, Option{Value: strconv.FormatInt(int64(r.ID), 10), Label: "the one of " + DayHour(r.At.In(s.zone.Load()))})
	}
	return ChoiceField("replaces", "It puts right", form(c, "replaces"), options).Hint("A reading with a slip stays on record and counts no more. Without a value it is only taken back. The note says why.")
}

func (s *Server) endHold(c *gin.Context) {
	id := domain.JobID(number(c, "job"))
	err := s.Work.EndHold(keyed(c), actor(c), id, domain.HoldID(number(c, "hold")), form(c, "end_reason"), form(c, "end_note"))
	if fields := domain.FieldsOf(err); fields != nil {
		renamed := domain.Fields{}
		for name, text := range fields {
			renamed["end_"+name] = text
		}
		err = &domain.Error{Kind: domain.Invalid, Text: domain.TextOf(err), Fields: renamed}
	}
	s.doneHold(c, err, "The hold is over.", jobPath(id))
}

func (s *Server) doneHold(c *gin.Context, err error, text, next string) {
	switch {
	case domain.KindOf(err) == domain.Invalid:
		s.showHold(c, http.StatusUnprocessableEntity, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, text)
		Go(c, next)
	}
}
