package store

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/templates"
)

// markRow is a row of condition_marks.
type markRow struct {
	ID      int64
	JobID   int64
	What    string
	Place   string
	Note    string
	NotedAt moment
	NotedBy string
}

func (markRow) TableName() string { return "condition_marks" }
func (r *markRow) key() *int64    { return &r.ID }

func rowOfMark(id domain.JobID, m job.Mark) markRow {
	return markRow{ID: m.ID, JobID: int64(id), What: m.What, Place: m.Place, Note: m.Note, NotedAt: at(m.At), NotedBy: m.By}
}

func (r *markRow) mark() job.Mark {
	return job.Mark{ID: r.ID, What: r.What, Place: r.Place, Note: r.Note, At: r.NotedAt.Time, By: r.NotedBy}
}

// taskRow is a row of tasks.
type taskRow struct {
	ID             int64
	JobID          int64
	LineID         *int64
	Template       string
	Edition        int
	Name           string
	Phase          int
	Quantity       int
	Unit           string
	MinutesLow     int
	MinutesTypical int
	MinutesHigh    int
	DaysLow        string
	DaysTypical    string
	DaysHigh       string
	WaitKind       string
	Skill          int
	Hold           bool
	Dry            bool
	DoneAt         *moment
	DoneBy         string
	DroppedAt      *moment
	Reason         string
	Made           string
}

func (taskRow) TableName() string { return "tasks" }
func (r *taskRow) key() *int64    { return &r.ID }

func rowOfTask(id domain.JobID, t job.Task) taskRow {
	return taskRow{
		ID: int64(t.ID), JobID: int64(id), LineID: idOrNull(t.Line), Template: t.Template, Edition: t.Edition, Name: t.Name,
		Phase: int(t.Phase), Quantity: t.Quantity, Unit: t.Unit,
		MinutesLow: t.Minutes.Low, MinutesTypical: t.Minutes.Typical, MinutesHigh: t.Minutes.High,
		DaysLow: t.WaitDays.Low.String(), DaysTypical: t.WaitDays.Typical.String(), DaysHigh: t.WaitDays.High.String(),
		WaitKind: t.WaitKind, Skill: t.Skill, Hold: t.Hold, Dry: t.Dry,
		DoneAt: atOrNull(t.Done), DoneBy: t.DoneBy, DroppedAt: atOrNull(t.Dropped), Reason: t.Reason, Made: t.Made,
	}
}

func (r *taskRow) task() (job.Task, error) {
	days, err := daysOf(r.DaysLow, r.DaysTypical, r.DaysHigh)
	return job.Task{
		ID: domain.TaskID(r.ID), Line: orZero[domain.LineID](r.LineID), Template: r.Template, Edition: r.Edition, Name: r.Name,
		Phase: templates.Phase(r.Phase), Quantity: r.Quantity, Unit: r.Unit,
		Minutes:  templates.Range{Low: r.MinutesLow, Typical: r.MinutesTypical, High: r.MinutesHigh},
		WaitDays: days, WaitKind: r.WaitKind, Skill: r.Skill, Hold: r.Hold, Dry: r.Dry,
		Done: r.DoneAt.orZero(), DoneBy: r.DoneBy, Dropped: r.DroppedAt.orZero(), Reason: r.Reason, Made: r.Made,
	}, err
}

func daysOf(low, typical, high string) (days templates.Days, err error) {
	for _, d := range []struct {
		to     *decimal.Decimal
		digits string
	}{{&days.Low, low}, {&days.Typical, typical}, {&days.High, high}} {
		if *d.to, err = readDecimal(d.digits); err != nil {
			return days, err
		}
	}
	return days, nil
}

// waitRow is a row of waits.
type waitRow struct {
	ID        int64
	JobID     int64
	TaskID    *int64
	Kind      string
	StartedAt moment
	UntilAt   *moment
	EndedAt   *moment
	Note      string
	StartedBy string
}

func (waitRow) TableName() string { return "waits" }
func (r *waitRow) key() *int64    { return &r.ID }

func rowOfWait(id domain.JobID, w job.Wait) waitRow {
	return waitRow{
		ID: int64(w.ID), JobID: int64(id), TaskID: idOrNull(w.Task), Kind: w.Kind, StartedAt: at(w.Start),
		UntilAt: atOrNull(w.Until), EndedAt: atOrNull(w.End), Note: w.Note, StartedBy: w.By,
	}
}

func (r *waitRow) wait() job.Wait {
	return job.Wait{
		ID: domain.WaitID(r.ID), Task: orZero[domain.TaskID](r.TaskID), Kind: r.Kind, Start: r.StartedAt.Time,
		Until: r.UntilAt.orZero(), End: r.EndedAt.orZero(), Note: r.Note, By: r.StartedBy,
	}
}

// clockingRow is a row of clockings.
type clockingRow struct {
	ID        int64
	JobID     int64
	TaskID    int64
	StaffID   int64
	Name      string
	StartedAt moment
	EndedAt   *moment
	Replaces  *int64
	Reason    string
}

