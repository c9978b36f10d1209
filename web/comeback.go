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
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// comebackRoutes registers earlier work on an instrument and who pays for it.
func (s *Server) comebackRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/was-it-us", s.wasItUs)
	r.POST("/jobs/:job/was-it-us/link", s.linkComeback)
	r.POST("/jobs/:job/was-it-us/decide", s.decideComeback)
}

// WasPage sets earlier work beside what is found now.
type WasPage struct {
	Page
	Job    Link
	Facts  Facts // the decision and the link as they stand
	Cases  []WasCase
	Left   string // what was found there before and not worked on, in words
	Past   Table
	Photos *Link
	Decide *JobForm
	Link   *JobForm
}

// WasCase is one match with its evidence.
type WasCase struct {
	Name     string // Crack, bass lower bout
	Fit      string // the same place: 12 mm apart
	Text     string
	Columns  []WasColumn
	Measures Table
	Work     Table
	Facts    Facts
	Photos   *Link
}

// WasColumn is one side of the evidence.
type WasColumn struct {
	Head  string
	Facts []string
}

// JobWas is what the job page says of earlier work.
type JobWas struct {
	Answer string
	First  *WasCase // the first case; nil when only a link is known
	More   int      // cases that are not shown
	Facts  Facts
	Decide *JobForm
	Whole  Link
}

func (s *Server) wasItUs(c *gin.Context) {
	if f := s.openFolder(c); f != nil {
		s.showWas(c, http.StatusOK, f, "", nil)
	}
}

// showWas draws the page; errs are what is wrong with the form part.
func (s *Server) showWas(c *gin.Context, status int, f *workshop.Folder, part string, errs domain.Fields) {
	was, err := workshop.ReadWasItUs(c.Request.Context(), s.Read, f)
	if err != nil {
		s.fail(c, err)
		return
	}
	v := jobView{Folder: f, who: actor(c), now: s.now(), part: part, errs: errs, typed: func(name string) string { return form(c, name) }}
	p := &WasPage{Page: s.frame(c, "Was it us? "+f.Instrument.Title(), deskDoor(c)), Job: Link{Href: v.path(""), Text: "Back to the job"}}
	p.Folio, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), errs
	p.Answer = or(was.Answer, "It was never here before.")
	p.Facts = v.wasFacts(was)
	for _, x := range was.Worked() {
		p.Cases = append(p.Cases, v.wasCase(x))
	}
	if n := len(was.Cases) - len(p.Cases); n > 0 {
		p.Left = Plural(n, "earlier finding at these places was", "earlier findings at these places were") + " looked at and left."
	}
	p.Past = pastTable(was.Past, f.Shop, "Earlier visits", 0)
	if len(was.Past) > 0 {
		p.Photos = &Link{Href: v.path("/photos"), Text: "Photos of this visit"}
	}
	p.Decide, p.Link = v.decideForm(), v.linkForm(was)
	s.page(c, status, "job/was", p)
}

// was is what the job page says of earlier work; nil when nothing matches and
// nothing is linked.
func (v jobView) was(w *workshop.WasItUs) *JobWas {
	worked := w.Worked()
	if len(worked) == 0 && v.Job.ComebackOf == 0 {
		return nil
	}
	out := &JobWas{Answer: w.Answer, Facts: v.wasFacts(w), Decide: v.decideForm(), Whole: Link{Href: v.path("/was-it-us"), Text: "Then and now, side by side"}}
	if len(worked) > 0 {
		first := v.wasCase(worked[0])
		out.First, out.More = &first, len(worked)-1
	}
	return out
}

// wasLink says in a line what is known of earlier work and leads to it; nil when
// nothing matches and nothing is linked.
func wasLink(w *workshop.WasItUs, j *job.Job) *Link {
	if len(w.Worked()) == 0 && j.ComebackOf == 0 {
		return nil
	}
	return &Link{Href: jobPath(j.ID) + "/was-it-us", Text: w.Answer}
}

func (v jobView) wasFacts(w *workshop.WasItUs) Facts {
	var out Facts
	if w.Linked != nil {
		out = append(out, Fact{Name: "Comes back from", Value: fmt.Sprintf("tag %d", w.Linked.Tag), Href: fmt.Sprintf("/jobs/%d", w.Linked.ID), Note: w.Linked.Arrival.Complaint})
	}
	if c := v.Job.Comeback; c != nil {
		out = append(out,
			Fact{Name: "Decided", Value: string(c.Share), Note: c.Cause},
			Fact{Name: "Why", Value: c.Why, Note: c.By + ", " + DayHour(v.in(c.At))})
	}
	return out
}

