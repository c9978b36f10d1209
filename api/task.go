package api

import (
	"context"
	"net/http"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// taskDoc is one planned piece of work.
type taskDoc struct {
	ID       int64            `json:"id"`
	Template string           `json:"template" doc:"Code"`
	Edition  int              `json:"edition" doc:"Of the template it was quoted with"`
	Name     string           `json:"name"`
	Phase    word[phaseWords] `json:"phase"`
	Quantity int              `json:"quantity"`
	Unit     string           `json:"unit" doc:"Of the quantity; empty for each"`
	Minutes  minutes          `json:"minutes" doc:"As quoted"`
	Clocked  int              `json:"clocked" doc:"Minutes so far"`
	WaitDays days             `json:"wait_days" doc:"As quoted"`
	WaitKind string           `json:"wait_kind" doc:"What follows it; empty for nothing"`
	Skill    int              `json:"skill" doc:"1 counter, 2 junior, 3 bench, 4 senior only"`
	Hold     bool             `json:"hold" doc:"It is the stay in the cabinet"`
	Blocked  string           `json:"blocked" doc:"Why it is not free now; empty when it is, or when it is over"`
	Asks     []ask            `json:"asks" doc:"The quality checks that its template asks for"`
	Done     *time.Time       `json:"done"`
	DoneBy   string           `json:"done_by"`
	Dropped  *time.Time       `json:"dropped"`
	Reason   string           `json:"reason" doc:"Why it was dropped"`
	Glues    bool             `json:"glues" doc:"It joins wood with glue: note how it was made"`
	Made     string           `json:"made" doc:"How the joint was made; empty when nobody noted it"`
}

// ask is a quality check that a template asks for, with what was found.
type ask struct {
	What    string            `json:"what"`
	Unit    string            `json:"unit"`
	AtMost  *string           `json:"at_most" doc:"The limit itself passes"`
	AtLeast *string           `json:"at_least" doc:"The limit itself passes"`
	Method  string            `json:"method" doc:"How it is measured"`
	Result  word[resultWords] `json:"result,omitempty" doc:"The standing result; left out before there is one"`
}

func taskOf(t *job.Task, j *job.Job, asks []templates.Check, now time.Time) taskDoc {
	doc := taskDoc{
		ID: int64(t.ID), Template: t.Template, Edition: t.Edition, Name: t.Name, Phase: word[phaseWords](t.Phase.String()), Quantity: t.Quantity, Unit: t.Unit,
		Minutes: minutesOf(t.Minutes), Clocked: j.Minutes(t.ID, now), WaitDays: daysOf(t.WaitDays), WaitKind: t.WaitKind, Skill: t.Skill, Hold: t.Hold,
		Done: moment(t.Done), DoneBy: t.DoneBy, Dropped: moment(t.Dropped), Reason: t.Reason, Glues: t.Glues(), Made: t.Made,
		Asks: each(asks, func(c templates.Check) ask { return askOf(c, j, t.ID) }),
	}
	if t.Open() {
		doc.Blocked = j.Blocked(t)
	}
	return doc
}

func askOf(c templates.Check, j *job.Job, task domain.TaskID) ask {
	out := ask{What: c.What, Unit: c.Unit, AtMost: limit(c.AtMost), AtLeast: limit(c.AtLeast), Method: c.Method}
	if r, ok := j.Latest(task, c.What); ok {
		out.Result = word[resultWords](r.Result)
	}
	return out
}

func limit(d *decimal.Decimal) *string {
	if d == nil {
		return nil
	}
	text := d.String()
	return &text
}

type clockingDoc struct {
	ID       int64      `json:"id"`
	Task     int64      `json:"task"`
	Staff    int64      `json:"staff"`
	Name     string     `json:"name"`
	Start    time.Time  `json:"start"`
	End      *time.Time `json:"end" doc:"null while the clock runs"`
	Replaces *int64     `json:"replaces" doc:"The slip that this one puts right"`
	Reason   string     `json:"reason" doc:"Of the correction"`
}

func clockingOf(c job.Clocking) clockingDoc {
	return clockingDoc{
		ID: int64(c.ID), Task: int64(c.Task), Staff: int64(c.Staff), Name: c.Name, Start: c.Start.UTC(), End: moment(c.End), Replaces: identity(c.Replaces), Reason: c.Reason,
	}
}

type partUsedDoc struct {
	ID       int64               `json:"id"`
	Task     int64               `json:"task"`
	Part     int64               `json:"part"`
	Code     string              `json:"code"`
	Name     string              `json:"name"`
	Unit     string              `json:"unit"`
	Kind     word[lineKindWords] `json:"kind"`
	Quantity string              `json:"quantity" doc:"Negative when put back"`
	Price    string              `json:"price" doc:"List price of that day, for one unit"`
	At       time.Time           `json:"at"`
	By       string              `json:"by"`
}

func partUsedOf(p job.PartUsed, c money.Currency) partUsedDoc {
	return partUsedDoc{
		ID: p.ID, Task: int64(p.Task), Part: int64(p.Part), Code: p.Code, Name: p.Name, Unit: p.Unit, Kind: word[lineKindWords](p.Kind),
		Quantity: p.Quantity.String(), Price: c.Text(p.Price), At: p.At.UTC(), By: p.By,
	}
}

type checkDoc struct {
	ID     int64             `json:"id"`
	Task   int64             `json:"task"`
	What   string            `json:"what"`
	Result word[resultWords] `json:"result"`
	Value  string            `json:"value" doc:"What was measured, as typed"`
	Note   string            `json:"note"`
	At     time.Time         `json:"at"`
	By     string            `json:"by"`
}

func checkOf(c job.Check) checkDoc {
	return checkDoc{ID: c.ID, Task: int64(c.Task), What: c.What, Result: word[resultWords](c.Result), Value: c.Value, Note: c.Note, At: c.At.UTC(), By: c.By}
}

// OnTask names a task of a job in the path.
type OnTask struct {
	OnJob
	Task int64 `path:"task" minimum:"1" doc:"Identity of the task"`
}

func (o *OnTask) task() domain.TaskID { return domain.TaskID(o.Task) }

type clockOnIn struct {
	OnTask
	Body *clockOnOrder
}

type clockOnOrder struct {
	SwitchOver bool       `json:"switch_over,omitempty" doc:"Stop your clock where it runs now, instead of refusing. One that ran on overnight is refused all the same: tell when it stopped"`
	StoppedAt  *time.Time `json:"stopped_at,omitempty" doc:"When your clock elsewhere truly stopped; the longer stretch stays on record"`
	StoppedWhy string     `json:"stopped_why,omitempty" maxLength:"200" doc:"Why it ran on; needed with stopped_at"`
}

type dropIn struct {
	OnTask
	Body dropOrder
}

type dropOrder struct {
	Reason string `json:"reason"`
}

type checkIn struct {
	OnTask
	Body checkNote
}

type checkNote struct {
	What   string            `json:"what" doc:"As the task's asks word it"`
	Result word[resultWords] `json:"result"`
	Value  string            `json:"value,omitempty" doc:"What was measured, as typed"`
	Note   string            `json:"note,omitempty" doc:"Needed unless it passed or does not apply"`
}

type madeIn struct {
	OnTask
	Body madeNote
}

type madeNote struct {
	Made string `json:"made" maxLength:"120" doc:"In free words, such as hot hide glue; empty takes it back"`
}

type usePartIn struct {
	OnTask
	Body usePartNote
}

type usePartNote struct {
	Part     int64  `json:"part" minimum:"1" doc:"Identity of the part"`
	Quantity string `json:"quantity" doc:"More than 0, at most three decimals"`
}

type putBackIn struct {
	OnJob
	Row int64 `path:"row" minimum:"1" doc:"Identity of the row among the parts used"`
}

type correctIn struct {
	OnJob
	Clocking int64 `path:"clocking" minimum:"1" doc:"Identity of the clocking"`
	Body     correction
}

type correction struct {
	Start  time.Time `json:"start"`
	End    time.Time `json:"end" doc:"After the start, within 24 hours, not in the future"`
	Reason string    `json:"reason"`
}

func (a *API) taskRoutes() {
	const task = "/jobs/{job}/tasks/{task}"
	o := operation{noun: "tasks", act: workshop.ActRead, method: http.MethodGet, path: task, id: "get_task", summary: "One task of a job"}
	add(a, o, a.task)
	o = operation{noun: "tasks", act: workshop.ActClock}
	o.path, o.id, o.summary = task+"/clock-on", "clock_on", "Start your clock on a task"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *clockOnIn) error {
		if in.Body != nil && in.Body.StoppedAt != nil {
			return a.work.ClockOnAfter(ctx, by, id, in.task(), workshop.Stopped{At: *in.Body.StoppedAt, Reason: in.Body.StoppedWhy})
		}
		return a.work.ClockOn(ctx, by, id, in.task(), in.Body != nil && in.Body.SwitchOver)
	})
	o.path, o.id, o.summary = task+"/clock-off", "clock_off", "Stop your clock on a task"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *OnTask) error {
		return a.work.ClockOff(ctx, by, id, in.task())
	})
	o.act, o.path, o.id, o.summary = workshop.ActCorrect, "/jobs/{job}/clockings/{clocking}/corrections", "correct_clocking", "Put a clocking right; the old one stays on record"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *correctIn) error {
		return a.work.CorrectClocking(ctx, by, id, domain.ClockingID(in.Clocking), in.Body.Start, in.Body.End, in.Body.Reason)
	})
	a.taskEndRoutes(task)
	a.taskNoteRoutes(task)
}

