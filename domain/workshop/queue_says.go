package workshop

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// Queue is all agreed work as the play sees it.
type Queue struct {
	Shop      *Shop
	Now       time.Time
	Rows      []QueueRow    // by the likely day
	Calls     []QueueRow    // whose promise is in danger, worst first
	NextPlace *queue.Window // nil without places, or when nothing is agreed
	Trouble   string        // why it could not be played and what to change; "" when it could
	Answer    string        // in a sentence
}

// QueueRow is one agreed job in the queue.
type QueueRow struct {
	JobRow  JobRow
	Promise Promise
	Likely  domain.Date   // the day of P50, or the next on which the shop is open
	Steps   []QueueStep   // what is still to come, to P50
	Told    *queue.Window // when the day was said; nil when nobody played the queue then
	Moved   int           // open days by which P80 is later now than when the day was said; 0 for none
}

// quietDays is by how many open days a window may move before anybody is told: less
// is the noise of the draw. Source: the study behind docs/queue.md.
const quietDays = 2

// InDanger reports whether the promise is in danger: one play in five or more ends
// after the day, and it is likely too late, or its window moved by more than two open
// days since the day was said.
func (r QueueRow) InDanger(zone *time.Location) bool {
	if r.JobRow.Promised == "" || !r.Promise.P80.After(r.due(zone)) {
		return false
	}
	return r.Moved > quietDays || r.lost(zone) || r.likelyPassed(zone) && !r.risked(zone)
}

// lost reports whether hardly any play keeps the day, as when it is over.
func (r QueueRow) lost(zone *time.Location) bool { return r.Promise.P20.After(r.due(zone)) }

// risked reports whether the day was said with less than eight chances in ten: then
// that it is as likely passed as kept is no news.
func (r QueueRow) risked(zone *time.Location) bool {
	return r.Told != nil && r.Told.P80.After(r.due(zone))
}

// likelyPassed reports whether half of the plays or more end after the day.
func (r QueueRow) likelyPassed(zone *time.Location) bool {
	return r.JobRow.Promised != "" && r.Promise.P50.After(r.due(zone))
}

// due is the end of the promised day.
func (r QueueRow) due(zone *time.Location) time.Time {
	return r.JobRow.Promised.AddDays(1).Time(zone)
}

// Queue plays the queue and lays it out for people. What a setting makes
// impossible comes as Trouble, not as an error.
func (o *Outlook) Queue(ctx context.Context) (*Queue, error) {
	f, err := o.now(ctx)
	if err != nil {
		return nil, err
	}
	out := &Queue{Shop: f.Shop, Now: f.Now}
	promises, err := o.Jobs(ctx)
	if err == nil {
		out.NextPlace, err = o.NextPlace(ctx)
	}
	if err != nil {
		if out.Trouble = f.trouble(PlanOf(f), err); out.Trouble == "" {
			return nil, err
		}
		out.Answer = "Nobody can say when anything is ready. " + out.Trouble
		return out, nil
	}
	rows, err := openRows(ctx, o.read)
	if err != nil {
		return nil, err
	}
	told, err := o.told(ctx, f)
	if err != nil {
		return nil, err
	}
	out.fill(f, promises, rows, told)
	return out, nil
}

// openRows reads every open job by its identity.
func openRows(ctx context.Context, read Queries) (map[domain.JobID]JobRow, error) {
	out := map[domain.JobID]JobRow{}
	for at := 0; ; {
		rows, total, err := read.Jobs(ctx, JobFilter{Open: true, Oldest: true}, Page{Offset: at, Limit: 200})
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			out[r.ID] = r
		}
		if at += len(rows); len(rows) == 0 || at >= total {
			return out, nil
		}
	}
}

func (q *Queue) fill(f Facts, promises map[domain.JobID]Promise, rows map[domain.JobID]JobRow, told map[domain.JobID]PromiseMade) {
	zone := q.Shop.Location()
	for _, j := range f.Jobs {
		p, known := promises[j.ID]
		row, open := rows[j.ID]
		if !known || !open {
			continue
		}
		r := QueueRow{JobRow: row, Promise: p, Likely: p.Likely(q.Shop), Steps: stepsOf(j, p, f)}
		r.since(told[j.ID], q.Shop)
		q.Rows = append(q.Rows, r)
	}
	slices.SortStableFunc(q.Rows, func(a, b QueueRow) int { return a.Promise.P50.Compare(b.Promise.P50) })
	for _, r := range q.Rows {
		if r.InDanger(zone) {
			q.Calls = append(q.Calls, r)
		}
	}
	slices.SortStableFunc(q.Calls, func(a, b QueueRow) int {
		return int(b.Promise.P50.Sub(b.due(zone))/time.Minute) - int(a.Promise.P50.Sub(a.due(zone))/time.Minute)
	})
	q.Answer = QueueAnswer(q.Rows, q.Calls, q.NextPlace, q.Shop, q.Now)
}

