package web

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// QuotePage builds a quote row by row.
type QuotePage struct {
	Page
	Action  string // path the form posts to
	Back    string // path of the job
	Number  int    // of the version that is being drafted
	Seen    int    // Lock of the draft; 0 for a new version
	Dirty   bool   // what is on the form was typed and is not kept yet
	Share   *Link  // who pays for what came back; nil on a job that repeats none
	More    string // what the customer agreed to before, in words; "" for a first quote
	Rows    []PlanRow
	Nothing Empty // shown while there is no row
	Offers  []PlanOffer
	Task    AddTask
	Part    AddPart
	Free    AddFree
	Whole   Group // basis, discount and what is said beside the lines
	Terms   Group // validity and deposit
	Live    QuoteLive
}

// PlanRow is one row of the builder.
type PlanRow struct {
	Index   int
	Name    string // the task or part; "" for a free line
	Code    string // "CG, edition 2", or the part's code
	Agreed  bool
	Hidden  []Pair
	Title   *Field // of a free line, and of a part that is not on the list
	Much    Field
	Kind    *Field
	Price   Field
	Back    *Field // it is part of the comeback; nil on a job that repeats none
	Off     Field
	OffWhy  Field
	Because Field
	Open    bool   // the second half of the row is in sight
	Error   string // about the row as a whole
	Worked  RowFigures
}

// RowFigures is what was worked out for a row.
type RowFigures struct {
	ID    string // begins the ids of the figures in the page
	Hands string
	Wait  string
	Net   string
	Split string // what being part of a comeback does to the price
}

// PlanOffer is a task that the survey suggests.
type PlanOffer struct{ Value, Text, Because string }

// AddTask, AddPart and AddFree ask for another row.
type (
	AddTask struct{ Find, Choose, Much, Parts Field }
	AddPart struct {
		Choose, Much, For Field
		Open              bool
	}
	AddFree struct {
		Name, Kind, Count, Price Field
		Open                     bool
		Rules                    []Option // lines that the settings have a rule for
	}
)

// QuoteLive is what changes while somebody types.
type QuoteLive struct {
	Answer string
	Life   Strip
	Queue  string // what the real queue makes of it; "" when nobody plays it
	Rows   []RowFigures
	Totals *Table // nil while there is no total
	Facts  Facts
	Wrong  []Problem
}

