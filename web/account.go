package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/totp"
	"winterbench/domain/workshop"
)

const accountPath = "/account"

// accountRoutes registers how a person signs in, and the owner's look at it.
func (s *Server) accountRoutes(r *gin.RouterGroup) {
	r.GET(accountPath, s.account)
	r.POST(accountPath+"/password", s.changePassword)
	r.POST(accountPath+"/second/start", s.startSecond)
	r.POST(accountPath+"/second/confirm", s.confirmSecond)
	r.POST(accountPath+"/second/codes", s.newCodes)
	r.POST(accountPath+"/second/drop", s.dropSecond)
	r.POST(accountPath+"/pin", s.setPIN)
	r.POST(accountPath+"/sign-out", s.signOutElsewhere)
	s.deviceRoutes(r)
	s.signInsRoutes(r)
}

// AccountPage is a page of sections, each with forms of its own.
type AccountPage struct {
	Page
	Codes    []string // recovery codes, shown once
	Sections []AccountSection
	Pager    Pager
}

// AccountSection is one matter of the page.
type AccountSection struct {
	Lead   string
	Notes  []string
	Square *Square // for an authenticator to read; nil for none
	Secret string  // the same, to be typed
	Table  *Table
	Forms  []AccountForm
}

// AccountForm is one form of a section.
type AccountForm struct {
	Action string
	Key    string
	Fields []Field
	Button string
	Now    bool // the main one of the page
}

func (s *Server) account(c *gin.Context) { s.showAccount(c, http.StatusOK, "", nil, nil) }

