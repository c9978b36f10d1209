package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// Config is what the pages need.
type Config struct {
	Work     *workshop.Workshop
	Read     workshop.Queries
	Sessions *scs.SessionManager
	Version  string
	SignIns  []string          // names offered at the sign-in of a demonstration; may be empty
	Note     string            // a line under the sign-in form; may be empty
	Outlook  *workshop.Outlook // plays the queue; nil: pages say nothing of it
	Origin   string            // scheme and host under which the pages are reached, for the code on the tag
}

// Server answers page requests.
type Server struct {
	Config
	render *Renderer
	static *Static
	zone   atomic.Pointer[time.Location]
}

// New makes the page server.
func New(o Config) (*Server, error) {
	s := &Server{Config: o}
	s.zone.Store(time.UTC)
	var err error
	if s.static, err = NewStatic(); err != nil {
		return nil, err
	}
	if s.render, err = NewRenderer(s.zone.Load, s.static); err != nil {
		return nil, err
	}
	return s, nil
}

// Register puts every page on the engine.
func (s *Server) Register(e *gin.Engine) {
	e.GET("/static/*name", gin.WrapH(s.static))
	open := e.Group("/", Headers)
	s.signInRoutes(open)
	open.POST("/theme", SetTheme)
	s.openFeedRoutes(open)
	s.yoursRoutes(open)
	in := e.Group("/", Headers, s.signedIn)
	s.deskRoutes(in)
	s.customerRoutes(in)
	s.eraseRoutes(in)
	s.arrivalRoutes(in)
	s.surveyRoutes(in)
	s.quoteRoutes(in)
	s.jobRoutes(in)
	s.moneyRoutes(in)
	s.benchRoutes(in)
	s.taskRoutes(in)
	s.cabinetRoutes(in)
	s.airRoutes(in)
	s.photoRoutes(in)
	s.comebackRoutes(in)
	s.ownerRoutes(in)
	s.stockRoutes(in)
	s.feedRoutes(in)
	s.mailRoutes(in)
	s.linkRoutes(in)
	s.queueRoutes(in)
	s.seasonRoutes(in)
	s.booksRoutes(in)
	s.auditRoutes(in)
	s.templateRoutes(in)
	s.accountRoutes(in)
	e.NoRoute(Headers, func(c *gin.Context) {
		s.fail(c, domain.NotFoundf("there is no page at %s", c.Request.URL.Path))
	})
}

type presentInContext struct{}

// signedIn lets through who is signed in and sends everybody else to the
// sign-in page, or to the first settings when the shop has none.
func (s *Server) signedIn(c *gin.Context) {
	ctx := c.Request.Context()
	here, err := s.Work.Here(ctx, s.Read, s.Sessions.GetInt64(ctx, sessionStay))
	if err == nil {
		s.letIn(c, here)
		return
	}
	if kind := domain.KindOf(err); kind != domain.SignIn && kind != domain.NotFound {
		s.fail(c, err)
		return
	}
	if _, err := s.Read.ShopSettings(ctx); domain.KindOf(err) == domain.NotFound {
		Go(c, "/first")
		c.Abort()
		return
	}
	if c.Request.Method != http.MethodGet {
		s.fail(c, &domain.Error{Kind: domain.SignIn, Text: "You are signed out. Sign in and send the form again."})
		return
	}
	Go(c, "/sign-in?next="+url.QueryEscape(c.Request.URL.RequestURI()))
	c.Abort()
}

// letIn goes on for who is signed in; who must set up the second step first sees
// nothing but that.
func (s *Server) letIn(c *gin.Context, here *workshop.Present) {
	ctx := context.WithValue(c.Request.Context(), presentInContext{}, here)
	c.Request = c.Request.WithContext(workshop.WithStay(ctx, here.Stay.ID))
	if here.MustSecond && !strings.HasPrefix(c.FullPath(), accountPath) {
		Go(c, accountPath)
		c.Abort()
		return
	}
	c.Next()
}

// presentOf is who stands behind a request, nil for nobody.
func presentOf(c *gin.Context) *workshop.Present {
	p, _ := c.Request.Context().Value(presentInContext{}).(*workshop.Present)
	return p
}

