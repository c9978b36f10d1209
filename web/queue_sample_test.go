package web

import "winterbench/domain/workshop"

func init() { moreSamples = append(moreSamples, queueSamples) }

func queueSamples() map[string]Paged {
	strip := &Strip{
		From: clockAt(22, 9, 0), To: clockAt(54, 9, 0), Today: clockAt(24, 9, 0), Promised: clockAt(40, 0, 0), Size: Small, Weekly: true, Name: "tag 318",
		Pieces: []StripPiece{
			{Kind: Air, From: clockAt(24, 9, 0), To: clockAt(30, 9, 0), Label: "Rehumidify hold, in the cabinet", Certain: true},
			{Kind: Idle, From: clockAt(30, 9, 0), To: clockAt(33, 9, 0), Label: "waits its turn at the bench", Certain: true},
			{Kind: Hands, From: clockAt(33, 9, 0), To: clockAt(33, 11, 0), Label: "Crack", Certain: true},
			{Kind: Waits, From: clockAt(33, 11, 0), To: clockAt(42, 9, 0), Label: "with bad luck"},
		},
	}
	call := DeskLine{
		Tag: "tag 318", Href: "/jobs/1", Title: "Orrin No. 3", Why: "we said Sat 12 Dec · now likely Tue 15 Dec", Late: true,
		Person: Person{Name: "Mara Oduya", Phone: "555 0101", Href: "/customers/1"}, Next: &Link{Href: "/jobs/1#calls", Text: "Note the call"},
	}
	return map[string]Paged{"queue/show": &QueuePage{
		Page: sampleFrame("The queue"), Calls: []DeskLine{call},
		Plan:  Table{Caption: "The next six weeks", Hidden: true, Columns: []Column{Head("Job"), Head("Days"), Head("Likely")}, Rows: []Row{{Cells: []Cell{{Text: "tag 318", Href: "/jobs/1", Note: "Orrin No. 3"}, {Strip: strip}, {Text: "Tue 15 Dec", Note: "▲ said Sat 12 Dec"}}}}},
		Kept:  Link{Href: keptPath, Text: "How well we keep them"},
		Table: Table{Caption: "Every agreed job", Hidden: true, Columns: []Column{Head("Tag"), Head("Likely")}, Rows: []Row{Line("318", "Tue 15 Dec")}},
	}, "queue/kept": &KeptPage{
		Page: sampleFrame("Promises kept"), Ways: []Link{{Href: queuePath, Text: "The queue"}},
		Months: keptTable(&workshop.KeptReport{
			All:    workshop.KeptMonth{Said: 40, Kept: 33, Windows: 30, InP50: 16, InP80: 25},
			Months: []workshop.KeptMonth{{Month: "2026-11", Said: 4, Kept: 4}, {Month: "2026-10", Said: 36, Kept: 29, Moved: 3, Windows: 30, InP50: 16, InP80: 25}},
		}),
	}}
}
