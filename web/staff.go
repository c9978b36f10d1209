package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

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
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	t := &Table{Caption: "Staff", Hidden: true, Columns: []Column{Head("Name"), Head("Hats"), Head("Hours a week"), Head("Signs in")}}
	for _, p := range people {
		signs, week := "yes", p.Week(shop)
		if !p.Active {
			signs = "no"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: p.Name, Href: fmt.Sprintf("/staff/%d", p.ID)}, {Text: rolesText(p.Roles)}, {Text: Minutes(week.Minutes())}, {Text: signs}}})
	}
	p := &FormPage{Page: s.frame(c, "Staff", domain.Owner), Above: t, Lead: "People", Action: "/staff", Button: "Add the person", Back: Link{Href: "/owner", Text: "Owner"}}
	p.Answer = fmt.Sprintf("%s on the list.", Plural(len(people), "person is", "people are"))
	p.Errors = errs
	p.Groups = []Group{{Legend: "Add somebody", Fields: markAll(errs, append([]Field{TextField("name", "Name", form(c, "name")).Need().Limit(60)},
		append(roleFields(formRoles(c)), newPassword("Password", true))...))}}
	s.formPage(c, status, p)
}

func newPassword(label string, need bool) Field {
	f := SecretField("password", label).Auto("new-password").Limit(200).Hint("At least 12 letters; several words are easy to keep in mind.")
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
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	today := shop.Today(s.now())
	_, now := daySpans(m.Away, today)
	asked, hours, away, skill, version := *m, hoursShown(m.Hours), shownSpans(now), strconv.Itoa(m.Skill), strconv.Itoa(m.Version)
	if errs != nil {
		asked.Name, asked.Roles, asked.Active = form(c, "name"), formRoles(c), form(c, "active") == "yes"
		hours, away, skill, version = hoursTyped(c), typedSpans(c, "away"), form(c, "skill"), form(c, "version")
	}
	p := &FormPage{Page: s.frame(c, m.Name, domain.Owner), Action: fmt.Sprintf("/staff/%d", m.ID), Button: "Save", Back: Link{Href: "/staff", Text: "Staff"}}
	p.Answer, p.Lead, p.Above = workshop.StaffHoursAnswer(m, shop, today), "The next two weeks", openTable(shop, m, today, 14)
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: version}}
	p.Ways = []Link{{Href: fmt.Sprintf("/staff/%d/sign-ins", m.ID), Text: "Where and how " + m.Name + " signs in"}}
	p.Groups = memberGroups(&asked, skill, hours, away, errs)
	if clashed(c, errs, m.Version) {
		p.beside(memberGroups(m, strconv.Itoa(m.Skill), hoursShown(m.Hours), shownSpans(now), nil), m.Version)
	}
	s.formPage(c, status, p)
}

// memberGroups ask for everything that is kept of a person.
func memberGroups(m *workshop.Staff, skill string, hours [7]string, away []typedSpan, errs domain.Fields) []Group {
	return append([]Group{
		{Legend: "This person", Note: "Leave the password empty to keep it.", Fields: markAll(errs, memberFields(m, skill))},
		hoursGroup(hours, errs),
	}, spanGroups("away", "Days away", "away", "Whole days; one day when the last is left empty. Closed days of the shop need no line here.", away, errs)...)
}

func memberFields(m *workshop.Staff, skill string) []Field {
	fields := append([]Field{TextField("name", "Name", m.Name).Need().Limit(60)}, roleFields(m.Roles)...)
	byHats := workshop.Staff{Roles: m.Roles}
	return append(fields, skillField(skill, byHats.Skilled()), CheckField("active", "may sign in", m.Active), newPassword("New password", false))
}

func (s *Server) saveStaff(c *gin.Context) {
	ctx := c.Request.Context()
	people, err := s.Read.StaffList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	version, _ := strconv.Atoi(form(c, "version"))
	person := workshop.Staff{ID: domain.StaffID(number(c, "staff")), Name: form(c, "name"), Roles: formRoles(c), Active: form(c, "active") == "yes", Version: version}
	var over []workshop.DaySpan
	if i := slices.IndexFunc(people, func(p workshop.Staff) bool { return p.ID == person.ID }); i >= 0 {
		over, _ = daySpans(people[i].Away, shop.Today(s.now()))
	}
	rows := workingIn(c, &person, over)
	err = s.Work.ChangeStaff(keyed(c), actor(c), person, c.PostForm("password"), people)
	s.answer(c, err, func(f domain.Fields) {
		s.showMember(c, http.StatusUnprocessableEntity, spanErrors(f, "away", len(over), rows))
	}, "Saved.", "/staff")
}

