package web

import (
	"github.com/gin-gonic/gin"

	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// MadeForm asks how the joint of a task was made.
type MadeForm struct {
	Noted string // what stands there; "" for nothing
	Field Field
	Key   string // "" when the reader may not note it
	Open  bool
}

// madeForm makes the form for a task that glues, nil for any other.
func madeForm(c *gin.Context, p *TaskPage, which string) *MadeForm {
	t := p.Task
	if !t.Dropped.IsZero() || !t.Glues() && t.Made == "" {
		return nil
	}
	f := &MadeForm{Noted: t.Made, Open: which == "made" || t.Made == "" && !t.Done.IsZero()}
	typed := t.Made
	if which == "made" {
		typed = form(c, "made")
	}
	f.Field = TextField("made", "How it was made", typed).Limit(120).Offer(job.MadeWords(t.Phase)).
		Hint("Glue, cleats, splint: whoever opens it next needs to know.").Marked(p.Errors)
	if workshop.May(actor(c), workshop.ActMade) == nil {
		f.Key = NewKey()
	}
	return f
}

func (s *Server) taskMade(c *gin.Context) {
	id, task := ids(c)
	s.doneTask(c, s.Work.NoteMade(keyed(c), actor(c), id, task, form(c, "made")), "made", "How it was made is noted.")
}

// finishedText is said when a task is finished. How a joint was made is asked
// for and not demanded: a person with glue on their hands would type anything
// to get past a refusal, and a wrong word here is worse than none. The page and
// the evidence say that it is missing until somebody notes it.
func (s *Server) finishedText(c *gin.Context) string {
	id, task := ids(c)
	j, err := s.Read.JobByID(c.Request.Context(), id)
	if err != nil {
		return "Finished."
	}
	if t, err := j.Task(task); err != nil || !t.Glues() || t.Made != "" {
		return "Finished."
	}
	return "Finished. Nobody noted how the joint was made: note the glue below, whoever opens it next needs to know."
}
