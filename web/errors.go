package web

import (
	"log/slog"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
)

// FragmentHeader marks a request of the script, which wants a part of the page
// and not the whole. Its value is the id of the element to be filled.
const FragmentHeader = "X-Fragment"

// locationHeader tells the script to open another page.
const locationHeader = "X-Location"

// ErrorPage says what went wrong and what to do.
type ErrorPage struct {
	Page
	Status  int
	Next    string // path that helps; may be empty
	NextFor string // what the link says
}

// StatusOf turns a kind of error into an HTTP status.
func StatusOf(k domain.Kind) int {
	switch k {
	case domain.Invalid:
		return http.StatusUnprocessableEntity
	case domain.NotFound:
		return http.StatusNotFound
	case domain.Conflict:
		return http.StatusConflict
	case domain.Denied:
		return http.StatusForbidden
	case domain.SignIn:
		return http.StatusUnauthorized
	case domain.Away:
		return http.StatusServiceUnavailable
	case domain.Later:
		return http.StatusTooManyRequests
	}
	return http.StatusInternalServerError
}

// ErrorPageOf makes the page for an error: only the text of a known kind is
// shown. frame is the Page of this request.
func ErrorPageOf(err error, frame Page) *ErrorPage {
	kind := domain.KindOf(err)
	p := &ErrorPage{Page: frame, Status: StatusOf(kind), Next: "/", NextFor: "Back to the first page"}
	p.Answer = domain.Capital(domain.TextOf(err))
	switch kind {
	case domain.Invalid:
		p.Title = "That does not fit"
	case domain.NotFound:
		p.Title = "Not here"
		p.Because = []string{"Try the search field with a name, a tag, a serial or a phone number."}
	case domain.Conflict:
		p.Title = "That is not possible now"
		p.Because = []string{"Nothing was changed. Open the page again to see how it stands now."}
		p.Next, p.NextFor = frame.Here, "Open it again"
	case domain.Denied:
		p.Title = "Not for this person"
		p.Because = []string{"Ask the owner if this should be yours to do."}
	case domain.SignIn:
		p.Title = "Please sign in"
		p.Next, p.NextFor = "/sign-in", "Sign in"
	case domain.Later:
		p.Title = "Too often"
		p.Because = []string{"Each further try waits longer, so that nobody can guess. An owner can take the wait off."}
	case domain.Away:
		p.Title = "Away for a moment"
		p.Because = []string{"Go back and send the same form again in a moment: what was saved already is not saved twice."}
		p.Next, p.NextFor = frame.Here, "Open it again"
	default:
		p.Title = "That did not work"
		p.Answer = "The fault is ours, not yours. Nothing was half done."
		p.Because = []string{"Try once more; if it fails again, tell the person who runs this program the time of day."}
	}
	return p
}

// Fail answers a request with the page for err. Errors of no known kind are
// logged with their chain and never shown.
func (r *Renderer) Fail(c *gin.Context, err error, frame Page) {
	switch domain.KindOf(err) {
	case domain.Later:
		retryAfter(c, err)
	case domain.Away:
		c.Header("Retry-After", "2")
		slog.WarnContext(c.Request.Context(), "page not served", "path", c.FullPath(), "error", err)
	case domain.Internal:
		slog.ErrorContext(c.Request.Context(), "page failed", "path", c.FullPath(), "error", err)
	}
	p := ErrorPageOf(err, frame)
	p.Errors = nil
	if err := r.Page(c.Writer, p.Status, "error", p); err != nil {
		slog.ErrorContext(c.Request.Context(), "error page failed", "error", err)
		c.Status(http.StatusInternalServerError)
	}
	c.Abort()
}

// fieldErrors returns what is wrong by field, for a form that is shown again.
// An error without fields stands under "", above the form.
func fieldErrors(err error) domain.Fields {
	if f := domain.FieldsOf(err); len(f) > 0 {
		return f
	}
	if text := domain.TextOf(err); text != "" {
		return domain.Fields{"": text}
	}
	return nil
}

// WantsFragment reports whether the script asks for a part of the page, and
// for the element with which id.
func WantsFragment(c *gin.Context) (id string, ok bool) {
	id = c.GetHeader(FragmentHeader)
	return id, id != ""
}

// Go sends the reader to path after a form did its work: a 303 redirect, or
// for the script the header it follows.
func Go(c *gin.Context, path string) {
	if _, ok := WantsFragment(c); ok {
		c.Header(locationHeader, path)
		c.Status(http.StatusNoContent)
		return
	}
	c.Redirect(http.StatusSeeOther, path)
}
