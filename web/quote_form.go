package web

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// adding is what was typed to add a row.
type adding struct {
	find, task, quantity        string
	parts                       bool
	part, partQuantity, partFor string
	name, kind, count, price    string
}

var rowField = regexp.MustCompile(`^rows\[(\d{1,2})\]\.`)

// read takes the sheet out of the form. Rows keep their order; gaps close.
func (d *drafting) read(c *gin.Context) {
	d.seen, _ = strconv.Atoi(form(c, "seen"))
	d.sheet = quote.Sheet{
		Basis: quote.Basis(form(c, "basis")), Discount: form(c, "discount"), Reason: form(c, "reason"), Because: form(c, "because"),
		Missing: form(c, "missing"), Note: form(c, "note"), Deposit: form(c, "deposit"), Valid: form(c, "valid"),
	}
	for _, i := range rowNumbers(c) {
		d.sheet.Rows = append(d.sheet.Rows, rowOf(c, "rows["+strconv.Itoa(i)+"]."))
	}
	d.add = adding{
		find: form(c, "find"), task: form(c, "add_task"), quantity: form(c, "add_quantity"), parts: form(c, "with_parts") == "yes",
		part: form(c, "add_part"), partQuantity: form(c, "add_part_quantity"), partFor: form(c, "add_part_for"),
		name: form(c, "add_name"), kind: form(c, "add_kind"), count: form(c, "add_count"), price: form(c, "add_price"),
	}
}

func rowNumbers(c *gin.Context) []int { return numbered(c, rowField) }

