package web

import (
	"fmt"
	"sort"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// tasks lists the work with its state and its minutes as quoted and as clocked.
func (v jobView) tasks() Table {
	t := Table{
		Caption: "Tasks", Hidden: true,
		Columns: []Column{Head("Task"), Head("How much"), Head("State"), Figures("Quoted", "min"), Figures("Clocked", "min")},
		Empty:   Empty{Text: "No work is agreed yet: tasks come with the customer's yes."},
	}
	for i := range v.Job.Tasks {
		x := &v.Job.Tasks[i]
		much := strings.TrimPrefix(muchText(x.Quantity, x.Unit), ", ")
		quoted := strings.TrimSuffix(rangeText(x.Minutes), " min")
		t.Rows = append(t.Rows, Row{
			Cells: []Cell{
				{Text: x.Name, Href: v.path(fmt.Sprintf("/tasks/%d", x.ID))}, {Text: much}, {Text: v.taskState(x)},
				{Text: quoted}, {Text: fmt.Sprint(v.Job.Minutes(x.ID, v.now))},
			},
			Struck: !x.Dropped.IsZero(),
		})
	}
	return t
}

// taskState says in words how a task stands.
func (v jobView) taskState(t *job.Task) string {
	switch {
	case !t.Done.IsZero():
		return "done " + Day(v.in(t.Done)) + ", " + t.DoneBy
	case !t.Dropped.IsZero():
		return "dropped: " + t.Reason
	}
	for _, c := range v.Job.Clockings {
		if c.Task == t.ID && c.End.IsZero() {
			return c.Name + "’s clock runs"
		}
	}
	if h := v.Job.OpenHold(); h != nil && h.Task == t.ID {
		return "in hold, " + h.Place
	}
	if v.Stage.Over() {
		return "open"
	}
	if why := v.Job.Blocked(t); why != "" {
		return why
	}
	return "free"
}

// account sets bench time and days side by side.
func (v jobView) account() Table {
	a := v.Account
	if v.Job.Approved.IsZero() {
		return Table{Empty: Empty{Text: "Nothing to account for before the customer's yes."}}
	}
	went := func(d job.Days) string { return d.Went.String() + " d" }
	t := Table{
		Caption: "Bench time and days", Hidden: true, Columns: []Column{Head(""), Figures("As quoted", ""), Figures("As it went", "")},
		Rows: []Row{
			Line("Hands at the bench", rangeText(a.Quoted), fmt.Sprintf("%d min", a.Went)),
			Line("Days in the cabinet", or(daysText(a.Hold.Quoted), "none"), went(a.Hold)),
			Line("Days in other waits", or(daysText(a.Other.Quoted), "none"), went(a.Other)),
			Line("Days nobody touched it", "", fmt.Sprintf("%d d", a.Idle)),
		},
		Totals: []Total{{Name: "Days from the yes to the check, or until now", Value: fmt.Sprintf("%d d", a.Total)}},
	}
	return t
}

func (v jobView) waits(p *JobPage) {
	if w := coldWait(v.Folder, v.now); w != nil {
		p.Waits = append(p.Waits, JobWait{Wait: *w})
	}
	for _, w := range v.Job.Waits {
		if !w.End.IsZero() {
			continue
		}
		x := JobWait{Wait: Wait{What: w.Kind, Why: w.Note, Until: w.Until, Days: domain.WholeDays(w.Start, v.now), Overdue: !w.Until.IsZero() && w.Until.Before(v.now)}}
		if t, err := v.Job.Task(w.Task); err == nil {
			x.Why = joined(t.Name, w.Note)
		}
		if v.may(workshop.ActWait) {
			x.Action, x.Key = v.path(fmt.Sprintf("/waits/%d/end", w.ID)), NewKey()
		}
		p.Waits = append(p.Waits, x)
	}
	if h := v.Job.OpenHold(); h != nil {
		p.Waits = append(p.Waits, JobWait{Wait: v.cabinet(h)})
	}
	if v.may(workshop.ActWait) && !v.Stage.Over() {
		p.WaitForm = v.form("wait", "/waits", "The whole job waits",
			ChoiceField("wait_kind", "Waits for", v.value("wait", "kind"), Options(jobWaits())),
			DateField("wait_until", "Likely until", domain.Date(v.value("wait", "until"))).Hint("empty when nobody knows"),
			TextField("wait_note", "Note", v.value("wait", "note")).Limit(200))
	}
}

// cabinet is a running hold as a wait, until its readings say that it is likely
// steady, else the day that was quoted as usual.
func (v jobView) cabinet(h *job.Hold) Wait {
	w := Wait{What: "in the cabinet", Why: h.Place + ", ends by measurement, likely", Days: domain.WholeDays(h.Start, v.now), Air: true}
	if v.Held != nil && v.Held.Ready.Known {
		w.Until = v.Held.Ready.P50
		return w
	}
	if t, err := v.Job.Task(h.Task); err == nil {
		w.Until = h.Start.Add(time.Duration(t.WaitDays.Typical.InexactFloat64() * float64(24*time.Hour)))
	}
	return w
}

// jobWaits lists what a whole job can wait for; glue and finish belong to tasks.
func jobWaits() []string {
	return []string{"customer answer", "part ordered", "deposit", "assessor", "senior tech", "cabinet full", "cold case"}
}

func (v jobView) money(p *JobPage) {
	show, b := v.Shop.Currency.Show, v.Balance
	p.Money = Facts{{Name: "Owed", Value: workshop.MoneyAnswer(v.Folder)}}
	if q := v.Quote; q != nil && q.Answer != nil && q.Answer.Outcome != quote.Denied {
		p.Money = append(p.Money, Fact{Name: "Agreed", Value: show(q.YesTotal), Note: "not above " + show(q.YesLimit)})
	}
	if v.Invoice != nil {
		p.Money = append(p.Money, Fact{Name: "Invoice", Value: v.Invoice.Label(), Note: show(v.Invoice.Totals.Total), Href: fmt.Sprintf("/invoices/%d", v.Invoice.ID)})
	}
	if b.Paid != 0 {
		p.Money = append(p.Money, Fact{Name: "Paid", Value: show(b.Paid)})
	}
	p.MoneyWays = []Link{{Href: v.path("/money"), Text: "Bill and payments"}}
}

func (v jobView) calls(p *JobPage) {
	for i := len(v.Job.Contacts) - 1; i >= 0; i-- {
		c := v.Job.Contacts[i]
		p.Calls = append(p.Calls, Entry{At: c.At, Who: c.By, What: "about " + c.About + ": " + c.Result, Note: c.Note})
	}
	if !v.may(workshop.ActCall) || v.Stage.Over() {
		return
	}
	about := v.value("call", "about")
	if about == "" {
		about = "question"
		if !v.Job.Checked.IsZero() {
			about = "ready"
		}
	}
	p.CallForm = v.form("call", "/calls", "Note the call",
		ChoiceField("call_about", "About", about, []Option{
			{Value: "ready", Label: "it is ready"}, {Value: "question", Label: "a question"}, {Value: "notice", Label: "a notice: come and fetch it"},
		}),
		ChoiceField("call_result", "How it went", v.value("call", "result"), Options(job.ContactResults())),
		TextField("call_note", "Note", v.value("call", "note")).Limit(300))
	if v.may(workshop.ActSay) && !v.Job.Approved.IsZero() && v.Job.Checked.IsZero() {
		p.DayForm = v.dayForm()
	}
	p.CallForm.Now = v.Stage == job.Checked
	p.CallForm.Open = p.CallForm.Open || p.CallForm.Now
}

// dayForm tells the customer another day; the queue's is there to take.
func (v jobView) dayForm() *JobForm {
	day := domain.Date(v.value("day", "promised"))
	hint := ""
	if v.Window.ByQueue {
		if hint = "the queue says " + Civil(v.Window.Late) + ": " + v.Shop.Said.Sure(); v.part != "day" {
			day = v.Window.Late
		}
	}
	return v.form("day", "/day", "Note the new day",
		DateField("day_promised", "Day told", day).Need().Hint(hint),
		TextField("day_why", "Why", v.value("day", "why")).Need().Limit(200).Hint("as it was told to the customer"))
}

// check tells what is missing for the quality check by trying it on a copy.
func (v jobView) check() *JobCheck {
	j := v.Job
	switch {
	case !j.Checked.IsZero():
		return &JobCheck{Passed: j.CheckedBy + ", " + DayHour(v.in(j.Checked))}
	case j.Approved.IsZero() || v.Stage.Over():
		return nil
	}
	dry := *j
	c := &JobCheck{Missing: v.missing(domain.FieldsOf(dry.Pass(v.required, v.who, v.now)))}
	if v.may(workshop.ActCheck) && len(c.Missing) == 0 {
		c.Action, c.Key = v.path("/pass"), NewKey()
	}
	return c
}

func (v jobView) missing(fields domain.Fields) []Link {
	var out []Link
	for name, text := range fields {
		l := Link{Text: text}
		if id, ok := strings.CutPrefix(name, "task_"); ok {
			l.Href = v.path("/tasks/" + id)
		}
		out = append(out, l)
	}
	sort.Slice(out, func(a, b int) bool { return out[a].Text < out[b].Text })
	return out
}

func (v jobView) unclaimed(p *JobPage) {
	if !v.may(workshop.ActUnclaimed) || v.Stage != job.Ready && v.Stage != job.Declined {
		return
	}
	p.Unclaimed = v.form("unclaimed", "/unclaimed", "Close it as unclaimed",
		CheckField("unclaimed_law_checked", "Notices were given and local law was checked", false))
	p.Unclaimed.Caution = "What a shop may do with an instrument nobody collects, after which time and which notices, differs from place to place. Check the law, or ask a lawyer, before it is sold or kept."
}

// diaryShown is how many entries of the diary are in sight at once.
const diaryShown = 6

func (v jobView) diary() (recent, older Diary) {
	all := make(Diary, len(v.Diary))
	for i, e := range v.Diary {
		all[i] = Entry{At: e.At, Who: e.By, What: e.What}
		if e.Before != "" {
			all[i].Before, all[i].After = dayText(e.Before), dayText(e.After)
			continue
		}
		all[i].Note = e.After
	}
	n := min(diaryShown, len(all))
	return all[:n], all[n:]
}

// dayText writes a civil date as a person says it and leaves other texts alone.
func dayText(text string) string {
	if d, err := domain.ParseDate(text); err == nil {
		return Civil(d)
	}
	return text
}
