package web

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// addForms lays out the three ways to another row.
func (d *drafting) addForms(p *QuotePage) {
	var names []string
	tasks := []Option{{Value: "", Label: "choose from the list"}}
	for _, t := range d.offered() {
		names = append(append(names, t.Name), t.Synonyms...)
		tasks = append(tasks, Option{Value: t.Code, Label: fmt.Sprintf("%s: %s", t.Phase, t.Name)})
	}
	a, errs := d.add, p.Errors
	p.Task = AddTask{
		Find:   TextField("find", "Type what to do", a.find).Limit(80).Offer(names).Marked(errs),
		Choose: ChoiceField("add_task", "or choose it", a.task, tasks).Marked(errs),
		Much:   CountField("add_quantity", "How much", a.quantity, "").Hint("mm, cleats, frets; 1 when empty").Marked(errs),
		Parts:  CheckField("with_parts", "with the parts it needs", a.parts),
	}
	p.Part = d.partForm(errs)
	p.Free = AddFree{
		Name: TextField("add_name", "What for", a.name).Limit(120).Marked(errs), Kind: ChoiceField("add_kind", "Kind", cmp.Or(a.kind, string(money.Part)), kindOptions()),
		Count: Field{Kind: "text", Name: "add_count", Label: "How much", Value: a.count, Keys: "decimal", Width: "short", Help: "1 when empty"},
		Price: MoneyField("add_price", "Price for one", a.price, d.Shop.Currency.Code).Marked(errs),
		Open:  a.name+a.price != "" || errs["add_name"]+errs["add_price"] != "",
		Rules: extras(d.Shop.Counter.Charges),
	}
}

func (d *drafting) partForm(errs domain.Fields) AddPart {
	parts := []Option{{Value: "", Label: "choose a part"}}
	for _, x := range d.parts {
		if !x.Retired {
			parts = append(parts, Option{Value: x.Code, Label: fmt.Sprintf("%s, %s %s each %s", x.Name, Money(d.Shop.Currency, x.Price), d.Shop.Currency.Code, unitOf(x.Unit))})
		}
	}
	for i, o := range parts {
		parts[i].Label = strings.TrimSuffix(o.Label, " ")
	}
	tasks := []Option{{Value: "", Label: "no task"}}
	for _, r := range d.sheet.Rows {
		if r.Task != "" {
			tasks = append(tasks, Option{Value: r.Task, Label: d.shelf.Templates[r.Task].Name})
		}
	}
	return AddPart{
		Choose: ChoiceField("add_part", "Part", d.add.part, parts).Marked(errs),
		Much:   Field{Kind: "text", Name: "add_part_quantity", Label: "How much", Value: d.add.partQuantity, Keys: "decimal", Width: "short", Help: "1 when empty"},
		For:    ChoiceField("add_part_for", "For which task", d.add.partFor, tasks).Hint("it falls away when the task does"),
		Open:   d.add.part != "" || errs["add_part"] != "",
	}
}

// unitOf names the unit of a price, "" for a piece.
func unitOf(unit string) string {
	if unit == "each" {
		return ""
	}
	return unit
}

// wholeForm asks for what concerns the whole quote.
func (d *drafting) wholeForm(p *QuotePage) {
	s, cur := d.sheet, d.Shop.Currency.Code
	because := s.Because
	if because == "" && d.survey() != nil {
		because = d.survey().Because()
	}
	p.Whole = Group{Legend: "What is said", Fields: []Field{
		ChoiceField("basis", "How firm", string(s.Basis), []Option{
			{Value: string(quote.Estimate), Label: "estimate", Note: "best guess with a ceiling: honest for dry wood"},
			{Value: string(quote.Firm), Label: "firm quote", Note: "billed as said"},
		}).Radio(),
		AreaField("because", "Because", because).Limit(2000).Hint("what the survey found, in words the customer reads"),
		AreaField("missing", "Not included", s.Missing).Limit(1000).Hint("what would be asked again, such as a splint if the crack does not close"),
		AreaField("note", "Note for the customer", s.Note).Limit(1000),
	}}.Marked(p.Errors)
	p.Terms = Group{Legend: "Terms", Fields: []Field{
		MoneyField("discount", "Discount on the whole", s.Discount, cur),
		TextField("reason", "Why the discount", s.Reason).Limit(120).Middle(),
		CountField("valid", "Valid for", s.Valid, "days").Hint(fmt.Sprintf("empty: %d days, as the shop does", d.Shop.ValidDays)),
		MoneyField("deposit", "Deposit asked", s.Deposit, cur).Hint("empty: as the shop's rule says"),
	}}.Marked(p.Errors)
}