func (clockingRow) TableName() string { return "clockings" }
func (r *clockingRow) key() *int64    { return &r.ID }

func rowOfClocking(id domain.JobID, c job.Clocking) clockingRow {
	return clockingRow{
		ID: int64(c.ID), JobID: int64(id), TaskID: int64(c.Task), StaffID: int64(c.Staff), Name: c.Name,
		StartedAt: at(c.Start), EndedAt: atOrNull(c.End), Replaces: idOrNull(c.Replaces), Reason: c.Reason,
	}
}

func (r *clockingRow) clocking() job.Clocking {
	return job.Clocking{
		ID: domain.ClockingID(r.ID), Task: domain.TaskID(r.TaskID), Staff: domain.StaffID(r.StaffID), Name: r.Name,
		Start: r.StartedAt.Time, End: r.EndedAt.orZero(), Replaces: orZero[domain.ClockingID](r.Replaces), Reason: r.Reason,
	}
}

// partUsedRow is a row of parts_used.
type partUsedRow struct {
	ID       int64
	JobID    int64
	TaskID   int64
	PartID   int64
	Code     string
	Name     string
	Unit     string
	Kind     string
	Quantity int64 // thousandths of the unit
	Price    int64
	Cost     int64
	NotedAt  moment
	NotedBy  string
	MoveID   *int64
	Value    *int64
}

func (partUsedRow) TableName() string { return "parts_used" }
func (r *partUsedRow) key() *int64    { return &r.ID }

func rowOfPartUsed(id domain.JobID, p job.PartUsed) partUsedRow {
	row := partUsedRow{
		ID: p.ID, JobID: int64(id), TaskID: int64(p.Task), PartID: int64(p.Part), Code: p.Code, Name: p.Name, Unit: p.Unit,
		Kind: string(p.Kind), Quantity: p.Quantity.Shift(3).IntPart(), Price: int64(p.Price), Cost: int64(p.Cost),
		NotedAt: at(p.At), NotedBy: p.By, MoveID: idOrNull(p.Move),
	}
	if p.Move != 0 {
		value := int64(p.Value)
		row.Value = &value
	}
	return row
}

// wholeThousandths returns an error when a quantity would lose digits, or does
// not fit, as thousandths of the unit.
func wholeThousandths(parts []job.PartUsed) error {
	for _, p := range parts {
		if d := p.Quantity.Shift(3); !d.IsInteger() || !d.BigInt().IsInt64() {
			return fmt.Errorf("part %s: the quantity is %s, stock is kept in whole thousandths", p.Code, p.Quantity)
		}
	}
	return nil
}

func (r *partUsedRow) partUsed() job.PartUsed {
	return job.PartUsed{
		ID: r.ID, Task: domain.TaskID(r.TaskID), Part: domain.PartID(r.PartID), Code: r.Code, Name: r.Name, Unit: r.Unit,
		Kind: money.LineKind(r.Kind), Quantity: decimal.New(r.Quantity, -3), Price: money.Amount(r.Price), Cost: money.Amount(r.Cost),
		Move: orZero[int64](r.MoveID), Value: orZero[money.Amount](r.Value), At: r.NotedAt.Time, By: r.NotedBy,
	}
}

// checkRow is a row of checks.
type checkRow struct {
	ID      int64
	JobID   int64
	TaskID  int64
	What    string
	Result  string
	Value   string
	Note    string
	NotedAt moment
	NotedBy string
}

func (checkRow) TableName() string { return "checks" }
func (r *checkRow) key() *int64    { return &r.ID }

func rowOfCheck(id domain.JobID, c job.Check) checkRow {
	return checkRow{
		ID: c.ID, JobID: int64(id), TaskID: int64(c.Task), What: c.What, Result: string(c.Result), Value: c.Value, Note: c.Note,
		NotedAt: at(c.At), NotedBy: c.By,
	}
}

func (r *checkRow) check() job.Check {
	return job.Check{
		ID: r.ID, Task: domain.TaskID(r.TaskID), What: r.What, Result: job.Result(r.Result), Value: r.Value, Note: r.Note,
		At: r.NotedAt.Time, By: r.NotedBy,
	}
}

// contactRow is a row of contacts.
type contactRow struct {
	ID      int64
	JobID   int64
	About   string
	Result  string
	Note    string
	NotedAt moment
	NotedBy string
}

func (contactRow) TableName() string { return "contacts" }
func (r *contactRow) key() *int64    { return &r.ID }

func rowOfContact(id domain.JobID, c job.Contact) contactRow {
	return contactRow{ID: c.ID, JobID: int64(id), About: c.About, Result: c.Result, Note: c.Note, NotedAt: at(c.At), NotedBy: c.By}
}

func (r *contactRow) contact() job.Contact {
	return job.Contact{ID: r.ID, About: r.About, Result: r.Result, Note: r.Note, At: r.NotedAt.Time, By: r.NotedBy}
}