func (s *Server) tokens(c *gin.Context) { s.showTokens(c, http.StatusOK, nil, "") }

func (s *Server) showTokens(c *gin.Context, status int, errs domain.Fields, secret string) {
	if err := workshop.May(actor(c), workshop.ActToken); err != nil {
		s.fail(c, err)
		return
	}
	list, err := s.Read.TokensOf(c.Request.Context(), actor(c).Staff)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "API tokens", ""), Action: "/tokens", Button: "Make a token", Back: Link{Href: "/", Text: "Back"}, Secret: secret}
	p.Answer = "A token lets a program act for you through /api/v1. It is shown once."
	p.Errors = errs
	zone := s.zone.Load()
	t := &Table{Caption: "Tokens", Hidden: true, Columns: []Column{Head("For"), Head("May"), Head("Made"), Head("Ends"), Head("Last used"), Head("State")}, Empty: Empty{Text: "You have no token."}}
	choices := []Option{{Value: "", Label: "none"}}
	for _, k := range list {
		state, used, ends := "works", "never", "never"
		if !k.Expires.IsZero() {
			ends = fullDay(k.Expires.In(zone))
		}
		if !k.Used.IsZero() {
			used = DayHour(k.Used.In(zone))
		}
		if !k.Revoked.IsZero() {
			state = "revoked"
		} else if !k.Works(s.now()) {
			state = "ran out"
		} else {
			choices = append(choices, Option{Value: strconv.FormatInt(k.ID, 10), Label: k.Name})
		}
		t.Rows = append(t.Rows, Row{Struck: state != "works", Cells: []Cell{{Text: k.Name}, {Text: k.Scope()}, {Text: Day(k.Created.In(zone))}, {Text: ends}, {Text: used}, {Text: state}}})
	}
	p.Above, p.Lead = t, "Yours"
	p.Groups = []Group{{Legend: "New token", Fields: markAll(errs, tokenFields(c))}}
	if len(choices) > 1 {
		p.Groups = append(p.Groups, Group{Legend: "Or end one", Fields: []Field{ChoiceField("revoke", "Revoke", "", choices)}})
	}
	s.formPage(c, status, p)
}

// tokenFields ask what a new token shall be.
func tokenFields(c *gin.Context) []Field {
	days := form(c, "days")
	if days == "" {
		days = "90"
	}
	hats := []Option{{Value: "", Label: "all my hats, also those I get later"}}
	for _, r := range actor(c).Roles {
		hats = append(hats, Option{Value: string(r), Label: "as " + string(r) + " alone"})
	}
	return []Field{
		TextField("name", "What it is for", form(c, "name")).Limit(60), CheckField("reads_only", "it only reads", form(c, "reads_only") == "yes"),
		ChoiceField("roles", "It may", form(c, "roles"), hats), CountField("days", "It ends in", days, "days").Hint("at most 366"),
	}
}

// tokenAsk is the token that was asked for.
func tokenAsk(c *gin.Context) workshop.TokenAsk {
	ask := workshop.TokenAsk{Name: form(c, "name"), ReadsOnly: form(c, "reads_only") == "yes"}
	if hat := form(c, "roles"); hat != "" {
		ask.Roles = []domain.Role{domain.Role(hat)}
	}
	var err error
	if ask.Days, err = strconv.Atoi(form(c, "days")); form(c, "days") != "" && (err != nil || ask.Days == 0) {
		ask.Days = -1 // refused with what would be right
	}
	return ask
}

func (s *Server) changeTokens(c *gin.Context) {
	again := func(f domain.Fields) { s.showTokens(c, http.StatusUnprocessableEntity, f, "") }
	if id, err := strconv.ParseInt(form(c, "revoke"), 10, 64); err == nil {
		s.answer(c, s.Work.RevokeToken(keyed(c), actor(c), id), again, "The token is revoked.", "/tokens")
		return
	}
	// Without the form's key: a token is shown once, so a second answer could not be the first.
	token, err := s.Work.AddToken(c.Request.Context(), actor(c), tokenAsk(c))
	if err != nil {
		s.answer(c, err, again, "", "")
		return
	}
	s.showTokens(c, http.StatusOK, nil, token)
}