// showAccount shows how the person signs in. errs are the mistakes of the form of
// a scope; codes are new recovery codes.
func (s *Server) showAccount(c *gin.Context, status int, scope string, errs domain.Fields, codes []string) {
	ctx, by := c.Request.Context(), actor(c)
	if err := workshop.May(by, workshop.ActAccount); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AccountPage{Page: s.frame(c, "How I sign in", ""), Codes: codes}
	p.Answer, p.Errors = "Your password, and what can stand beside it.", inForm(scope, errs)
	if must(c) {
		p.Answer = "Owners of this shop need a second step. Set it up here before you go on."
	}
	second, err := s.secondSection(c, shop)
	if err == nil {
		p.Sections = append(p.Sections, second)
		err = s.addOwnSections(c, p, shop)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	for i := range p.Sections {
		for k := range p.Sections[i].Forms {
			p.Sections[i].Forms[k].Key = NewKey()
			markAll(p.Errors, p.Sections[i].Forms[k].Fields)
		}
	}
	s.page(c, status, "account/show", p)
}

// inForm puts the name of a form before the names of its fields.
func inForm(scope string, errs domain.Fields) domain.Fields {
	if errs == nil {
		return nil
	}
	out := domain.Fields{}
	for name, text := range errs {
		if name != "" {
			name = scope + "." + name
		}
		out[name] = text
	}
	return out
}

// inScope tells the fields of a form apart from those of the page's others.
func inScope(scope string, fields ...Field) []Field {
	for i := range fields {
		fields[i].Scope = scope
	}
	return fields
}

func passwordNow() Field {
	return SecretField("password_now", "Your present password").Need().Limit(200)
}

func codeField() Field {
	f := TextField("code", "Code of the authenticator", "").Need().Limit(40).Middle().Auto("one-time-code")
	f.Keys = "text"
	return f
}

// secondSection offers the second step as it stands.
func (s *Server) secondSection(c *gin.Context, shop *workshop.Shop) (AccountSection, error) {
	by := actor(c)
	sec := AccountSection{Lead: "Second step"}
	f, left, err := s.Read.SecondFactorOf(c.Request.Context(), by.Staff)
	switch {
	case err != nil && domain.KindOf(err) != domain.NotFound:
		return sec, err
	case err != nil:
		sec.Notes = []string{"With a second step a stolen password alone opens nothing: after it, a code is asked for that an authenticator on your phone shows. Advised for owners."}
		sec.Forms = []AccountForm{{Action: accountPath + "/second/start", Fields: inScope("start", passwordNow()), Button: "Set up a second step", Now: must(c)}}
	case f.Confirmed.IsZero():
		square, err := SquareOf(totp.Address(shop.Name, by.Name, f.Secret))
		if err != nil {
			return sec, err
		}
		sec.Notes = []string{"Let your authenticator read the square, or type the letters into it. Then type the code that it shows. The second step is asked for from then on."}
		sec.Square, sec.Secret = square, totp.Groups(f.Secret)
		sec.Forms = []AccountForm{
			{Action: accountPath + "/second/confirm", Fields: inScope("confirm", codeField()), Button: "It shows codes: use it", Now: true},
			{Action: accountPath + "/second/start", Fields: inScope("start", passwordNow()), Button: "Begin anew with other letters"},
		}
	default:
		sec.Notes = []string{fmt.Sprintf("In force since %s. %s left.", fullDay(f.Confirmed.In(s.zone.Load())), Plural(left, "recovery code is", "recovery codes are"))}
		sec.Forms = []AccountForm{
			{Action: accountPath + "/second/codes", Fields: inScope("codes", passwordNow()), Button: "Make new recovery codes"},
			{Action: accountPath + "/second/drop", Fields: inScope("drop", passwordNow(), codeField()), Button: "Take the second step off"},
		}
	}
	return sec, nil
}

// addOwnSections adds password, PIN, stays and the newest lines of the log.
func (s *Server) addOwnSections(c *gin.Context, p *AccountPage, shop *workshop.Shop) error {
	ctx, by := c.Request.Context(), actor(c)
	p.Sections = append(p.Sections, AccountSection{
		Lead: "Password", Notes: []string{"A new one ends your stays on other devices. API tokens go on working; end them at API tokens."},
		Forms: []AccountForm{{Action: accountPath + "/password", Fields: inScope("password", passwordNow(), newPassword("New password", true)), Button: "Change the password"}},
	})
	if by.Wears(domain.Bench) {
		sec, err := s.pinSection(c)
		if err != nil {
			return err
		}
		p.Sections = append(p.Sections, sec)
	}
	stays, err := s.staysTable(c, by.Staff, shop)
	if err != nil {
		return err
	}
	log, _, err := s.Read.SignIns(ctx, by.Staff, workshop.Page{Limit: 10})
	if err != nil {
		return err
	}
	p.Sections = append(p.Sections,
		AccountSection{Lead: "Where you are signed in", Table: stays, Forms: []AccountForm{{Action: accountPath + "/sign-out", Button: "Sign out everywhere else"}}},
		AccountSection{Lead: "The last ten lines about you", Notes: []string{"If one of them was not you, change the password and tell the owner."}, Table: s.signInsTable(log, false)})
	return nil
}

func (s *Server) pinSection(c *gin.Context) (AccountSection, error) {
	by := actor(c)
	with, err := s.Read.WithPIN(c.Request.Context())
	if err != nil {
		return AccountSection{}, err
	}
	pin := SecretField("pin", "New PIN").Need().Limit(8).Middle().Hint("4 to 8 digits, neither all the same nor in a row.")
	pin.Keys, pin.Fill = "numeric", "off"
	sec := AccountSection{Lead: "PIN for the bench", Notes: []string{"You have none. It lets you change over quickly on a device that an owner has trusted, for bench work alone."}}
	sec.Forms = []AccountForm{{Action: accountPath + "/pin", Fields: inScope("pin", passwordNow(), pin), Button: "Set the PIN"}}
	for _, id := range with {
		if id == by.Staff {
			sec.Notes = []string{"You have one. It works on devices that an owner has trusted, for bench work alone."}
			sec.Forms = append(sec.Forms, AccountForm{Action: accountPath + "/pin", Fields: inScope("nopin", passwordNow()), Button: "Take the PIN off"})
		}
	}
	return sec, nil
}

// staysTable lists where a person is signed in.
func (s *Server) staysTable(c *gin.Context, id domain.StaffID, shop *workshop.Shop) (*Table, error) {
	now, zone := s.now(), s.zone.Load()
	stays, err := s.Read.StaysOf(c.Request.Context(), id, now.Add(-workshop.MostStay))
	if err != nil {
		return nil, err
	}
	t := &Table{Caption: "Stays", Hidden: true, Columns: []Column{Head("Since"), Head("Last seen"), Head("By"), Head("From"), Head("Ends at the latest")}, Empty: Empty{Text: "Nowhere."}}
	here := presentOf(c)
	for _, st := range stays {
		if !st.Runs(shop.Accounts, now) {
			continue
		}
		from := st.Place
		if here != nil && st.ID == here.Stay.ID {
			from += " (here)"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: DayHour(st.Began.In(zone))}, {Text: DayHour(st.Seen.In(zone))}, {Text: string(st.How)}, {Text: from}, {Text: DayHour(st.Ends(shop.Accounts).In(zone))}}})
	}
	return t, nil
}