// wrongRows keeps of what is wrong only what a fresh page must show: rows that
// were added by a template and lack a name or a price.
func wrongRows(errs domain.Fields) domain.Fields {
	out := domain.Fields{}
	for name, text := range errs {
		if strings.HasPrefix(name, "rows[") {
			out[name] = text
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

func (d *drafting) fill(p *QuotePage, q *quote.Quote, wrong int, now time.Time) {
	p.Action, p.Back = fmt.Sprintf("/jobs/%d/quote", d.Job.ID), fmt.Sprintf("/jobs/%d", d.Job.ID)
	p.Number, p.Seen = len(d.Versions)+1, d.seen
	if d.seen != 0 {
		p.Number--
	}
	if agreed := workshop.Agreed(pointers(d.Versions)); agreed != nil {
		p.More = fmt.Sprintf("Version %d was agreed: %s, not above %s. What is new here needs a new yes.",
			agreed.Version, agreed.Currency.Show(agreed.YesTotal), agreed.Currency.Text(agreed.YesLimit))
	}
	if d.earlier != nil {
		p.Share = &Link{Href: p.Back + "/was-it-us", Text: shareHint(d.Job.Comeback)}
	}
	p.Nothing = Empty{Text: "No line yet. Take what the survey suggests, or add a task below."}
	today := d.Shop.Today(now)
	p.Answer = workshop.DraftAnswer(q, d.window, today, wrong)
	if q.Because != "" {
		p.Because = []string{"Because: " + q.Because}
	}
	for i, r := range d.sheet.Rows {
		p.Rows = append(p.Rows, d.planRow(i, r, lineAt(q, i), p.Errors))
	}
	for _, o := range workshop.Offers(workshop.Patient{Survey: d.survey(), Instrument: *d.Instrument, Arrival: d.Job.Arrival}, d.shelf.Templates, d.sheet.Rows) {
		p.Offers = append(p.Offers, PlanOffer{
			Value: fmt.Sprintf("%s:%d", o.Code, o.Quantity), Text: strings.TrimSpace(o.Name + muchText(o.Quantity, o.Unit)), Because: o.Because,
		})
	}
	d.addForms(p)
	d.wholeForm(p)
	p.Live = d.live(q, p, wrong, now)
}

func lineAt(q *quote.Quote, i int) quote.Line {
	if i < len(q.Lines) {
		return q.Lines[i]
	}
	return quote.Line{}
}

func pointers(versions []quote.Quote) []*quote.Quote {
	out := make([]*quote.Quote, len(versions))
	for i := range versions {
		out[i] = &versions[i]
	}
	return out
}

// survey is the newest survey, nil before the first.
func (d *drafting) survey() *job.Survey {
	if len(d.Surveys) == 0 {
		return nil
	}
	return &d.Surveys[0]
}

func muchText(n int, unit string) string {
	if unit == "" {
		if n == 1 {
			return ""
		}
		return fmt.Sprintf(", %d times", n)
	}
	return fmt.Sprintf(", %d %s", n, domain.UnitFor(n, unit))
}

func (d *drafting) planRow(i int, r quote.Row, l quote.Line, errs domain.Fields) PlanRow {
	at := fmt.Sprintf("rows[%d].", i)
	cur := d.Shop.Currency
	row := PlanRow{Index: i, Agreed: r.Agreed, Error: errs[at+"task"] + errs[at+"part"]}
	row.Hidden = []Pair{
		{at + "task", r.Task}, {at + "edition", fmt.Sprint(cmp.Or(r.Edition, l.Edition))}, {at + "part", r.Part}, {at + "for", r.For},
		{at + "was", fmt.Sprint(r.Was)}, {at + "agreed", yes(r.Agreed)},
	}
	row.Much = CountField(at+"quantity", "How much", r.Quantity, l.Unit).Marked(errs)
	switch {
	case r.Task != "":
		t := d.shelf.Templates[r.Task]
		row.Name, row.Code = cmp.Or(l.Name, t.Name, r.Task), fmt.Sprintf("%s, edition %d", r.Task, cmp.Or(r.Edition, l.Edition))
		row.Much.Unit, row.Much.Help = cmp.Or(t.Unit, "times"), d.muchHint(r.Task)
	case r.Part != "" && d.shelf.Parts[r.Part].Code != "":
		row.Name, row.Code = d.shelf.Parts[r.Part].Name, r.Part+d.forWhat(r.For)
		row.Much.Unit, row.Much.Keys = d.shelf.Parts[r.Part].Unit, "decimal"
	default:
		d.freeRow(&row, at, r, errs)
	}
	row.Price = MoneyField(at+"price", "Price for one", r.Price, cur.Code).Marked(errs)
	if row.Title == nil || r.Part != "" {
		row.Price = row.Price.Hint("empty: as the shop reckons")
	}
	row.Off = Field{Kind: "text", Name: at + "off", Label: "Off", Value: r.Off, Unit: "%", Keys: "decimal", Width: "short"}.Marked(errs)
	row.OffWhy = TextField(at+"off_why", "Why off", r.OffWhy).Limit(120).Marked(errs)
	if d.earlier != nil {
		back := CheckField(at+"comeback", fmt.Sprintf("Part of the comeback of tag %d", d.earlier.Tag), r.Comeback).Marked(errs)
		row.Back = &back
	}
	row.Because = TextField(at+"because", "Because", r.Because).Limit(200).Marked(errs)
	row.Open = row.Title != nil || r.Off != "" || r.Price != "" || row.Price.Error+row.Off.Error+row.OffWhy.Error+row.Because.Error != ""
	row.Worked = figuresOf(i, l, cur)
	return row
}

// splitText says what a line of the comeback costs, "" for any other line.
func splitText(l quote.Line) string {
	if !l.Comeback() {
		return ""
	}
	if l.Off.IsZero() {
		return l.OffWhy
	}
	return fmt.Sprintf("%s: %s %% off", l.OffWhy, l.Off.String())
}

// shareHint says who pays for the rows that came back.
func shareHint(c *job.Comeback) string {
	if c == nil {
		return "Who pays for what came back is not decided: marked lines cost as usual until the owner decides."
	}
	switch c.Share {
	case job.Ours:
		return "What came back is our work: marked lines are free of charge."
	case job.Shared:
		return "What came back is shared: the labour of marked lines is halved, parts are paid in full."
	}
	return "What came back dried again: marked lines cost as usual."
}

// freeRow makes the fields of a line that nothing lists.
func (d *drafting) freeRow(row *PlanRow, at string, r quote.Row, errs domain.Fields) {
	title := TextField(at+"name", "What for", r.Name).Limit(120).Marked(errs)
	kind := ChoiceField(at+"kind", "Kind", string(cmp.Or(r.Kind, money.Part)), kindOptions()).Marked(errs)
	row.Title, row.Kind, row.Much.Keys = &title, &kind, "decimal"
	row.Code = strings.TrimPrefix(d.forWhat(r.For), ", ")
	if r.Part != "" {
		row.Code = r.Part + d.forWhat(r.For) + ", not on the parts list"
		row.Error = ""
		if row.Much.Error == "" && (r.Name == "" || r.Price == "") {
			row.Error = "This part is not on the parts list: give a name and a price."
		}
	}
}

func (d *drafting) forWhat(code string) string {
	if code == "" {
		return ""
	}
	return ", for " + cmp.Or(d.shelf.Templates[code].Name, code)
}

// muchHint helps with the quantity of a task by what the survey measured.
func (d *drafting) muchHint(code string) string {
	mm := workshop.CrackLength(d.survey())
	switch {
	case mm == 0:
		return ""
	case code == "CC":
		return fmt.Sprintf("a crack of %d mm takes %s", mm, Plural(templates.CleatCount(mm), "cleat", "cleats"))
	case code == "CG" || code == "CS":
		return fmt.Sprintf("the survey found %d mm", mm)
	}
	return ""
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func kindOptions() []Option {
	var out []Option
	for _, k := range money.LineKinds() {
		out = append(out, Option{Value: string(k), Label: kindWord(k)})
	}
	return out
}

func kindWord(k money.LineKind) string { return strings.ReplaceAll(string(k), "_", " ") }

func figuresOf(i int, l quote.Line, cur money.Currency) RowFigures {
	f := RowFigures{ID: fmt.Sprintf("row-%d", i), Hands: rangeText(l.Minutes), Wait: daysText(l.Days), Net: Money(cur, l.Net), Split: splitText(l)}
	if l.Free {
		f.Net = "free"
	}
	return f
}

// rangeText writes hands-on minutes: "35–44–62 min", one figure when all agree.
func rangeText(r templates.Range) string {
	switch {
	case r.High == 0:
		return ""
	case r.Low == r.High:
		return fmt.Sprintf("%d min", r.Typical)
	}
	return fmt.Sprintf("%d–%d–%d min", r.Low, r.Typical, r.High)
}

// daysText writes elapsed days: "5–10–28 d", one figure when all agree.
func daysText(d templates.Days) string {
	short := func(x decimal.Decimal) string { return x.Round(2).String() }
	switch {
	case d.High.IsZero():
		return ""
	case d.Low.Equal(d.High):
		return short(d.Typical) + " d"
	}
	return short(d.Low) + "–" + short(d.Typical) + "–" + short(d.High) + " d"
}
