package web

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func init() { moreSamples = append(moreSamples, airSamples) }

func airSamples() map[string]Paged {
	frame := func(title, wrong string) Page {
		p := sampleFrame(title)
		p.Errors = domain.Fields{wrong: "must be something else"}
		return p
	}
	marked := func(f Field) Field {
		f.Error = "must be something else"
		return f
	}
	back := Link{Href: "/air", Text: "The shop’s air"}
	at := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
	action := TextField("action", "What was done", "").Need()
	action.Scope = "alarm-1-too-dry"
	picture := sampleAirPicture()
	salt := func(name, usual string) string { return usual }
	rh := Field{Kind: "text", Name: "rh", Label: "Humidity", Value: "140", Unit: "%"}
	place := ChoiceField("place", "Place", "1", []Option{{Value: "1", Label: "Bench"}}).Radio()
	spans := spanLinks("/air?", 14)
	return map[string]Paged{
		"air/show": &AirPage{
			Page: frame("The shop’s air", "rh"), Outdoor: "Outdoor air (−10 C, 80 %) warmed to 21 C would be at 9 %.", Spans: spans, Pictures: []Picture{picture}, Note: []Field{place, marked(rh)}, Ways: []Link{back},
			Alarms: []AlarmLine{
				{Place: "Hold cabinet", Kind: air.StopNow, Text: "The air is at 62 %.", Do: "Open it.", Since: at, Stop: true, Key: "k1", Hidden: []Pair{{"place", "1"}}, Action: action, Way: &back},
				{Place: "Travelling meter", Kind: air.MeterDoubt, Text: "It was never calibrated.", Do: "Calibrate it.", Way: &Link{Href: "/meters/2", Text: "Calibrate it"}},
			},
			SeenTo: []AlarmLine{{Place: "Bench", Kind: air.TooDry, Text: "The air is at 33 %.", Seen: "Filled it. Ines, Thu", Since: at}},
			Places: []Reading{{Mark: "Bench", Tag: "room", Href: "/air/readings?place=1", Facts: []Pair{{"air", "44.0 %"}}, Verdict: "Inside its band.", Next: &Link{Href: "/air?place=1#note", Text: "Note a reading"}}},
		},
		"air/readings": &AirReadingsPage{
			Page: sampleFrame("Air of Bench"), Places: spans, Spans: spans, Picture: &picture, Back: back, Pager: Pager{From: 1, To: 1, Total: 2, Later: "/air/readings?place=1&from=1", What: "readings"},
			Table: Table{Caption: "Readings", Hidden: true, Columns: []Column{Head("When"), Figures("Air", "%")}, Rows: []Row{Line("Thu 3 Dec, 9:00", "44.0")}},
		},
		"air/reading": &AirReadingPage{Page: frame("A reading", "rh"), At: "/air/readings/1", Facts: Facts{{Name: "As read", Value: "42 %", Note: "put right"}}, Fields: []Field{marked(rh)}, Back: back},
		"air/places":  &AirPlacesPage{Page: sampleFrame("Places"), Table: Table{Caption: "Places", Hidden: true, Empty: Empty{Text: "None."}}, Add: &back, SetUp: true, Back: back},
		"air/place": &AirPlacePage{
			Page: frame("Bench", "rules.high"), Action: "/air/places/1", Button: "Save", Back: back, Hidden: []Pair{{"version", "1"}}, Retire: new(CheckField("retired", "No longer in use", false)),
			Groups: []Group{{Legend: "Band", Across: true, Fields: []Field{marked(Field{Kind: "text", Name: "rules.high", Label: "Band to", Value: "10", Unit: "%"})}}},
		},
		"air/meters": &MetersPage{Page: sampleFrame("Meters"), Table: Table{Caption: "Meters", Hidden: true, Columns: []Column{Head("Meter")}, Rows: []Row{Line("Dial")}}, Add: &back, Back: back},
		"air/meter": &MeterPage{
			Page: frame("Dial", "name"), Action: "/meters/1", Facts: Facts{{Name: "Lies at", Value: "Bench"}}, Effect: effectTable(air.Meter{}, at), History: historyTable(air.Meter{}, at), Cautions: []Caution{{Text: "Wear eye protection."}},
			Salts: saltTable(), Calibrate: []Group{{Legend: "First salt", Fields: pointFields(0, salt, wood.Salts()[0])}, {Legend: "Second salt", Fields: pointFields(1, salt, "")}}, KeyOf: "k2",
			Fields: []Field{marked(TextField("name", "Name", "Dial").Need())}, Button: "Save", Back: back,
		},
		"air/import": &AirImportPage{
			Page: frame("A logger’s file", "file"), Fields: []Field{marked(FileField("file", "The file", ".csv"))}, Kept: "x", Note: "The file is still here.", Back: back,
			Look: &AirLook{Facts: Facts{{Name: "Read as", Value: "commas"}}, Sample: Table{Caption: "First", Hidden: true, Columns: []Column{Head("When")}, Rows: []Row{Line("Thu")}}, Wrong: Table{Caption: "Wrong", Hidden: true, Columns: []Column{Head("Line")}, Rows: []Row{Line("3")}}, More: 2, Key: "k3", Button: "Take in 5 readings"},
		},
	}
}

// sampleAirPicture has an excursion, a silence and readings that are not
// trusted.
func sampleAirPicture() Picture {
	p := air.Place{Name: "Bench", Kind: air.Room, Rules: air.UsualRules(air.Room)}
	begin := time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	var rs []air.Reading
	for i := range 12 {
		at := begin.Add(time.Duration(i) * 12 * time.Hour)
		if i > 6 {
			at = at.Add(72 * time.Hour)
		}
		rs = append(rs, air.Reading{ID: domain.AirReadingID(i + 1), At: at, RH: decimal.NewFromInt(int64(36 + i)), Trusted: i < 9})
	}
	return *airPicture(p, rs, &airView{moment: begin.AddDate(0, 0, 14), shop: &workshop.Shop{}}, 14)
}
