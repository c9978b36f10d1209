package web

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// benchRoutes registers the bench's own page.
func (s *Server) benchRoutes(r *gin.RouterGroup) {
	r.GET("/bench", s.bench)
	r.GET(sheetPath, s.benchSheet)
}

// BenchPage is what waits at the bench.
type BenchPage struct {
	Page
	Whose   []Link // the person's list and the shop's; nil for who does not work at the bench
	Stopped []Link // clocks that ran on after closing, each a way to put it right
	Running []ClockLine
	First   []WorkLine // holds: they work while hands do not
	Free    []WorkLine // least spare time first
	Blocked Table      // waits for something outside its own job's order
	Later   Table      // comes after another task of the same job
	Day     DayPlan
	Sheet   string // path of the sheet to print
	Nothing Empty
	Queue   *Link       // nil when nobody plays it
	Holds   []BenchHold // that want a person now, worst first
	AirStop *Caution    // the air of a place stops the work; nil while none does
}

// BenchHold is a hold that wants a person now.
type BenchHold struct {
	Tag, Place, Why, Href string
}

// ClockLine is a running clock.
type ClockLine struct {
	Who, What, Tag, Href string
	Clock                Clock
}

// WorkLine is a task that can be started now.
type WorkLine struct {
	Tag, Title, Task, Href string
	Hands                  string // minutes, low to high
	Then                   string // the wait behind it
	Spare                  string // against the promise
	Late                   bool
	Clock                  Clock
	Hold                   bool
}

