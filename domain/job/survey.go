package job

import (
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Grade is the severity of a finding.
type Grade int

// The grades, 0 to 4.
const (
	Fine Grade = iota
	Slight
	Moderate
	Severe
	Stop // slacken the strings now
)

var gradeWords = []string{"fine", "slight", "moderate", "severe", "stop"}

// GradeWords lists the words of grades 0 to 4.
func GradeWords() []string { return append([]string(nil), gradeWords...) }

// String returns the word.
func (g Grade) String() string {
	if g < Fine || g > Stop {
		return fmt.Sprintf("grade %d", int(g))
	}
	return gradeWords[g]
}

// Survey is one measured examination with the conditions it was made under. A
// survey is never changed; a later look is a new one.
type Survey struct {
	ID       domain.SurveyID
	Job      domain.JobID
	At       time.Time
	By       string
	Moment   string // before hold, during hold, after work
	Strings  string // at pitch, slack, off
	Tuning   string
	Indoors  string // how long the case has been indoors
	RoomRH   wood.Measure
	Room     wood.Measure // temperature, C
	CaseRH   wood.Measure
	Weight   wood.Measure
	Findings []Finding
	Note     string
}

// Finding is one symptom with its place, measure, grade and causes.
type Finding struct {
	ID      int64
	Symptom string // one of Symptoms
	Place   string
	Measure wood.Measure
	Grade   Grade // Ungraded until the survey settles it
	Causes  []Cause
	Detail  Detail
	Note    string
}

// Cause is one explanation with how sure the surveyor is.
type Cause struct {
	What string // one of CauseWords
	Sure string // one of Confidences
}

// Moments lists when in the job a survey is made.
func Moments() []string { return []string{"before hold", "during hold", "after work"} }

// StringStates lists how the strings are.
func StringStates() []string { return []string{"at pitch", "slack", "off"} }

// Symptom is a thing the survey looks for, and in which unit it is measured.
type Symptom struct {
	Name string
	Unit wood.Unit // "" when it is looked at and not measured
}

// Symptoms lists what a survey looks for. Source: common practice, no source.
func Symptoms() []Symptom {
	return []Symptom{
		{"top arch behind bridge", wood.Millimetre},
		{"top arch in front of bridge", wood.Millimetre},
		{"back arch", wood.Millimetre},
		{"crack length", wood.Millimetre},
		{"crack width", wood.Millimetre},
		{"fret ends proud", wood.Millimetre},
		{"binding gap", wood.Millimetre},
		{"heel gap", wood.Millimetre},
		{"bridge lift", wood.Millimetre},
		{"relief", wood.Millimetre},
		{"body-joint hump", wood.Millimetre},
		{"action bass", wood.Millimetre},
		{"action treble", wood.Millimetre},
		{"loose brace", wood.Millimetre},
		{"buzz", ""},
		{"finish", ""},
		{"other", ""},
	}
}

// SymptomUnit returns the unit in which a symptom is measured and whether the
// symptom is known.
func SymptomUnit(name string) (wood.Unit, bool) {
	for _, s := range Symptoms() {
		if s.Name == name {
			return s.Unit, true
		}
	}
	return "", false
}

// CauseWords lists causes.
func CauseWords() []string {
	return []string{
		"dryness", "impact", "heat", "over-humidity", "age or wear", "glue fault", "old repair failure",
		"our workmanship", "another's workmanship", "unknown",
	}
}

// Confidences lists how sure a cause is.
func Confidences() []string { return []string{"sure", "likely", "possible", "ruled out"} }

// Places are offered while typing the place of a finding; others may be typed.
func Places() []string {
	return []string{
		"centre seam", "bass lower bout", "treble lower bout", "bass upper bout", "treble upper bout", "beside board, bass",
		"beside board, treble", "soundhole to bridge", "bridge to tail", "through pins", "bridge wing", "pickguard edge",
		"side, bass waist", "side, treble waist", "back centre strip", "back bout", "board end", "headstock", "heel", "bridge", "rosette",
	}
}

// Check returns an Invalid error that names each wrong field of the survey.
func (s *Survey) Check() error {
	f := domain.Fields{}
	domain.OneOf(f, "moment", s.Moment, Moments())
	domain.OneOf(f, "strings", s.Strings, StringStates())
	s.Tuning = domain.Line(f, "tuning", s.Tuning, 40, false)
	s.Indoors = domain.Line(f, "indoors", s.Indoors, 80, false)
	s.Note = domain.Paragraph(f, "note", s.Note, 2000, false)
	within(f, "room_rh", s.RoomRH, 0, 100, "%")
	within(f, "case_rh", s.CaseRH, 0, 100, "%")
	within(f, "room", s.Room, -30, 50, "C")
	within(f, "weight", s.Weight, 50, 20000, "g")
	if len(s.Findings) == 0 {
		f.Add("findings", "note at least one finding, even if everything is fine")
	}
	if len(s.Findings) > 60 {
		f.Add("findings", "must be at most 60")
	}
	for i := range s.Findings {
		f.AddErr(fmt.Sprintf("findings[%d]", i), s.Findings[i].check())
	}
	return f.Err()
}

func (d *Finding) check() error {
	f := domain.Fields{}
	if _, ok := SymptomUnit(d.Symptom); !ok {
		f.Add("symptom", "is not one the survey knows")
	}
	d.Place = domain.Line(f, "place", d.Place, 80, false)
	d.Note = domain.Line(f, "note", d.Note, 300, false)
	if d.Grade < Ungraded || d.Grade > Stop {
		f.Add("grade", "must be from 0 (fine) to 4 (stop)")
	}
	within(f, "measure", d.Measure, -100, 2000, "mm")
	f.AddErr("detail", d.Detail.check())
	if d.Grade > Fine && len(d.Causes) == 0 {
		f.Add("causes", "name at least one cause; unknown is one")
	}
	for i, c := range d.Causes {
		domain.OneOf(f, fmt.Sprintf("causes[%d].what", i), c.What, CauseWords())
		domain.OneOf(f, fmt.Sprintf("causes[%d].sure", i), c.Sure, Confidences())
	}
	return f.Err()
}

// Because sums the survey up for a quote: the graded findings, worst first,
// and the air in the case.
func (s Survey) Because() string {
	var parts []string
	for g := Stop; g > Fine; g-- {
		for _, d := range s.Findings {
			if d.Grade == g {
				parts = append(parts, d.text())
			}
		}
	}
	if s.CaseRH.Is() {
		parts = append(parts, "case air "+s.CaseRH.Text())
	}
	return strings.Join(parts, " · ")
}

// text names a finding with what decides its grade: of a crack its width as well
// as its length.
func (d Finding) text() string {
	name := d.Named()
	if w := d.Detail.Width; d.Symptom == "crack length" && w.Is() {
		name += ", " + w.Text() + " wide"
	}
	return name + " (" + d.Grade.String() + ")"
}

// Note makes a survey part of the job: a first look turns arrived into surveyed.
func (j *Job) NoteSurvey(s Survey) error {
	if StageOf(j).Over() {
		return domain.Conflictf("tag %d has left the shop; open a new job to survey it again", j.Tag)
	}
	if !j.Arrival.CaseOpened {
		return domain.Conflictf("the case is still closed: let it reach room temperature, then note that it was opened")
	}
	j.Surveyed = s.At
	return nil
}

// WarmsFor is how long a case from the cold stays shut before nobody asks whether
// it has warmed through. Source: common practice, no source.
const WarmsFor = 12 * time.Hour

// OpenCase notes that a cold case was opened after it had warmed. Sooner than
// [WarmsFor] after it arrived somebody must have felt that it is at room
// temperature all round, else it is an Invalid error that names warm.
func (j *Job) OpenCase(at time.Time, warm bool) error {
	if j.Arrival.CaseOpened {
		return domain.Conflictf("the case was opened before")
	}
	if since := at.Sub(j.Arrival.At); since < WarmsFor && !warm {
		f := domain.Fields{}
		f.Add("warm", "must be felt first: it stood here for %d h, a case from the cold needs about %d", int(since.Hours()), int(WarmsFor.Hours()))
		return f.Err()
	}
	j.Arrival.CaseOpened = true
	return nil
}