// changed answers a form of the page: again with what is wrong in the form of a
// scope, or back to the page.
func (s *Server) changed(c *gin.Context, err error, scope, text string) {
	var later *domain.LaterError
	if errors.As(err, &later) {
		retryAfter(c, err)
		s.showAccount(c, http.StatusTooManyRequests, scope, domain.Fields{"": later.Text}, nil)
		return
	}
	s.answer(c, err, func(f domain.Fields) { s.showAccount(c, http.StatusUnprocessableEntity, scope, f, nil) }, text, accountPath)
}

func (s *Server) changePassword(c *gin.Context) {
	err := s.Work.ChangePassword(keyed(c), actor(c), c.PostForm("password_now"), c.PostForm("password"))
	s.changed(c, err, "password", "The password is changed; you are signed out everywhere else.")
}

func (s *Server) startSecond(c *gin.Context) {
	s.changed(c, s.Work.StartSecond(keyed(c), actor(c), c.PostForm("password_now")), "start", "Now let your authenticator read the square.")
}

// confirmSecond and newCodes go without the form's key: codes are shown once.
func (s *Server) confirmSecond(c *gin.Context) {
	codes, err := s.Work.ConfirmSecond(c.Request.Context(), actor(c), form(c, "code"))
	if err != nil {
		s.changed(c, err, "confirm", "")
		return
	}
	s.showCodes(c, codes)
}

func (s *Server) newCodes(c *gin.Context) {
	codes, err := s.Work.NewRecoveryCodes(c.Request.Context(), actor(c), c.PostForm("password_now"))
	if err != nil {
		s.changed(c, err, "codes", "")
		return
	}
	s.showCodes(c, codes)
}

// showCodes shows new recovery codes; the second step has been set up by now.
func (s *Server) showCodes(c *gin.Context, codes []string) {
	if p := presentOf(c); p != nil {
		p.MustSecond = false
	}
	s.showAccount(c, http.StatusOK, "", nil, codes)
}

func (s *Server) dropSecond(c *gin.Context) {
	s.changed(c, s.Work.DropSecond(keyed(c), actor(c), c.PostForm("password_now"), form(c, "code")), "drop", "The second step is off: the password alone signs you in.")
}

func (s *Server) setPIN(c *gin.Context) {
	_, given := c.GetPostForm("pin")
	pin, scope, text := strings.TrimSpace(c.PostForm("pin")), "pin", "The PIN is set."
	switch {
	case !given:
		scope, text = "nopin", "The PIN is off."
	case pin == "":
		pin = "none" // an empty box is a mistake, not the wish to have none
	}
	s.changed(c, s.Work.SetPIN(keyed(c), actor(c), c.PostForm("password_now"), pin), scope, text)
}

func (s *Server) signOutElsewhere(c *gin.Context) {
	s.changed(c, s.Work.EndOwnStays(keyed(c), actor(c), false), "out", "You are signed out everywhere but here.")
}

// retryAfter says in seconds when to try again. Source: RFC 9110, section 10.2.3.
func retryAfter(c *gin.Context, err error) {
	var later *domain.LaterError
	if errors.As(err, &later) {
		c.Header("Retry-After", strconv.Itoa(int(later.Wait.Seconds())+1))
	}
}
