package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// surveyDoc is one measured examination. It is never changed.
type surveyDoc struct {
	ID       int64             `json:"id"`
	At       time.Time         `json:"at"`
	By       string            `json:"by"`
	Moment   word[momentWords] `json:"moment"`
	Strings  word[stringWords] `json:"strings"`
	Tuning   string            `json:"tuning"`
	Indoors  string            `json:"indoors"`
	RoomRH   measure           `json:"room_rh"`
	Room     measure           `json:"room" doc:"Temperature"`
	CaseRH   measure           `json:"case_rh"`
	Weight   measure           `json:"weight"`
	Worst    int               `json:"worst" doc:"The worst grade of its findings"`
	Because  string            `json:"because" doc:"In a line, for a quote"`
	Findings []findingDoc      `json:"findings"`
	Note     string            `json:"note"`
}

type findingDoc struct {
	ID      int64              `json:"id"`
	Symptom word[symptomWords] `json:"symptom"`
	Place   string             `json:"place"`
	Measure measure            `json:"measure"`
	Grade   int                `json:"grade" minimum:"0" maximum:"4" doc:"0 fine, 1 slight, 2 moderate, 3 severe, 4 stop"`
	Causes  []cause            `json:"causes"`
	Note    string             `json:"note"`
}

type cause struct {
	What word[causeWords] `json:"what"`
	Sure word[sureWords]  `json:"sure"`
}

func surveyOf(s job.Survey) surveyDoc {
	return surveyDoc{
		ID: int64(s.ID), At: s.At.UTC(), By: s.By, Moment: word[momentWords](s.Moment), Strings: word[stringWords](s.Strings), Tuning: s.Tuning, Indoors: s.Indoors,
		RoomRH: measureOf(s.RoomRH), Room: measureOf(s.Room), CaseRH: measureOf(s.CaseRH), Weight: measureOf(s.Weight),
		Worst: int(s.Worst()), Because: s.Because(), Note: s.Note,
		Findings: each(s.Findings, func(d job.Finding) findingDoc {
			return findingDoc{
				ID: d.ID, Symptom: word[symptomWords](d.Symptom), Place: d.Place, Measure: measureOf(d.Measure), Grade: int(d.Grade), Note: d.Note,
				Causes: each(d.Causes, func(c job.Cause) cause {
					return cause{What: word[causeWords](c.What), Sure: word[sureWords](c.Sure)}
				}),
			}
		}),
	}
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
	Grade   int                `json:"grade" minimum:"0" maximum:"4" doc:"0 fine, 1 slight, 2 moderate, 3 severe, 4 stop"`
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
	add(a, o, func(ctx context.Context, in *OnJob) (*many[surveyDoc], error) {
		if _, err := a.read.JobByID(ctx, in.job()); err != nil {
			return nil, err
		}
		all, err := a.read.SurveysOf(ctx, in.job())
		if err != nil {
			return nil, err
		}
		return whole("", each(all, surveyOf)), nil
	})
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
		found := job.Finding{Symptom: string(d.Symptom), Place: d.Place, Grade: job.Grade(d.Grade), Note: d.Note}
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

func (a *API) offers(ctx context.Context, in *OnJob) (*many[offer], error) {
	if _, err := a.read.JobByID(ctx, in.job()); err != nil {
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
	var last *job.Survey
	if len(surveys) > 0 {
		last = &surveys[0]
	}
	var rows []quote.Row
	if len(versions) > 0 {
		rows = versions[0].Rows()
	}
	return whole("", each(workshop.Offers(last, editions, rows), func(o workshop.Offer) offer {
		return offer{Task: o.Code, Name: o.Name, Quantity: o.Quantity, Unit: o.Unit, Because: o.Because}
	})), nil
}
