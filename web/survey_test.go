package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func init() { moreSamples = append(moreSamples, surveySamples) }

func surveySamples() map[string]Paged {
	f := folderAt("", func(f *workshop.Folder) bool { return len(f.Surveys) > 0 && workshop.CrackLength(&f.Surveys[0]) > 50 })
	shown := &SurveyShown{Page: sampleFrame("Survey")}
	shown.fill(f, f.Surveys[0], nil, everybody())
	shown.Unreached = []string{"loose brace"}
	form := sampleFrame("Survey")
	form.Errors = domain.Fields{"findings[10].grade": "choose a grade", "findings": "note at least one"}
	rows := make([]FindingRow, 0, len(usualSigns)+1)
	c := quietRequest()
	for i, symptom := range append(append([]string(nil), usualSigns...), "finish") {
		rows = append(rows, findingRow(c, i, symptom, 1, form.Errors))
	}
	bands := &BandsPage{Page: sampleFrame("What counts as dry"), Action: bandsPath, Hidden: []Pair{{"version", "1"}}, Back: Link{Href: "/settings", Text: "Shop settings"}}
	bands.Errors = domain.Fields{"bands[0].edges[0]": "must sink"}
	for i, b := range job.UsualBands() {
		bands.Rows = append(bands.Rows, bandRow(i, b, typedBands(job.UsualBands())[i], bands.Errors))
	}
	return map[string]Paged{
		"survey/form": &SurveyPage{
			Page: form, Action: "/jobs/1/survey", Job: "/jobs/1", Tag: "tag 1", Instrument: plates(f), Conditions: conditions(c, form.Errors),
			Usual: usualCause(c, nil), Rows: rows, Places: job.Places(), Add: ChoiceField("add", "Another sign", "", moreSigns()), Note: AreaField("note", "Note", ""), Says: saysOf(f.Surveys[0], f),
		},
		"survey/show": shown, "survey/bands": bands,
	}
}

// rowAt is the row of the form that a usual sign has.
func rowAt(symptom string) string {
	for i, s := range usualSigns {
		if s == symptom {
			return fmt.Sprintf("findings[%d].", i)
		}
	}
	return ""
}

// survey is what every survey of these tests begins with.
func surveyForm(pairs ...string) []string {
	return append([]string{"moment", "before hold", "strings", "slack"}, pairs...)
}

func TestSurveyFormKeepsWhatWasTyped(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/survey"
	page := s.get(at)
	if find(page, "name", rowAt("crack length")+"detail.across_grain") == nil || find(page, "name", rowAt("relief")+"detail.across_grain") != nil {
		t.Error("the details do not fit their sign")
	}
	crack, ends := rowAt("crack length"), rowAt("fret ends proud")
	text := s.refusedForm(at, "is no measure", surveyForm(crack+"measure", "sixty", crack+"detail.width", "0.2", crack+"detail.reaches", "brace", crack+"detail.reaches", "edge",
		ends+"detail.feel", "snags cloth", crack+"detail.kind", "open", "cause", "dryness", "case_rh", "27 %")...)
	root := parse(t, text)
	for name, want := range map[string]string{crack + "measure": "sixty", crack + "detail.width": "0.2", "case_rh": "27 %"} {
		if got := attr(find(root, "name", name), "value"); got != want {
			t.Errorf("%s came back as %q, want %q", name, got, want)
		}
	}
	for _, want := range []string{`<option selected>snags cloth`, `<option selected>open`, `value="brace" checked`, `value="edge" checked`, `<option selected>dryness`} {
		if !strings.Contains(text, want) {
			t.Errorf("the form lost %s", want)
		}
	}
	if got := textOf(find(root, "data-problems", "")); strings.Contains(got, "findings") {
		t.Errorf("the list of mistakes names raw fields: %s", got)
	}
	if link := find(root, "href", "#"+FieldID(crack+"measure")); textOf(link) != "Crack, length" {
		t.Errorf("the mistake is called %q, want Crack, length", textOf(link))
	}
}