func (a *API) taskEndRoutes(task string) {
	o := operation{noun: "tasks", act: workshop.ActTask}
	o.path, o.id, o.summary = task+"/finish", "finish_task", "Mark a task as done; it stops your clock and ends its wait"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *OnTask) error {
		return a.work.Finish(ctx, by, id, in.task())
	})
	o.path, o.id, o.summary = task+"/reopen", "reopen_task", "Take a finished task up again"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *OnTask) error {
		return a.work.Reopen(ctx, by, id, in.task())
	})
	o.path, o.id, o.summary = task+"/drop", "drop_task", "Take a task that was not begun out of the job"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *dropIn) error {
		return a.work.Drop(ctx, by, id, in.task(), in.Body.Reason)
	})
}

func (a *API) taskNoteRoutes(task string) {
	o := operation{noun: "tasks", act: workshop.ActCheck}
	o.path, o.id, o.summary = task+"/checks", "note_check", "Note the result of a quality check"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *checkIn) error {
		b := in.Body
		return a.work.NoteCheck(ctx, by, id, job.Check{Task: in.task(), What: b.What, Result: job.Result(b.Result), Value: b.Value, Note: b.Note})
	})
	o.act, o.path, o.id, o.summary = workshop.ActMade, task+"/made", "note_made", "Note how the joint of a task was made: glue, cleats, splint"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *madeIn) error {
		return a.work.NoteMade(ctx, by, id, in.task(), in.Body.Made)
	})
	o.act, o.path, o.id, o.summary = workshop.ActPartUsed, task+"/parts", "use_part", "Note a part used on a task, at today's prices"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *usePartIn) error {
		f := domain.Fields{}
		n := decimalIn(f, "quantity", in.Body.Quantity)
		if err := f.Err(); err != nil {
			return err
		}
		return a.work.UsePart(ctx, by, id, in.task(), domain.PartID(in.Body.Part), n)
	})
	o.path, o.id, o.summary = "/jobs/{job}/parts/{row}/put-back", "put_part_back", "Take a used part back: a second row with its quantity negative"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *putBackIn) error {
		return a.work.PutBack(ctx, by, id, in.Row)
	})
}

func (a *API) task(ctx context.Context, in *OnTask) (*one[taskDoc], error) {
	j, err := a.read.JobByID(ctx, in.job())
	if err != nil {
		return nil, err
	}
	t, err := j.Task(in.task())
	if err != nil {
		return nil, err
	}
	e, err := a.read.EditionOf(ctx, t.Template, t.Edition)
	if err != nil {
		return nil, err
	}
	return answer(ctx, j.Version, taskOf(t, j, e.Checks, a.work.Now()))
}
