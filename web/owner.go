package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// ownerRoutes registers the owner's page, staff, tokens, parts and invoices.
func (s *Server) ownerRoutes(r *gin.RouterGroup) {
	r.GET("/owner", s.owner)
	r.GET("/settings", s.settings)
	r.POST("/settings", s.saveSettings)
	r.GET("/staff", s.staff)
	r.POST("/staff", s.addStaff)
	r.GET("/staff/:staff", s.staffMember)
	r.POST("/staff/:staff", s.saveStaff)
	r.GET("/tokens", s.tokens)
	r.POST("/tokens", s.changeTokens)
	r.GET("/parts", s.parts)
	r.GET("/parts/:part", s.part)
	r.POST("/parts/:part", s.savePart)
	r.GET("/invoices", s.invoices)
}

// OwnerPage is what waits for the owner.
type OwnerPage struct {
	Page
	Worry Table
	Ways  []Link
}

func (s *Server) owner(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActReadBalance); err != nil {
		s.fail(c, err)
		return
	}
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, err := s.openJobs(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &OwnerPage{Page: s.frame(c, "Owner", domain.Owner)}
	p.Answer = workshop.OwnerAnswer(rows, s.now(), shop)
	p.Worry = s.worries(rows, shop)
	p.Ways = []Link{{Href: "/templates", Text: "Task templates"}, {Href: "/parts", Text: "Parts list"}, {Href: "/invoices", Text: "Invoices"}, {Href: "/staff", Text: "Staff"}, {Href: "/settings", Text: "Shop settings"}, {Href: "/tokens", Text: "API tokens"}}
	s.page(c, http.StatusOK, "owner/show", p)
}

// worries lists jobs past their promise, then those ready and not collected, oldest first.
func (s *Server) worries(rows []workshop.JobRow, shop *workshop.Shop) Table {
	t := Table{
		Caption: "Jobs to look at", Hidden: true, Empty: Empty{Text: "No job needs you."},
		Columns: []Column{Head("Tag"), Head("Instrument"), Head("Customer"), Head("Why"), Figures("Due", shop.Currency.Code)},
	}
	today := shop.Today(s.now())
	for _, r := range rows {
		why := ""
		switch days := int(s.now().Sub(r.Since).Hours() / 24); {
		case r.Late(today):
			why = "we said " + Civil(r.Promised)
		case string(r.Stage) == "ready" && days >= 14:
			why = fmt.Sprintf("ready for %d days", days)
		case string(r.Stage) == "quoted" && days >= 7:
			why = fmt.Sprintf("no answer for %d days", days)
		default:
			continue
		}
		due := ""
		if r.Total > 0 {
			due = Money(shop.Currency, r.Due())
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, {Text: r.Title}, {Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Customer)}, {Text: why}, {Text: due},
		}})
	}
	return t
}

// FormPage is a page with one form and perhaps a list above it.
type FormPage struct {
	Page
	Above  *Table
	Lead   string // heading of the list
	Action string
	Groups []Group
	Hidden []Pair
	Button string
	Back   Link
	Secret string // shown once
	Notes  []Caution
}

func (s *Server) formPage(c *gin.Context, status int, p *FormPage) {
	s.page(c, status, "owner/form", p)
}

// answer shows a form again with what is wrong, the error page, or goes on.
func (s *Server) answer(c *gin.Context, err error, again func(domain.Fields), text, next string) {
	switch {
	case domain.KindOf(err) == domain.Invalid, domain.KindOf(err) == domain.Conflict:
		again(fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, text)
		Go(c, next)
	}
}

func (s *Server) staff(c *gin.Context) { s.showStaff(c, http.StatusOK, nil) }

func (s *Server) showStaff(c *gin.Context, status int, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActStaff); err != nil {
		s.fail(c, err)
		return
	}
	people, err := s.Read.StaffList(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	t := &Table{Caption: "Staff", Hidden: true, Columns: []Column{Head("Name"), Head("Hats"), Head("Signs in")}}
	for _, p := range people {
		signs := "yes"
		if !p.Active {
			signs = "no"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: p.Name, Href: fmt.Sprintf("/staff/%d", p.ID)}, {Text: rolesText(p.Roles)}, {Text: signs}}})
	}
	p := &FormPage{Page: s.frame(c, "Staff", domain.Owner), Above: t, Lead: "People", Action: "/staff", Button: "Add the person", Back: Link{Href: "/owner", Text: "Owner"}}
	p.Answer = fmt.Sprintf("%s on the list.", Plural(len(people), "person is", "people are"))
	p.Errors = errs
	p.Groups = []Group{{Legend: "Add somebody", Fields: markAll(errs, append([]Field{TextField("name", "Name", form(c, "name")).Need().Limit(60)},
		append(roleFields(formRoles(c)), newPassword("Password", true))...))}}
	s.formPage(c, status, p)
}

