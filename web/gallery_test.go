package web

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

var galleryDir = flag.String("gallery", "", "folder to write the gallery of parts to")

// galleryPage holds one sample of every shared part. The shop, the people and
// the makers are invented.
type galleryPage struct {
	Page
	Strip      Strip
	Queue      Table
	Quote      Table
	None       Table
	Clocks     []Clock
	Waits      []Wait
	Readings   []Reading
	Grades     []Notches
	Makers     []string
	Finishes   []Option
	Answers    []Option
	Measures   []Field
	Diary      Diary
	Correction Correction
	Pager      Pager
	Customer   Person
	Facts      Facts
	Cautions   []Caution
	Empty      Empty
	Works      []Progress
	Flashes    []Flash
	Season     Picture
	Curve      Picture
}

func clockAt(day, hour, minute int) time.Time {
	return time.Date(2026, time.November, day, hour, minute, 0, 0, time.UTC)
}

func sampleFrame(title string) Page {
	everyone := func(domain.Role) bool { return true }
	return Page{
		Title: title, Shop: "Frostgate Fretted", Theme: Device, Here: "/gallery", Key: "k-1", Version: "0.1",
		Person: domain.Actor{Staff: 2, Name: "Ilse Varnhagen", Roles: domain.Roles()},
		Doors:  Doors(everyone, domain.Counter),
	}
}

func sampleStrip() Strip {
	return Strip{
		Name: "Tag 318", From: clockAt(24, 9, 0), To: clockAt(49, 18, 0), Today: clockAt(30, 11, 0), Promised: clockAt(48, 17, 0), Size: Large,
		Pieces: []StripPiece{
			{Kind: Hands, From: clockAt(24, 9, 20), To: clockAt(24, 9, 55), Label: "survey", Certain: true},
			{Kind: Air, From: clockAt(26, 16, 0), To: clockAt(30, 11, 0), Label: "cabinet, place 4", Certain: true},
			{Kind: Air, From: clockAt(30, 11, 0), To: clockAt(38, 9, 0), Label: "cabinet, place 4"},
			{Kind: Hands, From: clockAt(38, 9, 0), To: clockAt(38, 9, 44), Label: "crack clean, glue, clamp"},
			{Kind: Waits, From: clockAt(38, 9, 44), To: clockAt(39, 10, 0), Label: "glue dries"},
			{Kind: Hands, From: clockAt(39, 10, 0), To: clockAt(39, 12, 0), Label: "cleats"},
			{Kind: Waits, From: clockAt(39, 12, 0), To: clockAt(40, 9, 0), Label: "glue dries"},
			{Kind: Hands, From: clockAt(40, 9, 0), To: clockAt(40, 11, 30), Label: "finish touch-up"},
			{Kind: Waits, From: clockAt(40, 11, 30), To: clockAt(43, 9, 0), Label: "finish cures"},
			{Kind: Hands, From: clockAt(43, 9, 0), To: clockAt(43, 10, 0), Label: "set-up and check"},
		},
	}
}

func sampleQuote() Table {
	t := Table{
		Caption: "What we would do",
		Columns: []Column{Head("task"), Head("how much"), Head("hands"), Head("wait"), Figures("price", "EUR")},
		Rows: []Row{
			Line("Rehumidify hold", "1", "20 min + 4/d", "5–10–28 d", "38.00"),
			Line("Crack clean, glue, clamp", "60 mm", "35–44–62 min", "1 d", "62.00"),
			Line("Cleats", "2", "31–39–65 min", "0.5 d", "54.00"),
			Line("Splint", "60 mm", "80 min", "1 d", "0.00"),
		},
		Totals: []Total{{Name: "Net", Value: "154.00"}, {Name: "Tax", Note: "21 % of 154.00", Value: "32.34"}, {Name: "Total", Value: "186.34"}},
	}
	t.Rows[1].Cells[0].Note = "case air 27 %, opens to 0.3 mm"
	t.Rows[1].Cells[0].Grade = &Notches{Grade: 3}
	t.Rows[3].Struck = true
	return t
}

func sampleQueue() Table {
	t := Table{Caption: "Jobs", Columns: []Column{Head("tag"), Head("life"), Head("why it waits"), Figures("spare", "days")}}
	for _, tag := range []string{"318", "297", "288"} {
		s := sampleStrip()
		s.Size, s.Name = Small, "Tag "+tag
		row := Line(tag, "", "drinking since Thu, crack 0.2 mm", "6")
		row.Cells[0].Href = "/jobs/" + tag
		row.Cells[1].Strip = &s
		t.Rows = append(t.Rows, row)
	}
	return t
}

