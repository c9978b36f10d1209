package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// SurveyShown is one survey that was made, for the bench and to be shown to
// the customer.
type SurveyShown struct {
	Page
	Says       SurveySays
	Signs      []SignShown
	Unreached  []string // what the survey does not know
	Unmeasured []string // what was noted without a measure or a grade
	Was        *Link    // to earlier work at the same places; nil for none
	Offers     Table
	Quote      *Link // into the quote builder; nil for who may not
	Conditions Facts
	Instrument Facts
	Job        Link
	Note       string
}

// SignShown is one finding in words.
type SignShown struct {
	Title, Place string
	Measure      string // with its unit; "" when none was taken
	Grade        Notches
	Suggested    string // when the grade is another than the bands say
	Details      string
	Causes       string
	Note         string
}

func (s *Server) survey(c *gin.Context) {
	folder, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	for _, v := range folder.Surveys {
		if v.ID != domain.SurveyID(number(c, "survey")) {
			continue
		}
		editions, err := s.Read.NewestEditions(c.Request.Context())
		if err != nil {
			s.fail(c, err)
			return
		}
		p := &SurveyShown{Page: s.frame(c, "Survey of "+DayHour(v.At.In(folder.Shop.Location())), deskDoor(c))}
		p.fill(folder, v, editions, actor(c))
		was, err := workshop.ReadWasItUs(c.Request.Context(), s.Read, folder)
		if err != nil {
			s.fail(c, err)
			return
		}
		p.Was = wasLink(was, folder.Job)
		s.page(c, http.StatusOK, "survey/show", p)
		return
	}
	s.fail(c, domain.NotFoundf("tag %d has no such survey", folder.Job.Tag))
}

func (p *SurveyShown) fill(f *workshop.Folder, v job.Survey, editions map[string]quote.Edition, who domain.Actor) {
	p.Folio, p.Says = fmt.Sprintf("tag %d", f.Job.Tag), saysOf(v, f)
	p.Answer, p.Because = p.Says.Answer, []string{f.Instrument.Title(), "“" + f.Job.Arrival.Complaint + "”"}
	for _, d := range v.Findings {
		switch {
		case d.Graded():
			p.Signs = append(p.Signs, signShown(v, d, f.Shop))
		case d.Measure.Known == wood.CouldNotReach:
			p.Unreached = append(p.Unreached, bareSign(d, f.Shop.Units))
		default:
			p.Unmeasured = append(p.Unmeasured, bareSign(d, f.Shop.Units))
		}
	}
	p.offers(f, v, editions, who)
	p.Instrument, p.Conditions = plates(f), surveyConditions(v, f.Shop.Units)
	p.Job, p.Note = Link{Href: jobPath(f.Job.ID), Text: fmt.Sprintf("Back to tag %d", f.Job.Tag)}, v.Note
}

// bareSign names a finding that has neither measure nor grade.
func bareSign(d job.Finding, units wood.Units) string {
	parts := []string{signOf(d.Symptom).name()}
	for _, more := range []string{d.Place, detailWords(d.Detail, units), causeWords(d.Causes), d.Note} {
		if more != "" {
			parts = append(parts, more)
		}
	}
	return strings.Join(parts, ", ")
}

func signShown(s job.Survey, d job.Finding, shop *workshop.Shop) SignShown {
	out := SignShown{
		Title: signOf(d.Symptom).name(), Place: d.Place, Grade: Notches{Grade: int(d.Grade)}, Details: detailWords(d.Detail, shop.Units),
		Causes: causeWords(d.Causes), Note: d.Note,
	}
	if d.Measure.Known == wood.Measured || d.Measure.Known == wood.CouldNotReach {
		out.Measure = workshop.Shown(d.Measure, shop.Units)
	}
	if d.Symptom == "crack length" && d.Detail.Width.Is() {
		out.Measure = strings.TrimPrefix(out.Measure+" long, ", " long, ") + workshop.Shown(d.Detail.Width, shop.Units) + " wide"
	}
	if g, why, ok := s.Suggest(d, shop.Bands); ok && g != d.Grade {
		out.Suggested = "By the limits: " + why + "."
	}
	return out
}

