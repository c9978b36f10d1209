package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged { return map[string]Paged{"job/was": sampleWas()} })
}

// sampleCase is a crack that came back, with a fact in each column.
func sampleCase() workshop.Case {
	mm := func(typed string) wood.Measure {
		m, err := wood.ParseMeasure(typed, wood.Millimetre)
		if err != nil {
			panic(err)
		}
		return m
	}
	left := shelfNow.AddDate(0, -2, 0)
	return workshop.Case{
		Match: job.Match{
			Sort: "crack", Place: "bass lower bout", Fit: job.Same, Why: "12 mm apart, measured from the centre seam",
			Measures: []job.Compared{{What: "crack width", Then: mm("0.3 mm"), Now: mm("0.2 mm")}},
			Facts: job.Facts{
				Job: 4, Tag: 212, Arrived: left.AddDate(0, 0, -20), Left: left, Complaint: "The top has cracked.", Who: []string{"Runa"}, Held: true, HoldEnd: "steady by measurement",
				Gap: mm("0.3 mm"), LastGap: mm("0 mm"), Brief: true, BriefTo: "Ada Lind", Recheck: "2026-10-01",
				Work: []job.Work{{Name: "Crack glued", Quantity: "60 mm", Made: "hot hide glue", Done: left, By: "Runa", Glued: true}, {Name: "Cleats", Quantity: "2 cleats", Done: left, By: "Ivo", Glued: true}},
			},
		},
		Evidence: job.Evidence{For: []string{"The line itself came open again."}, Against: []string{"The air in the case is 27 % now."}, Text: "One fact speaks for our work."},
		Days:     60, Counted: true,
	}
}

func sampleWas() *WasPage {
	f := folderAt(job.Waiting, nil)
	f.Job.ComebackOf = 4
	v := jobView{Folder: f, who: everybody(), now: shelfNow, typed: func(string) string { return "" }, part: "decide", errs: domain.Fields{"decide_why": "is needed"}}
	past := []job.PastJob{{Job: &job.Job{ID: 4, Tag: 212, Arrival: job.Arrival{At: shelfNow.AddDate(0, -3, 0), Complaint: "The top has cracked."}}}}
	was := &workshop.WasItUs{Past: past, Linked: &past[0], Cases: []workshop.Case{sampleCase()}, Answer: "Crack: we worked there."}
	p := &WasPage{Page: sampleFrame("Was it us?"), Job: Link{Href: "/jobs/9", Text: "Back to the job"}, Photos: &Link{Href: "/jobs/9/photos", Text: "Photos of this visit"}}
	p.Answer, p.Errors = was.Answer, v.errs
	p.Facts, p.Past = v.wasFacts(was), pastTable(past, f.Shop, "Earlier visits", 0)
	p.Cases = []WasCase{v.wasCase(was.Cases[0])}
	p.Decide, p.Link = v.decideForm(), v.linkForm(was)
	return p
}

// gone finishes the crack of the first job and hands the guitar over with the brief.
func (s *openShop) gone() {
	s.Helper()
	s.agreed()
	s.post("/jobs/1/tasks/1/made", "made", "hot hide glue")
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	s.post("/jobs/1/calls", "call_about", "ready", "call_result", "spoke")
	s.post("/jobs/1/money/bill", "do", "issue")
	s.post("/jobs/1/hand-over", "to", "Mara", "tag_shown", "yes", "brief", "yes", "recheck", "2027-01-02", "unpaid", "pays on Monday")
}

// cameBack brings it back after 34 days with the crack open at the same place,
// the line itself reopened and the case at a humidity.
func (s *openShop) cameBack(linked domain.JobID, rh string) domain.JobID {
	s.Helper()
	s.clock.now = s.clock.now.AddDate(0, 0, 34)
	id, err := s.work.Arrive(s.Context(), s.owner, workshop.Taking{Instrument: 1, Arrival: job.Arrival{Complaint: "It opened again.", CaseOpened: true}, ComebackOf: linked})
	s.must(err)
	mm, err := wood.ParseMeasure("60", wood.Millimetre)
	s.must(err)
	air, err := wood.ParseMeasure(rh, wood.Percent)
	s.must(err)
	s.must(s.work.NoteSurvey(s.Context(), s.owner, job.Survey{
		Job: id, Moment: "before hold", Strings: "slack", CaseRH: air,
		Findings: []job.Finding{{Symptom: "crack length", Place: "centre seam", Measure: mm, Grade: job.Moderate, Detail: job.Detail{Reopened: "yes"}, Causes: []job.Cause{{What: "glue fault", Sure: "likely"}}}},
	}))
	return id
}

// columnOf is the text of a column of the evidence.
func columnOf(n *html.Node, head string) string {
	if n.Type == html.ElementNode && n.Data == "section" && strings.HasPrefix(textOf(n), head) {
		return textOf(n)
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		if text := columnOf(k, head); text != "" {
			return text
		}
	}
	return ""
}

