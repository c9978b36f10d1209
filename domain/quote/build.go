package quote

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// Row is one line as a person typed it. Exactly one of Task, Part and Name is
// the subject: a template's code, a stock part's code, or free words.
type Row struct {
	Task      string         // template code
	Edition   int            // 0: the newest
	Quantity  string         // of a task: whole mm, cleats, frets ...; of a part: up to 3 decimals
	Part      string         // stock code
	For       string         // task code that a part belongs to
	Name      string         // free line
	Kind      money.LineKind // of a free line
	Price     string         // per count, in major units; "" takes the shop's
	Off       string         // percent
	OffWhy    string
	Because   string
	WithParts bool          // add the template's billed parts behind the task
	Was       domain.TaskID // the running task that this row goes on with
	Agreed    bool          // this row was agreed in an earlier version
	Comeback  bool          // it repeats work that came back; see Split
}

// Sheet is a whole quote as a person typed it.
type Sheet struct {
	Basis    Basis
	Rows     []Row
	Discount string // amount off the whole
	Reason   string
	Because  string
	Missing  string
	Note     string
	Deposit  string          // "" asks what the rule says
	Valid    string          // days; "" takes the shop's
	CaseRH   decimal.Decimal // from the survey; 0 when not measured: no ramp is computed
	Share    job.Share       // who pays for the rows that came back; "" has not been decided
}

// Shelf gives what rows name.
type Shelf struct {
	Templates map[string]Edition // newest by code
	Older     func(code string, edition int) (templates.Template, bool)
	Parts     map[string]stock.Part
}

// Edition is a template with the version it is kept under.
type Edition struct {
	BuiltIn bool // as the program brought it, not changed by the shop
	Number  int
	templates.Template
}

// Find returns a template in the edition asked for, and whether there is one.
func (s Shelf) Find(code string, edition int) (templates.Template, bool) {
	e, ok := s.Templates[code]
	switch {
	case ok && e.Number == edition:
		return e.Template, true
	case s.Older != nil:
		return s.Older(code, edition)
	}
	return templates.Template{}, false
}

const maxRows = 80

// Build prices a sheet. It is pure: the same sheet, shelf and terms give the
// same quote. All wrong fields come back at once, named rows[n].quantity and
// the like.
func Build(s Sheet, shelf Shelf, terms Terms) (Quote, error) {
	f := domain.Fields{}
	q := Quote{
		Basis: domain.OneOf(f, "basis", s.Basis, Bases()), Currency: terms.Currency, Rounding: terms.Profile.Rounding,
		TaxInside: terms.Profile.PricesIncludeTax, HourlyRate: terms.HourlyRate,
		Reason: domain.Line(f, "reason", s.Reason, 120, false), Because: domain.Paragraph(f, "because", s.Because, 2000, false),
		Missing: domain.Paragraph(f, "missing", s.Missing, 1000, false), Note: domain.Paragraph(f, "note", s.Note, 1000, false),
	}
	if len(s.Rows) == 0 {
		f.Add("rows", "add at least one task")
	}
	if len(s.Rows) > maxRows {
		f.Add("rows", "must be at most %d", maxRows)
		return q, f.Err()
	}
	for i, row := range s.Rows {
		lines, err := build(row, shelf, s.CaseRH, terms)
		f.AddErr(fmt.Sprintf("rows[%d]", i), err)
		if row.Comeback {
			for k := range lines {
				Split(s.Share, &lines[k])
			}
		}
		q.Lines = append(q.Lines, withoutSame(q.Lines, lines)...)
	}
	noTwice(f, q.Lines)
	q.Discount = amount(f, "discount", s.Discount, terms.Currency)
	if q.Discount > 0 && q.Reason == "" {
		f.Add("reason", "say why there is a discount")
	}
	q.ValidUntil = terms.Today.AddDays(validDays(f, s.Valid, terms.ValidDays))
	if err := f.Err(); err != nil {
		return q, err
	}
	var err error
	if q.Taxes, err = terms.Profile.TaxesOn(terms.Today, terms.Exempt); err != nil {
		return q, err
	}
	if err := q.price(terms); err != nil {
		return q, err
	}
	q.plan(shelf, s.CaseRH)
	q.Deposit = deposit(f, s.Deposit, terms, q.Totals.Total)
	return q, f.Err()
}

