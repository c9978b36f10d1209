package web

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

// typedSurvey is a survey as it was typed.
type typedSurvey struct {
	survey  job.Survey
	settled job.Survey  // with the grades that the bands give
	rows    map[int]int // row of the form by finding
	errs    domain.Fields
	unread  domain.Fields // of errs, what could not be read at all
}

// readSurvey reads the form. Rows of which nothing was filled in are left out;
// a grade left to the measure stays out of survey, which the workshop settles,
// and is in settled.
func readSurvey(c *gin.Context, id domain.JobID, bands job.Bands) typedSurvey {
	f := domain.Fields{}
	read := func(name string, unit wood.Unit) wood.Measure {
		return MeasureIn(f, name, form(c, name), form(c, name+"_known"), unit)
	}
	t := typedSurvey{rows: map[int]int{}, errs: f, survey: job.Survey{
		Job: id, Moment: form(c, "moment"), Strings: form(c, "strings"), Tuning: form(c, "tuning"), Indoors: form(c, "indoors"), Note: form(c, "note"),
		RoomRH: read("room_rh", wood.Percent), Room: read("room", wood.Celsius), CaseRH: read("case_rh", wood.Percent), Weight: read("weight", wood.Gram),
	}}
	for _, a := range askedRows(c) {
		name := fmt.Sprintf("findings[%d].", a.at)
		if filledRow(c, name) {
			t.rows[len(t.survey.Findings)] = a.at
			t.survey.Findings = append(t.survey.Findings, findingIn(c, f, name, a.symptom))
		}
	}
	t.unread = maps.Clone(f)
	t.settle(bands, usualCauseIn(c))
	return t
}

// settle lets the bands grade what nobody graded, puts the usual cause where a
// sign names none, and checks what comes of it.
func (t *typedSurvey) settle(bands job.Bands, usual []job.Cause) {
	t.settled = t.survey
	t.settled.Findings = slices.Clone(t.survey.Findings)
	t.note(t.settled.Settle(bands))
	for i := range t.settled.Findings {
		d := &t.settled.Findings[i]
		if d.Grade > job.Fine && len(d.Causes) == 0 {
			d.Causes, t.survey.Findings[i].Causes = usual, usual
		}
	}
	t.note(t.settled.Check())
	t.note(t.settled.CheckAgainst(bands))
}

// note takes over what is wrong, named after the rows of the form.
func (t *typedSurvey) note(err error) {
	for name, text := range domain.FieldsOf(err) {
		t.errs.Add(inRow(name, t.rows), "%s", text)
	}
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

// filledRow reports whether anything of a row was filled in, be it a cause
// alone: what somebody typed is never dropped without a word.
func filledRow(c *gin.Context, name string) bool {
	for field, values := range c.Request.PostForm {
		rest, ok := strings.CutPrefix(field, name)
		if !ok || rest == "symptom" || strings.HasSuffix(rest, "].sure") {
			continue
		}
		for _, v := range values {
			if v = strings.TrimSpace(v); v != "" && v != string(wood.NotMeasured) {
				return true
			}
		}
	}
	return false
}

// findingIn reads one row of the form.
func findingIn(c *gin.Context, f domain.Fields, name, symptom string) job.Finding {
	d := job.Finding{Symptom: symptom, Place: form(c, name+"place"), Note: form(c, name+"note"), Causes: causesIn(c, name), Grade: job.Ungraded}
	s := signOf(symptom)
	if unit := s.unit(); unit != "" {
		d.Measure = MeasureIn(f, name+"measure", form(c, name+"measure"), form(c, name+"measure_known"), unit)
	}
	if typed := form(c, name+"grade"); typed != "" {
		g, err := strconv.Atoi(typed)
		if err != nil {
			f.Add(name+"grade", "must be one of %s", strings.Join(job.GradeWords(), ", "))
		}
		d.Grade = job.Grade(g)
	}
	d.Detail = detailIn(c, f, name+"detail.", s)
	if symptom == "bridge lift" && !d.Measure.Is() {
		d.Measure = deepest(d.Measure, d.Detail.Wings)
	}
	return d
}

// deepest is the deepest of the depths under a bridge, or else when none was
// measured.
func deepest(otherwise wood.Measure, depths [3]wood.Measure) wood.Measure {
	out := otherwise
	for _, m := range depths {
		if m.Is() && (!out.Is() || m.Value.GreaterThan(out.Value)) {
			out = m
		}
	}
	return out
}

// detailIn reads the details that the form asks for with a sign.
func detailIn(c *gin.Context, f domain.Fields, name string, s sign) job.Detail {
	word := func(field string) string {
		if !s.has(field) {
			return ""
		}
		return form(c, name+field)
	}
	mm := func(field string) wood.Measure {
		m := MeasureIn(f, name+field, word(field), form(c, name+field+"_known"), wood.Millimetre)
		if m.Known == wood.NotMeasured {
			return wood.Measure{} // says nothing, and is kept as nothing
		}
		return m
	}
	d := job.Detail{
		Side: word("side"), FromSeam: mm("from_seam"), Kind: word("kind"), Width: mm("width"), Step: mm("step"), Through: word("through"),
		Closes: word("closes"), Dirty: word("dirty"), Reopened: word("reopened"), FinishOnly: word("finish_only"), AcrossGrain: word("across_grain"),
		Feel: word("feel"), Frets: word("frets"), Bound: word("bound"), Edge: word("edge"), Run: mm("run"), Moves: word("moves"), Slack: mm("slack"),
		Wings: [3]wood.Measure{mm("wings_bass"), mm("wings_centre"), mm("wings_treble")}, Brace: word("brace"), Ripple: word("ripple"), State: word("state"),
	}
	if s.has("reaches") {
		d.Reaches = c.PostFormArray(name + "reaches")
	}
	if typed := word("plates"); typed != "" {
		n, err := strconv.Atoi(typed)
		if err != nil {
			f.Add(name+"plates", "must be a whole number")
		}
		d.Plates = n
	}
	return d
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

// usualCauseIn is the cause that stands for signs which name none.
func usualCauseIn(c *gin.Context) []job.Cause {
	what := form(c, "cause")
	if what == "" {
		return nil
	}
	return []job.Cause{{What: what, Sure: form(c, "sure")}}
}