func TestWasItUs(t *testing.T) {
	s := newShop(t)
	s.gone()
	id := s.cameBack(0, "46")
	for _, path := range []string{jobPath(id), jobPath(id) + "/was-it-us"} {
		page := find(s.get(path), "id", "main")
		for head, want := range map[string]string{
			"Speaks for our work": "came open again, and the air in the case is steady at 46 %", "Not known": "no signature is on record",
		} {
			if got := columnOf(page, head); !strings.Contains(got, want) {
				t.Errorf("%s: column %q says %q, want %q in it", path, head, got, want)
			}
		}
		if text := textOf(find(page, "class", "evidence")); !strings.Contains(text, "34 days since the hand-over; our warranty runs 90") {
			t.Errorf("%s: got %q, want the days counted", path, text)
		}
	}
	if text := textOf(s.get(jobPath(id) + "/surveys/2")); !strings.Contains(text, "Crack, centre seam: we worked there under tag 1, 34 days after hand-over.") {
		t.Errorf("the survey does not tell of the earlier work: %s", text)
	}
	text := textOf(s.get(jobPath(id) + "/was-it-us"))
	for _, want := range []string{"hot hide glue", "not noted", "2 cleats", "60 mm", "34 days before it came back", "The record does not decide", "Local consumer law"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q:\n%s", want, text)
		}
	}
	if find(s.get(jobPath(id)), "action", jobPath(id)+"/was-it-us/decide") != nil {
		t.Error("who pays can be decided on a job that is not linked")
	}
	s.refusedForm(jobPath(id)+"/was-it-us/link", "choose a visit", "link_earlier", "x")
	s.post(jobPath(id)+"/was-it-us/link", "link_earlier", "1")
	if find(s.get(jobPath(id)), "action", jobPath(id)+"/was-it-us/decide") == nil {
		t.Error("the owner is not asked who pays")
	}
	s.refusedForm(jobPath(id)+"/was-it-us/decide", "is needed", "decide_cause", "glue failed", "decide_share", "ours")
	s.post(jobPath(id)+"/was-it-us/decide", "decide_cause", "glue failed", "decide_share", "shared", "decide_why", "half ours")
	s.post(jobPath(id)+"/was-it-us/decide", "decide_cause", "glue failed", "decide_share", "ours", "decide_why", "the line opened at 46 %")
	text = textOf(s.get(jobPath(id)))
	for _, want := range []string{"Decided by Ilse: ours, free of charge; cause: glue failed", "shared: glue failed; half ours", "ours: glue failed; the line opened at 46 %"} {
		if !strings.Contains(text, want) {
			t.Errorf("the job does not say %q, from the decision or the diary", want)
		}
	}
}

func TestWhoMayLinkAndDecide(t *testing.T) {
	s := newShop(t)
	s.gone()
	id := s.cameBack(0, "46")
	counter, bench := s.person("Bo", domain.Counter), s.person("Runa", domain.Bench)
	decide := values("decide_cause", "glue failed", "decide_share", "ours", "decide_why", "it opened")
	for _, who := range []domain.Actor{counter, bench} {
		if w := s.as(who, jobPath(id)+"/was-it-us/link", values("link_earlier", "1"), ""); w.Code != http.StatusSeeOther {
			t.Errorf("%s may not link: %d", who.Name, w.Code)
		}
		if w := s.as(who, jobPath(id)+"/was-it-us/decide", decide, ""); w.Code != http.StatusForbidden {
			t.Errorf("%s decides who pays: got %d, want 403", who.Name, w.Code)
		}
		page := parse(t, s.as(who, jobPath(id)+"/was-it-us", nil, "").Body.String())
		if find(page, "action", jobPath(id)+"/was-it-us/decide") != nil {
			t.Errorf("%s is shown the form that decides", who.Name)
		}
	}
	if w := s.as(counter, "/jobs/1/tasks/1/made", values("made", "fish glue"), ""); w.Code != http.StatusForbidden {
		t.Errorf("the counter notes how a joint was made: got %d, want 403", w.Code)
	}
}

func TestArrivalShowsWhatWasDoneBefore(t *testing.T) {
	s := newShop(t)
	s.gone()
	text := textOf(s.get("/arrive?customer=1&instrument=1"))
	for _, want := range []string{"It was here before", "tag 1", "hot hide glue", "centre seam"} {
		if !strings.Contains(text, want) {
			t.Errorf("the arrival form does not say %q", want)
		}
	}
	s = newShop(t)
	s.arrived()
	if text := textOf(s.get("/jobs/1")); strings.Contains(text, "Was it us") || strings.Contains(text, "Was here") {
		t.Error("a first visit is asked whether it was us")
	}
}

