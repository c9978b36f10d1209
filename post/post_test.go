package post_test

import (
	"bufio"
	"errors"
	"net"
	"net/textproto"
	"slices"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/workshop"
	"winterbench/post"
)

// office is a mail server that answers as RFC 5321 asks, without TLS.
type office struct {
	port  int
	mu    sync.Mutex
	heard []string // commands
	mails []string
	rcpt  string // answer to RCPT
}

func openOffice(t *testing.T, rcpt string) *office {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	o := &office{port: l.Addr().(*net.TCPAddr).Port, rcpt: rcpt}
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go o.serve(textproto.NewConn(c))
		}
	}()
	return o
}

func (o *office) serve(c *textproto.Conn) {
	_ = c.PrintfLine("220 office.example ready")
	o.take(c)
}

// take answers what follows the greeting.
func (o *office) take(c *textproto.Conn) {
	defer c.Close()
	for {
		line, err := c.ReadLine()
		if err != nil {
			return
		}
		o.mu.Lock()
		o.heard = append(o.heard, line)
		o.mu.Unlock()
		answer := "250 fine"
		switch verb := strings.ToUpper(strings.Fields(line + " x")[0]); verb {
		case "RCPT":
			answer = o.rcpt
		case "DATA":
			_ = c.PrintfLine("354 go on")
			text, err := c.ReadDotBytes()
			if err != nil {
				return
			}
			o.mu.Lock()
			o.mails = append(o.mails, string(text))
			o.mu.Unlock()
		case "QUIT":
			_ = c.PrintfLine("221 bye")
			return
		}
		_ = c.PrintfLine("%s", answer)
	}
}

// taken are the mails that came.
func (o *office) taken() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return slices.Clone(o.mails)
}

// said are the commands that came.
func (o *office) said() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return slices.Clone(o.heard)
}

func (o *office) server(security string) post.Server {
	return post.Server{Host: "127.0.0.1", Port: o.port, Security: security, From: "bench@example.org"}
}

func someMail() workshop.Mail {
	return workshop.Mail{ID: 12, Job: 3, To: "ada@example.org", Subject: "Ready: your Orrin \r\nBcc: eve@example.org", Body: "Grüße\n.\nEnd\n"}
}

func TestAMailArrivesWhole(t *testing.T) {
	o := openOffice(t, "250 fine")
	if err := o.server(post.Plain).Send(t.Context(), someMail(), "desk@example.org"); err != nil {
		t.Fatal(err)
	}
	if len(o.taken()) != 1 {
		t.Fatalf("%d mails came", len(o.taken()))
	}
	r := textproto.NewReader(bufio.NewReader(strings.NewReader(o.taken()[0])))
	h, err := r.ReadMIMEHeader()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"To": "<ada@example.org>", "From": "<bench@example.org>", "Reply-To": "<desk@example.org>", "Message-Id": "<mail-12-3@example.org>", "Auto-Submitted": "auto-generated", "Bcc": "", "User-Agent": "", "X-Mailer": ""} {
		if got := h.Get(name); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
}

func TestWhatAServerRefuses(t *testing.T) {
	for answer, final := range map[string]bool{"451 try later ada@example.org": false, "550 no such box ada@example.org": true} {
		o := openOffice(t, answer)
		err := o.server(post.Plain).Send(t.Context(), someMail(), "")
		var f *mail.Fault
		if !errors.As(err, &f) || f.Final != final || !strings.Contains(f.Text, answer[:3]) || strings.Contains(f.Text, "@") {
			t.Errorf("%s: got %+v", answer, err)
		}
		if len(o.taken()) != 0 {
			t.Errorf("%s: a mail was taken", answer)
		}
	}
}

func TestWithoutTLSNothingIsSaid(t *testing.T) {
	for _, security := range []string{post.StartTLS, post.TLS} {
		o := openOffice(t, "250 fine")
		s := o.server(security)
		err := s.Send(t.Context(), someMail(), "")
		var f *mail.Fault
		if !errors.As(err, &f) || f.Final {
			t.Errorf("%s: got %v, want a fault that may pass", security, err)
		}
		for _, line := range o.said() {
			if strings.Contains(line, "example.org") { // random bytes of a handshake may hold an @
				t.Errorf("%s: the server heard %q", security, line)
			}
		}
		if len(o.taken()) != 0 {
			t.Errorf("%s: a mail went out in the clear", security)
		}
	}
}

func TestAServerThatIsDown(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	_ = l.Close()
	var f *mail.Fault
	err = post.Server{Host: "127.0.0.1", Port: port, Security: post.Plain, From: "bench@example.org"}.Send(t.Context(), someMail(), "")
	if !errors.As(err, &f) || f.Final {
		t.Errorf("got %v, want a fault that may pass", err)
	}
}

func TestSettingsThatCannotBeMeant(t *testing.T) {
	good := post.Server{Host: "mail.example.org", Security: post.StartTLS, From: "bench@example.org"}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for field, change := range map[string]func(*post.Server){
		"mail-from":          func(s *post.Server) { s.From = "bench" },
		"mail-port":          func(s *post.Server) { s.Port = 70000 },
		"mail-security":      func(s *post.Server) { s.Security = "maybe" },
		"mail-user":          func(s *post.Server) { s.Security, s.User, s.Password = post.Plain, "u", "p" },
		"mail-password-file": func(s *post.Server) { s.User = "u" },
	} {
		s := good
		change(&s)
		if domain.FieldsOf(s.Check())[field] == "" {
			t.Errorf("nothing is said of %s: %v", field, s.Check())
		}
	}
}