// must reports whether the person must set up the second step first.
func must(c *gin.Context) bool {
	p := presentOf(c)
	return p != nil && p.MustSecond
}

// actor is who is signed in.
func actor(c *gin.Context) domain.Actor {
	if p := presentOf(c); p != nil {
		return p.Actor
	}
	return domain.Actor{}
}

// frame makes the Page of a request. here is the door it lies behind.
func (s *Server) frame(c *gin.Context, title string, here domain.Role) Page {
	ctx := c.Request.Context()
	who := actor(c)
	p := Page{Title: title, Person: who, Theme: ThemeOf(c), Here: c.Request.URL.RequestURI(), Key: NewKey(), Version: s.Version}
	if c.Request.Method != http.MethodGet {
		p.Here = "/"
	}
	p.Device = s.deviceSecret(c) != ""
	p.Limited = who.Limited
	p.Doors = Doors(func(r domain.Role) bool { return who.Wears(r) }, here)
	if shop, err := s.Read.ShopSettings(ctx); err == nil {
		p.Shop = shop.Name
		s.zone.Store(shop.Location())
	}
	if text := s.Sessions.PopString(ctx, sessionFlash); text != "" {
		p.Flash = &Flash{Text: text}
	}
	return p
}

// say leaves a message for the next page.
func (s *Server) say(c *gin.Context, text string) {
	s.Sessions.Put(c.Request.Context(), sessionFlash, text)
}

// fail answers with the page for err.
func (s *Server) fail(c *gin.Context, err error) {
	s.render.Fail(c, err, s.frame(c, "", ""))
}

// page writes a whole page, or the error page when it cannot be made.
func (s *Server) page(c *gin.Context, status int, name string, data Paged) {
	if err := s.render.Page(c.Writer, status, name, data); err != nil {
		s.fail(c, err)
	}
}

// fragment writes a part of a page for a swap by the script.
func (s *Server) fragment(c *gin.Context, status int, name, part string, data any) {
	if err := s.render.Fragment(c.Writer, status, name, part, data); err != nil {
		s.fail(c, err)
	}
}

// now is the moment that the use cases see.
func (s *Server) now() time.Time { return s.Work.Now() }

// NewKey makes an idempotency key for a form.
func NewKey() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// secretFields are left out of the sum that is kept with an idempotency key: who
// read the database could try passwords against a plain sum, quickly.
var secretFields = []string{"password", "password_now", "pin", "code"}

// keyed is the request's context with the form's idempotency key.
func keyed(c *gin.Context) context.Context {
	key := c.PostForm("key")
	sum := sha256.New()
	form := url.Values{}
	for name, values := range c.Request.PostForm {
		if name != "key" && !slices.Contains(secretFields, name) {
			form[name] = values
		}
	}
	sum.Write([]byte(c.Request.URL.Path + "?" + form.Encode()))
	return workshop.WithKey(c.Request.Context(), key, hex.EncodeToString(sum.Sum(nil)))
}

// number reads a positive whole number out of the path; 0 when it is none.
func number(c *gin.Context, name string) int64 {
	n, err := strconv.ParseInt(c.Param(name), 10, 64)
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// form reads typed values, trimmed.
func form(c *gin.Context, name string) string { return strings.TrimSpace(c.PostForm(name)) }

// pageOf reads ?from= for long lists of size lines a page.
func pageOf(c *gin.Context, size int) workshop.Page {
	from, err := strconv.Atoi(c.Query("from"))
	if err != nil || from < 0 || from > 10_000_000 {
		from = 0
	}
	return workshop.Page{Offset: from, Limit: size}
}

// pager leads through a list of total lines of which shown stand on this page.
func pager(c *gin.Context, p workshop.Page, shown, total int, what string) Pager {
	out := Pager{From: p.Offset + 1, To: p.Offset + shown, Total: total, What: what}
	at := func(from int) string {
		q := c.Request.URL.Query()
		q.Set("from", strconv.Itoa(from))
		return c.Request.URL.Path + "?" + q.Encode()
	}
	if p.Offset > 0 {
		out.Earlier = at(max(p.Offset-p.Limit, 0))
	}
	if out.To < total {
		out.Later = at(p.Offset + p.Limit)
	}
	return out
}
