package post_test

import (
	"crypto/tls"
	"encoding/base64"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"strings"
	"testing"

	"winterbench/domain/mail"
	"winterbench/post"
)

// sealed is a mail server that speaks TLS, from the first byte or after STARTTLS, and
// lets nobody in without signing in.
type sealed struct {
	office
	certificate tls.Certificate
	trust       *tls.Config // of those who know its certificate
}

func openSealed(t *testing.T, fromStart bool) *sealed {
	t.Helper()
	lender := httptest.NewTLSServer(http.NotFoundHandler()) // lends its certificate for 127.0.0.1
	t.Cleanup(lender.Close)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	o := &sealed{
		office: office{port: l.Addr().(*net.TCPAddr).Port, rcpt: "250 fine"}, certificate: lender.TLS.Certificates[0],
		trust: lender.Client().Transport.(*http.Transport).TLSClientConfig.Clone(),
	}
	o.trust.ServerName = "127.0.0.1"
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go o.meet(c, fromStart)
		}
	}()
	return o
}

func (o *sealed) meet(c net.Conn, fromStart bool) {
	settings := &tls.Config{Certificates: []tls.Certificate{o.certificate}}
	if fromStart {
		o.guarded(textproto.NewConn(tls.Server(c, settings)), true)
		return
	}
	plain := textproto.NewConn(c)
	_ = plain.PrintfLine("220 office.example ready")
	for {
		line, err := plain.ReadLine()
		if err != nil {
			_ = plain.Close()
			return
		}
		switch strings.ToUpper(strings.Fields(line + " x")[0]) {
		case "EHLO":
			_ = plain.PrintfLine("250-office.example\r\n250 STARTTLS")
		case "STARTTLS":
			_ = plain.PrintfLine("220 go on")
			o.guarded(textproto.NewConn(tls.Server(c, settings)), false)
			return
		default:
			o.note("in the clear: " + line)
			_ = plain.PrintfLine("530 TLS first")
		}
	}
}

func (o *sealed) note(line string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.heard = append(o.heard, line)
}

// guarded asks for the name first, then takes mail as an office does.
func (o *sealed) guarded(c *textproto.Conn, greet bool) {
	if greet {
		_ = c.PrintfLine("220 office.example ready")
	}
	for {
		line, err := c.ReadLine()
		if err != nil {
			_ = c.Close()
			return
		}
		o.note(line)
		switch verb := strings.ToUpper(strings.Fields(line + " x")[0]); verb {
		case "EHLO":
			_ = c.PrintfLine("250-office.example\r\n250 AUTH PLAIN")
		case "AUTH":
			word, _ := base64.StdEncoding.DecodeString(line[strings.LastIndex(line, " ")+1:])
			if string(word) != "\x00bench\x00frost and snow" {
				_ = c.PrintfLine("535 not you")
				continue
			}
			_ = c.PrintfLine("235 come in")
			o.take(c)
			return
		case "QUIT":
			_ = c.PrintfLine("221 bye")
			_ = c.Close()
			return
		default:
			_ = c.PrintfLine("530 sign in first")
		}
	}
}

func TestMailOverTLSWithASignIn(t *testing.T) {
	for security, fromStart := range map[string]bool{post.StartTLS: false, post.TLS: true} {
		t.Run(security, func(t *testing.T) {
			o := openSealed(t, fromStart)
			s := o.server(security)
			s.User, s.Password, s.Trust = "bench", "frost and snow", o.trust
			if err := s.Send(t.Context(), someMail(), ""); err != nil {
				t.Fatal(err)
			}
			if len(o.taken()) != 1 || !strings.Contains(o.taken()[0], "To: <ada@example.org>") {
				t.Errorf("got %q, want the one mail", o.taken())
			}
			s.Password = "wrong"
			var f *mail.Fault
			if err := s.Send(t.Context(), someMail(), ""); !errors.As(err, &f) || f.Final || strings.Contains(f.Text, "wrong") {
				t.Errorf("with a wrong password: got %v, want a fault that may pass and does not tell it", err)
			}
			s.Password, s.Trust = "frost and snow", nil // a certificate that nobody vouches for
			if err := s.Send(t.Context(), someMail(), ""); !errors.As(err, &f) || f.Final {
				t.Errorf("with a strange certificate: got %v, want a fault that may pass", err)
			}
			if len(o.taken()) != 1 {
				t.Errorf("%d mails came, want the first alone", len(o.taken()))
			}
			for _, line := range o.said() {
				if strings.HasPrefix(line, "in the clear") {
					t.Error(line)
				}
			}
		})
	}
}
