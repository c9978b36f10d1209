// Package post gives mails to a mail server by SMTP (RFC 5321), over TLS unless it
// is told otherwise (STARTTLS, RFC 3207, or TLS from the start, RFC 8314).
package post

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/workshop"
)

// The ways to speak with the server.
const (
	StartTLS = "starttls" // begin in the clear and refuse to go on without TLS
	TLS      = "tls"      // from the first byte
	Plain    = "plain"    // never encrypted; for a server on the same machine
)

// Server is a mail server and how it is spoken to.
type Server struct {
	Host     string // "" for none: mail is off
	Port     int    // 0: 587, with TLS from the start 465, without TLS 25
	Security string // starttls, tls or plain
	User     string // "" to send without signing in
	Password string
	From     string      // address of the shop
	Trust    *tls.Config // nil: the machine's certificates
}

// ReadPassword reads a password from a file, without the line's end. "" reads none.
func ReadPassword(file string) (string, error) {
	if file == "" {
		return "", nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return "", domain.Invalidf("the file with the password of the mail server cannot be read: %v", err)
	}
	return strings.TrimRight(string(text), "\r\n"), nil
}

// Check returns an Invalid error that names each setting that cannot be meant.
func (s Server) Check() error {
	f := domain.Fields{}
	if err := mail.CheckAddress(s.From); err != nil {
		f.Add("mail-from", "must be one address, such as bench@example.org")
	}
	if s.Port < 0 || s.Port > 65535 {
		f.Add("mail-port", "must be from 1 to 65535, or 0 for the usual one")
	}
	if s.Security != StartTLS && s.Security != TLS && s.Security != Plain {
		f.Add("mail-security", "must be starttls, tls or plain")
	}
	if s.User != "" && s.Security == Plain {
		f.Add("mail-user", "is not sent without TLS; use starttls or tls")
	}
	if (s.User == "") != (s.Password == "") {
		f.Add("mail-password-file", "goes together with mail-user")
	}
	return f.Err()
}

// patience is how long the server may take for one mail.
const patience = time.Minute

func (s Server) client() (*gomail.Client, error) {
	port, options := s.Port, []gomail.Option{gomail.WithTimeout(patience), gomail.WithoutNoop()}
	usual := map[string]int{StartTLS: 587, TLS: 465, Plain: 25}
	if port == 0 {
		port = usual[s.Security]
	}
	options = append(options, gomail.WithPort(port))
	switch s.Security {
	case TLS:
		options = append(options, gomail.WithSSL())
	case Plain:
		options = append(options, gomail.WithTLSPolicy(gomail.NoTLS))
	default:
		options = append(options, gomail.WithTLSPolicy(gomail.TLSMandatory))
	}
	if s.Trust != nil {
		options = append(options, gomail.WithTLSConfig(s.Trust))
	}
	if s.User != "" {
		options = append(options, gomail.WithSMTPAuth(gomail.SMTPAuthAutoDiscover), gomail.WithUsername(s.User), gomail.WithPassword(s.Password))
	}
	return gomail.NewClient(s.Host, options...)
}

// Send gives one mail to the server. An error is a [mail.Fault]; it is final when the
// server refused the mail itself for good (a code from 500 up), not when it could not
// be reached or did not let the shop in.
func (s Server) Send(ctx context.Context, m workshop.Mail, replyTo string) error {
	msg, err := s.message(m, replyTo)
	if err != nil {
		return &mail.Fault{Text: "the mail cannot be written: " + err.Error(), Final: true}
	}
	c, err := s.client()
	if err != nil {
		return &mail.Fault{Text: "the settings of the mail server cannot be used: " + err.Error()}
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := c.DialWithContext(ctx); err != nil {
		return &mail.Fault{Text: short("the mail server was not reached or did not let us in: " + err.Error())}
	}
	err = c.Send(msg)
	_ = c.Close() // the mail is taken, or not, by now
	if err == nil || msg.IsDelivered() {
		return nil
	}
	var refused *gomail.SendError
	final := errors.As(err, &refused) && !refused.IsTemp() && refused.ErrorCode() >= 500
	text := "the mail server broke off"
	if refused != nil && refused.ErrorCode() != 0 {
		text = fmt.Sprintf("the mail server answered %d", refused.ErrorCode())
	}
	return &mail.Fault{Text: text, Final: final}
}

// message writes the mail. Its Message-ID is the same at each try, so that a server
// which took one already can tell.
func (s Server) message(m workshop.Mail, replyTo string) (*gomail.Msg, error) {
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := msg.From(s.From); err != nil {
		return nil, errors.New("the address of the shop is wrong")
	}
	if err := mail.CheckAddress(m.To); err != nil {
		return nil, err
	}
	if err := msg.To(m.To); err != nil {
		return nil, errors.New("the address of the customer is wrong")
	}
	if mail.CheckAddress(replyTo) == nil {
		if err := msg.ReplyTo(replyTo); err != nil {
			return nil, errors.New("the shop's address for answers is wrong")
		}
	}
	_, host, _ := strings.Cut(s.From, "@")
	msg.SetMessageIDWithValue(fmt.Sprintf("mail-%d-%d@%s", m.ID, m.Job, host))
	msg.SetGenHeader(gomail.Header("Auto-Submitted"), "auto-generated") // RFC 3834
	msg.SetDate()
	msg.Subject(m.Subject)
	msg.SetBodyString(gomail.TypeTextPlain, m.Body)
	return msg, nil
}

// short keeps a text from filling a page.
func short(s string) string {
	if r := []rune(s); len(r) > 200 {
		return string(r[:200])
	}
	return s
}
