package mail_test

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain/mail"
)

func TestEveryKindSaysWhatItMust(t *testing.T) {
	f := mail.Facts{Shop: "Frost", Phone: "555-1", Customer: "Ada", Instrument: "Orrin No. 3", Tag: 7, Total: "120.00 CAD", Valid: "2026-12-09", Agreed: "2026-11-01"}
	for _, k := range mail.Kinds() {
		l := mail.Write(k, f)
		for _, want := range []string{"Ada", "Orrin No. 3", "tag 7", "555-1", "Frost"} {
			if !strings.Contains(l.Body, want) {
				t.Errorf("%s: %q is missing in\n%s", k, want, l.Body)
			}
		}
		if l.Subject == "" || strings.Contains(l.Body, mail.LinkMark) {
			t.Errorf("%s: subject %q, body\n%s", k, l.Subject, l.Body)
		}
		if got := strings.Contains(l.Body, "you agreed to it on 2026-11-01"); got != k.Reminds() {
			t.Errorf("%s: that it was agreed to is said: %v", k, got)
		}
	}
	f.Link = true
	if !strings.Contains(mail.Write(mail.Quote, f).Body, mail.LinkMark) || !strings.Contains(mail.Write(mail.Quote, f).Body, "120.00 CAD") {
		t.Error("the quote lacks its link or its sum")
	}
}

func TestNoNameStartsAHeader(t *testing.T) {
	for _, bad := range []string{"x\r\nBcc: eve@example.org", "x\nBcc: eve@example.org", "x\rBcc: y", "x\u2028Bcc: y", "x\x00y"} {
		l := mail.Write(mail.Quote, mail.Facts{Instrument: bad, Customer: bad, Shop: bad})
		if strings.ContainsAny(l.Subject, "\r\n\u2028\x00") || strings.Contains(l.Body, "\r") {
			t.Errorf("%q: subject %q", bad, l.Subject)
		}
	}
	for _, bad := range []string{"", "ada", "Ada <ada@example.org>", "a@example.org, b@example.org", "a@example.org\r\nBcc: b@example.org", " a@example.org"} {
		if mail.CheckAddress(bad) == nil {
			t.Errorf("%q is taken for an address", bad)
		}
	}
	if err := mail.CheckAddress("ada@example.org"); err != nil {
		t.Error(err)
	}
}

func TestPausesGrow(t *testing.T) {
	last := time.Duration(0)
	for n := 1; n < 30; n++ {
		if p := mail.Pause(n); p < last || p > 6*time.Hour {
			t.Fatalf("after try %d: %s after %s", n, p, last)
		} else {
			last = p
		}
	}
	if mail.Pause(1) != time.Minute || last != 6*time.Hour {
		t.Errorf("from %s to %s", mail.Pause(1), last)
	}
}