func TestSurveyTakesItsGradeFromTheBand(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/survey"
	crack, ends := rowAt("crack length"), rowAt("fret ends proud")
	s.refusedForm(at, "at least one cause", surveyForm(crack+"measure", "60")...)
	s.refusedForm(at, "there is no band", surveyForm(rowAt("action bass")+"measure", "3.1")...)
	s.refusedForm(at, "at least one finding", surveyForm("case_rh", "27")...)
	s.refusedForm(at, "grade differs", surveyForm(crack+"measure", "60", crack+"grade", "1", "cause", "dryness", "sure", "likely")...)
	s.post(at, surveyForm("case_rh", "27", "tuning", "D A D G A D", "indoors", "two hours", "cause", "dryness", "sure", "likely", crack+"measure", `2 3/8"`, crack+"place", "treble lower bout",
		crack+"detail.width", "0.2", crack+"detail.closes", "yes", crack+"causes[0].what", "impact", crack+"causes[0].sure", "possible",
		ends+"measure", "0.15", ends+"grade", "1", ends+"note", "one end only", rowAt("relief")+"measure_known", "could_not_reach")...)
	v := s.newestSurvey()
	if len(v.Findings) != 3 {
		t.Fatalf("got %d findings, want the three that were filled in", len(v.Findings))
	}
	if d := v.Findings[2]; d.Symptom != "crack length" || d.Grade != job.Moderate || d.Detail.Width.Text() != "0.2 mm" || d.Causes[0].What != "impact" {
		t.Errorf("the crack is kept as %+v", d)
	}
	if d := v.Findings[0]; d.Grade != job.Slight || d.Causes[0].What != "dryness" || d.Detail.Width.Known != "" {
		t.Errorf("the fret ends are kept as %+v, want slight by dryness", d)
	}
	page := s.get(jobPath(v.Job) + fmt.Sprintf("/surveys/%d", v.ID))
	text := textOf(page)
	for _, want := range []string{
		"crack, treble lower bout", "60.33 mm long, 0.2 mm wide", "closes under the thumb", "impact, possible", "By the limits: 0.15 mm a side is 0.10 to 0.20: moderate", "one end only",
		"D A D G A D", "two hours", "Could not reach relief", "27 %", "Rehumidify", "agree",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the survey lacks %q: %s", want, text)
		}
	}
	if find(page, "href", jobPath(v.Job)+"/quote") == nil {
		t.Error("no way leads into the quote builder")
	}
	if find(s.get(jobPath(v.Job)), "href", jobPath(v.Job)+"/surveys/1") == nil {
		t.Error("the job does not lead to its survey")
	}
}

// newestSurvey is the newest survey of the first job.
func (s *openShop) newestSurvey() job.Survey {
	s.Helper()
	all, err := s.store.SurveysOf(s.Context(), 1)
	s.must(err)
	if len(all) == 0 {
		s.Fatal("no survey was kept")
	}
	return all[0]
}

func TestSurveyLooksWithoutKeeping(t *testing.T) {
	s := newShop(t)
	id := s.arrived()
	at, ends := jobPath(id)+"/survey", rowAt("fret ends proud")
	form := []string{"moment", "before hold", "strings", "at pitch", ends + "measure", "0.15", "case_rh", "22 %", rowAt("top arch behind bridge") + "measure", "-0.8"}
	w := s.as(s.owner, at+"/look", values(append(form, "do", "work")...), "")
	page := parse(t, w.Body.String())
	checkHTML(t, w.Body.Bytes())
	if w.Code != http.StatusOK {
		t.Fatalf("got %d, want 200", w.Code)
	}
	help := textOf(find(page, "id", "help"))
	if !strings.HasPrefix(help, "Stop Slacken the strings now") || !strings.Contains(help, "dry: 3 signs agree") {
		t.Errorf("the help says %q, want to stop first and that three signs agree", help)
	}
	if says := textOf(find(page, "id", FieldID("findings[0]")+"-says")); !strings.HasPrefix(says, "moderate 0.15 mm a side is 0.10 to 0.20") {
		t.Errorf("the fret ends are said to be %q", says)
	}
	part := s.as(s.owner, at+"/look", values(form...), "help")
	if body := part.Body.String(); part.Code != http.StatusOK || strings.Contains(body, "<html") || !strings.Contains(body, `data-into="`+FieldID("findings[0]")+`-says"`) {
		t.Errorf("the live part is %d: %.200s", part.Code, body)
	}
	if w := s.as(s.owner, at+"/look", values(ends+"measure", "wide", "do", "work"), ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "is no measure") {
		t.Errorf("a measure that cannot be read: %d", w.Code)
	}
	if all, _ := s.store.SurveysOf(t.Context(), id); len(all) != 0 {
		t.Error("looking kept a survey")
	}
}