// live draws up what changes with every key.
func (d *drafting) live(q *quote.Quote, p *QuotePage, wrong int, now time.Time) QuoteLive {
	out := QuoteLive{Answer: p.Answer, Life: planStrip(q, d.shelf, d.window, d.Shop, now)}
	for i := range p.Rows {
		out.Rows = append(out.Rows, p.Rows[i].Worked)
	}
	if wrong > 0 || len(q.Lines) == 0 {
		out.Wrong = Problems(p.Errors)
		return out
	}
	t := totalsTable(q.Currency, q.Totals, q.TaxInside, q.Reason)
	out.Totals = &t
	out.Facts = append(quoteFacts(q), readyFact(d.window, d.Shop))
	return out
}

// quoteFacts says beside the total what may become of it.
func quoteFacts(q *quote.Quote) Facts {
	show := q.Currency.Show
	f := Facts{{Name: "Price", Value: "firm: " + show(q.Totals.Total)}}
	if q.Basis == quote.Estimate {
		f[0] = Fact{Name: "About", Value: show(q.Totals.Total), Note: "not above " + show(q.Ceiling) + " without a new yes"}
		if q.Low != q.High {
			f = append(f, Fact{Name: "By the clock", Value: Money(q.Currency, q.Low) + " to " + show(q.High), Note: clockNote(q)})
		}
	}
	return append(f,
		Fact{Name: "Deposit asked", Value: show(q.Deposit)},
		Fact{Name: "Valid until", Value: Civil(q.ValidUntil)},
		Fact{Name: "Hands", Value: rangeText(q.Hands)},
	)
}

// readyFact says when the work would be ready.
func readyFact(w workshop.Window, shop *workshop.Shop) Fact {
	if w.ByQueue {
		return Fact{Name: "Ready", Value: Civil(w.Likely), Note: "say " + Civil(w.Late) + ": " + shop.Said.Sure(), Href: queuePath}
	}
	return Fact{Name: "Ready", Value: Civil(w.Likely), Note: "late " + Civil(w.Late) + ", by the waits alone"}
}

// clockNote says what the low and the high total mean.
func clockNote(q *quote.Quote) string {
	if q.High > q.Ceiling {
		return "at the low and at the high minutes; above " + Money(q.Currency, q.Ceiling) + " ask for a new yes first"
	}
	return "at the low and at the high minutes"
}

// totalsTable shows how the lines come to the total.
func totalsTable(cur money.Currency, t money.Totals, taxInside bool, reason string) Table {
	out := Table{Caption: "Totals", Hidden: true, Columns: []Column{Head(""), Figures("Amount", cur.Code)}}
	out.Rows = []Row{Line("All lines", Money(cur, t.Sum))}
	out.Totals = totalLines(cur, t, taxInside, reason)
	return out
}

// totalLines is what stands under the lines of a quote or an invoice.
func totalLines(cur money.Currency, t money.Totals, taxInside bool, reason string) []Total {
	var out []Total
	if t.Discount != 0 {
		out = append(out, Total{Name: "Discount", Note: reason, Value: Money(cur, -t.Discount)})
	}
	if !taxInside && (len(t.Taxes) > 0 || t.Discount != 0) {
		out = append(out, Total{Name: "Net", Value: Money(cur, t.Net)})
	}
	for _, x := range t.Taxes {
		name := x.Name
		if taxInside {
			name = "of it " + name
		}
		note := x.Percent.String() + " % on " + Money(cur, x.Base)
		if x.Exempt != "" {
			note = "exempt: " + x.Exempt
		}
		out = append(out, Total{Name: name, Note: note, Value: Money(cur, x.Amount)})
	}
	return append(out, Total{Name: "Total", Value: Money(cur, t.Total)})
}

// benchDay is how many bench minutes an ordinary day gives to one job, for
// drawing a plan. Source: common practice, no source.
const benchDay = 240

// planStrip draws the planned work of a quote from now on, in the order of
// work, with the late day as its flag.
func planStrip(q *quote.Quote, shelf quote.Shelf, w workshop.Window, shop *workshop.Shop, now time.Time) Strip {
	var tasks []job.Task
	for _, l := range q.Lines {
		if l.Template == "" {
			continue
		}
		t := shelf.Templates[l.Template]
		task := job.Task{Name: l.Name, Phase: t.Phase, Minutes: l.Minutes, WaitDays: l.Days, Hold: l.Hold}
		if len(t.Waits) > 0 {
			task.WaitKind = t.Waits[0].Kind
		}
		tasks = append(tasks, task)
	}
	s := Strip{From: now, Today: now, Size: Large, Name: "The plan", Pieces: planned(tasks, now)}
	late := w.Late.Time(shop.Location())
	s.To = late
	if n := len(s.Pieces); n > 0 {
		end := s.Pieces[n-1].To
		if late.After(end) {
			s.Pieces = append(s.Pieces, StripPiece{Kind: Idle, From: end, To: late, Label: "with bad luck"})
			s.Promised = late
		} else {
			s.To = end
		}
		s.To = s.To.Add(s.To.Sub(s.From) / 30) // so that the flag has room
	}
	return s
}
