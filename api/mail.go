package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/workshop"
)

// mailDoc is a mail in the outbox.
type mailDoc struct {
	ID      int64      `json:"id"`
	Job     int64      `json:"job"`
	Tag     int        `json:"tag"`
	Kind    string     `json:"kind" doc:"quote, ready, quote reminder, ready reminder or check reminder"`
	State   string     `json:"state" doc:"waiting, sent or not sent"`
	To      string     `json:"to" doc:"Empty when the words were removed"`
	Subject string     `json:"subject"`
	Body    string     `json:"body"`
	Asked   time.Time  `json:"asked"`
	By      string     `json:"by"`
	Tries   int        `json:"tries"`
	Next    *time.Time `json:"next" doc:"When it is tried next; null when it is not"`
	Sent    *time.Time `json:"sent"`
	GivenUp *time.Time `json:"given_up"`
	Failure string     `json:"failure" doc:"Of the last try"`
}

func mailDocOf(m workshop.MailRow) mailDoc {
	d := mailDoc{
		ID: m.ID, Job: int64(m.Job), Tag: m.Tag, Kind: string(m.Kind), State: m.State(), To: m.To, Subject: m.Subject, Body: m.Body, Asked: m.Created.UTC(), By: m.By,
		Tries: m.Tries, Sent: moment(m.Sent), GivenUp: moment(m.Failed), Failure: m.Failure,
	}
	if m.State() == "waiting" {
		d.Next = moment(m.Due)
	}
	return d
}

// mailPreview is a mail as it would go out now.
type mailPreview struct {
	To      string `json:"to"`
	Subject string `json:"subject"`
	Body    string `json:"body"`
	Seen    string `json:"seen" doc:"Send it with the mail: it says that these words were read"`
}

type previewIn struct {
	OnJob
	Kind string `query:"kind" required:"true" doc:"quote or ready"`
}

type previewOut struct{ Body mailPreview }

type mailIn struct {
	OnJob
	Body mailNote
}

type mailNote struct {
	Kind string `json:"kind" doc:"quote or ready"`
	Seen string `json:"seen" doc:"Of the preview that was read"`
}

type mailMade struct{ Body mailID }

type mailID struct {
	ID int64 `json:"id"`
}

// OnMail names a mail in the path.
type OnMail struct {
	Mail int64 `path:"mail" minimum:"1" doc:"Identity of the mail"`
}

type consentIn struct {
	Customer int64 `path:"customer" minimum:"1" doc:"Identity of the customer"`
	Body     consentNote
}

type consentNote struct {
	Given bool   `json:"given" doc:"false: taken back"`
	Day   string `json:"day,omitempty" doc:"On which day it was said; today when left out"`
}

func (a *API) mailRoutes() {
	o := operation{noun: "mails", act: workshop.ActOutbox, method: http.MethodGet, path: "/mails", id: "list_mails", summary: "The outbox, newest first"}
	add(a, o, func(ctx context.Context, in *Paged) (*many[mailDoc], error) {
		if err := workshop.May(by(ctx), workshop.ActOutbox); err != nil {
			return nil, err
		}
		all, total, err := a.read.Mails(ctx, in.page())
		if err != nil {
			return nil, err
		}
		return paged(ctx, *in, "", total, each(all, mailDocOf)), nil
	})
	o = operation{noun: "mails", act: workshop.ActOutbox, method: http.MethodPost, path: "/mails/{mail}/again", id: "try_mail_again", summary: "Try a mail again that was given up", status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *OnMail) (*struct{}, error) {
		return nil, a.work.TryMailAgain(ctx, by(ctx), in.Mail)
	})
	o = operation{noun: "mails", act: workshop.ActMail, method: http.MethodGet, path: "/jobs/{job}/mails/preview", id: "preview_mail", summary: "A mail as it would go out now"}
	add(a, o, func(ctx context.Context, in *previewIn) (*previewOut, error) {
		m, err := a.work.PreviewMail(ctx, by(ctx), domain.JobID(in.Job), mail.Kind(in.Kind))
		if err != nil {
			return nil, err
		}
		return &previewOut{Body: mailPreview{To: m.To, Subject: m.Subject, Body: m.Body, Seen: m.Seen()}}, nil
	})
	o = operation{noun: "mails", act: workshop.ActMail, method: http.MethodPost, path: "/jobs/{job}/mails", id: "send_mail", summary: "Mail the customer", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *mailIn) (*mailMade, error) {
		id, err := a.work.SendMail(ctx, by(ctx), domain.JobID(in.Job), mail.Kind(in.Body.Kind), in.Body.Seen)
		return &mailMade{Body: mailID{ID: id}}, err
	})
	o = operation{noun: "mails", act: workshop.ActCustomer, method: http.MethodPut, path: "/customers/{customer}/reminders", id: "note_consent", summary: "Note that a customer agreed to reminders, or took it back", status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *consentIn) (*struct{}, error) {
		day := domain.Date("")
		if in.Body.Day != "" {
			var err error
			if day, err = domain.ParseDate(in.Body.Day); err != nil {
				f := domain.Fields{}
				f.AddErr("day", err)
				return nil, f.Err()
			}
		}
		return nil, a.work.NoteConsent(ctx, by(ctx), domain.CustomerID(in.Customer), in.Body.Given, day)
	})
}