// QueueAnswer says how much work is agreed, which promises it will break and
// when the cabinet has a place. calls are the rows in danger, worst first.
func QueueAnswer(rows, calls []QueueRow, next *queue.Window, shop *Shop, now time.Time) string {
	s := fmt.Sprintf("%d jobs are agreed.", len(rows))
	switch len(rows) {
	case 0:
		return "No agreed work waits."
	case 1:
		s = "One job is agreed."
	}
	if danger := DangerAnswer(calls, shop); danger != "" {
		first := calls[0].JobRow
		s += fmt.Sprintf(" %s; call %s about tag %d first.", danger, first.Name, first.Tag)
	} else {
		s += " Every day that was said is likely kept."
	}
	if next == nil {
		return s
	}
	today := shop.Today(now)
	likely, late := shop.Today(next.P50), shop.Today(next.P80)
	switch {
	case late == today:
		return s + " A cabinet place is free today."
	case likely == late:
		return s + fmt.Sprintf(" A cabinet place is likely free %s.", day(likely, today))
	}
	return s + fmt.Sprintf(" A cabinet place is likely free %s, with bad luck %s.", day(likely, today), day(late, today))
}

// DangerAnswer counts the promises in danger, without a full stop; "" for none.
func DangerAnswer(calls []QueueRow, shop *Shop) string {
	zone, likely := shop.Location(), 0
	for _, r := range calls {
		if r.likelyPassed(zone) {
			likely++
		}
	}
	more := len(calls) - likely
	switch {
	case len(calls) == 0:
		return ""
	case likely == 0:
		return jobsText(more) + " may pass the day we said"
	case more == 0:
		return jobsText(likely) + " will likely pass the day we said"
	}
	return fmt.Sprintf("%s will likely pass the day we said and %d more may", jobsText(likely), more)
}

func jobsText(n int) string {
	if n == 1 {
		return "1 job"
	}
	return fmt.Sprintf("%d jobs", n)
}

// Likely is the day of P50, or the next on which the shop is open.
func (p Promise) Likely(shop *Shop) domain.Date { return openDay(shop, p.P50) }

// PromiseAnswer says a promise to a person: likely, what is said and how sure
// that is, and what the time goes into.
func PromiseAnswer(p Promise, shop *Shop, now time.Time) string {
	today := shop.Today(now)
	s := fmt.Sprintf("likely %s, say %s (%s).", day(p.Likely(shop), today), day(p.Say, today), shop.Said.Sure())
	return strings.TrimSpace(s + " " + p.HeldText(now))
}

// Sure says how many promises of this certainty are kept.
func (s Said) Sure() string {
	return map[Said]string{SaidEven: "five of ten keep it", SaidLate: "eight of ten keep it", SaidSafe: "nineteen of twenty keep it"}[s.OrUsual()]
}

// Asked is what the queue says of a quote.
type Asked struct {
	Promise Promise
	Trouble string // why nobody knows, and what to change; "" when Promise stands

	// Ahead is, beside Trouble, what waits are still to come on work that is under way:
	// a hold that runs or is served does not count a second time. nil for new work.
	Ahead *templates.Days
}

// Text is the answer in a sentence.
func (a Asked) Text(shop *Shop, now time.Time) string {
	if a.Trouble != "" {
		return "With the queue: nobody knows. " + a.Trouble
	}
	return "With the queue: " + PromiseAnswer(a.Promise, shop, now)
}

// Ask drops a priced quote into the queue; nil without an outlook, or when the
// quote holds nothing to do. What the shelf lacks is read.
func (o *Outlook) Ask(ctx context.Context, q *quote.Quote, shelf quote.Shelf, survey *job.Survey) (*Asked, error) {
	if o == nil {
		return nil, nil
	}
	caseRH := CaseRH(survey)
	if err := o.stock(ctx, &shelf); err != nil {
		return nil, err
	}
	p, ok, err := o.Quote(ctx, q, shelf, caseRH)
	switch {
	case err == nil && ok:
		return &Asked{Promise: p}, nil
	case err == nil:
		return nil, nil
	}
	f, wrong := o.now(ctx)
	if wrong != nil {
		return nil, wrong
	}
	plan := PlanOf(f)
	if route, ok := RouteOfQuote(q, shelf, caseRH, f); ok {
		plan.Jobs = append(plan.Jobs, route)
	}
	if text := f.trouble(plan, err); text != "" {
		return &Asked{Trouble: text, Ahead: daysOfQuote(q, shelf, caseRH, f)}, nil
	}
	return nil, err
}

