package api

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// maxBody is the most bytes that a body may have.
const maxBody = 1 << 20

// operation is what is said of an operation besides its shapes.
type operation struct {
	id      string // unique, snake_case
	method  string
	path    string // below Root
	noun    string // under which it is listed
	summary string // one line
	about   string // more, for whom the line is not enough
	act     workshop.Action
	open    bool // needs no sign-in
	status  int  // 0: 200
	match   match
	noKey   bool // an Idempotency-Key is refused
	pure    bool // a POST that keeps nothing: keys do not matter
	body    int  // the most bytes a body may have; 0: maxBody
	api     *API

	pictures bool // the body is a picture
	jpeg     bool // the answer is a picture
}

// match says what If-Match means to an operation.
type match int

const (
	matchNone   match = iota // it is ignored
	matchMay                 // it may be sent
	matchNeeded              // the change is refused without it
)

const metaOp = "operation"

// most is the most bytes that a body may have.
func (o operation) most() int64 {
	if o.body > 0 {
		return int64(o.body)
	}
	return maxBody
}

// changes reports whether the operation changes something.
func (o operation) changes() bool {
	return !o.pure && o.method != http.MethodGet && o.method != http.MethodHead
}

// describe turns it into what the library registers.
func (o operation) describe() huma.Operation {
	h := huma.Operation{
		OperationID: o.id, Method: o.method, Path: Root + o.path, Summary: o.summary, Description: o.about, Tags: []string{o.noun},
		DefaultStatus: o.status, MaxBodyBytes: o.most() + 1, BodyReadTimeout: 30 * time.Second, Metadata: map[string]any{metaOp: o},
	}
	if o.pictures {
		h.RequestBody, h.BodyReadTimeout = takesPictures(), 2*time.Minute
	}
	if o.jpeg {
		h.Responses = answersJPEG()
	}
	if !o.open {
		h.Security = []map[string][]string{{"token": {}}}
		h.Description = strings.TrimSpace(o.about + "\n\nFor: " + hats(o.act) + ".")
	}
	header := func(name, text string, required bool) {
		h.Parameters = append(h.Parameters, &huma.Param{Name: name, In: "header", Description: text, Required: required, Schema: &huma.Schema{Type: huma.TypeString}})
	}
	if o.method != http.MethodGet && !o.open && !o.noKey && !o.pure {
		header("Idempotency-Key", fmt.Sprintf("Your own text of at most %d letters; the same request under the same key is carried out once", workshop.MaxKey), false)
	}
	switch o.match {
	case matchMay:
		header("If-Match", "The ETag of what you saw; 412 when it changed since", false)
	case matchNeeded:
		header("If-Match", "The ETag of what you saw; 412 when it changed since", true)
	case matchNone:
	}
	return h
}

func hats(a workshop.Action) string {
	var names []string
	for _, r := range workshop.Allowed(a) {
		names = append(names, string(r))
	}
	return strings.Join(names, ", ")
}

// add registers an operation. The handler's errors become problems.
func add[I, O any](a *API, o operation, handle func(ctx context.Context, in *I) (*O, error)) {
	o.api = a
	if !slices.Contains(a.nouns, o.noun) {
		a.nouns = append(a.nouns, o.noun)
	}
	huma.Register(a.huma, o.describe(), func(ctx context.Context, in *I) (*O, error) {
		out, err := handle(ctx, in)
		if err == nil {
			return out, nil
		}
		var same *notModified
		if errors.As(err, &same) {
			return nil, same
		}
		return nil, problemOf(err, o.id)
	})
}

// format reads and writes JSON. What is no JSON is told by its place, not by
// its content.
var format = huma.Format{
	Marshal: func(w io.Writer, v any) error {
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		return enc.Encode(v)
	},
	Unmarshal: func(data []byte, v any) error {
		err := json.Unmarshal(data, v)
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			return fmt.Errorf("%s: it stops making sense at byte %d", notJSON, syntax.Offset)
		}
		return err
	},
}

const notJSON = "the body is not JSON"

// shapeError is something wrong with a request that is no field of its body.
type shapeError struct{ text string }

func (e *shapeError) Error() string { return e.text }

// one is a single resource in an answer.
type one[T any] struct {
	ETag     string `header:"ETag" doc:"Version of what is answered"`
	Location string `header:"Location" doc:"Where what was made can be read"`
	Body     T
}

// list is a stretch of a long list.
type list[T any] struct {
	Currency string `json:"currency,omitempty" doc:"Currency of all amounts, ISO 4217"`
	Total    int    `json:"total" doc:"Entries there are in all"`
	Offset   int    `json:"offset" doc:"Entries before the first one here"`
	Limit    int    `json:"limit" doc:"The most entries asked for"`
	Items    []T    `json:"items"`
}

