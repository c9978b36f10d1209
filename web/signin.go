package web

import (
	"net/http"
	"net/url"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const (
	sessionStay  = "stay"  // int64 identity of the stay of who is signed in
	sessionFlash = "flash" // text
	sessionHalf  = "half"  // int64 identity of who gave the right password and still owes the second step
	sessionSince = "since" // int64, Unix seconds: when they gave it
)

// halfFor is how long somebody may take over the second step.
const halfFor = 5 * time.Minute

// signInRoutes registers what is open to everybody: signing in, and the first
// settings of an empty shop.
func (s *Server) signInRoutes(r *gin.RouterGroup) {
	r.GET("/sign-in", s.askSignIn)
	r.POST("/sign-in", s.signIn)
	r.GET("/sign-in/code", s.askCode)
	r.POST("/sign-in/code", s.secondStep)
	r.GET(quickPath, s.askQuick)
	r.POST(quickPath, s.quick)
	r.POST("/sign-out", s.signOut)
	r.GET("/first", s.askFirst)
	r.POST("/first", s.first)
}

func (s *Server) askSignIn(c *gin.Context) {
	ctx := c.Request.Context()
	if _, err := s.Read.ShopSettings(ctx); domain.KindOf(err) == domain.NotFound {
		Go(c, "/first")
		return
	}
	if _, err := s.Work.Here(ctx, s.Read, s.Sessions.GetInt64(ctx, sessionStay)); err == nil {
		Go(c, OwnPath(c.Query("next")))
		return
	}
	s.showSignIn(c, http.StatusOK, OwnPath(c.Query("next")), nil)
}

func (s *Server) showSignIn(c *gin.Context, status int, next string, errs domain.Fields) {
	p := &SignInPage{Page: s.frame(c, "Sign in", ""), Name: form(c, "name"), Staff: s.SignIns, Next: next, Note: s.Note}
	p.Answer, p.Errors = "Who is here?", errs
	s.page(c, status, "signin", p)
}

func (s *Server) signIn(c *gin.Context) {
	ctx, next := c.Request.Context(), OwnPath(form(c, "next"))
	e, err := s.Work.SignIn(ctx, form(c, "name"), c.PostForm("password"))
	if err != nil {
		s.refused(c, err, "password", func(status int, errs domain.Fields) { s.showSignIn(c, status, next, errs) })
		return
	}
	if e.Stay != 0 {
		s.entered(c, e, next)
		return
	}
	if err := s.Sessions.RenewToken(ctx); err != nil {
		s.fail(c, err)
		return
	}
	s.Sessions.Put(ctx, sessionHalf, int64(e.ID))
	s.Sessions.Put(ctx, sessionSince, s.now().Unix())
	Go(c, "/sign-in/code?next="+url.QueryEscape(next))
}

// refused shows a form of signing in again, with what is wrong at a field; or the error page.
func (s *Server) refused(c *gin.Context, err error, field string, again func(status int, errs domain.Fields)) {
	switch domain.KindOf(err) {
	case domain.SignIn:
		again(http.StatusUnprocessableEntity, domain.Fields{field: domain.TextOf(err)})
	case domain.Later:
		retryAfter(c, err)
		again(http.StatusTooManyRequests, domain.Fields{field: domain.TextOf(err)})
	default:
		s.fail(c, err)
	}
}

// entered lets the person into the session and goes on.
func (s *Server) entered(c *gin.Context, e *workshop.Entered, next string) {
	if err := s.enter(c, e.Stay); err != nil {
		s.fail(c, err)
		return
	}
	Go(c, next)
}

// enter gives the session a new token, so that one known from before the
// sign-in is worth nothing, and puts the stay into it. Who was in it before is
// signed out.
func (s *Server) enter(c *gin.Context, stay int64) error {
	ctx := c.Request.Context()
	before := s.Sessions.GetInt64(ctx, sessionStay)
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.Sessions.Remove(ctx, sessionHalf)
	s.Sessions.Remove(ctx, sessionSince)
	s.Sessions.Put(ctx, sessionStay, stay)
	if before == 0 {
		return nil
	}
	return s.Work.SignOut(ctx, domain.Actor{}, before)
}

// half is who gave the right password a while ago and still owes the second
// step; 0 for nobody.
func (s *Server) half(c *gin.Context) domain.StaffID {
	ctx := c.Request.Context()
	since := time.Unix(s.Sessions.GetInt64(ctx, sessionSince), 0)
	if s.now().Sub(since) > halfFor {
		return 0
	}
	return domain.StaffID(s.Sessions.GetInt64(ctx, sessionHalf))
}

func (s *Server) askCode(c *gin.Context) {
	if s.half(c) == 0 {
		Go(c, "/sign-in?next="+url.QueryEscape(OwnPath(c.Query("next"))))
		return
	}
	s.showCode(c, http.StatusOK, OwnPath(c.Query("next")), nil)
}

func (s *Server) showCode(c *gin.Context, status int, next string, errs domain.Fields) {
	p := &FormPage{Page: s.frame(c, "Second step", ""), Action: "/sign-in/code", Button: "Go on", Back: Link{Href: "/sign-in", Text: "Back"}, Hidden: []Pair{{Name: "next", Value: next}}}
	p.Answer, p.Errors = "The password was right. Now the code that your authenticator shows.", errs
	code := TextField("code", "Code", "").Need().Limit(40).Middle().Auto("one-time-code").Hint("Six digits. If the authenticator is lost, one of your recovery codes does it instead; without those, an owner can take the second step off.")
	p.Groups = []Group{{Legend: "Your authenticator", Fields: []Field{code.Marked(errs)}}}
	s.formPage(c, status, p)
}

func (s *Server) secondStep(c *gin.Context) {
	who, next := s.half(c), OwnPath(form(c, "next"))
	if who == 0 {
		s.say(c, "That took too long. Please sign in once more.")
		Go(c, "/sign-in?next="+url.QueryEscape(next))
		return
	}
	e, err := s.Work.SecondStep(c.Request.Context(), who, form(c, "code"))
	if err != nil {
		s.refused(c, err, "code", func(status int, errs domain.Fields) { s.showCode(c, status, next, errs) })
		return
	}
	s.entered(c, e, next)
}

func (s *Server) signOut(c *gin.Context) {
	ctx := c.Request.Context()
	if stay := s.Sessions.GetInt64(ctx, sessionStay); stay != 0 {
		who := domain.Actor{}
		if p, err := s.Work.Here(ctx, s.Read, stay); err == nil {
			who = p.Actor
		}
		if err := s.Work.SignOut(ctx, who, stay); err != nil {
			s.fail(c, err)
			return
		}
	}
	if err := s.Sessions.Destroy(ctx); err != nil {
		s.fail(c, err)
		return
	}
	Go(c, "/sign-in")
}
