package main

import (
	"context"
	"strings"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/post"
	"winterbench/store"
)

// mailFlags say by which server mail goes out.
type mailFlags struct {
	MailHost     string `help:"Mail server (SMTP). Without it mail is off." env:"WINTERBENCH_MAIL_HOST" placeholder:"HOST"`
	MailPort     int    `help:"Port of the mail server; 0 for the usual one." default:"0" env:"WINTERBENCH_MAIL_PORT"`
	MailSecurity string `help:"starttls, tls (from the first byte), or plain for a server on this machine." enum:"starttls,tls,plain" default:"starttls" env:"WINTERBENCH_MAIL_SECURITY"`
	MailUser     string `help:"Name at the mail server." env:"WINTERBENCH_MAIL_USER" placeholder:"NAME"`
	MailPassword string `name:"mail-password-file" help:"File with the password at the mail server." env:"WINTERBENCH_MAIL_PASSWORD_FILE" placeholder:"FILE"`
	MailFrom     string `help:"Address from which the shop writes." env:"WINTERBENCH_MAIL_FROM" placeholder:"ADDRESS"`
	MailKeep     int    `help:"Days for which the words of a mail stay in the outbox." default:"90" env:"WINTERBENCH_MAIL_KEEP" placeholder:"DAYS"`
	RemindQuote  int    `help:"Days after which customers who agreed are reminded of a quote; 0 for never." default:"0" env:"WINTERBENCH_REMIND_QUOTE" placeholder:"DAYS"`
	RemindReady  int    `help:"Days after which customers who agreed are reminded to collect; 0 for never." default:"0" env:"WINTERBENCH_REMIND_READY" placeholder:"DAYS"`
	RemindCheck  bool   `help:"Remind customers who agreed of the check after a humidity repair." env:"WINTERBENCH_REMIND_CHECK"`
}

// mail is the server to send by and what is on; nothing is without a host.
func (f mailFlags) mail(origin string) (post.Server, workshop.MailPlan, error) {
	if f.MailHost == "" {
		return post.Server{}, workshop.MailPlan{}, nil
	}
	password, err := post.ReadPassword(f.MailPassword)
	if err != nil {
		return post.Server{}, workshop.MailPlan{}, err
	}
	s := post.Server{Host: f.MailHost, Port: f.MailPort, Security: f.MailSecurity, User: f.MailUser, Password: password, From: f.MailFrom}
	wrong := domain.Fields{}
	wrong.AddErr("", s.Check())
	for name, days := range map[string]int{"remind-quote": f.RemindQuote, "remind-ready": f.RemindReady} {
		if days < 0 || days > 365 {
			wrong.Add(name, "must be from 0 to 365 days")
		}
	}
	if f.MailKeep < 1 || f.MailKeep > 3650 {
		wrong.Add("mail-keep", "must be from 1 to 3650 days")
	}
	return s, workshop.MailPlan{
		On: true, Origin: strings.TrimRight(origin, "/"), QuoteDays: f.RemindQuote, ReadyDays: f.RemindReady, Recheck: f.RemindCheck, KeepDays: f.MailKeep,
	}, wrong.Err()
}

// mailRounds is the chore of the mail, nil when mail is off.
func mailRounds(work *workshop.Workshop, s *store.Store, by post.Server, plan workshop.MailPlan) func(context.Context) error {
	if !plan.On {
		return nil
	}
	return func(ctx context.Context) error { return work.MailRound(ctx, s, by) }
}
