package web

import (
	"winterbench/domain"
)

func init() { moreSamples = append(moreSamples, arrivalSamples) }

func arrivalSamples() map[string]Paged {
	who := Person{Name: "M. Oduya", Phone: "555-0142", Href: "/customers/1"}
	errs := domain.Fields{"complaint": "is needed", "marks[0].place": "is needed"}
	arrive := sampleFrame("Take an instrument in")
	arrive.Errors = errs
	return map[string]Paged{
		"arrival/whose": &WhosePage{Page: sampleFrame("Take an instrument in"), Words: TextField("q", "Name", "odu"), NewHref: "/customers/new", Looked: true, Found: Table{Empty: Empty{Text: "Nobody."}}},
		"arrival/which": &WhichPage{Page: sampleFrame("Take an instrument in"), Customer: who, NewHref: "/instruments/new", Back: "/arrive", Found: Table{Caption: "Instruments", Hidden: true, Columns: []Column{Head("Instrument")}, Rows: []Row{Line("Orrin No. 3")}}},
		"arrival/form": &ArrivePage{
			Page: arrive, Customer: who, Instrument: Fact{Value: "Orrin No. 3", Href: "/instruments/1"}, Caution: &Caution{Text: "Rosewood may be protected."}, Hidden: []Pair{{"instrument", "1"}}, Back: "/arrive",
			Groups: []Group{{Legend: "What for", Fields: markAll(errs, []Field{AreaField("complaint", "What is wrong", "").Need()})}},
			Agreed: Group{Legend: "Agreed", Fields: []Field{TextField("marks_seen_by", "The marks were seen by", "")}},
			Marks:  []Group{{Legend: "Mark 1", Fields: markAll(errs, []Field{TextField("marks[0].place", "Where", "")})}},
		},
	}
}
