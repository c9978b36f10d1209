package billing

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// linesOf lists what is billed for the agreed lines of q.
func linesOf(j *job.Job, q *quote.Quote, quarterUp int) ([]Line, error) {
	minutes, err := billedMinutes(j, q, quarterUp)
	if err != nil {
		return nil, err
	}
	used := usedParts(j, q)
	var out []Line
	for _, l := range q.Lines {
		if !l.Agreed || l.Free {
			continue
		}
		if l.Template != "" {
			if line, ok := taskLine(j, q, l, minutes); ok {
				out = append(out, line)
			}
			continue
		}
		if l.For != "" && !taskDone(j, q, l.For) {
			continue
		}
		line := Line{Kind: l.Kind, Name: l.Name, Count: l.Count, Unit: l.Unit, Price: l.Price, Off: l.OffNow(j.Comeback)}
		if q.Basis == quote.Estimate && l.Part != "" {
			u := used.of(l.Part, l.Comeback())
			if u == nil {
				continue
			}
			line.Count = u.quantity
			u.quantity = decimal.Zero
		}
		line.Detail = partDetail(line, l.ComebackNow(j.Comeback))
		out = append(out, line)
	}
	if q.Basis == quote.Estimate {
		out = append(out, extraParts(j, q, used)...)
	}
	return out, nil
}

// billedMinutes gives the minutes to bill for each task billed by time: what
// the clock says, with the whole rounded up once and shared out again. An open
// task is a conflict.
func billedMinutes(j *job.Job, q *quote.Quote, quarterUp int) (map[domain.TaskID]int, error) {
	var tasks []domain.TaskID
	var weights []int64
	total := 0
	for _, l := range q.Lines {
		if l.Template == "" || !l.Agreed {
			continue
		}
		t, err := j.Task(l.Task)
		if err != nil {
			return nil, err
		}
		if t.Open() && t.Phase != templates.PhaseFollowUp {
			return nil, domain.Conflictf("%s is not finished; finish or drop it before billing", t.Name)
		}
		if q.Basis != quote.Estimate || !l.ByTime || l.Typed || l.Free || t.Done.IsZero() {
			continue
		}
		m := j.Minutes(t.ID, t.Done)
		tasks, weights, total = append(tasks, t.ID), append(weights, int64(m)), total+m
	}
	out := map[domain.TaskID]int{}
	if total == 0 {
		return out, nil
	}
	if quarterUp > 1 {
		total = (total + quarterUp - 1) / quarterUp * quarterUp
	}
	shares, err := money.Allocate(money.Amount(total), weights)
	if err != nil {
		return nil, err
	}
	for i, id := range tasks {
		out[id] = int(shares[i])
	}
	return out, nil
}

func taskLine(j *job.Job, q *quote.Quote, l quote.Line, minutes map[domain.TaskID]int) (Line, bool) {
	t, err := j.Task(l.Task)
	if err != nil || t.Done.IsZero() {
		return Line{}, false
	}
	line := Line{Kind: l.Kind, Name: l.Name, Task: t.ID, Count: l.Count, Price: l.Price, Off: l.OffNow(j.Comeback)}
	if l.Unit != "" {
		line.Detail = fmt.Sprintf("%d %s", l.Quantity, domain.UnitFor(l.Quantity, l.Unit))
	}
	if q.Basis == quote.Estimate && l.ByTime && !l.Typed {
		line.Minutes = minutes[t.ID]
		line.Price = quote.TimePrice(q.HourlyRate, line.Minutes, q.Currency, q.Rounding.Mode)
		line.Detail = strings.TrimPrefix(line.Detail+fmt.Sprintf(", %d min", line.Minutes), ", ")
	}
	if why := l.ComebackNow(j.Comeback); why != "" {
		line.Detail = strings.TrimPrefix(line.Detail+"; "+why, "; ")
	}
	return line, true
}

// partDetail says how much of a part was used and why it costs less; "" when
// nothing needs saying beside its count and unit.
func partDetail(l Line, why string) string {
	if why == "" {
		return ""
	}
	return strings.TrimSpace(l.Count.String()+" "+strings.TrimSuffix(l.Unit, "each")) + "; " + why
}

// taskDone reports whether the task of template code on q is done.
func taskDone(j *job.Job, q *quote.Quote, code string) bool {
	for _, l := range q.Lines {
		if l.Template != code {
			continue
		}
		t, err := j.Task(l.Task)
		return err == nil && !t.Done.IsZero()
	}
	return true
}

// used sums one part over the tasks of the job that belong to a comeback, or
// over the others.
type used struct {
	job.PartUsed
	comeback bool
	quantity decimal.Decimal
}

// usage holds the billable parts used on the job, in the order of use.
type usage []*used

// of is what was used of a part and not billed yet, nil for nothing. A part
// quoted for a comeback is one that was used on it, if any was.
func (all usage) of(code string, comeback bool) *used {
	var other *used
	for _, u := range all {
		switch {
		case u.Code != code || u.quantity.Sign() <= 0:
		case u.comeback == comeback:
			return u
		default:
			other = u
		}
	}
	return other
}

// usedParts sums the billable parts used on the job.
func usedParts(j *job.Job, q *quote.Quote) usage {
	back := map[domain.TaskID]bool{}
	for _, l := range q.Lines {
		back[l.Task] = l.Template != "" && l.Comeback()
	}
	var out usage
	for _, p := range j.Parts {
		if p.Kind == money.ShopSupplies {
			continue
		}
		i := slices.IndexFunc(out, func(u *used) bool { return u.Code == p.Code && u.comeback == back[p.Task] })
		if i < 0 {
			i, out = len(out), append(out, &used{PartUsed: p, comeback: back[p.Task]})
		}
		out[i].quantity = out[i].quantity.Add(p.Quantity)
	}
	return out
}

// extraParts bills parts that were used and stand on no agreed line. Those used
// on a comeback have its share.
func extraParts(j *job.Job, q *quote.Quote, parts usage) []Line {
	var out []Line
	for _, u := range parts {
		if u.quantity.Sign() <= 0 {
			continue
		}
		l := quote.Line{Kind: u.Kind}
		if u.comeback && j.Comeback != nil {
			quote.Split(j.Comeback.Share, &l)
		}
		line := Line{Kind: u.Kind, Name: u.Name, Task: u.Task, Count: u.quantity, Unit: u.Unit, Price: q.Currency.Decimal(u.Price), Off: l.Off}
		line.Detail = partDetail(line, l.ComebackNow(j.Comeback))
		out = append(out, line)
		u.quantity = decimal.Zero
	}
	return out
}
