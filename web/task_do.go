package web

import (
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
	switch {
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
	err := s.Work.ClockOn(keyed(c), actor(c), id, task, form(c, "over") == "yes")
	if domain.KindOf(err) == domain.Conflict && form(c, "over") != "yes" {
		if other := s.runningElsewhere(c, task); other != nil {
			s.offerSwitch(c, id, task, other)
			return
		}
	}
	s.doneTask(c, err, "", "Your clock runs.")
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
