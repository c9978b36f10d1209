package api

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// waitDoc is a stretch in which nobody works because something must happen first.
type waitDoc struct {
	ID    int64           `json:"id"`
	Task  *int64          `json:"task" doc:"null: the whole job waits"`
	Kind  word[waitWords] `json:"kind"`
	Start time.Time       `json:"start"`
	Until *time.Time      `json:"until" doc:"Expected end; null when nobody knows"`
	End   *time.Time      `json:"end"`
	Note  string          `json:"note"`
	By    string          `json:"by"`
}

func waitOf(w job.Wait) waitDoc {
	return waitDoc{ID: int64(w.ID), Task: identity(w.Task), Kind: word[waitWords](w.Kind), Start: w.Start.UTC(), Until: moment(w.Until), End: moment(w.End), Note: w.Note, By: w.By}
}

type waitNote struct {
	Kind  word[waitWords] `json:"kind"`
	Until *time.Time      `json:"until,omitempty" doc:"Expected end; left out when nobody knows"`
	Note  string          `json:"note,omitempty"`
}

func (n waitNote) until() time.Time {
	if n.Until == nil {
		return time.Time{}
	}
	return *n.Until
}

type jobWaitIn struct {
	OnJob
	Body waitNote
}

type taskWaitIn struct {
	OnTask
	Body waitNote
}

type endWaitIn struct {
	OnJob
	Wait int64 `path:"wait" minimum:"1" doc:"Identity of the wait"`
}

func (a *API) waitRoutes() {
	o := operation{noun: "waits", act: workshop.ActWait}
	o.path, o.id, o.summary = "/jobs/{job}/waits", "start_job_wait", "Note that the whole job waits"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *jobWaitIn) error {
		return a.work.StartWait(ctx, by, id, 0, string(in.Body.Kind), in.Body.until(), in.Body.Note)
	})
	o.path, o.id, o.summary = "/jobs/{job}/tasks/{task}/waits", "start_task_wait", "Note that a task waits; it stops your clock on it"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *taskWaitIn) error {
		return a.work.StartWait(ctx, by, id, in.task(), string(in.Body.Kind), in.Body.until(), in.Body.Note)
	})
	o.path, o.id, o.summary = "/jobs/{job}/waits/{wait}/end", "end_wait", "End a wait"
	change(a, o, func(ctx context.Context, by domain.Actor, id domain.JobID, in *endWaitIn) error {
		return a.work.EndWait(ctx, by, id, domain.WaitID(in.Wait))
	})
}
