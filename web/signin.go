package web

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
)

// signInRoutes registers what is open to everybody: signing in, and the first
// settings of an empty shop.
func (s *Server) signInRoutes(r *gin.RouterGroup) {
	r.GET("/sign-in", s.askSignIn)
	r.POST("/sign-in", s.signIn)
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
	if s.Sessions.GetInt64(ctx, sessionStaff) != 0 {
		if p, err := s.Read.StaffMember(ctx, domain.StaffID(s.Sessions.GetInt64(ctx, sessionStaff))); err == nil && p.Active {
			Go(c, OwnPath(c.Query("next")))
			return
		}
	}
	s.showSignIn(c, http.StatusOK, OwnPath(c.Query("next")), nil)
}

func (s *Server) showSignIn(c *gin.Context, status int, next string, errs domain.Fields) {
	p := &SignInPage{Page: s.frame(c, "Sign in", ""), Name: form(c, "name"), Staff: s.SignIns, Next: next, Note: s.Note}
	p.Answer, p.Errors = "Who is here?", errs
	s.page(c, status, "signin", p)
}

func (s *Server) signIn(c *gin.Context) {
	next := OwnPath(form(c, "next"))
	p, err := s.Work.SignIn(c.Request.Context(), form(c, "name"), c.PostForm("password"))
	switch {
	case domain.KindOf(err) == domain.SignIn:
		s.showSignIn(c, http.StatusUnprocessableEntity, next, domain.Fields{"password": domain.TextOf(err)})
		return
	case err != nil:
		s.fail(c, err)
		return
	}
	if err := s.enter(c, p.ID); err != nil {
		s.fail(c, err)
		return
	}
	Go(c, next)
}

// enter gives the session a new token, so that one known from before the
// sign-in is worth nothing, and puts the person into it.
func (s *Server) enter(c *gin.Context, id domain.StaffID) error {
	ctx := c.Request.Context()
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.Sessions.Put(ctx, sessionStaff, int64(id))
	return nil
}

func (s *Server) signOut(c *gin.Context) {
	if err := s.Sessions.Destroy(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	Go(c, "/sign-in")
}
