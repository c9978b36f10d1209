package web

import (
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/templates"
)

func init() { moreSamples = append(moreSamples, benchSamples, ownerSamples) }

func benchSamples() map[string]Paged {
	now := time.Date(2026, 12, 3, 15, 0, 0, 0, time.UTC)
	running := Clock{Action: "/jobs/1/tasks/2/clock", Key: "k1", Task: "cleats", Hands: "Runa", Since: now.Add(-12 * time.Minute), Now: now, Mine: true}
	free := Clock{Action: "/jobs/1/tasks/3/clock", Key: "k2", Task: "fret ends", Now: now}
	errs := domain.Fields{"place": "is taken", "check0.result": "must be one of: pass, fail"}
	all, err := templates.Builtin()
	if err != nil {
		panic(err)
	}
	place := ChoiceField("place", "Place in the cabinet", "", Options([]string{"", "place 1"})).Need().Marked(errs)
	result := ChoiceField("result", "Result", "", Options(job.Results()))
	result.Scope = "check0"
	hold := sampleFrame("Hold in place 4")
	hold.Errors = domain.Fields{"rh": "must be from 0 to 100 %"}
	task := sampleFrame("Crack clean, glue, clamp")
	task.Errors = errs
	return map[string]Paged{
		"bench/show": &BenchPage{
			Page: sampleFrame("Bench"), Running: []ClockLine{{Who: "Runa", What: "Cleats", Tag: "tag 318", Href: "/jobs/1/tasks/2", Clock: running}},
			First:   []WorkLine{{Tag: "tag 320", Title: "Orrin No. 3", Task: "Rehumidify hold", Href: "/jobs/2/tasks/1", Hands: "15–20–30 min", Then: "then hold, 3–10–28 days", Hold: true}},
			Free:    []WorkLine{{Tag: "tag 288", Title: "Orrin No. 5", Task: "Fret ends", Href: "/jobs/3/tasks/3", Hands: "20–40–75 min", Spare: "we said Sat 5 Dec", Late: true, Clock: free}},
			Blocked: Table{Caption: "Not free yet", Hidden: true, Columns: []Column{Head("Tag"), Head("Task"), Head("Why not"), Head("Until"), Head("We said")}, Rows: []Row{Line("301", "Cleats", "waits for glue clamp", "14:20", "")}},
			Day:     sampleDay(all), Sheet: sheetPath,
		},
		"task/show": &TaskPage{
			Page: task, At: "/jobs/1/tasks/2", Job: "/jobs/1", Tag: "tag 318", Task: &job.Task{Name: "Crack clean, glue, clamp"}, Clock: running, MayWork: true, Open: true,
			HoldForm: &place, Facts: Facts{{Name: "How much", Value: "60 mm"}}, Template: templates.Get(all, "CG"), Cautions: []Caution{{Text: "Hot glue burns."}},
			WaitForm: []Field{ChoiceField("kind", "It waits for", "glue clamp", Options(job.WaitKinds()))},
			Checks:   []CheckForm{{What: "no light through", Limit: "at most 0.05 mm", Method: "light inside", Standing: "fail, Runa", Bad: true, Fields: []Field{result.Marked(errs)}, Key: "k3"}},
			Used:     Table{Caption: "Parts used", Hidden: true, Columns: []Column{Head("Part"), Figures("How many", "")}, Rows: []Row{Line("Strings", "1 set")}},
			PutBacks: []PutBack{{Name: "1 Strings", Row: 4, Key: "k4"}}, PartForm: []Field{TextField("quantity", "How many", "1").Short().Need()},
			Clockings: []ClockingLine{{ID: 3, Who: "Runa", When: "Thu 3 Dec 9:10", Minutes: "40 min", Fields: []Field{TextField("why", "Why it was wrong", "")}, Key: "k5"}},
			DropForm:  TextField("reason", "Why it falls away", "").Need(), Materials: Table{Caption: "Materials", Hidden: true, Columns: []Column{Head("Material")}, Rows: []Row{Line("hide glue")}},
			Keys: map[string]string{"wait": "w", "endwait": "e", "done": "d", "reopen": "r", "drop": "p", "part": "q", "hold": "h"},
		},
		"task/switch":  &SwitchPage{Page: sampleFrame("Your clock runs elsewhere"), Action: "/jobs/1/tasks/2/clock", Back: "/jobs/2/tasks/1", Other: "Cleats, tag 297"},
		"cabinet/list": sampleCabinet(), "cabinet/round": sampleRound(),
		"cabinet/hold": &HoldPage{
			Page: hold, At: "/jobs/1/holds/1", Job: "/jobs/1", Tag: "tag 318", Place: "place 4", Open: true, MayWork: true,
			Cautions: []Caution{{Text: "too moist", Stop: true}}, Verdict: "Will not close", WhyHead: "What makes it so", Why: []string{"The crack has settled at 0.25 mm."},
			Doubts: []string{"Two readings were the same."}, Facts: Facts{{Name: "Judged by", Value: "crack"}}, Splint: &Link{Href: "/jobs/1/quote?splint=1", Text: "Offer a splint", Now: true},
			Pictures: []Picture{sampleCurve()}, NotYet: []Pair{{Name: "steady by measurement", Value: "the readings do not say so"}},
			Fields:  []Field{MeasureField("rh", "Air in the body or case", wood.Measure{Known: wood.Measured, Typed: "140"}, wood.Percent).Marked(hold.Errors)},
			EndForm: []Field{ChoiceField("end_reason", "Why it ends", "", Options(job.HoldEnds())).Radio()}, EndKey: "k6",
			Readings: Table{Caption: "Readings", Hidden: true, Columns: []Column{Head("When"), Figures("Crack", "mm")}, Rows: []Row{Line("Wed", "0.22")}},
		},
	}
}

