package quote

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
)

// Plan brings the job's tasks in line with an answered quote. Agreed task lines
// without a task become tasks; those with one bring its quantity and figures up
// to date; tasks whose line is no longer agreed and on which nothing was begun
// are dropped. It returns, for each new task, the index of its line, in the
// order of j.Tasks' new entries.
func Plan(j *job.Job, q *Quote, shelf Shelf, caseRH decimal.Decimal, at time.Time) ([]int, error) {
	var fresh []int
	kept := map[domain.TaskID]bool{}
	for i := range q.Lines {
		l := &q.Lines[i]
		if l.Template == "" || !l.Agreed {
			continue
		}
		t, ok := shelf.Find(l.Template, l.Edition)
		if !ok {
			return nil, domain.NotFoundf("template %s in version %d is missing", l.Template, l.Edition)
		}
		task, err := job.NewTask(itemOf(t, l.Quantity, caseRH), l.Edition, l.ID)
		if err != nil {
			return nil, err
		}
		if l.Task == 0 {
			j.Tasks, fresh = append(j.Tasks, task), append(fresh, i)
			continue
		}
		old, err := j.Task(l.Task)
		if err != nil {
			return nil, err
		}
		kept[l.Task] = true
		task.ID, task.Done, task.DoneBy, task.Made = old.ID, old.Done, old.DoneBy, old.Made
		*old = task
	}
	for i := range j.Tasks {
		if t := &j.Tasks[i]; t.ID != 0 && t.Open() && !kept[t.ID] {
			_ = j.Drop(t.ID, "not agreed", at) // a begun task stays and must be finished
		}
	}
	return fresh, nil
}

// Rows turns a quote back into the rows of a new sheet: for a new version when
// more was found. What was agreed is marked; tasks go on.
func (q *Quote) Rows() []Row {
	rows := make([]Row, len(q.Lines))
	for i, l := range q.Lines {
		r := Row{
			Task: l.Template, Edition: l.Edition, Part: l.Part, For: l.For, Kind: l.Kind, OffWhy: l.ownWhy(), Because: l.Because,
			Comeback: l.Comeback(), Was: l.Task, Agreed: l.Agreed, Quantity: l.Count.String(),
		}
		if l.Template != "" {
			r.Quantity = decimal.NewFromInt(int64(l.Quantity)).String()
		} else {
			r.Name = l.Name
		}
		if l.Off.Sign() > 0 && !(r.Comeback && r.OffWhy == "") { // a share is worked out anew
			r.Off = l.Off.String()
		}
		if l.Typed || (l.Template == "" && l.Part == "") {
			r.Price = l.Price.StringFixed(int32(q.Currency.Digits))
		}
		rows[i] = r
	}
	return rows
}
