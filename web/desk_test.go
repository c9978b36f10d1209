package web

import "time"

func init() { moreSamples = append(moreSamples, deskSamples) }

func deskSamples() map[string]Paged {
	list := Table{Caption: "List", Hidden: true, Columns: []Column{Head("Name")}, Rows: []Row{Line("Åse <b>Nord</b>")}}
	line := DeskLine{Tag: "tag 318", Href: "/jobs/1", Title: "Orrin No. 3", Person: Person{Name: "M. Oduya", Phone: "555-0142", Href: "/customers/1"}, Why: "quoted for 3 days", Late: true, Next: &Link{Href: "/jobs/1", Text: "Record the answer"}}
	who := Person{Name: "Åse <b>Nord</b>", Phone: "555-0142"}
	return map[string]Paged{
		"desk/counter":        &DeskPage{Page: sampleFrame("Counter"), May: true, Groups: []DeskGroup{{Title: "Waits for their answer", Lines: []DeskLine{line}}}, Rest: []DeskGroup{{Title: "in hold", Lines: []DeskLine{line}}}},
		"desk/found":          &FoundPage{Page: sampleFrame("Search"), Customers: list, Instruments: list, Jobs: list, Nothing: &Empty{Text: "Nothing."}},
		"desk/jobs":           &JobsPage{Page: sampleFrame("Jobs"), Stages: []Link{{Href: "/jobs?stage=ready", Text: "ready", Now: true}}, Table: list, Pager: Pager{From: 1, To: 1, Total: 1, What: "jobs"}},
		"customer/list":       &CustomersPage{Page: sampleFrame("Customers"), Words: TextField("q", "Name", ""), Table: list, Pager: Pager{From: 1, To: 1, Total: 1, What: "customers"}, May: true},
		"customer/show":       &CustomerPage{Page: sampleFrame("Åse Nord"), Who: who, Facts: Facts{{Name: "Since", Value: Day(time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC))}}, Note: "rings twice", Instruments: list, Jobs: list, May: true, MayInstr: true, Edit: "/customers/1/edit", New: "/instruments/new?customer=1", Taker: "/arrive?customer=1"},
		"customer/instrument": &InstrumentPage{Page: sampleFrame("Orrin No. 3"), Facts: Facts{{Name: "Serial", Value: "1187"}}, Caution: &Caution{Text: "Rosewood."}, Note: "case smells", Jobs: list, Take: "/arrive?customer=1&instrument=1", Edit: "/instruments/1/edit", May: true, MayTake: true},
	}
}
