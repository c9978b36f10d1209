package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// ids reads the job and task of the path.
func ids(c *gin.Context) (domain.JobID, domain.TaskID) {
	return domain.JobID(number(c, "job")), domain.TaskID(number(c, "task"))
}

// doneTask ends an action on a task: back to the page with a message, the page
// again with what is wrong, or the error page.
func (s *Server) doneTask(c *gin.Context, err error, which, text string) {
	id, task := ids(c)
	var left *workshop.ForgottenError
	switch {
	case errors.As(err, &left):
		s.say(c, left.Error())
		Go(c, forgottenPath(left.Forgotten, left.Zone))
	case domain.KindOf(err) == domain.Invalid, domain.KindOf(err) == domain.Conflict && len(domain.FieldsOf(err)) > 0:
		s.showTask(c, http.StatusUnprocessableEntity, fieldErrors(err), which)
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, text)
		Go(c, taskPath(id, task))
	}
}

func (s *Server) clock(c *gin.Context) {
	id, task := ids(c)
	if form(c, "do") == "stop" {
		s.doneTask(c, s.Work.ClockOff(keyed(c), actor(c), id, task), "", "Your clock is stopped.")
		return
	}
	if form(c, "forgot") == "yes" {
		s.clockAfter(c, id, task)
		return
	}
	err := s.Work.ClockOn(keyed(c), actor(c), id, task, form(c, "over") == "yes")
	var left *workshop.ForgottenError
	if errors.As(err, &left) {
		s.askEnd(c, http.StatusConflict, &left.Forgotten, nil)
		return
	}
	if domain.KindOf(err) == domain.Conflict && form(c, "over") != "yes" {
		if other := s.runningElsewhere(c, task); other != nil {
			s.offerSwitch(c, id, task, other)
			return
		}
	}
	s.doneTask(c, err, "", "Your clock runs.")
}

// clockAfter starts the clock here once the person said when the one elsewhere stopped.
func (s *Server) clockAfter(c *gin.Context, id domain.JobID, task domain.TaskID) {
	f := domain.Fields{}
	end, err := s.moment(form(c, "end"))
	f.AddErr("end", err)
	if err == nil && end.IsZero() {
		f.Add("end", "is needed: when did the clock stop?")
	}
	if err = f.Err(); err == nil {
		err = s.Work.ClockOnAfter(keyed(c), actor(c), id, task, workshop.Stopped{At: end, Reason: form(c, "reason")})
	}
	if domain.KindOf(err) == domain.Invalid {
		if left := s.forgottenOf(c); left != nil {
			s.askEnd(c, http.StatusUnprocessableEntity, left, fieldErrors(err))
			return
		}
	}
	s.doneTask(c, err, "", "Put right; your clock runs here now.")
}

// forgottenOf is the reader's own clock that ran on, nil for none.
func (s *Server) forgottenOf(c *gin.Context) *workshop.Forgotten {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		return nil
	}
	clocks, err := s.Read.RunningClocks(ctx)
	if err != nil {
		return nil
	}
	staff, err := s.Read.StaffList(ctx)
	if err != nil {
		return nil
	}
	for _, f := range workshop.ForgottenClocks(clocks, staff, shop, s.now()) {
		if f.Staff == actor(c).Staff {
			return &f
		}
	}
	return nil
}

// askEnd asks when a clock that ran on overnight truly stopped, with what was typed.
func (s *Server) askEnd(c *gin.Context, status int, left *workshop.Forgotten, errs domain.Fields) {
	id, task := ids(c)
	p := &SwitchPage{Page: s.frame(c, "Your clock ran on", domain.Bench), Action: taskPath(id, task) + "/clock", Back: taskPath(left.Job, left.Task), Forgot: true}
	p.Errors = errs
	p.Other = fmt.Sprintf("%s, tag %d", left.What, left.Tag)
	p.Answer = left.Text(s.zone.Load(), actor(c).Staff)
	end, reason := left.Closed.In(s.zone.Load()).Format(localMoment), ""
	if errs != nil {
		end, reason = form(c, "end"), form(c, "reason")
	}
	p.Fields = markAll(errs, []Field{
		{Kind: "datetime-local", Name: "end", Label: "It stopped", Value: end, Width: "middle", Needed: true},
		TextField("reason", "Why it ran on", reason).Need().Limit(200),
	})
	s.page(c, status, "task/switch", p)
}

// runningElsewhere is the reader's clock on another task, nil for none.
func (s *Server) runningElsewhere(c *gin.Context, task domain.TaskID) *workshop.ClockRow {
	rows, err := s.Read.RunningClocks(c.Request.Context())
	if err != nil {
		return nil
	}
	for i := range rows {
		if rows[i].Staff == actor(c).Staff && rows[i].Task != task {
			return &rows[i]
		}
	}
	return nil
}

