package web

import (
	"fmt"

	"github.com/gin-gonic/gin"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// SurveySays is what the signs of a survey say, worked out while it is typed
// and shown again on its page.
type SurveySays struct {
	Answer  string
	Stops   []Caution // first and loud
	Worst   *Notches  // nil while nothing is graded
	Air     []string  // the air in the case, and which air would explain the measures
	Short   string    // the verdict about dryness in a word or two
	Verdict string
	Refer   []Caution
	Causes  []CauseHint
	Rows    []SignSays
}

// CauseHint suggests what a sign may come from.
type CauseHint struct {
	Of, Cause, Text string
	Other           bool // something else than dryness
}

// Of gives a row what is said about it.
func (s SurveySays) Of(row SignSays) SignSays {
	for _, r := range s.Rows {
		if r.ID == row.ID {
			return r
		}
	}
	return row
}

// Empty reports whether there is nothing to say yet.
func (s SurveySays) Empty() bool { return s.Worst == nil && s.Verdict == "" }

const askSurveyAnswer = "Measure what you can reach; not measured, could not reach and zero are three different answers."

// says works out what was typed so far.
func (v *surveying) says(c *gin.Context) SurveySays {
	t := v.typed
	out := SurveySays{Answer: askSurveyAnswer}
	if len(t.settled.Findings) > 0 || t.settled.CaseRH.Is() {
		out = saysOf(t.settled, v.Folder)
	}
	graded := map[int]int{}
	for n, at := range t.rows {
		graded[at] = n
	}
	for _, a := range askedRows(c) {
		row := SignSays{ID: FieldID(fmt.Sprintf("findings[%d]", a.at)) + "-says"}
		if n, ok := graded[a.at]; ok {
			row.Grade, row.Why = signSays(t.survey, t.survey.Findings[n], v.Shop.Bands)
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// signSays is the suggested grade with its reason.
func signSays(s job.Survey, d job.Finding, bands job.Bands) (*Notches, string) {
	g, why, ok := s.Suggest(d, bands)
	if !ok {
		return nil, ""
	}
	if d.Grade != job.Ungraded && d.Grade != g {
		why += "; you say " + d.Grade.String() + ", so say why in the note"
	}
	return &Notches{Grade: int(g)}, why
}

// saysOf reads a survey whose findings have their grades.
func saysOf(s job.Survey, v *workshop.Folder) SurveySays {
	reading := job.Dryness(s, *v.Instrument)
	out := SurveySays{Answer: reading.Text, Verdict: reading.Text, Short: shortVerdict(reading), Worst: &Notches{Grade: int(s.WorstBy(v.Shop.Bands)), Of: "worst:"}}
	for _, text := range job.StopNow(s) {
		out.Stops = append(out.Stops, Caution{Text: text, Stop: true})
	}
	if len(out.Stops) > 0 {
		out.Answer = out.Stops[0].Text
	}
	if _, why, ok := s.CaseGrade(v.Shop.Bands); ok {
		out.Air = append(out.Air, "Case air "+why+".")
	}
	if told := job.Explained(s, *v.Instrument); told.Text != "" {
		out.Air = append(out.Air, told.Text)
	}
	if text, ok := job.Closure(s, *v.Instrument); ok {
		out.Air = append(out.Air, text)
	}
	for _, text := range job.Refer(s, *v.Instrument) {
		out.Refer = append(out.Refer, Caution{Text: text})
	}
	for _, d := range s.Findings {
		for _, h := range job.Hints(d, s, *v.Instrument) {
			out.Causes = append(out.Causes, CauseHint{Of: joined(signOf(d.Symptom).name(), d.Place), Cause: h.Cause + ", " + h.Sure, Text: h.Text, Other: h.Cause != "dryness"})
		}
	}
	return out
}

// shortVerdict says the verdict with how many signs stand behind it.
func shortVerdict(r job.DryReading) string {
	switch r.Verdict {
	case job.ReadsDry:
		return fmt.Sprintf("dry: %d signs agree", len(r.Signs))
	case job.ReadsMaybe:
		return "one sign: possible"
	case job.ReadsWet:
		return "over-humid"
	}
	return "no sign of dryness"
}