func sampleSeason() Picture {
	b := &Balance{Above: Side{Name: "Bench hours a week", Unit: "h", Limit: 46}, Below: Side{Name: "Cabinet places", Unit: "places", Limit: 6}}
	p := Picture{Title: "Hands above, waits below", Text: "Bench hours and cabinet places wanted from week 45 to week 8, against 46 hours and 6 places.", Balance: b}
	p.Table = Table{Caption: "Weeks", Hidden: true, Columns: []Column{Head("week"), Figures("bench", "h"), Figures("cabinet", "places")}}
	hours := []float64{22, 25, 31, 30, 38, 41, 28, 30, 52, 60, 65, 58, 44, 40, 35, 27}
	places := []float64{1, 1, 2, 3, 3, 4, 4, 5, 6, 7, 7, 6, 5, 4, 3, 2}
	for i, h := range hours {
		label := "W" + figure(float64((44+i)%53+1))
		b.Weeks = append(b.Weeks, BalanceWeek{Label: label, Above: h, Below: places[i], LastAbove: h * 0.8, LastBelow: places[i] - 1, Expected: i > 3})
		p.Table.Rows = append(p.Table.Rows, Line(label, figure(h), figure(places[i])))
	}
	return p
}

func sampleCurve() Picture {
	c := &Curve{Unit: "mm", Limit: 0.1, LimitIs: "may be glued", Air: true, Marked: "Crack", Decimals: 2}
	for i, v := range []float64{0.34, 0.31, 0.27, 0.24, 0.22, 0.16, 0.11, 0.08} {
		c.Points = append(c.Points, CurvePoint{At: clockAt(24+i, 9, 0), Value: v, Expected: i > 4})
	}
	return Picture{Title: "The crack closes", Text: "Crack from 0.34 mm to 0.22 mm in four days, expected under 0.10 mm on Tuesday.", Curve: c}
}

func sampleGallery() *galleryPage {
	now := clockAt(30, 11, 0)
	p := &galleryPage{Page: sampleFrame("Orrin No. 3 steel-string · M. Oduya")}
	p.Folio = "tag 318"
	p.Answer = "Likely ready Sat 12 Dec, we said Fri 18. In the cabinet since Thu, crack still 0.2 mm open."
	p.Because = []string{"11 of 18 days are the cabinet.", "Top −0.8 mm behind the bridge: severe."}
	p.Flash = &Flash{Text: "Reading noted for tag 318.", Undo: &Undo{Action: "/undo", Key: "k-2", Text: "the reading for tag 318", Hidden: []Pair{{Name: "reading", Value: "9"}}}}
	p.Errors = domain.Fields{
		"complaint": "is needed", "lines[2].quantity": "must be a whole number of mm, such as 60",
		"gap": `"wide" is no measure; write it like 1.2 mm or 3/64"`, "answer": "is needed", "": "The quote was changed meanwhile; look at version 3",
	}
	p.Strip, p.Queue, p.Quote, p.Season, p.Curve = sampleStrip(), sampleQueue(), sampleQuote(), sampleSeason(), sampleCurve()
	p.None = Table{Caption: "None", Empty: Empty{Text: "No tasks yet. The survey offers some; add the first one.", Do: &Link{Href: "/quote/add", Text: "Add a task", Now: true}}}
	p.Clocks = []Clock{
		{Action: "/clock", Key: "k-3", Task: "cleats", Now: now, Hidden: []Pair{{Name: "task", Value: "12"}}},
		{Action: "/clock", Task: "cleats", Hands: "Ilse Varnhagen", Mine: true, Since: now.Add(-80 * time.Minute), Now: now},
		{Action: "/clock", Task: "fret ends", Hands: "Tam Okafor", Since: now.Add(-12 * time.Minute), Now: now},
		{Action: "/clock", Task: "glue", Blocked: "the hold has not ended", Now: now},
	}
	p.Waits = []Wait{
		{What: "Glue on the cleats", Why: "dries overnight", Until: clockAt(31, 9, 0)},
		{What: "In the cabinet", Why: "still drinking", Days: 6, Air: true},
		{What: "The customer's answer", Why: "asked on Monday", Until: clockAt(28, 17, 0), Days: 4, Overdue: true},
	}
	p.Readings = []Reading{
		{Mark: "place 4", Tag: "tag 318", Href: "/jobs/318", When: "day 6", Facts: []Pair{{"crack", "0.22 mm"}, {"case", "44 %"}}, Verdict: "still drinking, likely Sat, late Tue", Next: &Link{Href: "/read", Text: "Note a reading", Now: true}},
		{Mark: "place 2", Tag: "tag 290", When: "day 19", Facts: []Pair{{"crack", "0.21 mm"}, {"case", "61 %"}}, Verdict: "too moist: open the cabinet", Stop: true, Next: &Link{Href: "/ask", Text: "Ask the customer"}},
	}
	p.Grades = []Notches{{Grade: 0}, {Grade: 1}, {Grade: 2}, {Grade: 3, Of: "top"}, {Grade: 4}}
	sampleForm(p)
	sampleWords(p)
	return p
}