func (s *Server) bench(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	staff, err := s.Read.StaffList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, mine, err := s.benchRows(c, staff, shop)
	if err != nil {
		s.fail(c, err)
		return
	}
	clocks, err := s.Read.RunningClocks(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &BenchPage{Page: s.frame(c, "Bench", domain.Bench), Sheet: sheetOf(mine)}
	p.Queue, p.Whose = s.queueLink(), whose(actor(c), mine)
	p.Answer = workshop.BenchAnswer(rows, s.now(), shop)
	for _, k := range clocks {
		p.Running = append(p.Running, s.clockLine(c, k))
	}
	p.Stopped = s.forgotten(c, clocks, staff, shop)
	ordered := s.inOrder(c, rows)
	s.fillBench(c, p, ordered, shop.Today(s.now()))
	if p.Day, err = s.dayPlan(c, ordered, mine, staff, shop); err != nil {
		s.fail(c, err)
		return
	}
	stop, err := workshop.StopAnswer(ctx, s.Read, s.now().In(shop.Location()))
	if err != nil {
		s.fail(c, err)
		return
	}
	if stop != "" {
		p.AirStop = &Caution{Text: stop, Stop: true}
	}
	cab, err := workshop.ReadCabinet(ctx, s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	for _, n := range cab.News(s.now()) {
		p.Holds = append(p.Holds, BenchHold{Tag: fmt.Sprintf("tag %d", n.Tag), Place: n.Place, Why: n.Why, Href: holdPath(n.Job, n.Hold)})
	}
	p.Nothing = Empty{Text: "Nothing is free. When a quote gets its yes, its first task stands here."}
	s.page(c, http.StatusOK, "bench/show", p)
}

// benchRows reads the open tasks for the person, or for the whole shop when that was
// asked for or the person does not work at the bench.
func (s *Server) benchRows(c *gin.Context, staff []workshop.Staff, shop *workshop.Shop) (rows []workshop.TaskRow, mine bool, err error) {
	ctx := c.Request.Context()
	if rows, err = s.Read.OpenTasks(ctx); err != nil {
		return nil, false, err
	}
	holds, err := s.Read.OpenHolds(ctx)
	if err != nil {
		return nil, false, err
	}
	rows = workshop.BenchRows(rows, len(holds), shop)
	if mine = actor(c).Wears(domain.Bench) && c.Query("for") != "shop"; mine {
		rows = workshop.BenchOf(rows, actor(c).Staff, staff)
	}
	return rows, mine, nil
}

// whose leads from the person's list to the shop's and back.
func whose(who domain.Actor, mine bool) []Link {
	if !who.Wears(domain.Bench) {
		return nil
	}
	return []Link{{Href: "/bench", Text: "What I can do", Now: mine}, {Href: "/bench?for=shop", Text: "The whole shop", Now: !mine}}
}

// forgotten leads to the clocks that ran on after closing and that this person may
// put right: their own, for owners all.
func (s *Server) forgotten(c *gin.Context, clocks []workshop.ClockRow, staff []workshop.Staff, shop *workshop.Shop) []Link {
	who := actor(c)
	if workshop.May(who, workshop.ActCorrect) != nil {
		return nil
	}
	var out []Link
	for _, f := range workshop.ForgottenClocks(clocks, staff, shop, s.now()) {
		if f.Staff == who.Staff || who.Wears(domain.Owner) {
			out = append(out, Link{Href: forgottenPath(f, shop.Location()), Text: f.Text(shop.Location(), who.Staff)})
		}
	}
	return out
}

// forgottenPath is where a clock that ran on is put right, with its closing time.
func forgottenPath(f workshop.Forgotten, zone *time.Location) string {
	end := f.Closed.In(zone).Format(localMoment)
	return taskPath(f.Job, f.Task) + fmt.Sprintf("?stopped=%s&who=%d#time", url.QueryEscape(end), f.Staff)
}

func (s *Server) clockLine(c *gin.Context, k workshop.ClockRow) ClockLine {
	return ClockLine{
		Who: k.Name, What: k.What, Tag: fmt.Sprintf("tag %d", k.Tag), Href: taskPath(k.Job, k.Task),
		Clock: Clock{
			Action: taskPath(k.Job, k.Task) + "/clock", Key: NewKey(), Task: k.What, Hands: k.Name, Since: k.Since, Now: s.now(),
			Mine: k.Staff == actor(c).Staff,
		},
	}
}

// inOrder puts the free tasks into the order of the queue's rule, and behind them
// what is not free, the earliest promise first. Without the queue, free tasks go
// by their promise as well.
func (s *Server) inOrder(c *gin.Context, rows []workshop.TaskRow) []workshop.Ordered {
	sorted := slices.Clone(rows)
	slices.SortStableFunc(sorted, func(a, b workshop.TaskRow) int { return compareDates(a.Promised, b.Promised) })
	var free []workshop.TaskRow
	var out, rest []workshop.Ordered
	for _, r := range sorted {
		if r.Blocked == "" {
			free = append(free, r)
			out = append(out, workshop.Ordered{TaskRow: r, Quick: r.Task.Hold})
		} else {
			rest = append(rest, workshop.Ordered{TaskRow: r})
		}
	}
	if s.Outlook != nil && len(free) > 0 {
		if ranked, err := s.Outlook.Order(c.Request.Context(), free); err == nil {
			out = ranked
		} else {
			slog.WarnContext(c.Request.Context(), "order of the bench", "error", err)
		}
	}
	return append(out, rest...)
}

// fillBench splits the open tasks: quick jobs that start a wait, then free work
// with the least spare time first, then what is not free with its reason.
func (s *Server) fillBench(c *gin.Context, p *BenchPage, rows []workshop.Ordered, today domain.Date) {
	p.Blocked = Table{
		Caption: "Not free yet", Hidden: true,
		Columns: []Column{Head("Tag"), Head("Task"), Head("Why not"), Head("Until"), Head("We said")},
		Empty:   Empty{Text: "Nothing is held up."},
	}
	p.Later = p.Blocked
	p.Later.Caption = "Comes later"
	shown := map[domain.JobID]bool{}
	for _, o := range rows {
		r := o.TaskRow
		switch {
		case r.Blocked != "" && (strings.HasPrefix(r.Blocked, "comes after") || shown[r.Job]):
			p.Later.Rows = append(p.Later.Rows, s.blockedRow(r))
		case r.Blocked != "":
			shown[r.Job] = true
			p.Blocked.Rows = append(p.Blocked.Rows, s.blockedRow(r))
		case o.Quick:
			p.First = append(p.First, s.workLine(c, o, today))
		default:
			p.Free = append(p.Free, s.workLine(c, o, today))
		}
	}
}

// compareDates puts the earlier promise first and none last.
func compareDates(a, b domain.Date) int {
	switch {
	case a == b:
		return 0
	case b == "" || (a != "" && a < b):
		return -1
	}
	return 1
}

func (s *Server) blockedRow(r workshop.TaskRow) Row {
	until := ""
	if !r.Until.IsZero() {
		until = DayHour(r.Until.In(s.zone.Load()))
	}
	promised := ""
	if r.Promised != "" {
		promised = Civil(r.Promised)
	}
	return Row{Cells: []Cell{
		{Text: strconv.Itoa(r.Tag), Href: jobPath(r.Job)}, {Text: r.Task.Name, Href: taskPath(r.Job, r.Task.ID), Note: r.Title},
		{Text: r.Blocked}, {Text: until}, {Text: promised},
	}}
}

func (s *Server) workLine(c *gin.Context, o workshop.Ordered, today domain.Date) WorkLine {
	r, m := o.TaskRow, o.Task.Minutes
	w := WorkLine{
		Tag: fmt.Sprintf("tag %d", r.Tag), Title: r.Title, Task: r.Task.Name, Href: taskPath(r.Job, r.Task.ID), Hold: r.Task.Hold,
		Hands: fmt.Sprintf("%d–%d–%d min", m.Low, m.Typical, m.High),
		Clock: Clock{Action: taskPath(r.Job, r.Task.ID) + "/clock", Key: NewKey(), Task: r.Task.Name, Now: s.now()},
	}
	if d := r.Task.WaitDays; !d.IsZero() {
		kind := r.Task.WaitKind
		if kind == "" {
			kind = "wait"
		}
		w.Then = fmt.Sprintf("then %s, %s–%s–%s days", kind, d.Low, d.Typical, d.High)
	}
	if r.Clocked > 0 {
		w.Hands += fmt.Sprintf(", %s so far", Minutes(r.Clocked))
	}
	if r.Promised != "" {
		w.Spare = "we said " + Civil(r.Promised)
		if s.Outlook != nil {
			w.Spare += ", " + o.SpareText()
		}
		w.Late = r.Promised < today
	}
	return w
}

func jobPath(id domain.JobID) string { return fmt.Sprintf("/jobs/%d", id) }

func taskPath(id domain.JobID, task domain.TaskID) string {
	return fmt.Sprintf("/jobs/%d/tasks/%d", id, task)
}
