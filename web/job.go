package web

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// jobRoutes registers the page of a job and what can be noted on it.
func (s *Server) jobRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job", s.showJob)
	r.POST("/jobs/:job/case", s.openCase)
	r.POST("/jobs/:job/waits", s.startWait)
	r.POST("/jobs/:job/waits/:wait/end", s.endWait)
	r.POST("/jobs/:job/calls", s.callCustomer)
	r.POST("/jobs/:job/marks", s.addMark)
	r.POST("/jobs/:job/pass", s.passJob)
	r.POST("/jobs/:job/unclaimed", s.closeUnclaimed)
}

// deskDoor is the door that a job's pages lie behind: the counter's, or the
// bench's for who works there alone.
func deskDoor(c *gin.Context) domain.Role {
	if who := actor(c); !who.Wears(domain.Counter, domain.Owner) {
		return domain.Bench
	}
	return domain.Counter
}

// openFolder reads a job's folder, or answers the request itself and returns nil.
func (s *Server) openFolder(c *gin.Context) *workshop.Folder {
	err := workshop.May(actor(c), workshop.ActRead)
	if err != nil {
		s.fail(c, err)
		return nil
	}
	f, err := workshop.ReadFolder(c.Request.Context(), s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return f
}

func (s *Server) showJob(c *gin.Context) {
	if f := s.openFolder(c); f != nil {
		s.job(c, http.StatusOK, f, "", nil)
	}
}

// job writes the job page. part names the form that came back with errors.
func (s *Server) job(c *gin.Context, status int, f *workshop.Folder, part string, errs domain.Fields) {
	required, err := s.requiredChecks(c, f.Job)
	if err != nil {
		s.fail(c, err)
		return
	}
	past, err := workshop.ReadWasItUs(c.Request.Context(), s.Read, f)
	if err != nil {
		s.fail(c, err)
		return
	}
	shots, err := s.Read.PhotosOfJob(c.Request.Context(), f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	live, err := s.Outlook.OfJob(c.Request.Context(), f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.ByQueue(live, f.Shop, s.now())
	v := jobView{Folder: f, shots: shots, who: actor(c), now: s.now(), part: part, errs: errs, typed: func(name string) string { return form(c, name) }, required: required, past: past}
	p := &JobPage{Page: s.frame(c, f.Instrument.Title()+", "+f.Customer.Name, deskDoor(c))}
	p.Errors = errs
	v.fill(p)
	s.page(c, status, "job/show", p)
}

// requiredChecks lists, by task, the quality checks that its template asks for.
func (s *Server) requiredChecks(c *gin.Context, j *job.Job) (map[domain.TaskID][]string, error) {
	out := map[domain.TaskID][]string{}
	if j.Approved.IsZero() || !j.Checked.IsZero() {
		return out, nil
	}
	for _, t := range j.Tasks {
		e, err := s.Read.EditionOf(c.Request.Context(), t.Template, t.Edition)
		if err != nil {
			return nil, err
		}
		out[t.ID] = workshop.CheckNames(e.Template)
	}
	return out, nil
}

// afterJob leads back to the job, or shows its page again with what is wrong
// with the form part. The form's fields carry part and an underscore before
// the domain's names.
func (s *Server) afterJob(c *gin.Context, err error, part, said string) {
	id := number(c, "job")
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, said)
		Go(c, fmt.Sprintf("/jobs/%d", id))
	case kind == domain.Invalid || kind == domain.Conflict:
		if f := s.openFolder(c); f != nil {
			s.job(c, StatusOf(kind), f, part, prefixed(part, fieldErrors(err)))
		}
	default:
		s.fail(c, err)
	}
}

// prefixed puts part and an underscore before the names of fields; a text about
// the whole form keeps no name.
func prefixed(part string, errs domain.Fields) domain.Fields {
	out := domain.Fields{}
	for name, text := range errs {
		if name != "" && part != "" {
			name = part + "_" + name
		}
		out[name] = text
	}
	return out
}

func jobID(c *gin.Context) domain.JobID { return domain.JobID(number(c, "job")) }

func (s *Server) openCase(c *gin.Context) {
	s.afterJob(c, s.Work.OpenCase(keyed(c), actor(c), jobID(c), form(c, "case_warm") == "yes"), "case", "The case is open. Survey it now.")
}

func (s *Server) startWait(c *gin.Context) {
	f := domain.Fields{}
	until := s.closing(c, dateIn(f, c, "wait_until"))
	if err := f.Err(); err != nil {
		s.afterJob(c, &domain.Error{Kind: domain.Invalid, Text: err.Error(), Fields: domain.Fields{"until": f["wait_until"]}}, "wait", "")
		return
	}
	err := s.Work.StartWait(keyed(c), actor(c), jobID(c), 0, form(c, "wait_kind"), until, form(c, "wait_note"))
	s.afterJob(c, err, "wait", "The wait is noted.")
}

// closing is when the shop closes on a day, noon when it is closed that day;
// the zero time for no day.
func (s *Server) closing(c *gin.Context, d domain.Date) time.Time {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil || d == "" {
		return time.Time{}
	}
	t := d.Time(shop.Location())
	hours, err := time.Parse("15:04", shop.Hours[(int(t.Weekday())+6)%7].Close)
	if err != nil {
		return time.Date(t.Year(), t.Month(), t.Day(), 12, 0, 0, 0, t.Location())
	}
	return time.Date(t.Year(), t.Month(), t.Day(), hours.Hour(), hours.Minute(), 0, 0, t.Location())
}

func (s *Server) endWait(c *gin.Context) {
	err := s.Work.EndWait(keyed(c), actor(c), jobID(c), domain.WaitID(number(c, "wait")))
	s.afterJob(c, err, "", "The wait is over.")
}

func (s *Server) callCustomer(c *gin.Context) {
	err := s.Work.Call(keyed(c), actor(c), jobID(c), job.Contact{About: form(c, "call_about"), Result: form(c, "call_result"), Note: form(c, "call_note")})
	s.afterJob(c, err, "call", "The call is noted.")
}

func (s *Server) addMark(c *gin.Context) {
	err := s.Work.AddMark(keyed(c), actor(c), jobID(c), job.Mark{What: form(c, "mark_what"), Place: form(c, "mark_place"), Note: form(c, "mark_note")})
	s.afterJob(c, err, "mark", "The mark is noted.")
}

func (s *Server) passJob(c *gin.Context) {
	s.afterJob(c, s.Work.Pass(keyed(c), actor(c), jobID(c)), "check", "The quality check is through. Call the customer.")
}

func (s *Server) closeUnclaimed(c *gin.Context) {
	checked := form(c, "unclaimed_law_checked") == "yes"
	s.afterJob(c, s.Work.CloseUnclaimed(keyed(c), actor(c), jobID(c), checked), "unclaimed", "Closed as unclaimed.")
}
