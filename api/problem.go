package api

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/validation"
	"github.com/gin-gonic/gin"

	"winterbench/domain"
)

// Problem is an error as RFC 9457 has it.
type Problem struct {
	Type   string  `json:"type" doc:"about:blank: the status says it all"`
	Title  string  `json:"title" doc:"The status in words"`
	Status int     `json:"status" doc:"The HTTP status"`
	Detail string  `json:"detail" doc:"What is wrong, in a sentence a person may read"`
	Errors []Wrong `json:"errors,omitempty" doc:"Each wrong field"`
}

// Wrong is one wrong field.
type Wrong struct {
	Field  string `json:"field" doc:"Name of the field, such as rows[2].quantity"`
	Detail string `json:"detail" doc:"What would be right"`
}

// Error returns the sentence.
func (p *Problem) Error() string { return p.Detail }

// GetStatus returns the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// GetHeaders says when to ask again after a 503, in seconds. Source: RFC 9110,
// section 10.2.3.
func (p *Problem) GetHeaders() http.Header {
	if p.Status == http.StatusServiceUnavailable {
		return http.Header{"Retry-After": {"2"}}
	}
	return nil
}

// ContentType is the media type of a problem.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

func (p *Problem) complete() *Problem {
	p.Type, p.Title = "about:blank", http.StatusText(p.Status)
	return p
}

func ourFault() *Problem {
	return &Problem{Status: http.StatusInternalServerError, Detail: "the fault is ours, not yours; nothing was half done"}
}

