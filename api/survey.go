package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// surveyDoc is one measured examination. It is never changed.
type surveyDoc struct {
	ID        int64             `json:"id"`
	At        time.Time         `json:"at"`
	By        string            `json:"by"`
	Moment    word[momentWords] `json:"moment"`
	Strings   word[stringWords] `json:"strings"`
	Tuning    string            `json:"tuning"`
	Indoors   string            `json:"indoors"`
	RoomRH    measure           `json:"room_rh"`
	Room      measure           `json:"room" doc:"Temperature"`
	CaseRH    measure           `json:"case_rh"`
	Weight    measure           `json:"weight"`
	Worst     int               `json:"worst" doc:"The worst grade of its findings and of the air in the case"`
	Case      *gradeDoc         `json:"case_grade,omitempty" doc:"Of the air in the case; left out when it was not read"`
	Because   string            `json:"because" doc:"In a line, for a quote"`
	Dryness   drynessDoc        `json:"dryness"`
	Explained string            `json:"explained" doc:"Which air would explain the measures, and whether they agree; a range and no proof"`
	Closure   string            `json:"closure" doc:"How the cracks compare with the most that the top can regain; empty when nothing can be said"`
	StopNow   []string          `json:"stop_now" doc:"What must be done before anything else"`
	Refer     []string          `json:"refer" doc:"Why to refuse the work or to send it to a specialist; the owner decides"`
	Findings  []findingDoc      `json:"findings"`
	Note      string            `json:"note"`
}

type findingDoc struct {
	ID        int64              `json:"id"`
	Symptom   word[symptomWords] `json:"symptom"`
	Place     string             `json:"place"`
	Measure   measure            `json:"measure"`
	Grade     *int               `json:"grade" minimum:"0" maximum:"4" doc:"0 fine, 1 slight, 2 moderate, 3 severe, 4 stop; null when it was not measured or could not be reached"`
	Suggested *gradeDoc          `json:"suggested,omitempty" doc:"What the shop's bands say of it today; left out when they say nothing"`
	Detail    detailDoc          `json:"detail"`
	Causes    []cause            `json:"causes"`
	Hints     []hint             `json:"hints" doc:"Causes to think of; the surveyor decides"`
	Note      string             `json:"note"`
}

type cause struct {
	What word[causeWords] `json:"what"`
	Sure word[sureWords]  `json:"sure"`
}

// surveyOf shows a survey with what the rules make of it.
func surveyOf(s job.Survey, in customer.Instrument, bands job.Bands) surveyDoc {
	closure, _ := job.Closure(s, in)
	return surveyDoc{
		ID: int64(s.ID), At: s.At.UTC(), By: s.By, Moment: word[momentWords](s.Moment), Strings: word[stringWords](s.Strings), Tuning: s.Tuning, Indoors: s.Indoors,
		RoomRH: measureOf(s.RoomRH), Room: measureOf(s.Room), CaseRH: measureOf(s.CaseRH), Weight: measureOf(s.Weight),
		Worst: int(s.WorstBy(bands)), Case: suggestion(s.CaseGrade(bands)), Because: s.Because(), Note: s.Note,
		Dryness: drynessOf(s, in), Explained: job.Explained(s, in).Text, Closure: closure, StopNow: same(job.StopNow(s)), Refer: same(job.Refer(s, in)),
		Findings: each(s.Findings, func(d job.Finding) findingDoc { return findingOf(d, s, in, bands) }),
	}
}

func findingOf(d job.Finding, s job.Survey, in customer.Instrument, bands job.Bands) findingDoc {
	out := findingDoc{
		ID: d.ID, Symptom: word[symptomWords](d.Symptom), Place: d.Place, Measure: measureOf(d.Measure), Note: d.Note,
		Suggested: suggestion(s.Suggest(d, bands)), Detail: detailOf(d.Detail), Hints: each(job.Hints(d, s, in), hintOf),
		Causes: each(d.Causes, func(c job.Cause) cause {
			return cause{What: word[causeWords](c.What), Sure: word[sureWords](c.Sure)}
		}),
	}
	if d.Graded() {
		grade := int(d.Grade)
		out.Grade = &grade
	}
	return out
}

// surveyNote is a survey as it is noted. Measures are text as the bench writes
// it: 27 %, 1.2 mm, 3/64", 68 F; left out: not measured; "?": could not reach.
type surveyNote struct {
	Moment   word[momentWords] `json:"moment"`
	Strings  word[stringWords] `json:"strings"`
	Tuning   string            `json:"tuning,omitempty"`
	Indoors  string            `json:"indoors,omitempty" doc:"How long the case has been indoors"`
	RoomRH   string            `json:"room_rh,omitempty" doc:"Such as 41 %"`
	Room     string            `json:"room,omitempty" doc:"Temperature, such as 21 C or 70 F"`
	CaseRH   string            `json:"case_rh,omitempty" doc:"Such as 27 %"`
	Weight   string            `json:"weight,omitempty" doc:"Such as 2162 g"`
	Findings []findingNote     `json:"findings" minItems:"1" maxItems:"60"`
	Note     string            `json:"note,omitempty"`
}