func TestSurveyHasRoomForMoreSigns(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/survey"
	first, n := rowAt("crack length"), len(usualSigns)
	form := surveyForm(first+"measure", "60", "do", "more", "add", "crack length")
	page := parse(t, s.as(s.owner, at+"/look", values(form...), "").Body.String())
	second := fmt.Sprintf("findings[%d].", n)
	if attr(find(page, "name", first+"measure"), "value") != "60" || find(page, "name", second+"detail.width") == nil {
		t.Fatal("one more crack lost the first or did not come")
	}
	w := s.as(s.owner, at+"/look", values(append(form, second+"symptom", "crack length", second+"measure", "35", "add", "finish")...), "survey")
	if body := w.Body.String(); w.Code != http.StatusOK || !strings.Contains(body, `value="35"`) || strings.Contains(body, "<html") {
		t.Errorf("the second crack is lost: %d", w.Code)
	}
	s.refusedForm(at+"/look", "choose a sign", surveyForm("do", "more", "add", "ghost")...)
	third := fmt.Sprintf("findings[%d].", n+1)
	s.refusedForm(at, "choose a grade", surveyForm(third+"symptom", "finish", third+"detail.state", "crazing")...)
	s.post(at, surveyForm("cause", "dryness", "sure", "likely", first+"measure", "60", second+"symptom", "crack length", second+"measure", "35", third+"symptom", "finish", third+"detail.state", "crazing", third+"grade", "1")...)
	if v := s.newestSurvey(); len(v.Findings) != 3 || v.Findings[2].Detail.State != "crazing" {
		t.Errorf("kept %+v, want two cracks and the finish", v.Findings)
	}
}

func TestSurveyWaitsForAColdCase(t *testing.T) {
	s := newShop(t)
	who, err := s.work.NoteCustomer(t.Context(), s.owner, customer.Customer{Name: "Mara Oduya", Phone: "555 0101"})
	s.must(err)
	what, err := s.work.NoteInstrument(t.Context(), s.owner, customer.Instrument{Owner: who, Kind: "steel-string guitar"})
	s.must(err)
	id, err := s.work.Arrive(t.Context(), s.owner, workshop.Taking{Instrument: what, Arrival: job.Arrival{Complaint: "It cracked."}})
	s.must(err)
	page := s.get(jobPath(id) + "/survey")
	text := textOf(page)
	if find(page, "name", "moment") != nil || !strings.Contains(text, "until Fri 4 Dec, 11:00") || find(page, "action", jobPath(id)+"/case") == nil {
		t.Errorf("the survey of a closed case does not wait until a day after it came: %s", text)
	}
	s.clock.now = s.clock.now.Add(25 * time.Hour)
	if text := textOf(s.get(jobPath(id))); !strings.Contains(text, "so it should be warm") {
		t.Errorf("after a day the job does not say that the case should be warm: %s", text)
	}
	s.post(jobPath(id)+"/case", "case_warm", "yes")
	if find(s.get(jobPath(id)+"/survey"), "name", "moment") == nil {
		t.Error("an open case is not surveyed")
	}
}

