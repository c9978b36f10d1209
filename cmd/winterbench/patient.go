package main

import (
	"net/http"
	"time"
)

// auditTakes is the most time that an audit of the books has to answer.
const auditTakes = 15 * time.Minute

// patient lets the audit of the books take longer than the server's answers may.
func patient(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && (r.URL.Path == "/books/audit" || r.URL.Path == "/api/v1/audit") {
			_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(auditTakes)) // where it cannot be set, it stays
		}
		next.ServeHTTP(w, r)
	})
}
