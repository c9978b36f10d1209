package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const (
	quickPath   = "/quick"
	devicesPath = "/devices"
)

// deviceCookie names the cookie that tells a trusted device. Over TLS its name
// binds it to this host.
func (s *Server) deviceCookie() string {
	if s.Sessions.Cookie.Secure {
		return "__Host-bench"
	}
	return "bench"
}

// deviceSecret is what the device's cookie holds, "" for none.
func (s *Server) deviceSecret(c *gin.Context) string {
	cookie, err := c.Request.Cookie(s.deviceCookie())
	if err != nil {
		return ""
	}
	return cookie.Value
}

// askQuick asks who is at the bench now, on a trusted device.
func (s *Server) askQuick(c *gin.Context) { s.showQuick(c, http.StatusOK, nil) }

func (s *Server) showQuick(c *gin.Context, status int, errs domain.Fields) {
	ctx := c.Request.Context()
	device, err := s.Work.DeviceHere(ctx, s.Read, s.deviceSecret(c))
	if err != nil {
		s.fail(c, err)
		return
	}
	names, err := s.quickNames(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Who is at the bench?", ""), Action: quickPath, Button: "Change over", Back: Link{Href: "/sign-in", Text: "With a password"}}
	p.Answer = "Your PIN opens the bench on this device, and nothing else."
	p.Because = []string{"This is “" + device.Name + "”, trusted by " + device.By + "."}
	if len(names) == 0 {
		p.Answer, p.Button = "Nobody has a PIN yet. Sign in with your password and set one under your name, How I sign in.", ""
	}
	p.Errors = errs
	pin := SecretField("pin", "PIN").Need().Limit(8).Middle()
	pin.Keys, pin.Fill = "numeric", "off"
	p.Groups = []Group{{Legend: "At the bench", Fields: markAll(errs, []Field{ChoiceField("person", "Who", form(c, "person"), names).Radio().Need(), pin})}}
	s.formPage(c, status, p)
}

// quickNames are the people who have a PIN and wear the bench's hat.
func (s *Server) quickNames(c *gin.Context) ([]Option, error) {
	with, err := s.Read.WithPIN(c.Request.Context())
	if err != nil {
		return nil, err
	}
	people, err := s.Read.StaffList(c.Request.Context())
	if err != nil {
		return nil, err
	}
	var names []Option
	for _, p := range people {
		if p.Active && p.Actor().Wears(domain.Bench) && slices.Contains(with, p.ID) {
			names = append(names, Option{Value: strconv.FormatInt(int64(p.ID), 10), Label: p.Name})
		}
	}
	return names, nil
}

func (s *Server) quick(c *gin.Context) {
	id, _ := strconv.ParseInt(form(c, "person"), 10, 64)
	e, err := s.Work.SignInByPIN(c.Request.Context(), s.Read, s.deviceSecret(c), domain.StaffID(id), form(c, "pin"))
	if err != nil {
		s.refused(c, err, "pin", func(status int, errs domain.Fields) { s.showQuick(c, status, errs) })
		return
	}
	s.entered(c, e, "/bench")
}

// deviceRoutes registers the page of trusted devices.
func (s *Server) deviceRoutes(r *gin.RouterGroup) {
	r.GET(devicesPath, s.devices)
	r.POST(devicesPath, s.trustDevice)
	r.POST(devicesPath+"/:device/revoke", s.revokeDevice)
}

func (s *Server) devices(c *gin.Context) { s.showDevices(c, http.StatusOK, nil) }

func (s *Server) showDevices(c *gin.Context, status int, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActDevice); err != nil {
		s.fail(c, err)
		return
	}
	all, err := s.Read.Devices(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AccountPage{Page: s.frame(c, "Devices of the bench", domain.Owner)}
	p.Answer = "On a trusted device people change over by PIN. A PIN opens the bench alone, whatever hats they wear."
	p.Errors = errs
	list := AccountSection{Lead: "Trusted", Table: s.deviceTable(all)}
	for _, d := range all {
		if d.Trusted(s.now()) {
			list.Forms = append(list.Forms, AccountForm{Action: fmt.Sprintf("%s/%d/revoke", devicesPath, d.ID), Key: NewKey(), Button: "Trust “" + d.Name + "” no more"})
		}
	}
	days := form(c, "days")
	if days == "" {
		days = strconv.Itoa(workshop.UsualDeviceDays)
	}
	trust := AccountForm{Action: devicesPath, Key: p.Key, Button: "Trust this device", Now: true, Fields: markAll(errs, []Field{
		TextField("name", "What it is", form(c, "name")).Need().Limit(60).Hint("such as: tablet at the side bench"), CountField("days", "For", days, "days").Need(),
	})}
	p.Sections = []AccountSection{list, {Lead: "This device", Notes: []string{"Trust only a device that stays in the shop. Do this on the device itself: a cookie is kept on it."}, Forms: []AccountForm{trust}}}
	s.page(c, status, "account/show", p)
}

func (s *Server) deviceTable(all []workshop.Device) *Table {
	zone := s.zone.Load()
	t := &Table{Caption: "Trusted devices", Hidden: true, Columns: []Column{Head("Device"), Head("Trusted by"), Head("Since"), Head("Until"), Head("Last used"), Head("State")}, Empty: Empty{Text: "No device is trusted."}}
	for _, d := range all {
		state, used := "trusted", "never"
		switch {
		case !d.Revoked.IsZero():
			state = "ended"
		case !d.Trusted(s.now()):
			state = "ran out"
		}
		if !d.Used.IsZero() {
			used = DayHour(d.Used.In(zone))
		}
		t.Rows = append(t.Rows, Row{Struck: state != "trusted", Cells: []Cell{{Text: d.Name}, {Text: d.By}, {Text: Day(d.Since.In(zone))}, {Text: fullDay(d.Expires.In(zone))}, {Text: used}, {Text: state}}})
	}
	return t
}

func (s *Server) trustDevice(c *gin.Context) {
	days, _ := strconv.Atoi(form(c, "days"))
	// Without the form's key: the secret goes to this device once.
	secret, until, err := s.Work.TrustDevice(c.Request.Context(), actor(c), form(c, "name"), days)
	if err == nil {
		http.SetCookie(c.Writer, &http.Cookie{
			Name: s.deviceCookie(), Value: secret, Path: "/", Expires: until, MaxAge: int(until.Sub(s.now()).Seconds()),
			HttpOnly: true, Secure: s.Sessions.Cookie.Secure, SameSite: http.SameSiteLaxMode,
		})
	}
	s.answer(c, err, func(f domain.Fields) { s.showDevices(c, http.StatusUnprocessableEntity, f) }, "This device is trusted. People with a PIN change over at “Change person”.", devicesPath)
}

func (s *Server) revokeDevice(c *gin.Context) {
	err := s.Work.RevokeDevice(keyed(c), actor(c), number(c, "device"))
	s.answer(c, err, func(f domain.Fields) { s.showDevices(c, http.StatusUnprocessableEntity, f) }, "The device is trusted no more; who was in by PIN on it is out.", devicesPath)
}