func TestHowAJointWasMade(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.refusedForm("/jobs/1/tasks/1/made", "120", "made", strings.Repeat("x", 121))
	where := s.post("/jobs/1/tasks/1/done")
	if text := textOf(s.get(where)); !strings.Contains(text, "Not noted yet") {
		t.Errorf("a glued task without a word of how is not asked: %s", text)
	}
	s.post("/jobs/1/tasks/1/made", "made", "hot hide glue")
	s.post("/jobs/1/tasks/1/made", "made", "fish glue")
	page := s.get("/jobs/1/tasks/1")
	if got := textOf(find(page, "id", "made")); !strings.Contains(got, "fish glue") {
		t.Errorf("got %q, want the glue", got)
	}
	diary, err := s.store.DiaryOf(t.Context(), 1)
	s.must(err)
	if e := diary[0]; e.Before != "hot hide glue" || e.After != "fish glue" {
		t.Errorf("the diary has %+v, want what stood before and after", e)
	}
}

// The figures: an hour is 60.00, so 60 mm of crack are 44.00 and two cleats
// 39.00. Shared, the crack is 22.00; with the cleats and 10 % tax 67.10.
func TestSplitFromBuilderToBill(t *testing.T) {
	s := newShop(t)
	s.gone()
	id := s.cameBack(1, "46")
	at := jobPath(id) + "/quote"
	page := parse(t, s.as(s.owner, at, values("basis", "quote", "add_task", "CG", "add_quantity", "60", "do", "add-task"), "").Body.String())
	if b := find(page, "name", "rows[0].comeback"); b == nil || !hasAttr(b, "checked") {
		t.Error("a task that was done on the earlier visit has no mark of the comeback")
	}
	sheet := []string{"basis", "quote", "rows[0].task", "CG", "rows[0].edition", "1", "rows[0].quantity", "60", "rows[0].comeback", "yes", "rows[1].task", "CC", "rows[1].edition", "1", "rows[1].quantity", "2", "do", "save"}
	draft := s.post(at, sheet...)
	if text := textOf(s.get(at)); !strings.Contains(text, "comeback: not decided yet") || !strings.Contains(text, "Who pays for what came back is not decided") {
		t.Error("the builder does not say that nobody decided")
	}
	s.post(jobPath(id)+"/was-it-us/decide", "decide_cause", "glue failed", "decide_share", "shared", "decide_why", "half ours")
	if w := s.as(s.owner, draft+"/say", values("promised", ""), ""); w.Code != http.StatusConflict {
		t.Errorf("a draft priced before the decision is said: got %d, want 409", w.Code)
	}
	if text := textOf(s.get(at)); !strings.Contains(text, "comeback: shared: 50 % off") || !strings.Contains(text, "67.10") {
		t.Errorf("the builder does not show the split: %s", text)
	}
	draft = s.post(at, append(sheet, "seen", fmt.Sprint(s.versions(id)[0].Lock))...)
	s.post(draft+"/say", "promised", "")
	s.post(draft+"/answer", "outcome", string(quote.Whole), "who", "Mara", "channel", "phone")
	j, err := s.store.JobByID(t.Context(), id)
	s.must(err)
	for _, task := range j.Tasks {
		s.must(s.work.Finish(t.Context(), s.owner, id, task.ID))
	}
	if text := textOf(s.get(jobPath(id) + "/money")); !strings.Contains(text, "60 mm; comeback: shared") || !strings.Contains(text, "67.10") {
		t.Errorf("the bill does not show the split: %s", text)
	}
	warned := func() bool {
		const text = "was said before it was decided who pays"
		job, version := textOf(s.get(jobPath(id))), textOf(s.get(draft))
		if strings.Contains(job, text) != strings.Contains(version, text) {
			t.Errorf("the job and the quote do not warn alike: %s\n%s", job, version)
		}
		return strings.Contains(job, text)
	}
	if warned() {
		t.Error("a price that follows the decision is warned of")
	}
	s.clock.now = s.clock.now.Add(time.Hour)
	s.post(jobPath(id)+"/was-it-us/decide", "decide_cause", "glue failed", "decide_share", "ours", "decide_why", "on second thoughts")
	if !warned() {
		t.Error("nobody is told that the price was said before the decision")
	}
	if text := textOf(s.get(jobPath(id) + "/money")); !strings.Contains(text, "comeback: our work") || !strings.Contains(text, "42.90") {
		t.Errorf("a decision in the customer's favour does not count at once: %s", text)
	}
}

func TestWarrantyIsASetting(t *testing.T) {
	s := newShop(t)
	page := s.get("/settings")
	for name, want := range map[string]string{"warranty_days": "90", "warranty_low": "40", "warranty_high": "60"} {
		if got := attr(find(page, "name", name), "value"); got != want {
			t.Errorf("%s is %q before anybody set it, want %q", name, got, want)
		}
	}
	s.refusedForm("/settings", "above the low limit", "name", "F", "rate", "60", "zone", "Europe/Helsinki", "version", "1", "profile", `{"name":"x","currency":"EUR","deposit_tax":"on_application","components":[]}`, "valid_days", "14", "quarter_up", "15",
		"warranty_days", "90", "warranty_low", "60", "warranty_high", "40")
}
