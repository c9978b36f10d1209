package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

const queuePath = "/queue"

// queueRoutes registers the page of the queue, for servers that play it.
func (s *Server) queueRoutes(r *gin.RouterGroup) {
	if s.Outlook != nil {
		r.GET(queuePath, s.queue)
	}
	r.GET(keptPath, s.kept)
	r.GET(keptPath+"/months.csv", s.keptCSV)
	r.POST("/jobs/:job/day", s.moveDay)
}

// QueuePage shows all agreed work with the days it is likely done.
type QueuePage struct {
	Page
	Kept    Link       // how good the promises are
	Calls   []DeskLine // worst first
	Safe    Empty      // when there is nobody to call
	Plan    Table      // the next weeks as rows of jobs
	Table   Table      // the same in words
	Trouble []Link     // where to change what keeps the queue from being played
	Ask     string     // the same for who may not change it
}

// weeksAhead is how far the picture of the queue reaches.
const weeksAhead = 6

func (s *Server) queue(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		s.fail(c, err)
		return
	}
	q, err := s.Outlook.Queue(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &QueuePage{Page: s.frame(c, "The queue", deskDoor(c)), Safe: Empty{Text: "Nobody: every day that was said is likely kept."}, Kept: Link{Href: keptPath, Text: "How well we keep them"}}
	p.Answer = q.Answer
	if q.Trouble != "" {
		p.repair(actor(c))
	}
	next := ""
	if workshop.May(actor(c), workshop.ActCall) == nil {
		next = "Note the call"
	}
	for _, r := range q.Calls {
		p.Calls = append(p.Calls, callLine(r, q, next))
	}
	p.Plan, p.Table = queuePlan(q), queueTable(q)
	s.page(c, http.StatusOK, "queue/show", p)
}

// repair leads to the settings that keep the queue from being played.
func (p *QueuePage) repair(who domain.Actor) {
	if workshop.May(who, workshop.ActChangeShop) != nil {
		p.Ask = "The owner can change that under Staff and in the shop settings."
		return
	}
	p.Trouble = []Link{{Href: "/staff", Text: "Staff", Now: true}, {Href: "/settings", Text: "Shop settings"}, {Href: calendarPath, Text: "When we work"}, {Href: "/templates", Text: "Task templates"}}
}

// callLine is one customer to call, with what to say.
func callLine(r workshop.QueueRow, q *workshop.Queue, next string) DeskLine {
	j, p := r.JobRow, r.Promise
	l := DeskLine{
		Tag: fmt.Sprintf("tag %d", j.Tag), Href: jobPath(j.ID), Title: j.Title, Late: j.Late(q.Shop.Today(q.Now)),
		Person: Person{Name: j.Name, Phone: j.Phone, Href: customerPath(j.Customer)},
	}
	parts := []string{"we said " + near(j.Promised), "now likely " + near(r.Likely), "say " + near(p.Say)}
	if !l.Late {
		parts = append(parts, fmt.Sprintf("kept %.0f times in 100", 100*(1-p.Late)))
	}
	if held := p.HeldText(q.Now); held != "" {
		parts = append(parts, strings.TrimSuffix(held, "."))
	}
	l.Why = strings.Join(parts, " · ")
	if next != "" {
		l.Next = &Link{Href: jobPath(j.ID) + "#calls", Text: next}
	}
	return l
}

// queuePlan draws every job on one axis of time. It begins some days back, so
// that today's line and a day that has just passed have room.
func queuePlan(q *workshop.Queue) Table {
	zone := q.Shop.Location()
	now := q.Now.In(zone)
	from, end := now.AddDate(0, 0, -2), now.AddDate(0, 0, 7*weeksAhead)
	t := Table{
		Caption: "The next six weeks", Hidden: true, Empty: Empty{Text: "No agreed work waits. A quote comes here with its yes."},
		Columns: []Column{Head("Job"), Head(Day(now) + " to " + Day(end)), Head("Likely")},
	}
	for _, r := range q.Rows {
		strip := Strip{From: from, To: end, Today: now, Size: Small, Weekly: true, Name: fmt.Sprintf("tag %d", r.JobRow.Tag), Pieces: queuePieces(r)}
		if r.JobRow.Promised != "" {
			strip.Promised = r.JobRow.Promised.Time(zone)
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: fmt.Sprintf("tag %d", r.JobRow.Tag), Href: jobPath(r.JobRow.ID), Note: r.JobRow.Name + ", " + r.JobRow.Title},
			{Strip: &strip}, {Text: near(r.Likely), Note: dangerText(r, zone)},
		}})
	}
	return t
}