// statusOf is the HTTP status of a kind of error.
func statusOf(k domain.Kind) int {
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

// problemOf turns an error of the domain into a problem. An internal error is
// logged under what and told as our fault, without its text.
func problemOf(err error, what string) *Problem {
	var p *Problem
	if errors.As(err, &p) {
		return p.complete()
	}
	kind := domain.KindOf(err)
	if kind == domain.Internal {
		slog.Error("request failed", "operation", what, "error", err)
		return ourFault().complete()
	}
	if kind == domain.Away {
		slog.Warn("request not served", "operation", what, "error", err)
	}
	p = &Problem{Status: statusOf(kind), Detail: domain.TextOf(err)}
	for field, text := range domain.FieldsOf(err) {
		p.Errors = append(p.Errors, Wrong{Field: field, Detail: text})
	}
	p.sort()
	return p.complete()
}

// bodyOf is what the body of an operation must be; ctx may be nil.
func bodyOf(ctx huma.Context) string {
	if ctx != nil && ctx.Operation() != nil {
		if o, ok := ctx.Operation().Metadata[metaOp].(operation); ok && o.pictures {
			return "the picture itself, and this file is empty; send the picture again"
		}
	}
	return "a JSON object"
}

func (p *Problem) sort() {
	slices.SortFunc(p.Errors, func(a, b Wrong) int { return cmp.Or(cmp.Compare(a.Field, b.Field), cmp.Compare(a.Detail, b.Detail)) })
}

// write answers with a problem outside of an operation's handler.
func write(c *gin.Context, p *Problem) {
	body, err := json.Marshal(p.complete())
	if err != nil {
		panic(err) // only texts and a number
	}
	if p.Status == http.StatusUnauthorized {
		c.Header("WWW-Authenticate", `Bearer realm="Winterbench"`)
	}
	c.Abort()
	c.Data(p.Status, p.ContentType(""), append(body, '\n'))
}

// The library that reads requests keeps its texts and its way to make errors in
// package variables. Ours say what would be right and never repeat a value,
// which may be a password.
func init() {
	huma.NewError = func(status int, detail string, errs ...error) huma.StatusError {
		return problemIn(nil, status, detail, errs)
	}
	huma.NewErrorWithContext = func(ctx huma.Context, status int, detail string, errs ...error) huma.StatusError {
		return problemIn(ctx, status, detail, errs)
	}
	huma.ValidateStrictCasing = true
	huma.DefaultArrayNullable = false
	validation.MsgUnexpectedProperty = unknownField
	validation.MsgExpectedRFC3339DateTime = "must be a moment such as 2026-11-25T16:00:00Z"
	validation.MsgExpectedRFC3339Date = "must be a day of the calendar such as 2026-11-25"
	validation.MsgExpectedBoolean = "must be true or false"
	validation.MsgExpectedNumber = "must be a number"
	validation.MsgExpectedInteger = "must be a whole number, without quotes"
	validation.MsgExpectedString = "must be text in quotes"
	validation.MsgExpectedArray = "must be a list"
	validation.MsgExpectedObject = "must be an object"
	validation.MsgExpectedOneOf = "must be one of: %s"
	validation.MsgExpectedMinimumNumber = "must be at least %v"
	validation.MsgExpectedMaximumNumber = "must be at most %v"
	validation.MsgExpectedMinLength = "must have at least %d letters"
	validation.MsgExpectedMaxLength = "must have at most %d letters"
	validation.MsgExpectedMinItems = "must have at least %d entries"
	validation.MsgExpectedMaxItems = "must have at most %d entries"
	validation.MsgExpectedRequiredProperty = neededField + "%s"
}

const (
	unknownField = "is not known here"
	neededField  = "needed: "
)

// mostOf is how many bytes the body of a request may have. ctx may be nil.
func mostOf(ctx huma.Context) int64 {
	if ctx != nil && ctx.Operation() != nil {
		if o, ok := ctx.Operation().Metadata[metaOp].(operation); ok {
			return o.most()
		}
	}
	return maxBody
}

// problemIn makes a problem out of what is wrong with the shape of a request.
// ctx may be nil.
func problemIn(ctx huma.Context, status int, detail string, errs []error) *Problem {
	switch {
	case status == http.StatusInternalServerError:
		return problemOf(fmt.Errorf("%s: %w", detail, errors.Join(errs...)), operationOf(ctx))
	case status == http.StatusRequestEntityTooLarge:
		return (&Problem{Status: status, Detail: fmt.Sprintf("the body is too large; it may have %d MB", mostOf(ctx)>>20)}).complete()
	case status == http.StatusUnsupportedMediaType:
		return (&Problem{Status: status, Detail: "the body must be JSON; send Content-Type: application/json"}).complete()
	case status == http.StatusRequestTimeout:
		return (&Problem{Status: status, Detail: "the body took too long to arrive"}).complete()
	}
	p := &Problem{Status: status, Detail: detail}
	if status == http.StatusBadRequest && len(errs) == 0 {
		p.Detail = "a body is needed: " + bodyOf(ctx)
	}
	for _, err := range errs {
		p.Errors = append(p.Errors, wrongOf(ctx, err))
	}
	p.sort()
	switch len(p.Errors) {
	case 0:
	case 1:
		p.Detail = strings.TrimSpace(p.Errors[0].Field + " " + p.Errors[0].Detail)
	default:
		p.Detail = fmt.Sprintf("%d fields need another look", len(p.Errors))
	}
	return p.complete()
}

func operationOf(ctx huma.Context) string {
	if ctx == nil {
		return ""
	}
	return ctx.Operation().OperationID
}

// ours are the texts of the library that may be shown as they are, or what
// stands for them; all that it says besides is told in general words.
var ours = map[string]string{
	"required path parameter is missing": "is needed", "required query parameter is missing": "is needed",
	"required header parameter is missing": "is needed", "invalid integer": "must be a whole number", "invalid boolean": "must be true or false",
	"unknown query parameter": unknownField,
}

// wrongOf names the field of an error and says what would be right.
func wrongOf(ctx huma.Context, err error) Wrong {
	var shape *shapeError
	if errors.As(err, &shape) {
		return Wrong{Detail: shape.text}
	}
	var d huma.ErrorDetailer
	if !errors.As(err, &d) {
		return Wrong{Detail: "cannot be read"}
	}
	place, text := d.ErrorDetail().Location, d.ErrorDetail().Message
	in, field, _ := strings.Cut(place, ".")
	if known, there := ours[text]; there {
		text = known
	}
	switch {
	case strings.HasPrefix(text, notJSON):
		return Wrong{Detail: text}
	case strings.HasPrefix(text, neededField):
		return Wrong{Field: strings.TrimPrefix(field+"."+strings.TrimPrefix(text, neededField), "."), Detail: "is needed"}
	case text == unknownField:
		return Wrong{Field: clip(field), Detail: unknownField + knownInstead(ctx, in, field)}
	case strings.HasPrefix(text, "must "), text == "is needed":
		return Wrong{Field: clip(field), Detail: strings.ReplaceAll(text, `"`, "")}
	}
	return Wrong{Field: clip(field), Detail: "cannot be read"}
}

// clip shortens a name that the sender chose.
func clip(s string) string {
	if r := []rune(s); len(r) > 80 {
		return string(r[:80]) + "..."
	}
	return s
}

// knownInstead lists what would be known where an unknown field stood.
func knownInstead(ctx huma.Context, in, field string) string {
	var names []string
	switch {
	case ctx == nil:
	case in == "query":
		for _, p := range ctx.Operation().Parameters {
			if p.In == "query" {
				names = append(names, p.Name)
			}
		}
	default:
		names = siblings(ctx.Operation(), field)
	}
	if len(names) == 0 {
		return ""
	}
	slices.Sort(names)
	return "; known are: " + strings.Join(names, ", ")
}

// siblings lists the fields of the object in which field stands.
func siblings(op *huma.Operation, field string) []string {
	o, ok := op.Metadata[metaOp].(operation)
	if !ok || op.RequestBody == nil || op.RequestBody.Content["application/json"] == nil {
		return nil
	}
	registry := o.api.huma.OpenAPI().Components.Schemas
	s := op.RequestBody.Content["application/json"].Schema
	for {
		for s != nil && s.Ref != "" {
			s = registry.SchemaFromRef(s.Ref)
		}
		step, rest, more := strings.Cut(field, ".")
		if s == nil || !more {
			break
		}
		name, _, listed := strings.Cut(step, "[")
		next := s.Properties[name]
		if next == nil { // the unknown name itself holds a point
			break
		}
		if s, field = next, rest; listed {
			s = next.Items
		}
	}
	if s == nil {
		return nil
	}
	names := make([]string, 0, len(s.Properties))
	for name := range s.Properties {
		names = append(names, name)
	}
	return names
}