func (v jobView) wasCase(x workshop.Case) WasCase {
	name := x.Sort
	if x.Place != "" {
		name += ", " + x.Place
	}
	c := WasCase{
		Name: strings.ToUpper(name[:1]) + name[1:], Fit: string(x.Fit) + ": " + x.Why, Text: x.Evidence.Text,
		Columns: []WasColumn{
			{"Speaks for our work", x.Evidence.For}, {"For dry air, or another cause", x.Evidence.Against}, {"Not known", x.Evidence.Unknown},
		},
		Measures: measuresTable(x.Measures, v.Shop.Units), Work: v.workTable(x.Facts), Facts: v.thenFacts(x),
		Photos: &Link{Href: fmt.Sprintf("/jobs/%d/photos", x.Facts.Job), Text: fmt.Sprintf("Photos of tag %d", x.Facts.Tag)},
	}
	return c
}

func measuresTable(all []job.Compared, units wood.Units) Table {
	t := Table{
		Caption: "Measures then and now", Columns: []Column{Head("What"), Figures("Then", ""), Figures("After the work", ""), Figures("Now", "")},
		Empty: Empty{Text: "Nothing was measured there both times."},
	}
	for _, m := range all {
		t.Rows = append(t.Rows, Line(m.What, workshop.Shown(m.Then, units), workshop.Shown(m.After, units), workshop.Shown(m.Now, units)))
	}
	return t
}

func (v jobView) workTable(f job.Facts) Table {
	t := Table{
		Caption: "What was done there", Columns: []Column{Head("Task"), Head("How it was made"), Head("When"), Head("Who")},
		Empty: Empty{Text: "Nothing was done there then."},
	}
	for _, w := range f.Work {
		made := w.Made
		if made == "" && w.Glued {
			made = "not noted"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: w.Name, Note: w.Quantity}, {Text: made}, {Text: pastDay(v.in(w.Done))}, {Text: w.By}}})
	}
	return t
}

// thenFacts lists what else is on record of the earlier visit.
func (v jobView) thenFacts(x workshop.Case) Facts {
	f := x.Facts
	out := Facts{
		{Name: "Earlier visit", Value: fmt.Sprintf("tag %d, %s", f.Tag, pastDay(v.in(f.Arrived))), Href: fmt.Sprintf("/jobs/%d", f.Job), Note: f.Complaint},
		{Name: "Handed over", Value: leftText(f.Left, v.in, x)},
		{Name: "Case air then", Value: f.CaseRH.Text()},
	}
	if f.Held {
		out = append(out, Fact{Name: "At the release", Value: f.ReleaseRH.Text(), Note: f.HoldEnd})
		if f.Gap.Is() || f.LastGap.Is() {
			out = append(out, Fact{Name: "Crack in the hold", Value: workshop.Shown(f.Gap, v.Shop.Units) + " to " + workshop.Shown(f.LastGap, v.Shop.Units)})
		}
	}
	out = append(out,
		Fact{Name: "Worked on by", Value: or(strings.Join(f.Who, ", "), "nobody is on record")},
		Fact{Name: "Checks passed", Value: strconv.Itoa(len(f.Passed)), Note: strings.Join(f.Failing, "; ")},
		Fact{Name: "Care brief", Value: briefText(f)},
		Fact{Name: "Humidity kit", Value: map[bool]string{true: "taken", false: "not taken"}[f.Kit]},
	)
	if f.Recheck != "" {
		done := "missed"
		if !f.Rechecked.IsZero() {
			done = "made " + pastDay(v.in(f.Rechecked))
		}
		out = append(out, Fact{Name: "Check after a month", Value: done, Note: "said for " + Civil(f.Recheck)})
	}
	w := v.Shop.Covers()
	return append(out, Fact{Name: "Our warranty", Value: fmt.Sprintf("%d days", w.Days), Note: fmt.Sprintf("in air from %d to %d %%; local consumer law may give more", w.LowRH, w.HighRH)})
}

func leftText(left time.Time, in func(time.Time) time.Time, x workshop.Case) string {
	switch {
	case left.IsZero():
		return "no hand-over is on record"
	case !x.Counted:
		return pastDay(in(left))
	}
	return fmt.Sprintf("%s, %s before it came back", pastDay(in(left)), Plural(x.Days, "day", "days"))
}

func briefText(f job.Facts) string {
	switch {
	case f.Signed == job.WasSigned:
		return "given and signed"
	case !f.Brief:
		return "not given"
	case f.Signed == job.NotSigned:
		return "given, not signed"
	}
	return "given; no signature on record"
}

