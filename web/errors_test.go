package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
)

func TestFailShowsOnlyKnownKinds(t *testing.T) {
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewRenderer(nil, static)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		err    error
		status int
		shown  bool
	}{
		{domain.Invalidf("seven strings fit no tag"), 422, true},
		{domain.NotFoundf("seven strings fit no tag"), 404, true},
		{fmt.Errorf("open: %w", domain.Conflictf("seven strings fit no tag")), 409, true},
		{domain.Deniedf("seven strings fit no tag"), 403, true},
		{&domain.Error{Kind: domain.SignIn, Text: "seven strings fit no tag"}, 401, true},
		{errors.New("seven strings fit no tag"), 500, false},
	} {
		w := httptest.NewRecorder()
		ctx, _ := gin.CreateTestContext(w)
		ctx.Request = httptest.NewRequest(http.MethodGet, "/jobs/1", nil)
		r.Fail(ctx, c.err, sampleFrame(""))
		body := w.Body.String()
		if w.Code != c.status {
			t.Errorf("%v answers %d, want %d", c.err, w.Code, c.status)
		}
		if got := strings.Contains(body, "Seven strings"); got != c.shown {
			t.Errorf("%v: text shown is %v, want %v", c.err, got, c.shown)
		}
		checkHTML(t, []byte(body))
	}
}

func TestFieldErrors(t *testing.T) {
	f := domain.Fields{}
	f.Add("rate", "is needed")
	for _, c := range []struct {
		err  error
		want domain.Fields
	}{
		{f.Err(), domain.Fields{"rate": "is needed"}},
		{domain.Conflictf("changed meanwhile"), domain.Fields{"": "changed meanwhile"}},
		{errors.New("disk full"), nil},
		{nil, nil},
	} {
		if diff := cmp.Diff(c.want, fieldErrors(c.err)); diff != "" {
			t.Errorf("fieldErrors(%v), want (-) got (+):\n%s", c.err, diff)
		}
	}
}
