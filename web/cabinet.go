package web

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// cabinetRoutes registers the holds: who stands where, readings, release.
func (s *Server) cabinetRoutes(r *gin.RouterGroup) {
	r.GET("/cabinet", s.cabinet)
	r.GET("/cabinet/round", s.round)
	r.POST("/cabinet/round", s.keepRound)
	r.GET("/jobs/:job/holds/:hold", s.hold)
	r.POST("/jobs/:job/holds/:hold/reading", s.noteReading)
	r.POST("/jobs/:job/holds/:hold/end", s.endHold)
	r.GET("/settings/holds", s.holdRule)
	r.POST("/settings/holds", s.saveHoldRule)
}

func holdPath(id domain.JobID, hold domain.HoldID) string {
	return fmt.Sprintf("/jobs/%d/holds/%d", id, hold)
}

// CabinetPage shows every running hold, worst first, and when each place is free.
type CabinetPage struct {
	Page
	Readings []Reading
	Round    *Link    // to read all of them at once; nil when nothing stands there
	NearFull *Caution // eight in ten places or more are taken
	Plan     Table    // every place with the days until it is free
	Next     string   // when a place is free, in a sentence
	Waiting  Table    // holds that wait for a place
	Rule     *Link    // the owner's figures
	Nothing  Empty
}