// pastTable lists earlier visits with what was done and where; most 0 shows all.
func pastTable(past []job.PastJob, shop *workshop.Shop, caption string, most int) Table {
	t := Table{
		Caption: caption, Columns: []Column{Head("Visit"), Head("What was done"), Head("Where")},
		Empty: Empty{Text: "It is here for the first time."},
	}
	for i, p := range past {
		if most > 0 && i == most {
			break
		}
		var done []string
		for _, x := range p.Done() {
			text := x.Name
			if x.Made != "" {
				text += " (" + x.Made + ")"
			}
			done = append(done, text)
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: fmt.Sprintf("tag %d, %s", p.Tag, pastDay(p.Arrival.At.In(shop.Location()))), Href: fmt.Sprintf("/jobs/%d", p.ID), Note: p.Arrival.Complaint},
			{Text: or(strings.Join(done, " · "), "nothing")}, {Text: or(strings.Join(placesOf(p), ", "), "no place noted")},
		}})
	}
	return t
}

// pastDay writes a day that may lie years back.
func pastDay(t time.Time) string { return t.Format("Mon 2 Jan 2006") }

// placesOf lists the places at which the surveys of a visit found something.
func placesOf(p job.PastJob) []string {
	var out []string
	for _, s := range p.Surveys {
		for _, d := range s.Findings {
			if d.Grade != job.Fine && d.Place != "" && !slices.Contains(out, d.Place) {
				out = append(out, d.Place)
			}
		}
	}
	return out
}

// decideForm asks the owner who pays; nil when the reader may not decide, when
// nothing is linked, and once the invoice is issued.
func (v jobView) decideForm() *JobForm {
	if !v.may(workshop.ActComeback) || v.Job.ComebackOf == 0 || v.Invoice != nil {
		return nil
	}
	cause, share, why := "", "", ""
	if c := v.Job.Comeback; c != nil {
		cause, share, why = c.Cause, string(c.Share), c.Why
	}
	if v.part == "decide" {
		cause, share, why = v.value("decide", "cause"), v.value("decide", "share"), v.value("decide", "why")
	}
	return v.form("decide", "/was-it-us/decide", "Decide who pays",
		ChoiceField("decide_cause", "Why it came back", cause, Options(append([]string{""}, job.ComebackCauses()...))),
		ChoiceField("decide_share", "Who pays", share, []Option{
			{Value: string(job.Ours), Label: "ours", Note: "free of charge; minutes and parts are logged all the same"},
			{Value: string(job.Shared), Label: "shared", Note: "half the labour, parts in full"},
			{Value: string(job.DriedAgain), Label: "dried again", Note: "as usual"},
		}).Radio(),
		TextField("decide_why", "Why you decide so", why).Need().Limit(300))
}

// linkForm links another earlier visit, or none.
func (v jobView) linkForm(w *workshop.WasItUs) *JobForm {
	if !v.may(workshop.ActLink) || len(w.Past) == 0 || v.Invoice != nil {
		return nil
	}
	var options []Option
	if v.Job.Comeback == nil {
		options = append(options, Option{Value: "0", Label: "no earlier visit: this is new"})
	}
	for _, p := range w.Past {
		options = append(options, Option{Value: strconv.FormatInt(int64(p.ID), 10), Label: fmt.Sprintf("tag %d, %s", p.Tag, p.Arrival.Complaint)})
	}
	return v.form("link", "/was-it-us/link", "Link it",
		ChoiceField("link_earlier", "It comes back from", strconv.FormatInt(int64(v.Job.ComebackOf), 10), options))
}

func (s *Server) linkComeback(c *gin.Context) {
	earlier, err := strconv.ParseInt(form(c, "link_earlier"), 10, 64)
	if err != nil {
		s.afterWas(c, &domain.Error{Kind: domain.Invalid, Text: "choose a visit", Fields: domain.Fields{"earlier": "choose a visit of the list"}}, "link", "")
		return
	}
	s.afterWas(c, s.Work.LinkComeback(keyed(c), actor(c), jobID(c), domain.JobID(earlier)), "link", "The link is noted.")
}

func (s *Server) decideComeback(c *gin.Context) {
	err := s.Work.DecideComeback(keyed(c), actor(c), jobID(c), job.Comeback{
		Cause: form(c, "decide_cause"), Share: job.Share(form(c, "decide_share")), Why: form(c, "decide_why"),
	})
	s.afterWas(c, err, "decide", "Decided. Save the draft of the quote again if there is one; it is priced anew.")
}

// afterWas leads back to the page, or shows it again with what is wrong with
// the form part.
func (s *Server) afterWas(c *gin.Context, err error, part, said string) {
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, said)
		Go(c, jobPath(jobID(c))+"/was-it-us")
	case kind == domain.Invalid || kind == domain.Conflict:
		if f := s.openFolder(c); f != nil {
			s.showWas(c, StatusOf(kind), f, part, prefixed(part, fieldErrors(err)))
		}
	default:
		s.fail(c, err)
	}
}