// stock fills the shelf with the templates in all their editions.
func (o *Outlook) stock(ctx context.Context, shelf *quote.Shelf) (err error) {
	if shelf.Templates == nil {
		shelf.Templates, err = o.read.NewestEditions(ctx)
	}
	if shelf.Older == nil {
		shelf.Older = func(code string, n int) (templates.Template, bool) {
			e, err := o.read.EditionOf(ctx, code, n)
			return e.Template, err == nil
		}
	}
	return err
}

// CaseRH is the humidity in the case at a survey; 0 when it was not measured or
// there is no survey.
func CaseRH(s *job.Survey) decimal.Decimal { return bench{survey: s}.caseRH() }

// OfJob is what the queue says of one agreed job; nil when it says nothing: without
// an outlook, for a job that is not in the queue, or when the queue cannot be played.
func (o *Outlook) OfJob(ctx context.Context, id domain.JobID) (*Promise, error) {
	if o == nil {
		return nil, nil
	}
	all, err := o.Jobs(ctx)
	if k := domain.KindOf(err); k == domain.Invalid || k == domain.Conflict {
		return nil, nil
	}
	p, ok := all[id]
	if err != nil || !ok {
		return nil, err
	}
	return &p, nil
}

// trouble says in a shop's words why a plan cannot be played and what to change;
// "" when err is a fault of another kind.
func (f Facts) trouble(p queue.Plan, err error) string {
	if k := domain.KindOf(err); k != domain.Invalid && k != domain.Conflict {
		return ""
	}
	if len(p.People) == 0 {
		return "Nobody works in the shop: make somebody active under Staff."
	}
	for _, who := range p.People {
		if who.Hours.Minutes() == 0 && p.Hours.Minutes() == 0 {
			return who.Name + " has no hours: give the shop its opening hours in the settings, or " + who.Name + " hours of their own under Staff."
		}
	}
	for _, j := range p.Jobs {
		for _, t := range j.Tasks {
			if text := f.lacking(p, j, t); text != "" {
				return text
			}
		}
	}
	return f.plainly(err)
}

// lacking says what a task needs that the shop does not have.
func (f Facts) lacking(p queue.Plan, j queue.Job, t queue.Task) string {
	has := func(who queue.Person) bool { return slices.Contains(who.Skills, t.Skill) }
	switch {
	case t.Done:
	case t.Kind == queue.Bench && !slices.ContainsFunc(p.People, has):
		return fmt.Sprintf("%s needs %s, and nobody here has it: give it to somebody under Staff, or change the task template.", f.naming(j.ID, t.ID), t.Skill)
	case t.Kind == queue.Hold && !t.Begun && p.Places == 0:
		return fmt.Sprintf("%s needs a place in the cabinet, and there is none: name the places in the settings.", f.naming(j.ID, t.ID))
	}
	return ""
}

// naming names a task of the plan to a person.
func (f Facts) naming(key, task string) string {
	id, _, _ := strings.Cut(task, " ")
	for _, j := range f.Jobs {
		if jobKey(j.ID) != key {
			continue
		}
		if n, err := strconv.ParseInt(id, 10, 64); err == nil {
			if t, err := j.Task(domain.TaskID(n)); err == nil {
				return fmt.Sprintf("“%s” on tag %d", t.Name, j.Tag)
			}
		}
		return fmt.Sprintf("Tag %d", j.Tag)
	}
	return "This quote"
}

// plainly is the error's own text with tags in place of the plan's names.
func (f Facts) plainly(err error) string {
	text := domain.TextOf(err)
	if fields := domain.FieldsOf(err); len(fields) > 0 {
		text = fields[slices.Min(slices.Collect(maps.Keys(fields)))]
	}
	for _, j := range f.Jobs {
		text = strings.ReplaceAll(text, fmt.Sprintf("job %q", jobKey(j.ID)), fmt.Sprintf("tag %d", j.Tag))
	}
	text = strings.ReplaceAll(text, fmt.Sprintf("job %q", quoteKey), "this quote")
	return strings.TrimSuffix(strings.ToUpper(text[:1])+text[1:], ".") + "."
}