// numbered lists in order the numbers that the fields of a form carry, as field
// finds them in a name.
func numbered(c *gin.Context, field *regexp.Regexp) []int {
	c.PostForm("do") // reads the form
	seen := map[int]bool{}
	var out []int
	for name := range c.Request.PostForm {
		m := field.FindStringSubmatch(name)
		if m == nil {
			continue
		}
		if i, _ := strconv.Atoi(m[1]); !seen[i] {
			seen[i] = true
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

func rowOf(c *gin.Context, at string) quote.Row {
	edition, _ := strconv.Atoi(form(c, at+"edition"))
	was, _ := strconv.ParseInt(form(c, at+"was"), 10, 64)
	return quote.Row{
		Task: form(c, at+"task"), Edition: edition, Quantity: form(c, at+"quantity"), Part: form(c, at+"part"), For: form(c, at+"for"),
		Name: form(c, at+"name"), Kind: money.LineKind(form(c, at+"kind")), Price: form(c, at+"price"), Off: form(c, at+"off"),
		OffWhy: form(c, at+"off_why"), Because: form(c, at+"because"), Was: domain.TaskID(was), Agreed: form(c, at+"agreed") == "yes",
		Comeback: form(c, at+"comeback") == "yes",
	}
}

// remove takes a row off the sheet, a task together with its parts.
func (d *drafting) remove(typed string) {
	i, err := strconv.Atoi(typed)
	if err != nil || i < 0 || i >= len(d.sheet.Rows) {
		return
	}
	gone := d.sheet.Rows[i]
	d.sheet.Rows = slices.Delete(d.sheet.Rows, i, i+1)
	if gone.Task != "" {
		d.sheet.Rows = slices.DeleteFunc(d.sheet.Rows, func(r quote.Row) bool { return r.Task == "" && r.For == gone.Task })
	}
}

// takeOffer adds a task that the survey suggests: code and quantity.
func (d *drafting) takeOffer(typed string) {
	code, quantity, _ := strings.Cut(typed, ":")
	if t, ok := d.shelf.Templates[code]; ok {
		d.put(t.Template, quantity, true)
	}
}

func (d *drafting) addTask() {
	t, ok := d.wanted()
	if !ok {
		return
	}
	if d.put(t, d.add.quantity, d.add.parts) {
		d.add = adding{parts: d.add.parts}
	}
}

// wanted finds the template that was searched or chosen.
func (d *drafting) wanted() (templates.Template, bool) {
	if d.add.find == "" {
		t, ok := d.shelf.Templates[d.add.task]
		if !ok {
			d.errs.Add("find", "type what to do, or choose a task from the list")
		}
		return t.Template, ok
	}
	found := templates.Find(d.offered(), d.add.find)
	switch {
	case len(found) == 0:
		d.errs.Add("find", "no task has these words; choose one from the list")
		return templates.Template{}, false
	case len(found) == 1 || exact(found[0], d.add.find):
		return found[0], true
	}
	names := make([]string, 0, 4)
	for _, t := range found[:min(4, len(found))] {
		names = append(names, t.Name)
	}
	d.errs.Add("find", "more than one task fits: %s; choose one from the list", strings.Join(names, ", "))
	return templates.Template{}, false
}

func exact(t templates.Template, words string) bool {
	return strings.EqualFold(t.Code, words) || slices.ContainsFunc(append([]string{t.Name}, t.Synonyms...), func(name string) bool {
		return strings.EqualFold(name, words)
	})
}

// offered lists the templates that are not retired, by phase and name.
func (d *drafting) offered() []templates.Template {
	var out []templates.Template
	for _, e := range d.shelf.Templates {
		if !e.Retired {
			out = append(out, e.Template)
		}
	}
	slices.SortFunc(out, func(a, b templates.Template) int {
		if a.Phase != b.Phase {
			return int(a.Phase) - int(b.Phase)
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out
}

// put adds a task in the order of work, with its billed parts behind it.
func (d *drafting) put(t templates.Template, quantity string, withParts bool) bool {
	if quantity == "" && t.Unit == "" {
		quantity = "1"
	}
	n, err := strconv.Atoi(quantity)
	if err != nil || n < 1 {
		unit := t.Unit
		if unit == "" {
			unit = "times"
		}
		d.errs.Add("add_quantity", "say how many %s", unit)
		d.add.find, d.add.task = "", t.Code
		return false
	}
	if slices.ContainsFunc(d.sheet.Rows, func(r quote.Row) bool { return r.Task == t.Code }) {
		d.errs.Add("find", "%s is on the quote already; change how much there", t.Name)
		return false
	}
	rows := []quote.Row{{Task: t.Code, Edition: d.shelf.Templates[t.Code].Number, Quantity: quantity}}
	if withParts {
		rows = append(rows, d.partRows(t, n)...)
	}
	for i := range rows {
		rows[i].Comeback = d.cameBack(t.Code)
	}
	at := slices.IndexFunc(d.sheet.Rows, func(r quote.Row) bool { return r.Task != "" && d.phase(r.Task) > t.Phase })
	if at < 0 {
		at = d.lastTask()
	}
	d.sheet.Rows = slices.Insert(d.sheet.Rows, at, rows...)
	return true
}

// cameBack reports whether a task that is added begins as part of the comeback:
// on a job that is linked to an earlier one, when that did the same task.
// New damage on the same visit is not marked by itself.
func (d *drafting) cameBack(code string) bool {
	return d.earlier != nil && slices.ContainsFunc(d.earlier.Tasks, func(t job.Task) bool { return t.Template == code && !t.Done.IsZero() })
}

func (d *drafting) phase(code string) templates.Phase { return d.shelf.Templates[code].Phase }

// lastTask is the place behind the last task and its parts, before free lines.
func (d *drafting) lastTask() int {
	at := 0
	for i, r := range d.sheet.Rows {
		if r.Task != "" || r.For != "" {
			at = i + 1
		}
	}
	return at
}

func (d *drafting) partRows(t templates.Template, quantity int) []quote.Row {
	var out []quote.Row
	for _, m := range t.MaterialsFor(quantity) {
		if !m.Billed {
			continue
		}
		r := quote.Row{Part: m.Part, For: t.Code, Quantity: m.Quantity.String(), Kind: money.LineKind(m.Kind)}
		if _, listed := d.shelf.Parts[m.Part]; !listed {
			r.Name = m.Name
		}
		out = append(out, r)
	}
	return out
}

func (d *drafting) addPart() {
	if _, ok := d.shelf.Parts[d.add.part]; !ok {
		d.errs.Add("add_part", "choose a part from the list")
		return
	}
	r := quote.Row{Part: d.add.part, For: d.add.partFor, Quantity: d.add.partQuantity}
	at := slices.IndexFunc(d.sheet.Rows, func(o quote.Row) bool { return r.For != "" && o.Task == r.For }) + 1
	if at == 0 {
		at = len(d.sheet.Rows)
	}
	d.sheet.Rows = slices.Insert(d.sheet.Rows, at, r)
	d.add = adding{parts: d.add.parts}
}

func (d *drafting) addFree() {
	if d.add.name == "" {
		d.errs.Add("add_name", "say what it is for")
	}
	if d.add.price == "" {
		d.errs.Add("add_price", "say what it costs")
	}
	if len(d.errs) > 0 {
		return
	}
	d.sheet.Rows = append(d.sheet.Rows, quote.Row{Name: d.add.name, Kind: money.LineKind(d.add.kind), Quantity: d.add.count, Price: d.add.price})
	d.add = adding{parts: d.add.parts}
}

// addExtra puts a line of the shop's rules on the sheet, reckoned from what stands on
// it. It becomes a row like any other.
func (s *Server) addExtra(c *gin.Context, d *drafting, x quote.Extra) {
	q, err := s.Work.PriceQuote(c.Request.Context(), actor(c), d.Job.ID, d.sheet)
	var row quote.Row
	if err == nil {
		row, err = quote.ExtraRow(x, &q, d.Shop.Counter.Charges, d.Shop.Profile.Rounding.Mode)
	}
	if err != nil {
		for name, text := range fieldErrors(err) {
			d.errs.Add(name, "%s", text)
		}
		return
	}
	d.sheet.Rows = append(d.sheet.Rows, row)
}

// extras offers the lines for which the settings have a rule.
func extras(k quote.Charges) []Option {
	var out []Option
	for _, x := range []struct {
		extra quote.Extra
		on    bool
	}{{quote.Supplies, k.Supplies.Sign() > 0}, {quote.Rush, k.Rush.Sign() > 0}, {quote.Minimum, k.Minimum > 0}} {
		if x.on {
			out = append(out, Option{Value: "extra-" + string(x.extra), Label: quote.ExtraName(x.extra)})
		}
	}
	return out
}

// splint puts a splint on the sheet for the hold whose crack will not close.
func (d *drafting) splint(typed string, now time.Time) {
	for i := range d.Job.Holds {
		if h := &d.Job.Holds[i]; typed == strconv.FormatInt(int64(h.ID), 10) {
			d.sheet = workshop.SplintSheet(d.sheet, d.survey(), h, workshop.Judge(h, d.Job, d.Shop.Hold, d.Prior, now))
		}
	}
}
