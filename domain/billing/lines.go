package billing

import (
	"fmt"
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
	used := usedParts(j)
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
		line := Line{Kind: l.Kind, Name: l.Name, Count: l.Count, Unit: l.Unit, Price: l.Price, Off: l.Off}
		if u := used[l.Part]; q.Basis == quote.Estimate && l.Part != "" {
			if u == nil || u.quantity.Sign() <= 0 {
				continue
			}
			line.Count = u.quantity
			u.quantity = decimal.Zero
		}
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
	line := Line{Kind: l.Kind, Name: l.Name, Task: t.ID, Count: l.Count, Price: l.Price, Off: l.Off}
	if l.Unit != "" {
		line.Detail = fmt.Sprintf("%d %s", l.Quantity, l.Unit)
	}
	if q.Basis == quote.Estimate && l.ByTime && !l.Typed {
		line.Minutes = minutes[t.ID]
		line.Price = quote.TimePrice(q.HourlyRate, line.Minutes, q.Currency, q.Rounding.Mode)
		line.Detail = strings.TrimPrefix(line.Detail+fmt.Sprintf(", %d min", line.Minutes), ", ")
	}
	return line, true
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

type used struct {
	job.PartUsed
	quantity decimal.Decimal
}

// usedParts sums the billable parts used on the job, by code.
func usedParts(j *job.Job) map[string]*used {
	out := map[string]*used{}
	for _, p := range j.Parts {
		if p.Kind == money.ShopSupplies {
			continue
		}
		if out[p.Code] == nil {
			out[p.Code] = &used{PartUsed: p}
		}
		out[p.Code].quantity = out[p.Code].quantity.Add(p.Quantity)
	}
	return out
}

// extraParts bills parts that were used and stand on no agreed line.
func extraParts(j *job.Job, q *quote.Quote, parts map[string]*used) []Line {
	var out []Line
	for _, p := range j.Parts { // in the order of use
		u := parts[p.Code]
		if u == nil || u.quantity.Sign() <= 0 {
			continue
		}
		out = append(out, Line{Kind: u.Kind, Name: u.Name, Task: u.Task, Count: u.quantity, Unit: u.Unit, Price: q.Currency.Decimal(u.Price)})
		u.quantity = decimal.Zero
	}
	return out
}
