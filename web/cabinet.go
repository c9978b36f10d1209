package web

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// cabinetRoutes registers the holds: who stands where, readings, release.
func (s *Server) cabinetRoutes(r *gin.RouterGroup) {
	r.GET("/cabinet", s.cabinet)
	r.GET("/jobs/:job/holds/:hold", s.hold)
	r.POST("/jobs/:job/holds/:hold/reading", s.noteReading)
	r.POST("/jobs/:job/holds/:hold/end", s.endHold)
}

func holdPath(id domain.JobID, hold domain.HoldID) string {
	return fmt.Sprintf("/jobs/%d/holds/%d", id, hold)
}

// CabinetPage shows every running hold and the free places.
type CabinetPage struct {
	Page
	Readings []Reading
	Free     string
	Nothing  Empty
}

func (s *Server) cabinet(c *gin.Context) {
	ctx := c.Request.Context()
	cab, err := workshop.ReadCabinet(ctx, s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &CabinetPage{Page: s.frame(c, "Cabinet", domain.Bench), Nothing: Empty{Text: "Nothing stands in the cabinet. A hold is started from its task."}}
	for _, r := range cab.Held {
		p.Readings = append(p.Readings, s.holdLine(r, cab.Shop))
	}
	p.Answer, p.Free = cab.Answer, cab.Next
	s.page(c, http.StatusOK, "cabinet/list", p)
}

// holdLine is one hold in the list.
func (s *Server) holdLine(r workshop.HeldRow, shop *workshop.Shop) Reading {
	days := int(s.now().Sub(r.Start).Hours() / 24)
	out := Reading{
		Mark: r.Place, Tag: fmt.Sprintf("tag %d", r.Tag), Href: jobPath(r.Job), When: fmt.Sprintf("day %d of %s–%s–%s", days, r.Days.Low, r.Days.Typical, r.Days.High),
		Verdict: workshop.Verdict(r.Says, r.Readings, s.now(), shop), Stop: r.Stop() != "",
		Next: &Link{Href: holdPath(r.Job, r.Hold), Text: "Note a reading", Now: true},
	}
	for _, f := range []struct {
		name string
		m    wood.Measure
	}{{"crack", r.Gap}, {"air", r.RH}, {"weight", r.Weight}} {
		if f.m.Is() {
			out.Facts = append(out.Facts, Pair{Name: f.name, Value: f.m.Text()})
		}
	}
	return out
}

// HoldPage is one hold with its readings and how it ends.
type HoldPage struct {
	Page
	At       string
	Job      string
	Tag      string
	Place    string
	Open     bool
	MayWork  bool
	Caution  *Caution
	Fields   []Field
	EndForm  []Field
	EndKey   string
	Readings Table
	Ended    string
}

func (s *Server) hold(c *gin.Context) { s.showHold(c, http.StatusOK, nil) }

func (s *Server) showHold(c *gin.Context, status int, errs domain.Fields) {
	folder, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	var h *job.Hold
	for i := range folder.Job.Holds {
		if folder.Job.Holds[i].ID == domain.HoldID(number(c, "hold")) {
			h = &folder.Job.Holds[i]
		}
	}
	if h == nil {
		s.fail(c, domain.NotFoundf("tag %d has no such hold", folder.Job.Tag))
		return
	}
	p := &HoldPage{
		Page: s.frame(c, "Hold in "+h.Place, domain.Bench), At: holdPath(folder.Job.ID, h.ID), Job: jobPath(folder.Job.ID),
		Tag: fmt.Sprintf("tag %d", folder.Job.Tag), Place: h.Place, Open: h.End.IsZero(),
		MayWork: workshop.May(actor(c), workshop.ActHold) == nil, EndKey: NewKey(),
	}
	p.Folio, p.Errors = p.Tag, errs
	says := workshop.Judge(h, folder.Job, folder.Shop.Hold, folder.Prior, s.now())
	p.Answer = workshop.HoldAnswer(h, says, s.now(), folder.Shop)
	for _, x := range says.Cautions {
		p.Caution = &Caution{Text: x.Text, Stop: x.Stop}
	}
	if !p.Open {
		p.Ended = fmt.Sprintf("%s, %s. %s", h.Reason, h.EndedBy, h.Note)
	}
	p.Readings = s.readings(h)
	p.Fields = readingFields(c, errs)
	p.EndForm = []Field{
		ChoiceField("end_reason", "Why it ends", form(c, "end_reason"), append([]Option{{Value: "", Label: "choose"}}, Options(job.HoldEnds())...)).Need().Marked(errs),
		TextField("end_note", "Note", form(c, "end_note")).Limit(300).Hint("Needed for an owner's exception.").Marked(errs),
	}
	s.page(c, status, "cabinet/hold", p)
}

func readingFields(c *gin.Context, errs domain.Fields) []Field {
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
	}
	return append(out, TextField("note", "Note", form(c, "note")).Limit(300).Marked(errs))
}

// readings lists readings, the newest first.
func (s *Server) readings(h *job.Hold) Table {
	t := Table{
		Caption: "Readings", Hidden: true, Empty: Empty{Text: "No reading yet."},
		Columns: []Column{Head("When"), Figures("Crack", ""), Figures("Air", ""), Figures("Weight", ""), Figures("Arch", ""), Figures("Temperature", ""), Head("Who")},
	}
	for i := len(h.Readings) - 1; i >= 0; i-- {
		r := h.Readings[i]
		row := Line(DayHour(r.At.In(s.zone.Load())), r.Gap.Text(), r.RH.Text(), r.Weight.Text(), r.Arch.Text(), r.Air.Text(), r.By)
		row.Cells[0].Note = r.Note
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (s *Server) noteReading(c *gin.Context) {
	f := domain.Fields{}
	read := func(name string, unit wood.Unit) wood.Measure {
		return MeasureIn(f, name, form(c, name), form(c, name+"_known"), unit)
	}
	r := job.Reading{
		Gap: read("gap", wood.Millimetre), RH: read("rh", wood.Percent), Weight: read("weight", wood.Gram),
		Arch: read("arch", wood.Millimetre), Air: read("air", wood.Celsius), Note: form(c, "note"),
	}
	err := f.Err()
	if err == nil {
		err = s.Work.NoteReading(keyed(c), actor(c), domain.JobID(number(c, "job")), domain.HoldID(number(c, "hold")), r)
	}
	s.doneHold(c, err, "The reading is noted.", "/cabinet")
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
	s.doneHold(c, err, "The hold is over. Its task can be finished.", jobPath(id))
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
