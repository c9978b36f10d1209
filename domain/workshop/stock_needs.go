package workshop

import (
	"context"
	"slices"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// need is what an agreed quote needs of a part of which stock is kept.
type need struct {
	part *stock.Part
	line domain.LineID
	task domain.TaskID
	open stock.Quantity
}

// needs adds up what an agreed quote still needs of the shelf.
type needs struct {
	parts  []stock.Part
	used   map[domain.PartID]stock.Quantity // by the job, of which no need was met yet
	usedBy map[partOfTask]stock.Quantity
	billed map[partFor]stock.Quantity // by part lines, of which no task's need was met yet
	out    []need
}

type partOfTask struct {
	part domain.PartID
	task domain.TaskID
}

// partFor is a part with the template of the task that it is billed for, "" for none.
type partFor struct {
	part     domain.PartID
	template string
}

// needsOf lists what the agreed lines of a quote still need: first the parts that they
// bill, then what their tasks use up by their templates.
func needsOf(ctx context.Context, tx Tx, j *job.Job, q *quote.Quote, shelf quote.Shelf) ([]need, error) {
	all, err := tx.Parts(ctx)
	if err != nil {
		return nil, err
	}
	n := needs{parts: all, used: map[domain.PartID]stock.Quantity{}, usedBy: map[partOfTask]stock.Quantity{}, billed: map[partFor]stock.Quantity{}}
	for _, p := range j.Parts {
		took := stock.Quantity(p.Quantity.Shift(3).IntPart())
		n.used[p.Part] += took
		n.usedBy[partOfTask{p.Part, p.Task}] += took
	}
	for i := range q.Lines {
		if l := &q.Lines[i]; l.Agreed && l.Template == "" {
			if err := n.bill(j, q, l); err != nil {
				return nil, err
			}
		}
	}
	for i := range q.Lines {
		if l := &q.Lines[i]; l.Agreed && l.Template != "" {
			n.useUp(j, l, shelf)
		}
	}
	return n.out, nil
}

// kept finds the part of which stock is kept by its code, nil for none.
func (n *needs) kept(code string) *stock.Part {
	at := slices.IndexFunc(n.parts, func(p stock.Part) bool { return p.Code == code && code != "" })
	if at < 0 || !n.parts[at].Kept {
		return nil
	}
	return &n.parts[at]
}

// bill adds what a part line bills.
func (n *needs) bill(j *job.Job, q *quote.Quote, l *quote.Line) error {
	p := n.kept(l.Part)
	if p == nil {
		return nil
	}
	asked, err := stock.QuantityOf(l.Count)
	if err != nil {
		return err
	}
	n.billed[partFor{p.ID, l.For}] += asked
	n.add(need{part: p, line: l.ID, task: taskOfLine(j, q, l), open: asked}, n.used[p.ID])
	return nil
}

// useUp adds what the task of a line uses up by its template: glue, cleats and other
// supplies, for the task's quantity, less what a part line bills of it for the task or
// for no task. What the template bills is left to the part lines alone: one that was
// struck or refused means that the instrument gets none.
//
// Nothing is reserved of a material without a code, which the template leaves open, of
// a part that is retired or of which no stock is kept, nor of one whose shelf counts
// another unit than the template: no quantity is guessed.
func (n *needs) useUp(j *job.Job, l *quote.Line, shelf quote.Shelf) {
	task, err := j.Task(l.Task)
	t, ok := shelf.Find(l.Template, l.Edition)
	if err != nil || !task.Open() || !ok {
		return
	}
	for _, m := range t.MaterialsFor(max(l.Quantity, 1)) {
		p := n.kept(m.Part)
		if m.Billed || p == nil || p.Retired || p.Unit != m.Unit {
			continue
		}
		asked, err := stock.QuantityOf(m.Quantity)
		if err != nil {
			continue // less than a thousandth, or more than any shelf holds
		}
		asked -= n.cover(p.ID, l.Template, asked)
		n.add(need{part: p, line: l.ID, task: task.ID, open: asked}, n.usedBy[partOfTask{p.ID, task.ID}])
	}
}

// cover takes up to a quantity off what part lines bill for a task or for none.
func (n *needs) cover(part domain.PartID, template string, want stock.Quantity) (got stock.Quantity) {
	for _, of := range []string{template, ""} {
		took := min(n.billed[partFor{part, of}], want-got)
		n.billed[partFor{part, of}] -= took
		got += took
	}
	return got
}

// add adds a need, less what was used for it, of which most is the limit.
func (n *needs) add(x need, most stock.Quantity) {
	met := max(0, min(x.open, most, n.used[x.part.ID]))
	n.used[x.part.ID] -= met
	if x.open -= met; x.open > 0 {
		n.out = append(n.out, x)
	}
}

// taskOfLine is the task that a part line belongs to, 0 for none.
func taskOfLine(j *job.Job, q *quote.Quote, l *quote.Line) domain.TaskID {
	for i := range q.Lines {
		if o := &q.Lines[i]; l.For != "" && o.Template == l.For && o.Task != 0 {
			return o.Task
		}
	}
	for _, t := range j.Tasks {
		if l.For != "" && t.Template == l.For && t.Open() {
			return t.ID
		}
	}
	return 0
}