func newPassword(label string, need bool) Field {
	f := SecretField("password", label).Auto("new-password").Limit(200).Hint("At least 10 letters; several words are easy to keep in mind.")
	if need {
		f = f.Need()
	}
	return f
}

func rolesText(rs []domain.Role) string {
	words := make([]string, len(rs))
	for i, r := range rs {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

func roleFields(have []domain.Role) []Field {
	who := domain.Actor{Roles: have}
	what := map[domain.Role]string{domain.Counter: "counter: intake, quotes, money", domain.Bench: "bench: survey, tasks, holds", domain.Owner: "owner: prices, staff, exceptions"}
	var out []Field
	for _, r := range domain.Roles() {
		out = append(out, CheckField("role_"+string(r), what[r], who.Wears(r)))
	}
	return out
}

func formRoles(c *gin.Context) []domain.Role {
	var out []domain.Role
	for _, r := range domain.Roles() {
		if form(c, "role_"+string(r)) == "yes" {
			out = append(out, r)
		}
	}
	return out
}

func markAll(errs domain.Fields, fields []Field) []Field {
	for i := range fields {
		fields[i] = fields[i].Marked(errs)
	}
	return fields
}

func (s *Server) addStaff(c *gin.Context) {
	person := workshop.Staff{Name: form(c, "name"), Roles: formRoles(c)}
	_, err := s.Work.AddStaff(keyed(c), actor(c), person, c.PostForm("password"))
	s.answer(c, err, func(f domain.Fields) { s.showStaff(c, http.StatusUnprocessableEntity, f) }, person.Name+" is on the list.", "/staff")
}

func (s *Server) staffMember(c *gin.Context) { s.showMember(c, http.StatusOK, nil) }

func (s *Server) showMember(c *gin.Context, status int, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActStaff); err != nil {
		s.fail(c, err)
		return
	}
	m, err := s.Read.StaffMember(c.Request.Context(), domain.StaffID(number(c, "staff")))
	if err != nil {
		s.fail(c, err)
		return
	}
	name, roles, active := m.Name, m.Roles, m.Active
	if errs != nil {
		name, roles, active = form(c, "name"), formRoles(c), form(c, "active") == "yes"
	}
	p := &FormPage{Page: s.frame(c, m.Name, domain.Owner), Action: fmt.Sprintf("/staff/%d", m.ID), Button: "Save", Back: Link{Href: "/staff", Text: "Staff"}}
	p.Errors = errs
	p.Hidden = []Pair{{Name: "version", Value: strconv.Itoa(m.Version)}}
	fields := append([]Field{TextField("name", "Name", name).Need().Limit(60)}, roleFields(roles)...)
	fields = append(fields, CheckField("active", "may sign in", active), newPassword("New password", false))
	p.Groups = []Group{{Legend: "This person", Note: "Leave the password empty to keep it.", Fields: markAll(errs, fields)}}
	s.formPage(c, status, p)
}

func (s *Server) saveStaff(c *gin.Context) {
	people, err := s.Read.StaffList(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	version, _ := strconv.Atoi(form(c, "version"))
	person := workshop.Staff{ID: domain.StaffID(number(c, "staff")), Name: form(c, "name"), Roles: formRoles(c), Active: form(c, "active") == "yes", Version: version}
	err = s.Work.ChangeStaff(keyed(c), actor(c), person, c.PostForm("password"), people)
	s.answer(c, err, func(f domain.Fields) { s.showMember(c, http.StatusUnprocessableEntity, f) }, "Saved.", "/staff")
}

func (s *Server) tokens(c *gin.Context) { s.showTokens(c, http.StatusOK, nil, "") }

func (s *Server) showTokens(c *gin.Context, status int, errs domain.Fields, secret string) {
	list, err := s.Read.TokensOf(c.Request.Context(), actor(c).Staff)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "API tokens", ""), Action: "/tokens", Button: "Make a token", Back: Link{Href: "/", Text: "Back"}, Secret: secret}
	p.Answer = "A token lets a program act for you through /api/v1. It is shown once."
	p.Errors = errs
	zone := s.zone.Load()
	t := &Table{Caption: "Tokens", Hidden: true, Columns: []Column{Head("For"), Head("Made"), Head("Last used"), Head("State")}, Empty: Empty{Text: "You have no token."}}
	choices := []Option{{Value: "", Label: "none"}}
	for _, k := range list {
		state, used := "works", "never"
		if !k.Used.IsZero() {
			used = DayHour(k.Used.In(zone))
		}
		if !k.Revoked.IsZero() {
			state = "revoked"
		} else {
			choices = append(choices, Option{Value: strconv.FormatInt(k.ID, 10), Label: k.Name})
		}
		t.Rows = append(t.Rows, Row{Struck: !k.Revoked.IsZero(), Cells: []Cell{{Text: k.Name}, {Text: Day(k.Created.In(zone))}, {Text: used}, {Text: state}}})
	}
	p.Above, p.Lead = t, "Yours"
	p.Groups = []Group{{Legend: "New token", Fields: markAll(errs, []Field{TextField("name", "What it is for", form(c, "name")).Limit(60)})}}
	if len(choices) > 1 {
		p.Groups = append(p.Groups, Group{Legend: "Or end one", Fields: []Field{ChoiceField("revoke", "Revoke", "", choices)}})
	}
	s.formPage(c, status, p)
}

