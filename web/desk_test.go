package web

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

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

func TestPromiseWords(t *testing.T) {
	today := domain.Date("2026-12-03")
	for _, c := range []struct {
		what     string
		stage    job.Stage
		promised domain.Date
		want     string
	}{
		{"nothing was promised", job.OnBench, "", ""},
		{"the day is ahead", job.Quoted, "2026-12-05", "we said Sat 5 Dec 2026"},
		{"the day is today", job.Quoted, "2026-12-03", "we said Thu 3 Dec 2026"},
		{"the quote was not answered in time for its day", job.Quoted, "2026-12-02", "the day we said with it, Wed 2 Dec 2026, is over"},
		{"work that is late", job.OnBench, "2026-12-02", "we said Wed 2 Dec 2026"},
		{"checked and not called", job.Checked, "2026-12-02", "we said Wed 2 Dec 2026"},
		{"ready: it was kept or not", job.Ready, "2026-12-02", ""},
		{"declined", job.Declined, "2026-12-05", ""},
	} {
		if got := promiseWords(workshop.JobRow{Stage: c.stage, Promised: c.promised}, today); got != c.want {
			t.Errorf("%s: got %q, want %q", c.what, got, c.want)
		}
	}
}

// Who may not take the next step is not offered it.
func TestDeskOffersOnlyWhatMayBeDone(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	first := s.post(jobPath(id)+"/quote", "basis", "estimate", "do", "save", "rows[0].task", "CC", "rows[0].quantity", "2")
	s.post(first+"/say", "promised", "")
	bench := s.person("Runa", domain.Bench)
	for _, c := range []struct {
		who  domain.Actor
		want bool
	}{{s.owner, true}, {bench, false}} {
		page := s.as(c.who, "/counter", nil, "").Body.String()
		if got := strings.Contains(page, "Record the answer"); got != c.want {
			t.Errorf("%s is offered the answer: %v, want %v", c.who.Name, got, c.want)
		}
	}
}
