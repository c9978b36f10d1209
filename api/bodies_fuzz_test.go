package api_test

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"winterbench/api"
	"winterbench/domain"
	"winterbench/store/storetest"
)

// Any body at any changing operation is done or refused, and no fault of ours.
func FuzzBodies(f *testing.F) {
	f.Add(uint(0), []byte(`{"name":"x"}`))
	f.Add(uint(9), []byte(`{"name":"x","rows":[{"task":"CG","quantity":"1e999"}],"days":-1}`))
	f.Add(uint(17), []byte(`[]`))
	f.Add(uint(23), []byte(`{"a":`+strings.Repeat("[", 2000)))
	f.Add(uint(31), []byte("\xff\x00"))
	f.Add(uint(40), []byte(`{"minutes":99999999999999999999,"at":"2026-02-30T25:00:00Z"}`))
	f.Fuzz(func(t *testing.T, which uint, body []byte) {
		h, paths := open(t, storetest.Open(t, "sqlite")), changing(t) // each body meets the same shop
		method, path, _ := strings.Cut(paths[which%uint(len(paths))], " ")
		r := httptest.NewRequest(method, api.Root+path, strings.NewReader(string(body)))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+h.token[domain.Owner])
		r.Header.Set("If-Match", `"1"`)
		w := httptest.NewRecorder()
		h.http.ServeHTTP(w, r)
		if w.Code >= http.StatusInternalServerError {
			t.Errorf("%s %s with %q answers %d: %s", method, path, body, w.Code, w.Body)
		}
	})
}

// changing lists the operations that change something, with the first record of each kind.
func changing(t *testing.T) []string {
	t.Helper()
	var out []string
	for path, methods := range described(t).Paths {
		for method := range methods {
			if method = strings.ToUpper(method); method != http.MethodGet {
				out = append(out, method+" "+strings.ReplaceAll(nowhere(strings.TrimPrefix(path, api.Root)), "987654", "1"))
			}
		}
	}
	slices.Sort(out)
	return out
}
