package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// surveyRoutes registers the survey's form, the page of one that was made, and
// the bands that grade it.
func (s *Server) surveyRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/survey", s.askSurvey)
	r.POST("/jobs/:job/survey", s.noteSurvey)
	r.POST("/jobs/:job/survey/look", s.lookAtSurvey)
	r.GET("/jobs/:job/surveys/:survey", s.survey)
	s.bandRoutes(r)
}

// SurveyPage asks for a survey.
type SurveyPage struct {
	Page
	Action     string
	Job        string
	Tag        string
	Instrument Facts
	Cold       *ColdCase // the case is closed; nothing is asked
	Conditions Group
	Usual      []Field // the cause of what names none
	Rows       []FindingRow
	Add        Field
	Note       Field
	Says       SurveySays
	Places     []string // offered while a place is typed
	Dirty      bool     // something is typed and not kept
}

// ColdCase asks to leave a closed case alone.
type ColdCase struct {
	Stop Caution
	Wait Wait
	Open *JobForm // says that it is open now; nil for who may not
}

// surveying is a survey on its way: what was read for it and what was typed.
type surveying struct {
	*workshop.Folder
	typed typedSurvey
	errs  domain.Fields
	fresh int // row that was just added; -1 for none
}

// openSurvey reads the job and what was typed. It answers the request itself
// and returns nil when that fails.
func (s *Server) openSurvey(c *gin.Context) *surveying {
	f, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err == nil {
		err = workshop.May(actor(c), workshop.ActSurvey)
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return &surveying{Folder: f, typed: readSurvey(c, f.Job.ID, f.Shop.Bands), fresh: -1}
}

func (s *Server) askSurvey(c *gin.Context) {
	if v := s.openSurvey(c); v != nil {
		s.showSurvey(c, http.StatusOK, v)
	}
}

// noteSurvey keeps what was typed.
func (s *Server) noteSurvey(c *gin.Context) {
	v := s.openSurvey(c)
	if v == nil {
		return
	}
	err := v.typed.errs.Err()
	if err == nil {
		err = s.Work.NoteSurvey(keyed(c), actor(c), v.typed.survey)
	}
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, strings.Join(append([]string{"The survey is kept."}, job.StopNow(v.typed.settled)...), " "))
		Go(c, jobPath(v.Job.ID))
	case kind == domain.Invalid || kind == domain.Conflict:
		v.errs = fieldErrors(err)
		s.showSurvey(c, StatusOf(kind), v)
	default:
		s.fail(c, err)
	}
}

// lookAtSurvey answers what the signs typed so far say, or adds a row. Nothing
// is kept.
func (s *Server) lookAtSurvey(c *gin.Context) {
	v := s.openSurvey(c)
	if v == nil {
		return
	}
	if id, _ := WantsFragment(c); id == "help" {
		s.fragment(c, http.StatusOK, "survey/form", "help", v.says(c))
		return
	}
	status := http.StatusOK
	if form(c, "do") == "more" {
		v.more(c)
	} else {
		v.errs = v.typed.unread
	}
	if len(v.errs) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.showSurvey(c, status, v)
}

// more adds an empty row for the sign that was chosen.
func (v *surveying) more(c *gin.Context) {
	symptom := form(c, "add")
	rows := askedRows(c)
	next := rows[len(rows)-1].at + 1
	_, known := job.SymptomUnit(symptom)
	switch {
	case !known:
		v.errs = domain.Fields{"add": "choose a sign from the list"}
	case next >= mostFindings:
		v.errs = domain.Fields{"add": fmt.Sprintf("a survey has room for %d signs", mostFindings)}
	default:
		c.Request.PostForm.Set(fmt.Sprintf("findings[%d].symptom", next), symptom)
		v.fresh = next
	}
}

// showSurvey writes the form, whole or as the part that the script asks for.
func (s *Server) showSurvey(c *gin.Context, status int, v *surveying) {
	p := s.surveyForm(c, v)
	if _, ok := WantsFragment(c); ok {
		s.fragment(c, status, "survey/form", "survey", p)
		return
	}
	s.page(c, status, "survey/form", p)
}

func (s *Server) surveyForm(c *gin.Context, v *surveying) *SurveyPage {
	j := v.Job
	p := &SurveyPage{Page: s.frame(c, "Survey", domain.Bench), Action: jobPath(j.ID) + "/survey", Job: jobPath(j.ID), Tag: fmt.Sprintf("tag %d", j.Tag)}
	p.Folio, p.Errors = p.Tag, v.errs
	p.Because = []string{v.Instrument.Title(), "“" + j.Arrival.Complaint + "”"}
	if p.Cold = s.coldCase(c, v.Folder); p.Cold != nil {
		p.Answer = "Not yet: the case is still closed. A survey waits until it has warmed through."
		return p
	}
	p.Instrument, p.Conditions, p.Usual = plates(v.Folder), conditions(c, v.errs), usualCause(c, v.errs)
	p.Says = v.says(c)
	same := map[string]int{}
	for _, a := range askedRows(c) {
		same[a.symptom]++
		row := findingRow(c, a.at, a.symptom, same[a.symptom], v.errs)
		row.Fresh = a.at == v.fresh
		row.Says = p.Says.Of(row.Says)
		p.Rows = append(p.Rows, row)
	}
	p.Places = job.Places()
	p.Answer, p.Dirty = p.Says.Answer, c.Request.Method == http.MethodPost
	p.Add = ChoiceField("add", "Another sign", orElse(form(c, "add"), "crack length"), moreSigns()).Middle().Marked(v.errs)
	p.Note = AreaField("note", "Note", form(c, "note")).Limit(2000).Marked(v.errs)
	return p
}

// coldCase says since when a closed case stands, nil for one that is open.
func (s *Server) coldCase(c *gin.Context, f *workshop.Folder) *ColdCase {
	wait := coldWait(f, s.now())
	if wait == nil {
		return nil
	}
	v := jobView{Folder: f, who: actor(c), now: s.now()}
	return &ColdCase{
		Stop: Caution{Text: "Leave the case closed until it has reached room temperature, overnight after frost: a cold finish can craze, cold wood can crack.", Stop: true},
		Wait: *wait, Open: v.caseForm(),
	}
}

// coldWait is the wait of a case that is still closed, nil for none.
func coldWait(f *workshop.Folder, now time.Time) *Wait {
	warm := workshop.WarmAt(f.Job.Arrival)
	if warm.IsZero() || f.Stage.Over() {
		return nil
	}
	in := f.Job.Arrival.At
	w := &Wait{What: "closed case", Until: warm, Days: domain.WholeDays(in, now), Air: true}
	w.Why = "indoors since " + DayHour(in.In(f.Shop.Location())) + ", " + Minutes(int(now.Sub(in).Minutes())) + " now; it warms for a day by common practice"
	if !now.Before(warm) {
		w.Why = "indoors since " + DayHour(in.In(f.Shop.Location())) + ", so it should be warm: feel it all over, then open it; it had to wait"
	}
	return w
}

// plates tells solid from laminated, which moves far less.
func plates(f *workshop.Folder) Facts {
	in := f.Instrument
	var out Facts
	for _, p := range []struct {
		name, wood, construction string
	}{{"Top", in.Top.Wood, string(in.Top.Construction)}, {"Back", in.Back.Wood, string(in.Back.Construction)}, {"Sides", in.Sides.Wood, string(in.Sides.Construction)}} {
		text := p.wood
		if text != "" {
			text += ", "
		}
		out = append(out, Fact{Name: p.name, Value: text + p.construction})
	}
	return out
}