func TestBandsAreTheOwners(t *testing.T) {
	s := newShop(t)
	page := s.get(bandsPath)
	form := []string{"version", "1"}
	for i, b := range typedBands(job.UsualBands()) {
		for k, e := range b.edges {
			if got := attr(find(page, "name", edgeName(i, k)), "value"); got != e {
				t.Errorf("%s is %q, want the usual %q", edgeName(i, k), got, e)
			}
			form = append(form, edgeName(i, k), e)
		}
		for k, e := range b.over {
			form = append(form, overName(i, k), e)
		}
	}
	with := func(name, value string, more ...string) []string {
		out := append([]string(nil), form...)
		for i := 0; i < len(out); i += 2 {
			if out[i] == name {
				out[i+1] = value
			}
		}
		return append(out, more...)
	}
	ends := 4
	if job.UsualBands()[ends].Symptom != "fret ends proud" {
		t.Fatal("the fret ends have another place among the bands")
	}
	text := s.refusedForm(bandsPath, "is no number", with(edgeName(ends, 1), "wide")...)
	if !strings.Contains(text, `value="wide"`) || !strings.Contains(text, "Fret ends proud, moderate from") {
		t.Error("the typed limit or the name of its field is lost")
	}
	s.refusedForm(bandsPath, "must grow", with(edgeName(ends, 1), "0.01")...)
	s.post(bandsPath, with(edgeName(ends, 1), "0,14")...)
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	if b, ok := shop.Bands.Of("fret ends proud"); !ok || len(shop.Bands) != 1 || b.Edges[1].String() != "0.14" {
		t.Errorf("kept %+v, want the fret ends alone", shop.Bands)
	}
	if text := textOf(s.get(bandsPath)); !strings.Contains(text, "Your own: fret ends proud") {
		t.Errorf("the page does not say what is the shop's own: %s", text)
	}
	w := s.as(s.owner, bandsPath, values(with(edgeName(ends, 1), "0.14", "usual", fmt.Sprint(ends))...), "")
	if got := attr(find(parse(t, w.Body.String()), "name", edgeName(ends, 1)), "value"); w.Code != http.StatusOK || got != "0.1" {
		t.Errorf("as usual gives %q with %d, want 0.1", got, w.Code)
	}
	if w := s.as(s.owner, bandsPath, values(form...), ""); w.Code != http.StatusConflict {
		t.Errorf("an old version of the settings is kept: %d, want 409", w.Code)
	}
	s.post(bandsPath, with("version", "2")...)
	if shop, err := s.store.ShopSettings(t.Context()); err != nil || len(shop.Bands) != 0 {
		t.Errorf("usual bands are kept as %+v, %v; want none", shop.Bands, err)
	}
	if w := s.as(s.person("Runa", domain.Bench), bandsPath, nil, ""); w.Code != http.StatusForbidden {
		t.Errorf("the bench may open the bands: %d", w.Code)
	}
	if find(s.get("/settings"), "href", bandsPath) == nil {
		t.Error("the settings do not lead to the bands")
	}
}

func TestMeasuresAreShownInTheShopsUnits(t *testing.T) {
	s := newShop(t)
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	shop.Units = wood.Units{Length: "yard"}
	if err := s.work.ChangeShop(t.Context(), s.owner, *shop); domain.FieldsOf(err)["units.length"] == "" {
		t.Errorf("a shop that measures in yards: %v", err)
	}
	shop.Units = wood.Units{Length: "in", Temperature: "F", Weight: "oz"}
	s.must(s.work.ChangeShop(t.Context(), s.owner, *shop))
	if got := textOf(find(s.get("/settings"), "name", "units.length")); got != "mm in" {
		t.Errorf("the settings offer lengths in %q", got)
	}
	at := jobPath(s.arrived()) + "/survey"
	s.post(at, surveyForm("room", "20 C", "weight", "2162 g", "cause", "dryness", "sure", "likely", rowAt("fret ends proud")+"measure", "0.254", rowAt("crack length")+"measure", "2 in")...)
	text := textOf(s.get(jobPath(1) + "/surveys/1"))
	// 25.4 mm to the inch, 28.349523125 g to the ounce: International yard and pound agreement, 1959.
	for _, want := range []string{"0.010 in (0.25 mm)", "2.000 in (50.8 mm)", "68 °F (20 °C)", "76.3 oz (2162 g)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the survey lacks %q: %s", want, text)
		}
	}
}

func TestSurveySaysToStop(t *testing.T) {
	s := newShop(t)
	id := s.arrived()
	s.post(jobPath(id)+"/survey", []string{"moment", "before hold", "strings", "at pitch", "cause", "dryness", "sure", "likely", rowAt("top arch behind bridge") + "measure", "-2.1"}...)
	page := s.get(jobPath(id) + "/surveys/1")
	if first := textOf(find(page, "id", "answer")); !strings.HasPrefix(first, "Slacken the strings now") {
		t.Errorf("the survey opens with %q", first)
	}
	if find(page, "class", "caution stop") == nil {
		t.Error("no stop stands on the page")
	}
}
