// Package api is the JSON interface of the shop under /api/v1.
//
// Every use case of package workshop has one operation, and so has every read.
// Requests and answers are structs of this package: renaming a field of the
// domain does not break a client. Operations of one noun are registered in one
// function beside their handlers.
//
// What holds for all operations stands in guard.go (sign-in, who may do what,
// idempotency keys), problem.go (errors as RFC 9457 problem documents) and
// route.go (entity tags, paging).
package api

import (
	"log/slog"
	"net/http"
	"runtime/debug"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"winterbench/domain/workshop"
)

// Root is the path under which the interface lies.
const Root = "/api/v1"

// Config is what the interface works with.
type Config struct {
	Work    *workshop.Workshop
	Read    workshop.Queries
	Outlook *workshop.Outlook // plays the queue; nil: nothing is said of it
	Version string            // of the program, shown on the readable page
}

// API answers requests under [Root].
type API struct {
	work    *workshop.Workshop
	read    workshop.Queries
	outlook *workshop.Outlook
	version string
	huma    huma.API
	nouns   []string // in the order the readable page shows them
}

// New makes the interface.
func New(c Config) *API {
	return &API{work: c.Work, read: c.Read, outlook: c.Outlook, version: c.Version}
}

// Register adds the routes to an engine. From then on the engine answers
// everything under /api with JSON, also what it has no route for; so it must be
// called before other routes are registered and only once for an engine.
func (a *API) Register(e *gin.Engine) {
	e.Use(a.around)
	config := huma.DefaultConfig("Winterbench", "1")
	config.Info.Description = about
	config.OpenAPIPath, config.DocsPath, config.SchemasPath, config.CreateHooks = "", "", "", nil
	config.RejectUnknownQueryParameters = true
	config.Formats = map[string]huma.Format{"application/json": format, "json": format}
	config.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"token": {Type: "http", Scheme: "bearer", Description: "A token from the page /tokens, from POST " + Root + "/tokens, or from the command: winterbench staff token NAME"},
	}
	a.huma = humagin.New(e, config)
	a.huma.UseMiddleware(a.guard)
	for _, noun := range []func(){
		a.deskRoutes, a.queueRoutes, a.seasonRoutes, a.lastingRoutes, a.customerRoutes, a.eraseRoutes, a.instrumentRoutes, a.jobRoutes, a.surveyRoutes, a.quoteRoutes, a.taskRoutes, a.waitRoutes,
		a.holdRoutes, a.airRoutes, a.photoRoutes, a.comebackRoutes, a.moneyRoutes, a.booksRoutes, a.auditRoutes, a.partRoutes, a.stockRoutes, a.templateRoutes, a.learnRoutes, a.shopRoutes, a.staffRoutes, a.tokenRoutes, a.feedRoutes, a.mailRoutes, a.linkRoutes, a.calcRoutes,
	} {
		noun()
	}
	a.describe(e)
}

// around answers what has no route under /api, and catches panics there.
func (a *API) around(c *gin.Context) {
	path := c.Request.URL.Path
	if path != "/api" && !strings.HasPrefix(path, "/api/") {
		return
	}
	h := c.Writer.Header()
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "private, no-cache")
	defer func() {
		if p := recover(); p != nil {
			slog.Error("panic", "route", c.FullPath(), "what", p, "stack", string(debug.Stack()))
			if !c.Writer.Written() {
				write(c, ourFault())
			}
			c.Abort()
		}
	}()
	if c.FullPath() != "" {
		c.Next()
		return
	}
	if c.Writer.Status() == http.StatusMethodNotAllowed {
		write(c, &Problem{Status: http.StatusMethodNotAllowed, Detail: "this path does not take " + methodName(c.Request.Method) + "; it takes " + h.Get("Allow")})
		return
	}
	write(c, &Problem{Status: http.StatusNotFound, Detail: "there is nothing at this path; " + Root + "/ lists what there is"})
}

func methodName(m string) string {
	if len(m) > 10 {
		return "that method"
	}
	return m
}

const about = `The JSON interface of a workshop that repairs stringed instruments.

Sign in with ` + "`Authorization: Bearer TOKEN`" + `. A token acts for one member of staff and may do what that person may.

- Amounts of money are decimal text in major units, such as "412.40"; the currency stands once in each document. Other decimals are text too.
- Dates are ISO 8601, such as 2026-11-25. Moments are RFC 3339 in UTC. What has not happened is null.
- Unknown fields and unknown query parameters are refused.
- Errors are problem documents (RFC 9457). ` + "`errors`" + ` names each wrong field and what would be right.
- Lists take ` + "`offset`" + ` and ` + "`limit`" + ` and answer with ` + "`total`" + ` and Link headers (RFC 8288).
- What can be changed has an ETag. Send it back in If-Match: if somebody was faster, nothing happens and the answer is 412. Send it in If-None-Match to be told with 304 that nothing changed.
- Send an Idempotency-Key with every change: the same request sent again under the same key is carried out once and answers the same. The same key with another request is refused with 409.
- A body has at most 1 MB where the operation does not say otherwise.

Taxes, consumer law and the law on unclaimed goods differ from place to place: what is computed here follows the shop's settings, which the owner checks.`