// withoutSame leaves out of the parts that come with a task those that stand
// on the sheet already: one set of strings serves bridge, frets and set-up.
func withoutSame(have, lines []Line) []Line {
	out := lines[:1]
	for _, l := range lines[1:] {
		if !slices.ContainsFunc(have, func(o Line) bool { return o.Part == l.Part }) {
			out = append(out, l)
		}
	}
	return out
}

// noTwice refuses the same task on two rows: a repeated task is one row with
// its whole quantity.
func noTwice(f domain.Fields, lines []Line) {
	seen := map[string]bool{}
	for _, l := range lines {
		if l.Template != "" && seen[l.Template] {
			f.Add("rows", "%s stands twice; put the whole quantity on one row", l.Name)
		}
		seen[l.Template] = true
	}
}

func validDays(f domain.Fields, typed string, usual int) int {
	if typed == "" {
		return usual
	}
	days, err := whole(typed)
	if err != nil || days < 1 || days > 365 {
		f.Add("valid", "must be from 1 to 365 days")
		return usual
	}
	return days
}

func whole(typed string) (int, error) {
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 9 || !d.IsInteger() {
		return 0, domain.Invalidf("%q is no whole number", typed)
	}
	return int(d.IntPart()), nil
}

// amount reads an amount of at least 0; "" is 0.
func amount(f domain.Fields, field, typed string, c money.Currency) money.Amount {
	if typed == "" {
		return 0
	}
	a, err := c.Parse(typed)
	if err == nil && a < 0 {
		err = domain.Invalidf("must not be negative")
	}
	f.AddErr(field, err)
	return a
}

// build turns one row into its lines.
func build(row Row, shelf Shelf, caseRH decimal.Decimal, terms Terms) ([]Line, error) {
	f := domain.Fields{}
	l := Line{
		Task: row.Was, Agreed: row.Agreed, For: row.For, Count: decimal.NewFromInt(1),
		OffWhy: domain.Line(f, "off_why", row.OffWhy, 120, false), Because: domain.Line(f, "because", row.Because, 200, false),
		Off: percent(f, row.Off),
	}
	if l.Off.Sign() > 0 && l.OffWhy == "" {
		f.Add("off_why", "say why there is a discount")
	}
	if l.Comeback() { // the words are the program's own: who pays is decided, not typed
		f.Add("off_why", "must not begin with %q; mark the row as part of the comeback instead", comebackMark)
	}
	var more []Line
	switch {
	case row.Task != "":
		more = buildTask(f, &l, row, shelf, caseRH, terms)
	case row.Part != "":
		buildPart(f, &l, row, shelf, terms)
	default:
		buildFree(f, &l, row, terms)
	}
	if row.Price != "" {
		l.Price, l.Typed = price(f, row.Price, terms.Currency), true
	}
	return append([]Line{l}, more...), f.Err()
}

func percent(f domain.Fields, typed string) decimal.Decimal {
	if typed == "" {
		return decimal.Zero
	}
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 8 || d.Sign() < 0 || d.GreaterThan(decimal.NewFromInt(100)) || !d.Equal(d.Round(3)) {
		f.Add("off", "must be from 0 to 100 percent, with at most three decimals")
		return decimal.Zero
	}
	return d
}

func price(f domain.Fields, typed string, c money.Currency) decimal.Decimal {
	return c.Decimal(amount(f, "price", typed, c))
}

