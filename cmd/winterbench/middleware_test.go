package main

import (
	"compress/gzip"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
)

func TestPagesComeCompressedAndJSONAsItIs(t *testing.T) {
	at, _ := started(t, &serveCommand{Database: filepath.Join(t.TempDir(), "shop.db")})
	ask := func(path, takes string) *http.Response {
		t.Helper()
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, at+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Accept-Encoding", takes) // said by hand: the client leaves the answer as it came
		res, err := client(t).Do(req)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { res.Body.Close() })
		return res
	}
	for _, c := range []struct{ path, takes, want string }{
		{"/first", "gzip", "gzip"}, {"/first", "identity", ""}, {"/api/v1/openapi.json", "gzip", ""},
	} {
		res := ask(c.path, c.takes)
		if got := res.Header.Get("Content-Encoding"); res.StatusCode != http.StatusOK || got != c.want {
			t.Errorf("%s for %s: status %d, encoding %q; want 200, %q", c.path, c.takes, res.StatusCode, got, c.want)
		}
	}
	unpacked, err := gzip.NewReader(ask("/first", "gzip").Body)
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(unpacked)
	if err != nil || !strings.Contains(string(page), "</html>") {
		t.Errorf("the page does not unpack: %v", err)
	}
}