// SwitchPage offers to stop a clock elsewhere and start it here.
type SwitchPage struct {
	Page
	Action, Back string
	Other        string
	Forgot       bool    // the clock ran on overnight: its end is asked for
	Fields       []Field // of that
}

func (s *Server) offerSwitch(c *gin.Context, id domain.JobID, task domain.TaskID, other *workshop.ClockRow) {
	p := &SwitchPage{Page: s.frame(c, "Your clock runs elsewhere", domain.Bench), Action: taskPath(id, task) + "/clock", Back: taskPath(other.Job, other.Task)}
	p.Other = fmt.Sprintf("%s, tag %d", other.What, other.Tag)
	p.Answer = fmt.Sprintf("It has run on %s since %s.", p.Other, Hour(other.Since.In(s.zone.Load())))
	s.page(c, http.StatusConflict, "task/switch", p)
}

func (s *Server) taskWait(c *gin.Context) {
	id, task := ids(c)
	if n, err := strconv.ParseInt(form(c, "end"), 10, 64); err == nil {
		s.doneTask(c, s.Work.EndWait(keyed(c), actor(c), id, domain.WaitID(n)), "", "The wait is over.")
		return
	}
	until, err := s.moment(form(c, "until"))
	if err != nil {
		s.doneTask(c, &domain.Error{Kind: domain.Invalid, Text: domain.TextOf(err), Fields: domain.Fields{"until": domain.TextOf(err)}}, "wait", "")
		return
	}
	s.doneTask(c, s.Work.StartWait(keyed(c), actor(c), id, task, form(c, "kind"), until, form(c, "note")), "wait", "It waits now; your clock on it is stopped.")
}

// moment reads a date and time of the shop's zone; "" is the zero time.
func (s *Server) moment(typed string) (time.Time, error) {
	if typed == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, typed, s.zone.Load()); err == nil {
			return domain.Moment(t), nil
		}
	}
	return time.Time{}, domain.Invalidf("%q is no date and time; write it like 2026-11-25 14:20", typed)
}

func (s *Server) taskDone(c *gin.Context) {
	id, task := ids(c)
	switch form(c, "do") {
	case "reopen":
		s.doneTask(c, s.Work.Reopen(keyed(c), actor(c), id, task), "", "The task is open again.")
	case "drop":
		s.doneTask(c, s.Work.Drop(keyed(c), actor(c), id, task, form(c, "reason")), "drop", "The task is no longer part of the job.")
	default:
		err := s.Work.Finish(keyed(c), actor(c), id, task)
		s.doneTask(c, err, "", s.finishedText(c))
	}
}

func (s *Server) taskCheck(c *gin.Context) {
	id, task := ids(c)
	err := s.Work.NoteCheck(keyed(c), actor(c), id, job.Check{
		Task: task, What: form(c, "what"), Result: job.Result(form(c, "result")), Value: form(c, "value"), Note: form(c, "note"),
	})
	s.doneTask(c, err, "check"+form(c, "row"), "The check is noted.")
}

func (s *Server) taskPart(c *gin.Context) {
	id, task := ids(c)
	if row, err := strconv.ParseInt(form(c, "back"), 10, 64); err == nil {
		s.doneTask(c, s.Work.PutBack(keyed(c), actor(c), id, row), "", "Put back.")
		return
	}
	quantity, err := stock.ParseQuantity(form(c, "quantity"))
	part, errPart := strconv.ParseInt(form(c, "part"), 10, 64)
	f := domain.Fields{}
	f.AddErr("quantity", err)
	if errPart != nil {
		f.Add("part", "choose a part of the list")
	}
	if err := f.Err(); err != nil {
		s.doneTask(c, err, "part", "")
		return
	}
	s.doneTask(c, s.Work.UsePart(keyed(c), actor(c), id, task, domain.PartID(part), quantity), "part", "The part is noted.")
}

func (s *Server) taskHold(c *gin.Context) {
	id, task := ids(c)
	s.doneTask(c, s.Work.StartHold(keyed(c), actor(c), id, task, form(c, "place")), "hold", "The hold runs. Note the first readings in the cabinet.")
}

func (s *Server) correctClocking(c *gin.Context) {
	id, _ := ids(c)
	n, _ := strconv.ParseInt(form(c, "clocking"), 10, 64)
	f := domain.Fields{}
	start, err := s.moment(form(c, "start"))
	f.AddErr("start", err)
	end, err := s.moment(form(c, "end"))
	f.AddErr("end", err)
	err = f.Err()
	if err == nil {
		err = s.Work.CorrectClocking(keyed(c), actor(c), id, domain.ClockingID(n), start, end, form(c, "reason"))
	}
	s.doneTask(c, err, "clocking"+form(c, "clocking"), "Corrected; the old stretch stays on record.")
}