func (s *Server) cabinet(c *gin.Context) {
	cab, err := workshop.ReadCabinet(c.Request.Context(), s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &CabinetPage{Page: s.frame(c, "Cabinet", domain.Bench), Nothing: Empty{Text: "Nothing stands in the cabinet. A hold is started from its task."}}
	p.Answer, p.Next = cab.Answer, cab.Next
	may := workshop.May(actor(c), workshop.ActHold) == nil
	for _, r := range cab.Held {
		p.Readings = append(p.Readings, s.holdLine(r, cab.Shop, may))
	}
	if may && len(cab.Held) > 0 {
		p.Round = &Link{Href: "/cabinet/round", Text: "Read them all"}
	}
	if cab.NearFull {
		p.NearFull = &Caution{Text: fmt.Sprintf("%d of %d places are taken: promise no new hold without a look at the plan.", len(cab.Held), len(cab.Shop.Places))}
	}
	if workshop.May(actor(c), workshop.ActChangeShop) == nil {
		p.Rule = &Link{Href: "/settings/holds", Text: "When a hold may end"}
	}
	p.Plan, p.Waiting = s.cabinetPlan(cab), waitingForPlace(cab)
	s.page(c, http.StatusOK, "cabinet/list", p)
}

// holdLine is one hold in the list.
func (s *Server) holdLine(r workshop.HeldRow, shop *workshop.Shop, may bool) Reading {
	out := Reading{
		Mark: r.Place, Tag: fmt.Sprintf("tag %d", r.Tag), Href: jobPath(r.Job), When: fmt.Sprintf("day %d", domain.WholeDays(r.Start, s.now())),
		Facts: lastMeasures(r, shop.Units), Verdict: capital(workshop.Verdict(r.Says, r.Readings, s.now(), shop)) + ".", Stop: r.Stop() != "",
		Next: &Link{Href: holdPath(r.Job, r.Hold), Text: "Look", Now: r.Stop() != "" || r.Says.Verdict != hold.StillDrinking},
	}
	for _, x := range r.Says.Cautions {
		out.Verdict = x.Text + " " + out.Verdict
	}
	if old := domain.WholeDays(r.LastAt, s.now()); r.Readings > 0 && old > 0 {
		out.Verdict += fmt.Sprintf(" Last read %s ago.", Plural(old, "day", "days"))
	}
	switch {
	case !may:
	case r.Says.Verdict == hold.Steady:
		out.Next.Text = "Release it"
	case r.Says.Verdict == hold.WillNotClose:
		out.Next.Text = "Offer a splint"
	default:
		out.Next.Text = "Note a reading"
	}
	return out
}

func lastMeasures(r workshop.HeldRow, units wood.Units) []Pair {
	var out []Pair
	for _, f := range []struct {
		name string
		m    wood.Measure
	}{{"crack", r.Gap}, {"air", r.RH}, {"weight", r.Weight}} {
		if f.m.Is() {
			out = append(out, Pair{Name: f.name, Value: workshop.Shown(f.m, units)})
		}
	}
	return out
}

// capital begins a sentence.
func capital(s string) string { return domain.Capital(s) }

// The plan of the cabinet reaches at least so many days ahead and at most so
// many: a hold that takes longer runs off the edge.
const (
	planDays    = 14
	farthestDay = 42
)

// cabinetPlan draws every place on one axis of time from today.
func (s *Server) cabinetPlan(cab *workshop.Cabinet) Table {
	zone := cab.Shop.Location()
	now := s.now().In(zone)
	end := now.AddDate(0, 0, planDays)
	for _, p := range cab.Places {
		if late := lastMoment(p.Late, zone); p.Late != "" && late.After(end) {
			end = late
		}
	}
	if most := now.AddDate(0, 0, farthestDay); end.After(most) {
		end = most
	}
	t := Table{
		Caption: "Places", Hidden: true, Empty: Empty{Text: "The shop has no places; name them in the settings."},
		Columns: []Column{Head("Place"), Head("Who"), Head(Day(now) + " to " + Day(end)), Head("Free")},
	}
	for _, p := range cab.Places {
		row := Row{Cells: []Cell{{Text: p.Place}, {}, {}, {Text: "now"}}}
		if next := cab.NextIn(p.Place); next != nil {
			row.Cells[1] = Cell{Text: fmt.Sprintf("for tag %d", next.Tag), Href: taskPath(next.Job, next.Task.ID)}
		}
		if p.Held != nil {
			row.Cells[1] = Cell{Text: fmt.Sprintf("tag %d", p.Held.Tag), Href: holdPath(p.Held.Job, p.Held.Hold)}
			row.Cells[2] = Cell{Strip: planStretch(p, now, end, zone)}
			row.Cells[3] = freeCell(p)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// lastMoment is the end of a civil day.
func lastMoment(d domain.Date, zone *time.Location) time.Time {
	if d == "" {
		return time.Time{}
	}
	return d.AddDays(1).Time(zone)
}

// planStretch is the time that a place is still taken: hatched until it is
// likely free, faint until it is late, to the edge when nobody knows.
func planStretch(p workshop.PlaceRow, now, end time.Time, zone *time.Location) *Strip {
	likely, late := lastMoment(p.Likely, zone), lastMoment(p.Late, zone)
	s := &Strip{From: now, To: end, Size: Small, Name: fmt.Sprintf("%s, tag %d", p.Place, p.Held.Tag)}
	switch {
	case p.Likely == "":
		s.Pieces = []StripPiece{{Kind: Air, From: now, To: end, Label: "nobody knows until when"}}
	default:
		s.Pieces = []StripPiece{
			{Kind: Air, From: now, To: likely, Label: "taken", Certain: !p.ByDays},
			{Kind: Air, From: likely, To: late, Label: "with bad luck"},
		}
	}
	return s
}

func freeCell(p workshop.PlaceRow) Cell {
	switch {
	case p.Held.Says.Verdict == hold.Steady:
		return Cell{Text: "on release", Note: "it is steady"}
	case p.Held.Says.Verdict == hold.WillNotClose:
		return Cell{Text: "after the answer", Note: "it will not close"}
	case p.Likely == "":
		return Cell{Text: "nobody knows", Note: "something is missing"}
	}
	note := "late " + Day(p.Late.Time(time.UTC))
	if p.ByDays {
		note += ", by the usual days"
	}
	return Cell{Text: "likely " + Day(p.Likely.Time(time.UTC)), Note: note}
}

// waitingForPlace lists who would go in if there were a place.
func waitingForPlace(cab *workshop.Cabinet) Table {
	t := Table{
		Caption: "Waiting for a place", Hidden: true, Empty: Empty{Text: "Nobody waits for a place."},
		Columns: []Column{Head("Tag"), Head("Instrument"), Head("We said"), Figures("Usual days", "")},
	}
	for _, r := range cab.Waiting {
		said := ""
		if r.Promised != "" {
			said = Civil(r.Promised)
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: fmt.Sprintf("tag %d", r.Tag), Href: taskPath(r.Job, r.Task.ID)}, {Text: r.Title, Note: r.Blocked}, {Text: said},
			{Text: daysText(r.Task.WaitDays)},
		}})
	}
	return t
}