// many is a list in an answer.
type many[T any] struct {
	Link string `header:"Link" doc:"RFC 8288: first, prev, next and last"`
	Body list[T]
}

// Paged are the query parameters of a long list.
type Paged struct {
	Offset int `query:"offset" minimum:"0" maximum:"100000000" default:"0" doc:"Entries to leave out at the start"`
	Limit  int `query:"limit" minimum:"1" maximum:"200" default:"50" doc:"The most entries to answer with"`
}

func (p Paged) page() workshop.Page { return workshop.Page{Offset: p.Offset, Limit: p.Limit} }

// paged answers with a stretch of a list of total entries.
func paged[T any](ctx context.Context, p Paged, currency string, total int, items []T) *many[T] {
	return &many[T]{
		Link: links(askedOf(ctx).url, p, total),
		Body: list[T]{Currency: currency, Total: total, Offset: p.Offset, Limit: p.Limit, Items: items},
	}
}

// whole answers with a list that is never cut.
func whole[T any](currency string, items []T) *many[T] {
	return &many[T]{Body: list[T]{Currency: currency, Total: len(items), Limit: len(items), Items: items}}
}

// links leads through a list: first, prev, next, last.
func links(u *url.URL, p Paged, total int) string {
	var out []string
	add := func(rel string, offset int) {
		q := u.Query()
		q.Set("offset", strconv.Itoa(offset))
		q.Set("limit", strconv.Itoa(p.Limit))
		out = append(out, fmt.Sprintf(`<%s?%s>; rel="%s"`, u.EscapedPath(), q.Encode(), rel))
	}
	if p.Offset > 0 {
		add("first", 0)
		add("prev", max(p.Offset-p.Limit, 0))
	}
	if p.Offset+p.Limit < total {
		add("next", p.Offset+p.Limit)
		add("last", (total-1)/p.Limit*p.Limit)
	}
	return strings.Join(out, ", ")
}

// notModified tells that the sender has the present state already.
type notModified struct{ tag string }

func (e *notModified) Error() string  { return "not modified" }
func (e *notModified) GetStatus() int { return http.StatusNotModified }

// GetHeaders returns the entity tag.
func (e *notModified) GetHeaders() http.Header { return http.Header{"Etag": {e.tag}} }

// answer is a single resource with its entity tag: the version, by which a
// change is checked, and a sum of the content, which also tells what time alone
// changed. A read of what the sender has already is not modified.
func answer[T any](ctx context.Context, version int, body T) (*one[T], error) {
	text, err := json.Marshal(body)
	if err != nil {
		return nil, fmt.Errorf("write an answer: %w", err)
	}
	sum := sha256.Sum256(text)
	tag := fmt.Sprintf(`"%d-%s"`, version, hex.EncodeToString(sum[:6]))
	asked := askedOf(ctx)
	if asked.method == http.MethodGet && holdsTag(asked.none, tag) {
		return nil, &notModified{tag: tag}
	}
	return &one[T]{ETag: tag, Body: body}, nil
}

// made is answer for something new that can be read at a path below Root.
func made[T any](ctx context.Context, version int, path string, body T) (*one[T], error) {
	out, err := answer(ctx, version, body)
	if err == nil {
		out.Location = Root + path
	}
	return out, err
}

// holdsTag reports whether an If-None-Match header names a tag. The comparison
// is the weak one of RFC 9110, section 8.8.3.2.
func holdsTag(header, tag string) bool {
	if strings.TrimSpace(header) == "*" {
		return true
	}
	for _, t := range strings.Split(header, ",") {
		if strings.TrimPrefix(strings.TrimSpace(t), "W/") == tag {
			return true
		}
	}
	return false
}

// versionOf reads the version out of an If-Match header: 0 for none and for *.
func versionOf(header string) (int, error) {
	header = strings.TrimSpace(header)
	if header == "" || header == "*" {
		return 0, nil
	}
	number, _, _ := strings.Cut(strings.Trim(header, `"`), "-")
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || header[0] != '"' || strings.Contains(header, ",") {
		text := `must be one ETag as it was answered, in quotes, such as "7-3f2a"`
		return 0, &domain.Error{Kind: domain.Invalid, Text: "If-Match " + text, Fields: domain.Fields{"If-Match": text}}
	}
	return n, nil
}

// stale turns a conflict into 412 when the sender's version is no longer the
// present one, which now reads.
func stale(ctx context.Context, err error, now func() (int, error)) error {
	seen := askedOf(ctx).seen
	if seen == 0 || domain.KindOf(err) != domain.Conflict {
		return err
	}
	if v, again := now(); again == nil && v != seen {
		return &Problem{Status: http.StatusPreconditionFailed, Detail: fmt.Sprintf("it changed meanwhile: you saw version %d, it is at %d; read it again", seen, v)}
	}
	return err
}