func (s *Server) changeTokens(c *gin.Context) {
	again := func(f domain.Fields) { s.showTokens(c, http.StatusUnprocessableEntity, f, "") }
	if id, err := strconv.ParseInt(form(c, "revoke"), 10, 64); err == nil {
		s.answer(c, s.Work.RevokeToken(keyed(c), actor(c), id), again, "The token is revoked.", "/tokens")
		return
	}
	// Without the form's key: a token is shown once, so a second answer could not be the first.
	token, err := s.Work.AddToken(c.Request.Context(), actor(c), form(c, "name"))
	if err != nil {
		s.answer(c, err, again, "", "")
		return
	}
	s.showTokens(c, http.StatusOK, nil, token)
}

func (s *Server) parts(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	list, err := s.Read.PartList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Parts list", domain.Owner), Lead: "Parts", Back: Link{Href: "/owner", Text: "Owner"}}
	p.Answer = fmt.Sprintf("%s on the list with their prices.", Plural(len(list), "part stands", "parts stand"))
	t := &Table{Caption: "Parts", Hidden: true, Columns: []Column{Head("Part"), Head("Unit"), Head("Kind"), Figures("Price", shop.Currency.Code)}, Empty: Empty{Text: "No part is listed yet."}}
	for _, part := range list {
		t.Rows = append(t.Rows, Row{Struck: part.Retired, Cells: []Cell{
			{Text: part.Name, Href: fmt.Sprintf("/parts/%d", part.ID), Note: part.Code}, {Text: part.Unit}, {Text: strings.ReplaceAll(string(part.Kind), "_", " ")}, {Text: Money(shop.Currency, part.Price)},
		}})
	}
	p.Above = t
	if workshop.May(actor(c), workshop.ActPart) == nil {
		p.Notes = nil
		p.Groups, p.Button, p.Action = s.partGroups(c, stock.Part{Unit: "each", Kind: money.Part}, shop.Currency, nil), "Add the part", "/parts/0"
	}
	s.formPage(c, http.StatusOK, p)
}

func (s *Server) part(c *gin.Context) { s.showPart(c, http.StatusOK, nil) }

func (s *Server) showPart(c *gin.Context, status int, errs domain.Fields) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	part := &stock.Part{Name: "New part", Unit: "each", Kind: money.Part}
	if id := number(c, "part"); id != 0 {
		if part, err = s.Read.PartByID(ctx, domain.PartID(id)); err != nil {
			s.fail(c, err)
			return
		}
	}
	p := &FormPage{Page: s.frame(c, part.Name, domain.Owner), Action: fmt.Sprintf("/parts/%d", part.ID), Button: "Save", Back: Link{Href: "/parts", Text: "Parts list"}}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(part.Version)}}
	p.Groups = s.partGroups(c, *part, shop.Currency, errs)
	s.formPage(c, status, p)
}

