package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// surveyRoutes registers the survey's form and the page of one that was made.
func (s *Server) surveyRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/survey", s.askSurvey)
	r.POST("/jobs/:job/survey", s.noteSurvey)
	r.GET("/jobs/:job/surveys/:survey", s.survey)
}

// usualFindings are looked for on every instrument; rows after them are free.
// Source: common practice, no source.
var usualFindings = []string{
	"top arch behind bridge", "fret ends proud", "crack length", "crack width", "binding gap", "relief", "", "", "", "",
}

const findingCauses = 3 // causes that a row of the form offers

// SurveyPage asks for a survey.
type SurveyPage struct {
	Page
	Action     string
	Job        string
	Tag        string
	Instrument Facts
	Cold       *Caution
	Conditions Group
	Rows       []FindingRow
	Note       Field
}

// FindingRow is one finding of the form.
type FindingRow struct {
	Title   string
	Symptom *Pair // the sign of a usual row, hidden
	Fields  []Field
	More    []Field
	Open    bool // something under More is typed or wrong
}

func (s *Server) askSurvey(c *gin.Context) { s.showSurveyForm(c, http.StatusOK, nil) }

func (s *Server) showSurveyForm(c *gin.Context, status int, errs domain.Fields) {
	folder, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	j := folder.Job
	p := &SurveyPage{Page: s.frame(c, "Survey", domain.Bench), Action: jobPath(j.ID) + "/survey", Job: jobPath(j.ID), Tag: fmt.Sprintf("tag %d", j.Tag)}
	p.Folio, p.Errors = p.Tag, errs
	p.Answer = "Measure what you can reach; not measured, could not reach and zero are three different answers."
	p.Because = []string{folder.Instrument.Title(), "“" + j.Arrival.Complaint + "”"}
	p.Instrument = plates(folder)
	if !j.Arrival.CaseOpened {
		p.Cold = &Caution{Text: "The case is still closed. Leave it until it has reached room temperature, overnight after frost: a cold finish can craze. Note on the job when it was opened.", Stop: true}
	}
	p.Conditions = conditions(c, errs)
	for i, usual := range usualFindings {
		p.Rows = append(p.Rows, findingRow(c, i, usual, errs))
	}
	p.Note = AreaField("note", "Note", form(c, "note")).Limit(2000).Marked(errs)
	s.page(c, status, "survey/form", p)
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

func conditions(c *gin.Context, errs domain.Fields) Group {
	measure := func(name, label string, unit wood.Unit) Field {
		return MeasureField(name, label, typedMeasure(c, name), unit)
	}
	fields := []Field{
		ChoiceField("moment", "When", form(c, "moment"), Options(job.Moments())), ChoiceField("strings", "Strings", form(c, "strings"), Options(job.StringStates())),
		TextField("tuning", "Tuning", form(c, "tuning")).Limit(40).Middle(), TextField("indoors", "Indoors for", form(c, "indoors")).Limit(80).Middle().Hint("how long since the case came in"),
		measure("case_rh", "Air in the case", wood.Percent), measure("room_rh", "Air in the room", wood.Percent), measure("room", "Temperature of the room", wood.Celsius),
		measure("weight", "Weight", wood.Gram),
	}
	return Group{Legend: "Conditions", Note: "A number without them cannot be compared.", Across: true, Fields: markAll(errs, fields)}
}

func typedMeasure(c *gin.Context, name string) wood.Measure {
	return wood.Measure{Known: wood.Known(form(c, name+"_known")), Typed: form(c, name)}
}

func findingRow(c *gin.Context, i int, usual string, errs domain.Fields) FindingRow {
	name := fmt.Sprintf("findings[%d].", i)
	typed := func(field, usual string) string {
		if _, sent := c.GetPostForm(name + field); sent {
			return form(c, name+field)
		}
		return usual
	}
	symptoms := []Option{{Value: "", Label: "nothing more"}}
	for _, s := range job.Symptoms() {
		symptoms = append(symptoms, Option{Value: s.Name, Label: s.Name})
	}
	grades := []Option{{Value: "", Label: "not looked at"}}
	for g, word := range job.GradeWords() {
		grades = append(grades, Option{Value: strconv.Itoa(g), Label: word})
	}
	row := FindingRow{Title: usual}
	if usual == "" {
		row.Title = "another sign"
		row.Fields = append(row.Fields, ChoiceField(name+"symptom", "Sign", typed("symptom", ""), symptoms))
	} else {
		row.Symptom = &Pair{Name: name + "symptom", Value: usual}
	}
	causes, sure := append([]string{""}, job.CauseWords()...), job.Confidences()
	cause := func(k int) []Field {
		at := fmt.Sprintf("causes[%d].", k)
		return []Field{
			ChoiceField(name+at+"what", [findingCauses]string{"Cause", "Second cause", "Third cause"}[k], typed(at+"what", ""), Options(causes)), ChoiceField(name+at+"sure", "How sure", typed(at+"sure", "likely"), Options(sure)),
		}
	}
	row.Fields = append(row.Fields, MeasureField(name+"measure", "Measure", typedMeasure(c, name+"measure"), wood.Millimetre), ChoiceField(name+"grade", "Grade", typed("grade", ""), grades))
	row.Fields = markAll(errs, append(row.Fields, cause(0)...))
	row.More = markAll(errs, append([]Field{TextField(name+"place", "Place", typed("place", "")).Limit(80).Offer(job.Places())}, append(append(cause(1), cause(2)...), TextField(name+"note", "Note", typed("note", "")).Limit(300))...))
	for _, f := range row.More {
		row.Open = row.Open || f.Error != "" || (f.Value != "" && f.Value != "likely")
	}
	return row
}

func (s *Server) noteSurvey(c *gin.Context) {
	id := domain.JobID(number(c, "job"))
	survey, err := surveyIn(c)
	if err == nil {
		survey.Job = id
		err = s.Work.NoteSurvey(keyed(c), actor(c), survey)
	}
	switch {
	case domain.KindOf(err) == domain.Invalid:
		s.showSurveyForm(c, http.StatusUnprocessableEntity, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, "The survey is kept.")
		if survey.Worst() == job.Stop {
			s.say(c, "The survey is kept. Slacken the strings now, evenly, before anything else.")
		}
		Go(c, jobPath(id))
	}
}

// surveyIn reads the form. Rows of which nothing was filled in are left out.
func surveyIn(c *gin.Context) (job.Survey, error) {
	f := domain.Fields{}
	read := func(name string, unit wood.Unit) wood.Measure {
		return MeasureIn(f, name, form(c, name), form(c, name+"_known"), unit)
	}
	survey := job.Survey{
		Moment: form(c, "moment"), Strings: form(c, "strings"), Tuning: form(c, "tuning"), Indoors: form(c, "indoors"), Note: form(c, "note"),
		RoomRH: read("room_rh", wood.Percent), Room: read("room", wood.Celsius), CaseRH: read("case_rh", wood.Percent), Weight: read("weight", wood.Gram),
	}
	places := map[int]int{} // row of the form by finding
	for i, usual := range usualFindings {
		d, filled := findingIn(c, f, fmt.Sprintf("findings[%d].", i), usual)
		if filled {
			places[len(survey.Findings)] = i
			survey.Findings = append(survey.Findings, d)
		}
	}
	for name, text := range domain.FieldsOf(survey.Check()) {
		f.Add(inRow(name, places), "%s", text)
	}
	return survey, f.Err()
}

// inRow renames findings[1].grade after the row of the form that it stood in.
func inRow(name string, rows map[int]int) string {
	var n int
	if _, err := fmt.Sscanf(name, "findings[%d]", &n); err != nil {
		return name
	}
	field := name[len(fmt.Sprintf("findings[%d]", n)):]
	if field == ".causes" {
		field = ".causes[0].what" // where the first is chosen
	}
	return fmt.Sprintf("findings[%d]", rows[n]) + field
}

// findingIn reads one row of the form and whether anything was filled in, be it
// a cause alone: what somebody typed is never dropped without a word. usual is
// the sign that the row brings by itself, "" for a free row.
func findingIn(c *gin.Context, f domain.Fields, name, usual string) (job.Finding, bool) {
	d := job.Finding{Symptom: form(c, name+"symptom"), Place: form(c, name+"place"), Note: form(c, name+"note"), Causes: causesIn(c, name)}
	measure, grade := form(c, name+"measure"), form(c, name+"grade")
	known := wood.Known(form(c, name+"measure_known"))
	empty := measure == "" && grade == "" && d.Note == "" && d.Place == "" && len(d.Causes) == 0 && (usual != "" || d.Symptom == "")
	if empty && known != wood.CouldNotReach && known != wood.Measured {
		return d, false
	}
	unit, _ := job.SymptomUnit(d.Symptom)
	if unit == "" {
		unit = wood.Millimetre
	}
	d.Measure = MeasureIn(f, name+"measure", measure, string(known), unit)
	g, err := strconv.Atoi(grade)
	if err != nil && known != wood.CouldNotReach {
		f.Add(name+"grade", "choose a grade; fine is one")
	}
	d.Grade = job.Grade(g)
	return d, true
}

// causesIn reads the causes that were chosen in a row.
func causesIn(c *gin.Context, name string) []job.Cause {
	var out []job.Cause
	for k := range findingCauses {
		cause := fmt.Sprintf("%scauses[%d].", name, k)
		if what := form(c, cause+"what"); what != "" {
			out = append(out, job.Cause{What: what, Sure: form(c, cause+"sure")})
		}
	}
	return out
}

// SurveyShown is one survey that was made.
type SurveyShown struct {
	Page
	Grade      Notches
	Conditions Facts
	Findings   Table
	Job        Link
	Note       string
}

func (s *Server) survey(c *gin.Context) {
	folder, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	for _, v := range folder.Surveys {
		if v.ID == domain.SurveyID(number(c, "survey")) {
			s.page(c, http.StatusOK, "survey/show", s.surveyShown(c, folder, v))
			return
		}
	}
	s.fail(c, domain.NotFoundf("tag %d has no such survey", folder.Job.Tag))
}

func (s *Server) surveyShown(c *gin.Context, f *workshop.Folder, v job.Survey) *SurveyShown {
	p := &SurveyShown{
		Page: s.frame(c, "Survey of "+Day(v.At.In(s.zone.Load())), domain.Bench), Grade: Notches{Grade: int(v.Worst()), Of: "worst:"},
		Job: Link{Href: jobPath(f.Job.ID), Text: fmt.Sprintf("tag %d", f.Job.Tag)}, Note: v.Note,
	}
	p.Folio, p.Answer = fmt.Sprintf("tag %d", f.Job.Tag), v.Because()
	p.Conditions = Facts{
		{Name: "By", Value: v.By}, {Name: "When", Value: v.Moment}, {Name: "Strings", Value: v.Strings}, {Name: "Air in the case", Value: v.CaseRH.Text()},
		{Name: "Air in the room", Value: v.RoomRH.Text()}, {Name: "Room", Value: v.Room.Text()}, {Name: "Weight", Value: v.Weight.Text()},
	}
	p.Findings = Table{Caption: "Findings", Hidden: true, Columns: []Column{Head("Sign"), Head("Place"), Figures("Measure", ""), Head("Grade"), Head("Causes")}}
	for _, d := range v.Findings {
		causes := ""
		for i, k := range d.Causes {
			if i > 0 {
				causes += "; "
			}
			causes += k.What + ", " + k.Sure
		}
		p.Findings.Rows = append(p.Findings.Rows, Row{Cells: []Cell{{Text: d.Symptom, Note: d.Note}, {Text: d.Place}, {Text: d.Measure.Text()}, {Grade: &Notches{Grade: int(d.Grade)}}, {Text: causes}}})
	}
	return p
}
