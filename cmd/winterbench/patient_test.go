package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"
)

func TestAnAuditMayTakeLonger(t *testing.T) {
	slow := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		time.Sleep(300 * time.Millisecond)
		io.WriteString(w, "clean")
	})
	srv := httptest.NewUnstartedServer(patient(slow))
	srv.Config.WriteTimeout = 100 * time.Millisecond
	srv.Start()
	defer srv.Close()
	for path, want := range map[string]bool{"/books/audit": true, "/api/v1/audit": true, "/books": false} {
		res, err := http.Post(srv.URL+path, "", nil)
		got := false
		if err == nil {
			text, err := io.ReadAll(res.Body)
			res.Body.Close()
			got = err == nil && string(text) == "clean"
		}
		if got != want {
			t.Errorf("%s: answered %v, want %v", path, got, want)
		}
	}
}