func (s *Server) partGroups(c *gin.Context, part stock.Part, cur money.Currency, errs domain.Fields) []Group {
	name, code, unit, kind, priced, cost, retired := part.Name, part.Code, part.Unit, string(part.Kind), Money(cur, part.Price), Money(cur, part.Cost), part.Retired
	if part.ID == 0 {
		name, priced, cost = "", "", ""
	}
	if errs != nil {
		name, code, unit, kind, priced, cost, retired = form(c, "name"), form(c, "code"), form(c, "unit"), form(c, "kind"), form(c, "price"), form(c, "cost"), form(c, "retired") == "yes"
	}
	kinds := []Option{{Value: "part", Label: "part, fitted and billed"}, {Value: "retail_goods", Label: "goods, sold over the counter"}, {Value: "shop_supplies", Label: "supply, used up and not billed"}}
	return []Group{{Legend: "The part", Fields: markAll(errs, []Field{
		TextField("name", "Name", name).Need().Limit(120), TextField("code", "Code", code).Need().Limit(40).Middle().Hint("Short and stable, such as strings-set."),
		ChoiceField("unit", "Counted in", unit, Options(stock.Units())), ChoiceField("kind", "Kind", kind, kinds),
		MoneyField("price", "Price", priced, cur.Code).Need(), MoneyField("cost", "Cost to the shop", cost, cur.Code), CheckField("retired", "no longer offered", retired),
	})}}
}

func (s *Server) savePart(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	version, _ := strconv.Atoi(form(c, "version"))
	part := stock.Part{
		ID: domain.PartID(number(c, "part")), Code: form(c, "code"), Name: form(c, "name"), Unit: form(c, "unit"), Kind: money.LineKind(form(c, "kind")),
		Price: amountIn(f, c, "price", shop.Currency), Cost: amountIn(f, c, "cost", shop.Currency), Retired: form(c, "retired") == "yes", Version: version,
	}
	f.AddErr("", part.Check())
	err = joinFields(f)
	if err == nil {
		_, err = s.Work.NotePart(keyed(c), actor(c), part)
	}
	s.answer(c, err, func(f domain.Fields) { s.showPart(c, http.StatusUnprocessableEntity, f) }, "Saved.", "/parts")
}

// joinFields takes the leading dot off names noted under "".
func joinFields(f domain.Fields) error {
	out := domain.Fields{}
	for name, text := range f {
		out[strings.TrimLeft(name, ".")] = text
	}
	return out.Err()
}

// amountIn reads an amount of money; "" is 0.
func amountIn(f domain.Fields, c *gin.Context, name string, cur money.Currency) money.Amount {
	typed := form(c, name)
	if typed == "" {
		return 0
	}
	a, err := cur.Parse(typed)
	f.AddErr(name, err)
	return a
}

func (s *Server) invoices(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	at := pageOf(c, 50)
	rows, total, err := s.Read.Invoices(ctx, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &ListPage{Page: s.frame(c, "Invoices", domain.Owner), Pager: pager(c, at, len(rows), total, "invoices")}
	p.Answer = fmt.Sprintf("%s issued so far.", Plural(total, "invoice was", "invoices were"))
	p.Table = Table{Caption: "Invoices", Hidden: true, Empty: Empty{Text: "No invoice was issued yet."},
		Columns: []Column{Head("Number"), Head("Date"), Head("Customer"), Head("Tag"), Figures("Total", shop.Currency.Code), Figures("Open", shop.Currency.Code)}}
	for _, r := range rows {
		p.Table.Rows = append(p.Table.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Number), Href: fmt.Sprintf("/invoices/%d", r.ID)}, {Text: Civil(r.Date)}, {Text: r.Name}, {Text: strconv.Itoa(r.Tag), Href: jobPath(r.Job)},
			{Text: Money(shop.Currency, r.Total)}, {Text: Money(shop.Currency, r.Total-r.Paid)},
		}})
	}
	s.page(c, http.StatusOK, "owner/list", p)
}

// ListPage is a page with one long list.
type ListPage struct {
	Page
	Table Table
	Pager Pager
}