func ownerSamples() map[string]Paged {
	all, err := templates.Builtin()
	if err != nil {
		panic(err)
	}
	form := sampleFrame("Staff")
	form.Errors = domain.Fields{"name": "is needed"}
	list := Table{Caption: "People", Hidden: true, Columns: []Column{Head("Name")}, Rows: []Row{Line("Tove")}}
	t := templates.Get(all, "CG")
	file := AreaField("file", "The template’s file", "code = \"CG\"")
	return map[string]Paged{
		"owner/list":    &ListPage{Page: sampleFrame("Invoices"), Table: list, Pager: Pager{From: 1, To: 50, Total: 99, Later: "/invoices?from=50", What: "invoices"}},
		"owner/form":    &FormPage{Page: form, Above: &list, Lead: "People", Action: "/staff", Button: "Add", Back: Link{Href: "/owner", Text: "Owner"}, Secret: "wb_x", Notes: []Caution{{Text: "Check it."}}, Groups: []Group{{Legend: "Add somebody", Fields: markAll(form.Errors, []Field{TextField("name", "Name", "")})}}},
		"template/list": &TemplatesPage{Page: sampleFrame("Task templates"), Table: list, May: true},
		"template/show": &TemplatePage{
			Page: sampleFrame(t.Name), Template: t, Edition: 2, May: true, Facts: Facts{{Name: "Hands", Value: handsText(t)}}, Materials: materials(t, 100), Checks: checkTable(t),
			Figures: figureGroups(t, func(_, value string) string { return value }), File: file, FileKey: "k2",
		},
	}
}

func sampleCabinet() *CabinetPage {
	stretch := &Strip{From: clockAt(24, 9, 0), To: clockAt(38, 9, 0), Size: Small, Name: "place 4, tag 318", Pieces: []StripPiece{{Kind: Air, From: clockAt(24, 9, 0), To: clockAt(30, 9, 0), Certain: true}}}
	return &CabinetPage{
		Page: sampleFrame("Cabinet"), Next: "Free now: place 2.", NearFull: &Caution{Text: "5 of 6 places are taken."}, Round: &Link{Href: "/cabinet/round", Text: "Read them all"},
		Readings: []Reading{{Mark: "place 4", Tag: "tag 318", Href: "/jobs/1", When: "day 6", Facts: []Pair{{"crack", "0.22 mm"}}, Verdict: "Still drinking, likely steady Sat 5 Dec, late Tue 8 Dec.", Next: &Link{Href: "/jobs/1/holds/1", Text: "Note a reading", Now: true}}},
		Plan:     Table{Caption: "Places", Hidden: true, Columns: []Column{Head("Place"), Head("Days")}, Rows: []Row{{Cells: []Cell{{Text: "place 4"}, {Strip: stretch}}}}},
		Waiting:  Table{Caption: "Waiting", Hidden: true, Empty: Empty{Text: "Nobody waits for a place."}}, Rule: &Link{Href: "/settings/holds", Text: "When a hold may end"},
	}
}

func sampleRound() *RoundPage {
	field := TextField("rows[1].gap", "Crack", "x")
	field.Error = "is no measure"
	return &RoundPage{
		Page: sampleFrame("Round of the cabinet"), Meter: ChoiceField("meter", "Meter of the air", "", Options([]string{"", "Cabinet logger"})),
		Wrong: []Problem{{Href: "#f-rows-1-gap", Label: "Place 4, Crack", Text: "is no measure"}},
		Rows:  []RoundRow{{At: "rows[1].", Place: "place 4", Tag: "tag 318", Href: "/jobs/1/holds/1", When: "day 6", Verdict: "Still drinking.", Key: "k7", Error: "ended before", Kept: true, Fields: []Field{field}}},
	}
}