func buildTask(f domain.Fields, l *Line, row Row, shelf Shelf, caseRH decimal.Decimal, terms Terms) []Line {
	edition := row.Edition
	if edition == 0 {
		edition = shelf.Templates[row.Task].Number
	}
	t, ok := shelf.Find(row.Task, edition)
	if !ok {
		f.Add("task", "there is no task template %q", row.Task)
		return nil
	}
	if t.Retired && row.Was == 0 {
		f.Add("task", "%s is no longer offered", t.Name)
	}
	n, err := whole(row.Quantity)
	if row.Quantity == "" && t.Unit == "" {
		n, err = 1, nil
	}
	if err != nil || n < 1 || n > 5000 {
		f.Add("quantity", "must be a whole number of %s from 1 to 5000", unitWord(t.Unit))
		return nil
	}
	item := itemOf(t, n, caseRH)
	minutes, err := item.Minutes()
	if err != nil {
		f.AddErr("quantity", err)
		return nil
	}
	l.Template, l.Edition, l.Name, l.Kind = t.Code, edition, t.Name, money.Labour
	l.Quantity, l.Unit, l.Minutes, l.Days, l.Hold = n, t.Unit, minutes, item.Days(), t.IsHold()
	l.Free, l.ByTime = t.Price.Free, t.Price.Basis == "time"
	l.Price = TaskPrice(t, minutes.Typical, terms)
	if !row.WithParts {
		return nil
	}
	return partsFor(t, n, shelf, terms)
}

func unitWord(unit string) string {
	if unit == "" {
		return "times"
	}
	return unit
}

// TaskPrice is the flat price, a multiple of the hourly rate, or the typical
// minutes at the hourly rate; each rounded once to the currency. Free work costs 0.
func TaskPrice(t templates.Template, minutes int, terms Terms) decimal.Decimal {
	switch {
	case t.Price.Free:
		return decimal.Zero
	case t.Price.Basis == "flat":
		return money.Round(terms.Currency.Decimal(terms.HourlyRate).Mul(t.Price.Flat), int32(terms.Currency.Digits), terms.Profile.Rounding.Mode)
	}
	return TimePrice(terms.HourlyRate, minutes, terms.Currency, terms.Profile.Rounding.Mode)
}

// itemOf plans a quantity of a template. A hold knows from the humidity in the
// case how short it can be; 0 is not measured.
func itemOf(t templates.Template, quantity int, caseRH decimal.Decimal) templates.Item {
	item := templates.Item{Template: t, Quantity: quantity}
	if t.IsHold() && caseRH.Sign() > 0 {
		low := templates.HoldLowDays(caseRH)
		item.HoldLow = &low
	}
	return item
}

// partsFor lists the billed parts of a template as lines of their own.
func partsFor(t templates.Template, quantity int, shelf Shelf, terms Terms) []Line {
	var out []Line
	for _, m := range t.MaterialsFor(quantity) {
		if !m.Billed {
			continue
		}
		l := Line{Kind: money.LineKind(m.Kind), Name: m.Name, Part: m.Part, For: t.Code, Unit: m.Unit, Count: m.Quantity}
		if p, ok := shelf.Parts[m.Part]; ok {
			l.Name, l.Unit, l.Kind, l.Price = p.Name, p.Unit, p.Kind, terms.Currency.Decimal(p.Price)
		}
		out = append(out, l)
	}
	return out
}

func buildPart(f domain.Fields, l *Line, row Row, shelf Shelf, terms Terms) {
	p, ok := shelf.Parts[row.Part]
	if !ok {
		// A template may name a part the shop has not listed: it then needs a
		// name and a price typed on the row.
		if row.Name == "" || row.Price == "" {
			f.Add("part", "%q is not on the parts list; choose a part, or give a name and a price", row.Part)
			return
		}
		p = stock.Part{Code: row.Part, Name: domain.Line(f, "name", row.Name, 120, true), Kind: money.Part, Unit: "each"}
	}
	l.Part, l.Name, l.Kind, l.Unit, l.Price = p.Code, p.Name, p.Kind, p.Unit, terms.Currency.Decimal(p.Price)
	l.Count = count(f, row.Quantity)
}

func buildFree(f domain.Fields, l *Line, row Row, terms Terms) {
	l.Name = domain.Line(f, "name", row.Name, 120, true)
	l.Kind = domain.OneOf(f, "kind", row.Kind, money.LineKinds())
	if row.Price == "" {
		f.Add("price", "is needed, such as %s", terms.Currency.Text(terms.HourlyRate))
	}
	l.Count = count(f, row.Quantity)
}

// count reads the quantity of a part or free line; "" is 1.
func count(f domain.Fields, typed string) decimal.Decimal {
	if typed == "" {
		return decimal.NewFromInt(1)
	}
	d, err := stock.ParseQuantity(typed)
	f.AddErr("quantity", err)
	return d
}