// near writes a day of these weeks, without its year.
func near(d domain.Date) string { return Day(d.Time(time.UTC)) }

// dangerText sets the promise against the play.
func dangerText(r workshop.QueueRow, zone *time.Location) string {
	switch {
	case r.JobRow.Promised == "":
		return "no day said"
	case r.InDanger(zone):
		return "▲ said " + near(r.JobRow.Promised)
	}
	return "said " + near(r.JobRow.Promised)
}

// queuePieces draws what is to come, and the end that is not certain.
func queuePieces(r workshop.QueueRow) []StripPiece {
	kinds := map[queue.Cause]PieceKind{queue.Hands: Hands, queue.Waiting: Waits, queue.InCabinet: Air}
	var out []StripPiece
	for _, x := range r.Steps {
		kind, ok := kinds[x.Cause]
		if !ok {
			kind = Idle
		}
		out = append(out, StripPiece{Kind: kind, From: x.From, To: x.To, Label: x.Label, Certain: true})
	}
	if r.Promise.P80.After(r.Promise.P50) {
		out = append(out, StripPiece{Kind: Waits, From: r.Promise.P50, To: r.Promise.P80, Label: "with bad luck"})
	}
	return out
}

// queueTable tells the queue in words, in the same order.
func queueTable(q *workshop.Queue) Table {
	t := Table{
		Caption: "Every agreed job", Hidden: true,
		Columns: []Column{Head("Tag"), Head("Instrument"), Head("Customer"), Head("Said"), Head("Likely"), Head("Say"), Head("Worst"), Head("What holds it back")},
	}
	for _, r := range q.Rows {
		j, p := r.JobRow, r.Promise
		said := "none"
		if j.Promised != "" {
			said = near(j.Promised)
		}
		held := strings.TrimSuffix(p.HeldText(q.Now), ".")
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: fmt.Sprint(j.Tag), Href: jobPath(j.ID)}, {Text: j.Title}, {Text: j.Name, Href: customerPath(j.Customer)}, {Text: said},
			{Text: near(r.Likely)}, {Text: near(p.Say)}, {Text: near(q.Shop.Today(p.P95))}, {Text: or(held, "less than a day")},
		}})
	}
	return t
}

// danger counts the promises that the queue will break, "" for none and without
// an outlook.
func (s *Server) danger(ctx context.Context) (string, error) {
	if s.Outlook == nil {
		return "", nil
	}
	q, err := s.Outlook.Queue(ctx)
	if err != nil {
		return "", err
	}
	return dangerOf(q), nil
}

func dangerOf(q *workshop.Queue) string {
	if q.Trouble != "" {
		return q.Answer
	}
	if text := workshop.DangerAnswer(q.Calls, q.Shop); text != "" {
		return text + "."
	}
	return ""
}

// mostCalls is how many calls the counter's page lists; the queue has them all.
const mostCalls = 6

// callFirst lists whom the counter calls before their day is over, after those whose
// day is.
func (s *Server) callFirst(c *gin.Context, p *DeskPage) error {
	if s.Outlook == nil || workshop.May(actor(c), workshop.ActCall) != nil {
		return nil
	}
	q, err := s.Outlook.Queue(c.Request.Context())
	if err != nil {
		return err
	}
	g := DeskGroup{Title: "Call before it is late"}
	for _, r := range q.Calls {
		if l := callLine(r, q, "Call, and tell another day"); !l.Late && len(g.Lines) < mostCalls {
			g.Lines = append(g.Lines, l)
		}
	}
	if len(g.Lines) == 0 {
		return nil
	}
	at := 0
	if len(p.Groups) > 0 && p.Groups[0].Title == dayOver {
		at = 1
	}
	p.Groups = slices.Insert(p.Groups, at, g)
	return nil
}

// queueLink leads to the queue; nil without an outlook.
func (s *Server) queueLink() *Link {
	if s.Outlook == nil {
		return nil
	}
	return &Link{Href: queuePath, Text: "The queue"}
}
