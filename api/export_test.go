package api

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

// Undescribed lists where an answer differs from its description, for tests.
func (a *API) Undescribed(method, path string, status int, doc any) []error {
	best, op := -1, (*huma.Operation)(nil)
	for template, item := range a.huma.OpenAPI().Paths {
		fixed, ok := matches(template, path)
		o := map[string]*huma.Operation{"GET": item.Get, "POST": item.Post, "PUT": item.Put, "DELETE": item.Delete}[method]
		if ok && o != nil && fixed > best {
			best, op = fixed, o
		}
	}
	if op == nil {
		return []error{fmt.Errorf("%s %s is not described", method, path)}
	}
	r := op.Responses[strconv.Itoa(status)]
	if r == nil || r.Content["application/json"] == nil {
		return []error{fmt.Errorf("status %d is not described", status)}
	}
	res := &huma.ValidateResult{}
	huma.Validate(a.huma.OpenAPI().Components.Schemas, r.Content["application/json"].Schema, huma.NewPathBuffer(nil, 0), huma.ModeReadFromServer, doc, res)
	return res.Errors
}

// matches reports whether a path is one of a template, and in how many fixed
// steps they agree.
func matches(template, path string) (fixed int, ok bool) {
	a, b := strings.Split(template, "/"), strings.Split(path, "/")
	if len(a) != len(b) {
		return 0, false
	}
	for i := range a {
		switch {
		case strings.HasPrefix(a[i], "{"):
		case a[i] != b[i]:
			return 0, false
		default:
			fixed++
		}
	}
	return fixed, true
}
