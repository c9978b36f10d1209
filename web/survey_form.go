package web

import (
	"fmt"
	"regexp"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

const (
	findingCauses = 3  // causes that a row of the form offers
	mostFindings  = 60 // rows, as many as a survey may have findings
)

// FindingRow is one sign of the form.
type FindingRow struct {
	ID     string // f-findings-2
	Title  string
	Hint   string
	Hidden Pair // the symptom
	Fields []Field
	Fold   string // what stands under the fold, in words
	More   []Field
	Open   bool // something under the fold is typed or wrong
	Fresh  bool // was just added
	Says   SignSays
}

// SignSays is what the bands say about a row while it is filled in.
type SignSays struct {
	ID    string
	Grade *Notches // nil when nothing can be said
	Why   string
}

// asked is one row of the form: its number and its symptom.
type asked struct {
	at      int
	symptom string
}

var findingField = regexp.MustCompile(`^findings\[(\d{1,2})\]\.`)

// askedRows lists the rows: the usual signs, then those that were added. What
// the form does not know is taken for another sign.
func askedRows(c *gin.Context) []asked {
	var out []asked
	for i, symptom := range usualSigns {
		out = append(out, asked{i, symptom})
	}
	for _, i := range numbered(c, findingField) {
		if i < len(usualSigns) || i >= mostFindings {
			continue
		}
		symptom := form(c, fmt.Sprintf("findings[%d].symptom", i))
		if _, known := job.SymptomUnit(symptom); !known {
			symptom = "other"
		}
		out = append(out, asked{i, symptom})
	}
	return out
}

// conditions asks under what the survey is made.
func conditions(c *gin.Context, errs domain.Fields) Group {
	measure := func(name, label string, unit wood.Unit) Field {
		return MeasureField(name, label, typedMeasure(c, name), unit).Tightly()
	}
	fields := []Field{
		ChoiceField("moment", "When", form(c, "moment"), Options(job.Moments())), ChoiceField("strings", "Strings", form(c, "strings"), Options(job.StringStates())),
		TextField("tuning", "Tuning", form(c, "tuning")).Limit(40).Middle(), TextField("indoors", "Indoors for", form(c, "indoors")).Limit(80).Middle(),
		measure("case_rh", "Air in the case", wood.Percent), measure("room_rh", "Air in the room", wood.Percent), measure("room", "Room", wood.Celsius),
		measure("weight", "Weight", wood.Gram),
	}
	return Group{Legend: "Conditions", Note: "A number without them cannot be compared. Read the case with the logger shut in for half an hour; say in the note what was on the scale with it.", Across: true, Fields: markAll(errs, fields)}
}

func typedMeasure(c *gin.Context, name string) wood.Measure {
	return wood.Measure{Known: wood.Known(form(c, name+"_known")), Typed: form(c, name)}
}

// usualCause asks once for what explains most of the signs.
func usualCause(c *gin.Context, errs domain.Fields) []Field {
	causes := append([]Option{{Value: "", Label: "each sign names its own"}}, Options(job.CauseWords())...)
	return markAll(errs, []Field{
		ChoiceField("cause", "Cause, where a sign names none", form(c, "cause"), causes),
		ChoiceField("sure", "How sure", orElse(form(c, "sure"), "likely"), Options(job.Confidences())),
	})
}

func orElse(typed, usual string) string {
	if typed == "" {
		return usual
	}
	return typed
}

// row asks for one sign with what was typed of it.
type row struct {
	c     *gin.Context
	name  string // findings[2].
	sign  sign
	title string
	errs  domain.Fields
}

// findingRow asks for a sign in row i; nth tells rows of one sign apart, from 1.
func findingRow(c *gin.Context, i int, symptom string, nth int, errs domain.Fields) FindingRow {
	r := row{c: c, name: fmt.Sprintf("findings[%d].", i), sign: signOf(symptom), errs: errs}
	r.title = r.sign.name()
	if nth > 1 {
		r.title = fmt.Sprintf("%s %d", r.title, nth)
	}
	id := FieldID(fmt.Sprintf("findings[%d]", i))
	out := FindingRow{
		ID: id, Title: r.title, Hint: r.sign.hint, Hidden: Pair{Name: r.name + "symptom", Value: r.sign.symptom},
		Says: SignSays{ID: id + "-says"},
	}
	out.Fields = r.mark(r.inSight())
	out.More = r.mark(r.folded())
	out.Fold = "More causes, note"
	if len(r.sign.details) > 0 {
		out.Fold = "Details, more causes, note"
	}
	for _, f := range out.More {
		out.Open = out.Open || f.Error != "" || f.Checked || (f.Value != "" && f.Value != "likely")
	}
	return out
}

func (r row) typed(field string) string { return form(r.c, r.name+field) }

// mark puts the errors beside the fields, which the list of mistakes names by
// the row they stand in.
func (r row) mark(fields []Field) []Field {
	for i := range fields {
		fields[i].Of = r.title
	}
	return markAll(r.errs, fields)
}

func (r row) inSight() []Field {
	var out []Field
	if unit := r.sign.unit(); unit != "" {
		out = append(out, MeasureField(r.name+"measure", orElse(r.sign.length, "Measure"), typedMeasure(r.c, r.name+"measure"), unit).Tightly())
	}
	for _, a := range r.sign.shown {
		out = append(out, r.field(a))
	}
	grades := []Option{{Value: "", Label: "by measure"}}
	if _, banded := job.UsualBands().Of(r.sign.symptom); r.sign.unit() == "" {
		grades[0].Label = "not looked at"
	} else if !banded {
		grades[0].Label = "yours to say" // no band grades it
	}
	for g, word := range job.GradeWords() {
		grades = append(grades, Option{Value: strconv.Itoa(g), Label: word})
	}
	out = append(out, ChoiceField(r.name+"grade", "Grade", r.typed("grade"), grades))
	return append(out, r.cause(0)...)
}

func (r row) folded() []Field {
	var out []Field
	for _, a := range r.sign.details {
		out = append(out, r.field(a))
	}
	for k := 1; k < findingCauses; k++ {
		if k > 1 && r.typed(fmt.Sprintf("causes[%d].what", k-1)) == "" && r.typed(fmt.Sprintf("causes[%d].what", k)) == "" {
			break // a third is offered once there are two
		}
		out = append(out, r.cause(k)...)
	}
	return append(out, TextField(r.name+"note", "Note", r.typed("note")).Limit(300).Hint("why, when the grade is not the suggested one"))
}

func (r row) cause(k int) []Field {
	at := fmt.Sprintf("causes[%d].", k)
	return []Field{
		ChoiceField(r.name+at+"what", [findingCauses]string{"Cause", "Second cause", "Third cause"}[k], r.typed(at+"what"), append([]Option{{Value: "", Label: "not named"}}, Options(job.CauseWords())...)),
		ChoiceField(r.name+at+"sure", "How sure", orElse(r.typed(at+"sure"), "likely"), Options(job.Confidences())),
	}
}

// field asks for one detail.
func (r row) field(a ask) Field {
	name := r.name + "detail." + a.name
	var f Field
	switch a.kind {
	case "place":
		f = TextField(r.name+"place", a.label, r.typed("place")).Limit(80).Share("places")
	case "measure":
		f = MeasureField(name, a.label, typedMeasure(r.c, name), wood.Millimetre).Tightly()
	case "length":
		f = Field{Kind: "text", Name: name, Label: a.label, Value: form(r.c, name), Unit: UnitWord(wood.Millimetre), Max: 24}
	case "count":
		f = CountField(name, a.label, form(r.c, name), "")
	case "yes":
		f = ChoiceField(name, a.label, form(r.c, name), notLooked(job.YesNo()))
	case "words":
		f = ChoiceField(name, a.label, form(r.c, name), notLooked(a.words()))
	case "picks":
		f = PicksField(name, a.label, r.c.PostFormArray(name), Options(a.words()))
	default:
		f = TextField(name, a.label, form(r.c, name)).Limit(60)
	}
	return f.Hint(a.hint)
}

func notLooked(words []string) []Option {
	return append([]Option{{Value: "", Label: "not looked at"}}, Options(words)...)
}
