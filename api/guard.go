package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// asked is what every handler may know of its request.
type asked struct {
	by     domain.Actor
	until  time.Time // when the token ends, zero for never
	method string
	url    *url.URL
	none   string // If-None-Match
	seen   int    // version in If-Match, 0 for none
}

type askedInContext struct{}

func askedOf(ctx context.Context) asked {
	q, _ := ctx.Value(askedInContext{}).(asked)
	return q
}

// by is who is signed in.
func by(ctx context.Context) domain.Actor { return askedOf(ctx).by }

// guard lets through who may do what is asked, and notes what the handler needs.
func (a *API) guard(ctx huma.Context, next func(huma.Context)) {
	o := ctx.Operation().Metadata[metaOp].(operation)
	c := humagin.Unwrap(ctx)
	q := asked{method: ctx.Method(), url: c.Request.URL, none: ctx.Header("If-None-Match")}
	inner, err := a.admit(c, o, &q)
	if err == nil && ctx.Operation().RequestBody == nil {
		err = noBody(c)
	}
	if err != nil {
		write(c, problemOf(err, o.id))
		return
	}
	next(huma.WithContext(ctx, context.WithValue(inner, askedInContext{}, q)))
}

// admit checks sign-in, role and headers, in this order.
func (a *API) admit(c *gin.Context, o operation, q *asked) (context.Context, error) {
	ctx := c.Request.Context()
	if o.open {
		return ctx, nil
	}
	staff, err := a.signIn(ctx, c.GetHeader("Authorization"))
	if err != nil {
		return nil, err
	}
	q.by, q.until = staff.Actor(), staff.Token.Expires
	if err := workshop.May(q.by, o.act); err != nil {
		return nil, err
	}
	if q.by.ReadOnly && o.changes() {
		return nil, domain.Deniedf("this token only reads")
	}
	if o.match != matchNone {
		if q.seen, err = versionOf(c.GetHeader("If-Match")); err != nil {
			return nil, err
		}
	}
	if o.match == matchNeeded && q.seen == 0 {
		return nil, &Problem{Status: http.StatusPreconditionRequired, Detail: "send If-Match with the ETag of what you saw, so that nobody's change is lost"}
	}
	return keyed(ctx, c, o)
}

// signIn returns the person for whom a token acts.
func (a *API) signIn(ctx context.Context, header string) (*workshop.ByToken, error) {
	scheme, token, _ := strings.Cut(strings.TrimSpace(header), " ")
	token = strings.TrimSpace(token)
	if !strings.EqualFold(scheme, "bearer") || token == "" || len(token) > 200 {
		return nil, &domain.Error{Kind: domain.SignIn, Text: "sign in: send Authorization: Bearer and a token"}
	}
	return a.work.SignInByToken(ctx, token)
}

// keyed puts the idempotency key of a change into the context, together with a
// sum of what was sent.
func keyed(ctx context.Context, c *gin.Context, o operation) (context.Context, error) {
	key := c.GetHeader("Idempotency-Key")
	if key == "" || o.pure || c.Request.Method == http.MethodGet {
		return ctx, nil
	}
	wrong := func(text string) error {
		return &domain.Error{Kind: domain.Invalid, Text: "Idempotency-Key " + text, Fields: domain.Fields{"Idempotency-Key": text}}
	}
	if o.noKey {
		return nil, wrong("cannot be used here: what this makes is shown once only")
	}
	if len(key) > workshop.MaxKey || strings.IndexFunc(key, func(r rune) bool { return r < ' ' || r > '~' }) >= 0 {
		return nil, wrong(fmt.Sprintf("must have at most %d plain letters, digits and signs", workshop.MaxKey))
	}
	body, err := io.ReadAll(io.LimitReader(c.Request.Body, o.most()+1))
	if err != nil {
		return nil, &Problem{Status: http.StatusBadRequest, Detail: "the body did not arrive whole"}
	}
	c.Request.Body = io.NopCloser(bytes.NewReader(body))
	sum := sha256.New()
	fmt.Fprintf(sum, "%s %s?%s\n", c.Request.Method, c.Request.URL.Path, c.Request.URL.RawQuery)
	sum.Write(withoutSecrets(body))
	return workshop.WithKey(ctx, key, hex.EncodeToString(sum.Sum(nil))), nil
}

// withoutSecrets leaves passwords out of a body that is summed up: the sum is
// kept, and who read it could try passwords against it, quickly.
func withoutSecrets(body []byte) []byte {
	var in map[string]json.RawMessage
	if !bytes.Contains(body, []byte(`"password"`)) || json.Unmarshal(body, &in) != nil {
		return body
	}
	delete(in, "password")
	out, err := json.Marshal(in)
	if err != nil {
		return nil
	}
	return out
}

// noBody refuses a body where none is looked at.
func noBody(c *gin.Context) error {
	if c.Request.Body == nil {
		return nil
	}
	body, err := io.ReadAll(io.LimitReader(c.Request.Body, 64))
	if text := string(bytes.TrimSpace(body)); err == nil && (text == "" || text == "{}") {
		return nil
	}
	return domain.Invalidf("this takes no body")
}