type findingNote struct {
	Symptom word[symptomWords] `json:"symptom"`
	Place   string             `json:"place,omitempty"`
	Measure string             `json:"measure,omitempty" doc:"Such as 60 mm; left out: not measured; ?: could not reach"`
	Grade   *int               `json:"grade,omitempty" minimum:"0" maximum:"4" doc:"0 fine, 1 slight, 2 moderate, 3 severe, 4 stop; left out: what the shop's bands suggest. Another grade than theirs needs a note"`
	Detail  *detailNote        `json:"detail,omitempty" doc:"What else is noted of it"`
	Causes  []cause            `json:"causes,omitempty" maxItems:"10" doc:"At least one above grade 0; unknown is one"`
	Note    string             `json:"note,omitempty"`
}

type surveyIn struct {
	OnJob
	Body surveyNote
}

// offer is a task that the last survey suggests.
type offer struct {
	Task     string `json:"task" doc:"Code of the template"`
	Name     string `json:"name"`
	Quantity int    `json:"quantity"`
	Unit     string `json:"unit" doc:"Of the quantity; empty for each"`
	Because  string `json:"because" doc:"The finding behind it"`
}

func (a *API) surveyRoutes() {
	o := operation{noun: "surveys", act: workshop.ActRead, method: http.MethodGet, path: "/jobs/{job}/surveys", id: "list_surveys", summary: "Surveys of a job, newest first"}
	add(a, o, a.surveys)
	change(a, operation{noun: "surveys", act: workshop.ActSurvey, path: "/jobs/{job}/surveys", id: "note_survey", summary: "Note a survey"},
		func(ctx context.Context, by domain.Actor, id domain.JobID, in *surveyIn) error {
			s, err := in.Body.domain(id)
			if err != nil {
				return err
			}
			return a.work.NoteSurvey(ctx, by, s)
		})
	o.path, o.id, o.summary = "/jobs/{job}/offers", "list_offers", "Tasks that the last survey suggests for the quote; the person decides"
	add(a, o, a.offers)
}

func (n surveyNote) domain(id domain.JobID) (job.Survey, error) {
	f := domain.Fields{}
	s := job.Survey{
		Job: id, Moment: string(n.Moment), Strings: string(n.Strings), Tuning: n.Tuning, Indoors: n.Indoors, Note: n.Note,
		RoomRH: measureIn(f, "room_rh", n.RoomRH, wood.Percent), Room: measureIn(f, "room", n.Room, wood.Celsius),
		CaseRH: measureIn(f, "case_rh", n.CaseRH, wood.Percent), Weight: measureIn(f, "weight", n.Weight, wood.Gram),
	}
	for i, d := range n.Findings {
		unit, _ := job.SymptomUnit(string(d.Symptom))
		found := job.Finding{Symptom: string(d.Symptom), Place: d.Place, Grade: job.Ungraded, Note: d.Note}
		if d.Grade != nil {
			found.Grade = job.Grade(*d.Grade)
		}
		found.Detail = d.Detail.domain(f, fmt.Sprintf("findings[%d].detail.", i))
		field := fmt.Sprintf("findings[%d].measure", i)
		if unit == "" && d.Measure != "" {
			f.Add(field, "is looked at and not measured; leave it out and write a note")
		} else {
			found.Measure = measureIn(f, field, d.Measure, unit)
		}
		for _, c := range d.Causes {
			found.Causes = append(found.Causes, job.Cause{What: string(c.What), Sure: string(c.Sure)})
		}
		s.Findings = append(s.Findings, found)
	}
	return s, f.Err()
}

func (a *API) surveys(ctx context.Context, in *OnJob) (*many[surveyDoc], error) {
	j, err := a.read.JobByID(ctx, in.job())
	if err != nil {
		return nil, err
	}
	instrument, err := a.read.InstrumentByID(ctx, j.Instrument)
	if err != nil {
		return nil, err
	}
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	all, err := a.read.SurveysOf(ctx, in.job())
	if err != nil {
		return nil, err
	}
	return whole("", each(all, func(s job.Survey) surveyDoc { return surveyOf(s, *instrument, shop.Bands) })), nil
}

func (a *API) offers(ctx context.Context, in *OnJob) (*many[offer], error) {
	j, err := a.read.JobByID(ctx, in.job())
	if err != nil {
		return nil, err
	}
	instrument, err := a.read.InstrumentByID(ctx, j.Instrument)
	if err != nil {
		return nil, err
	}
	surveys, err := a.read.SurveysOf(ctx, in.job())
	if err != nil {
		return nil, err
	}
	editions, err := a.read.NewestEditions(ctx)
	if err != nil {
		return nil, err
	}
	versions, err := a.read.QuotesOfJob(ctx, in.job())
	if err != nil {
		return nil, err
	}
	p := workshop.Patient{Instrument: *instrument, Arrival: j.Arrival}
	if len(surveys) > 0 {
		p.Survey = &surveys[0]
	}
	var rows []quote.Row
	if len(versions) > 0 {
		rows = versions[0].Rows()
	}
	return whole("", each(workshop.Offers(p, editions, rows), func(o workshop.Offer) offer {
		return offer{Task: o.Code, Name: o.Name, Quantity: o.Quantity, Unit: o.Unit, Because: o.Because}
	})), nil
}