func sampleForm(p *galleryPage) {
	p.Makers = []string{"Orrin", "Tolvane"}
	p.Finishes = Options([]string{"", "oil", "lacquer"})
	p.Answers = []Option{{Value: "yes", Label: "They said yes", Note: "to all of it"}, {Value: "part", Label: "To a part"}, {Value: "no", Label: "They said no"}}
	gap := wood.Measure{Known: wood.Measured, Typed: "wide", Value: decimal.Zero, Unit: wood.Millimetre}
	p.Measures = []Field{
		MeasureField("gap", "Crack, at its widest", gap, wood.Millimetre).Hint("With feeler gauges, strings off.").Marked(p.Errors),
		MeasureField("air", "Air in the case", wood.Measure{}, wood.Celsius),
		MeasureField("arch", "Top behind the bridge", wood.Measure{Known: wood.CouldNotReach, Typed: "?"}, wood.Millimetre),
	}
}

func sampleWords(p *galleryPage) {
	p.Diary = Diary{
		{At: clockAt(30, 10, 40), Who: "Ilse Varnhagen", What: "Reading noted", Note: "Crack 0.22 mm, case 44 %."},
		{At: clockAt(29, 9, 5), Who: "Tam Okafor", What: "Promise moved", Before: "Tue 15 Dec", After: "Fri 18 Dec", Href: "/jobs/318"},
		{At: clockAt(28, 16, 0), Who: "Tam Okafor", What: "Clocking put right", Before: "3 h 10 min", After: "40 min", Note: "Forgot to stop at lunch.", Corrects: true},
	}
	p.Correction = Correction{Was: "0.42 mm", Is: "0.24 mm", Why: "Digits swapped", Who: "Tam Okafor", At: clockAt(29, 9, 0)}
	p.Pager = Pager{From: 51, To: 100, Total: 450, Earlier: "/jobs?page=1", Later: "/jobs?page=3", What: "jobs"}
	p.Customer = Person{Name: "M. Oduya", Phone: "+00 555 0101", Email: "oduya@example.org", Note: "best after five", Href: "/customers/4"}
	p.Facts = Facts{{Name: "Maker", Value: "Orrin", Note: "No. 3"}, {Name: "Serial", Value: "0-318", Href: "/instruments/9"}, {Name: "Top", Value: "spruce, solid"}, {Name: "Weight", Value: "2 162 g"}}
	p.Cautions = []Caution{{Text: "Sanding dust: wear a mask, and mind local rules for dust."}, {Text: "Air at 61 %: too moist. Open the cabinet and let it come down slowly.", Stop: true}}
	p.Empty = Empty{Text: "Nobody waits for a call."}
	p.Works = []Progress{{Text: "Reading the customers' file", Done: 120, Total: 450}, {Text: "Looking"}}
	p.Flashes = []Flash{{Text: "The tag was taken by another job.", Bad: true}}
}

// galleryRenderer is the renderer with the gallery beside the real pages.
func galleryRenderer(t *testing.T) *Renderer {
	t.Helper()
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	fsys := fstest.MapFS{}
	for _, name := range []string{"layout", "_fields", "_parts", "_picture", "_strip", "_table"} {
		fsys[name+".html"] = &fstest.MapFile{Data: mustRead(t, filepath.Join("pages", name+".html"))}
	}
	fsys["gallery.html"] = &fstest.MapFile{Data: mustRead(t, "testdata/gallery.html")}
	r, err := parsePages(fsys, helpers(nil, static))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func mustRead(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestGallery renders every part with sample data and checks the page. With
// -gallery DIR it also writes gallery.html there, with its files, to be looked at.
func TestGallery(t *testing.T) {
	r := galleryRenderer(t)
	page, err := r.HTML("gallery", "layout", sampleGallery())
	if err != nil {
		t.Fatal(err)
	}
	checkHTML(t, page)
	if *galleryDir != "" {
		writeGallery(t, r, *galleryDir)
	}
}

func writeGallery(t *testing.T, r *Renderer, dir string) {
	t.Helper()
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	for where, f := range static.files {
		write(t, filepath.Join(dir, where), f.plain)
	}
	pages, err := NewRenderer(nil, static)
	if err != nil {
		t.Fatal(err)
	}
	for _, theme := range Themes() {
		p := sampleGallery()
		p.Theme = theme
		write(t, filepath.Join(dir, "gallery"+string(theme)+".html"), local(t, r, "gallery", p))
	}
	bench := sampleGallery()
	bench.Doors = Doors(func(domain.Role) bool { return true }, domain.Bench)
	write(t, filepath.Join(dir, "bench.html"), local(t, r, "gallery", bench))
	for name, p := range pageSamples() {
		write(t, filepath.Join(dir, strings.ReplaceAll(name, "/", "-")+".html"), local(t, pages, name, p))
	}
}

// local renders a page whose files lie beside it.
func local(t *testing.T, r *Renderer, name string, p Paged) []byte {
	t.Helper()
	page, err := r.HTML(name, "layout", p)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.ReplaceAll(page, []byte(`"`+StaticPath), []byte(`".`+StaticPath))
}

func write(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}