// causeWords lists causes with how sure they are.
func causeWords(causes []job.Cause) string {
	out := make([]string, len(causes))
	for i, k := range causes {
		out[i] = k.What + ", " + k.Sure
	}
	return strings.Join(out, "; ")
}

// detailWords says a detail in words, "" when it says nothing. The width of a
// crack stands with its measure.
func detailWords(d job.Detail, units wood.Units) string {
	var out []string
	add := func(text string) {
		if text != "" {
			out = append(out, text)
		}
	}
	said := func(m wood.Measure, before string) {
		if m.Known == wood.Measured || m.Known == wood.CouldNotReach {
			add(before + " " + workshop.Shown(m, units))
		}
	}
	answer := func(value, yes, no string) {
		switch value {
		case "yes":
			add(yes)
		case "no":
			add(no)
		}
	}
	add(d.Kind)
	if d.Side != "" {
		add(d.Side + " side")
	}
	said(d.FromSeam, "from the centre seam")
	said(d.Step, "one edge higher by")
	answer(d.Through, "light shows through", "no light through")
	answer(d.Closes, "closes under the thumb", "does not close under the thumb")
	answer(d.Dirty, "dirty inside", "clean inside")
	answer(d.Reopened, "an old repair came open", "no old repair")
	answer(d.FinishOnly, "the finish only", "")
	answer(d.AcrossGrain, "across the grain or branching", "along the grain")
	if len(d.Reaches) > 0 {
		add("reaches " + strings.Join(d.Reaches, ", "))
	}
	if d.Plates > 1 {
		add(fmt.Sprintf("through %d plates", d.Plates))
	}
	if d.Feel != "" {
		add("feel: " + d.Feel)
	}
	if d.Frets != "" {
		add("frets " + d.Frets)
	}
	answer(d.Bound, "bound board", "board not bound")
	if d.Edge != "" {
		add(d.Edge + " edge")
	}
	said(d.Run, "loose for")
	answer(d.Moves, "moves when the neck is flexed", "does not move when the neck is flexed")
	said(d.Slack, "strings slack")
	for i, where := range []string{"bass wing", "centre", "treble wing"} {
		said(d.Wings[i], where)
	}
	add(d.Brace)
	answer(d.Ripple, "ripples, or a brace is loose below", "no ripple")
	if d.State != "" && d.State != "none" {
		add(d.State)
	}
	return strings.Join(out, "; ")
}

// offers lists the work that the survey proposes.
func (p *SurveyShown) offers(f *workshop.Folder, v job.Survey, editions map[string]quote.Edition, who domain.Actor) {
	p.Offers = Table{
		Caption: "Work that the survey proposes", Hidden: true, Columns: []Column{Head("Work"), Figures("How much", ""), Head("Because")},
		Empty: Empty{Text: "The survey proposes no work by itself."},
	}
	for _, o := range workshop.Offers(workshop.Patient{Survey: &v, Instrument: *f.Instrument, Arrival: f.Job.Arrival}, editions, nil) {
		much := strconv.Itoa(o.Quantity)
		if o.Unit != "" {
			much += " " + o.Unit
		}
		p.Offers.Rows = append(p.Offers.Rows, Row{Cells: []Cell{{Text: o.Name}, {Text: much}, {Text: o.Because}}})
	}
	if workshop.May(who, workshop.ActQuote) == nil && !f.Stage.Over() && f.Invoice == nil {
		p.Quote = &Link{Href: jobPath(f.Job.ID) + "/quote", Text: "Build a quote", Now: true}
	}
}

// surveyConditions lists under what a survey was made.
func surveyConditions(v job.Survey, units wood.Units) Facts {
	show := func(m wood.Measure) string { return workshop.Shown(m, units) }
	out := Facts{{Name: "By", Value: v.By}, {Name: "When", Value: v.Moment}, {Name: "Strings", Value: v.Strings}}
	for _, f := range (Facts{{Name: "Tuning", Value: v.Tuning}, {Name: "Indoors for", Value: v.Indoors}}) {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return append(out, Facts{
		{Name: "Air in the case", Value: show(v.CaseRH)}, {Name: "Air in the room", Value: show(v.RoomRH)},
		{Name: "Room", Value: show(v.Room)}, {Name: "Weight", Value: show(v.Weight)},
	}...)
}
