package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const signInsPath = "/sign-ins"

// signInsRoutes registers the owner's look at who signed in, and what they may
// do about it.
func (s *Server) signInsRoutes(r *gin.RouterGroup) {
	r.GET(signInsPath, s.signIns)
	r.POST(signInsPath+"/settings", s.saveAccounts)
	r.GET("/staff/:staff/sign-ins", s.signInsOf)
	r.POST("/staff/:staff/sign-out", s.signOutOf)
	r.POST("/staff/:staff/unlock", s.unlock)
}

// signInsTable lists lines of the log; with the person's name when they are of several.
func (s *Server) signInsTable(log []workshop.SignInNote, named bool) *Table {
	zone := s.zone.Load()
	t := &Table{Caption: "Sign-ins and changed rights", Hidden: true, Columns: []Column{Head("When"), Head("What"), Head("From")}, Empty: Empty{Text: "There is nothing yet."}}
	if named {
		t.Columns = append([]Column{Head("Who")}, t.Columns...)
	}
	for _, n := range log {
		cells := []Cell{{Text: DayHour(n.At.In(zone))}, {Text: signInText(n)}, {Text: n.Place}}
		if named {
			who := Cell{Text: "a name that nobody has"}
			if n.Staff != 0 {
				who = Cell{Text: n.Name, Href: fmt.Sprintf("/staff/%d/sign-ins", n.Staff)}
			}
			cells = append([]Cell{who}, cells...)
		}
		t.Rows = append(t.Rows, Row{Cells: cells})
	}
	return t
}

// signInText says a line of the log.
func signInText(n workshop.SignInNote) string {
	text := map[workshop.Outcome]string{
		workshop.CameIn: "signed in by " + string(n.How), workshop.HalfWay: "password right, second step asked", workshop.WentOut: "signed out",
		workshop.Refused: "refused: wrong " + string(n.How), workshop.Slowed: "refused: wrong " + string(n.How) + "; from now on each try waits", workshop.Changed: n.What,
	}[n.Outcome]
	if n.How == workshop.ByFirst && n.Outcome == workshop.CameIn {
		text = "opened the shop"
	}
	if n.By != "" {
		text += " (by " + n.By + ")"
	}
	return text
}

func (s *Server) signIns(c *gin.Context) { s.showSignIns(c, http.StatusOK, nil) }

func (s *Server) showSignIns(c *gin.Context, status int, errs domain.Fields) {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActSignIns); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	at := pageOf(c, 50)
	log, total, err := s.Read.SignIns(ctx, 0, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AccountPage{Page: s.frame(c, "Sign-ins", domain.Owner), Pager: pager(c, at, len(log), total, "lines")}
	p.Answer, p.Errors = fmt.Sprintf("%s of sign-ins and changed rights; none is ever removed.", Plural(total, "line", "lines")), errs
	p.Sections = []AccountSection{{Lead: "Newest first", Table: s.signInsTable(log, true)}, {
		Lead: "How long people stay signed in", Notes: []string{"Programs with a token are not asked for a second step."},
		Forms: []AccountForm{{Action: signInsPath + "/settings", Key: p.Key, Button: "Save", Fields: markAll(errs, accountFields(c, shop, errs != nil))}},
	}}
	s.page(c, status, "account/show", p)
}

func accountFields(c *gin.Context, shop *workshop.Shop, typed bool) []Field {
	a := shop.Accounts.OrUsual()
	value := func(name string, n int) string {
		if typed {
			return form(c, name)
		}
		return strconv.Itoa(n)
	}
	second, version := a.OwnersSecond, Field{Kind: "hidden", Name: "version", Value: value("version", shop.Version)}
	if typed {
		second = form(c, "owners_second") == "yes"
	}
	return []Field{
		CountField("idle_minutes", "Without a request, out after", value("idle_minutes", a.IdleMinutes), "min").Need(),
		CountField("most_hours", "Out in any case after", value("most_hours", a.MostHours), "h").Need(),
		CountField("pin_minutes", "In by PIN, out without a request after", value("pin_minutes", a.PINMinutes), "min").Need(),
		CheckField("owners_second", "owners need a second step", second).Hint("Whoever wears the owner’s hat sets it up at the next page they open."), version,
	}
}

func (s *Server) saveAccounts(c *gin.Context) {
	f := domain.Fields{}
	a := workshop.Accounts{IdleMinutes: countIn(f, c, "idle_minutes"), MostHours: countIn(f, c, "most_hours"), PINMinutes: countIn(f, c, "pin_minutes"), OwnersSecond: form(c, "owners_second") == "yes"}
	for name, n := range map[string]int{"idle_minutes": a.IdleMinutes, "most_hours": a.MostHours, "pin_minutes": a.PINMinutes} {
		if n == 0 {
			f.Add(name, "must be more than 0")
		}
	}
	version, _ := strconv.Atoi(form(c, "version"))
	err := f.Err()
	if err == nil {
		err = s.Work.ChangeAccounts(keyed(c), actor(c), a, version)
	}
	s.answer(c, err, func(f domain.Fields) { s.showSignIns(c, http.StatusUnprocessableEntity, f) }, "Saved.", signInsPath)
}

// signInsOf shows where another person is signed in, and their lines of the log.
func (s *Server) signInsOf(c *gin.Context) {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActSignIns); err != nil {
		s.fail(c, err)
		return
	}
	m, err := s.Read.StaffMember(ctx, domain.StaffID(number(c, "staff")))
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	stays, err := s.staysTable(c, m.ID, shop)
	if err != nil {
		s.fail(c, err)
		return
	}
	at := pageOf(c, 50)
	log, total, err := s.Read.SignIns(ctx, m.ID, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AccountPage{Page: s.frame(c, m.Name+" signing in", domain.Owner), Pager: pager(c, at, len(log), total, "lines")}
	p.Answer = fmt.Sprintf("%s is signed in at %s now.", m.Name, Plural(len(stays.Rows), "place", "places"))
	own := fmt.Sprintf("/staff/%d", m.ID)
	p.Sections = []AccountSection{
		{Lead: "Now", Table: stays, Forms: []AccountForm{{Action: own + "/sign-out", Key: NewKey(), Button: "Sign " + m.Name + " out everywhere"}}},
		{
			Lead: "Locked out?", Notes: []string{"This takes second step, PIN and waits off and signs the person out. The password stays; a new one can be given on the staff page. Make sure that it is " + m.Name + " who asks."},
			Forms: []AccountForm{{Action: own + "/unlock", Key: NewKey(), Button: "Take second step, PIN and waits off"}},
		},
		{Lead: "Newest first", Table: s.signInsTable(log, false)},
	}
	s.page(c, http.StatusOK, "account/show", p)
}

func (s *Server) signOutOf(c *gin.Context) {
	id := domain.StaffID(number(c, "staff"))
	s.ofOther(c, id, s.Work.EndStaysOf(keyed(c), actor(c), id), "Signed out everywhere.")
}

func (s *Server) unlock(c *gin.Context) {
	id := domain.StaffID(number(c, "staff"))
	s.ofOther(c, id, s.Work.DropSecondOf(keyed(c), actor(c), id), "Second step, PIN and waits are off.")
}

func (s *Server) ofOther(c *gin.Context, id domain.StaffID, err error, text string) {
	if err != nil {
		s.fail(c, err)
		return
	}
	s.say(c, text)
	Go(c, fmt.Sprintf("/staff/%d/sign-ins", id))
}
