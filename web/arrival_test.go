package web

import (
	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

func init() { moreSamples = append(moreSamples, arrivalSamples) }

func arrivalSamples() map[string]Paged {
	who := Person{Name: "M. Oduya", Phone: "555-0142", Href: "/customers/1"}
	errs := domain.Fields{"complaint": "is needed", "marks[0].place": "is needed"}
	odd := domain.Fields{"findings[0].grade": "choose a grade"}
	arrive := sampleFrame("Take an instrument in")
	arrive.Errors = errs
	survey := sampleFrame("Survey")
	survey.Errors = odd
	return map[string]Paged{
		"arrival/whose": &WhosePage{Page: sampleFrame("Take an instrument in"), Words: TextField("q", "Name", "odu"), NewHref: "/customers/new", Looked: true, Found: Table{Empty: Empty{Text: "Nobody."}}},
		"arrival/which": &WhichPage{Page: sampleFrame("Take an instrument in"), Customer: who, NewHref: "/instruments/new", Back: "/arrive", Found: Table{Caption: "Instruments", Hidden: true, Columns: []Column{Head("Instrument")}, Rows: []Row{Line("Orrin No. 3")}}},
		"arrival/form": &ArrivePage{
			Page: arrive, Customer: who, Instrument: Fact{Value: "Orrin No. 3", Href: "/instruments/1"}, Caution: &Caution{Text: "Rosewood may be protected."}, Hidden: []Pair{{"instrument", "1"}}, Back: "/arrive",
			Groups: []Group{{Legend: "What for", Fields: markAll(errs, []Field{AreaField("complaint", "What is wrong", "").Need()})}},
			Agreed: Group{Legend: "Agreed", Fields: []Field{TextField("marks_seen_by", "The marks were seen by", "")}},
			Marks:  []Group{{Legend: "Mark 1", Fields: markAll(errs, []Field{TextField("marks[0].place", "Where", "")})}},
		},
		"survey/form": &SurveyPage{
			Page: survey, Action: "/jobs/1/survey", Job: "/jobs/1", Tag: "tag 1", Instrument: Facts{{Name: "Top", Value: "spruce, solid"}}, Cold: &Caution{Text: "closed", Stop: true},
			Conditions: Group{Legend: "Conditions", Fields: []Field{MeasureField("case_rh", "Air in the case", wood.Measure{}, wood.Percent)}},
			Rows:       []FindingRow{{Title: "crack length", Fields: markAll(odd, []Field{ChoiceField("findings[0].grade", "Grade", "", Options(job.GradeWords()))}), More: []Field{TextField("findings[0].note", "Note", "")}, Symptom: &Pair{"findings[0].symptom", "crack length"}}}, Note: AreaField("note", "Note", ""),
		},
		"survey/show": &SurveyShown{Page: sampleFrame("Survey"), Grade: Notches{Grade: 3}, Conditions: Facts{{Name: "By", Value: "Runa"}}, Findings: Table{Caption: "Findings", Hidden: true, Columns: []Column{Head("Sign")}, Rows: []Row{Line("crack")}}, Job: Link{Href: "/jobs/1", Text: "tag 1"}, Note: "dry"},
	}
}
