package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/audit"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		r := audit.New(audit.Terms{}).Done()
		r.Jobs, r.Took, r.LeftOut = 1505, 900*time.Millisecond, 3
		r.Lines[0].Breaks = 1
		r.Breaks = []audit.Break{{Rule: "stage", Job: 9, Text: `tag 318 (job 9) is written down as "ready"; its facts say "collected"`}, {Rule: "series", Text: "invoice 12 is missing between 11 and 13"}}
		p := &AuditPage{Page: sampleFrame("Audit")}
		fillAudit(p, &r)
		return map[string]Paged{"books/audit": p}
	})
}

func TestTheOwnerAuditsTheBooks(t *testing.T) {
	s := newShop(t)
	s.gone()
	if got := mainText(s.get(auditPath)); !strings.Contains(got, "Audit the books") || !strings.Contains(got, "receivables") {
		t.Errorf("before it ran: got %q", got)
	}
	w := s.as(s.owner, auditPath, map[string][]string{"key": {"audit-1"}}, "")
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Everything is as it must be: 1 jobs") {
		t.Errorf("got status %d and %q", w.Code, w.Body)
	}
	if got := s.as(s.person("Runa", domain.Bench), auditPath, nil, ""); got.Code != http.StatusForbidden {
		t.Errorf("the bench: got status %d, want 403", got.Code)
	}
}
