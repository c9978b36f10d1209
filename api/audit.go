package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain/audit"
	"winterbench/domain/workshop"
)

// auditDoc is what an audit of the books found.
type auditDoc struct {
	Answer  string       `json:"answer" doc:"In a sentence"`
	Clean   bool         `json:"clean" doc:"Every rule holds"`
	At      time.Time    `json:"at" doc:"The moment of the books that were read"`
	Engine  string       `json:"engine" doc:"Of the database"`
	Jobs    int          `json:"jobs" doc:"Read"`
	Seconds float64      `json:"seconds" doc:"That it took"`
	Rules   []auditRule  `json:"rules"`
	Breaks  []auditBreak `json:"breaks" doc:"At most 1,000"`
	LeftOut int          `json:"left_out" doc:"Breaks beyond them"`
}

type auditRule struct {
	Code   string `json:"code"`
	Holds  string `json:"holds" doc:"What must be so"`
	Why    string `json:"why" doc:"What goes wrong when it is not so"`
	Looked int    `json:"looked" doc:"Facts that it was held against"`
	Breaks int    `json:"breaks"`
}

type auditBreak struct {
	Rule string `json:"rule" doc:"Code of the rule"`
	Job  int64  `json:"job,omitempty" doc:"0 or left out when it belongs to none"`
	Text string `json:"text" doc:"What is wrong, with its identities"`
}

func (a *API) auditRoutes() {
	o := operation{noun: "the books", act: workshop.ActReadBalance, method: http.MethodPost, path: "/audit", id: "audit_books", summary: "Prove that the books agree with themselves", pure: true}
	o.about = "Everything that is kept is held against the rules, as it stands at one moment. Nothing is changed and nobody waits for it; one audit runs at a time."
	add(a, o, a.auditBooks)
}

func (a *API) auditBooks(ctx context.Context, _ *struct{}) (*read[auditDoc], error) {
	r, err := workshop.AuditBooks(ctx, a.read, by(ctx))
	if err != nil {
		return nil, err
	}
	doc := auditDoc{
		Answer: workshop.AuditAnswer(r), Clean: r.Clean(), At: r.At, Engine: r.Engine, Jobs: r.Jobs, Seconds: r.Took.Seconds(), LeftOut: r.LeftOut,
		Rules:  each(r.Lines, func(l audit.Line) auditRule { return auditRule(l) }),
		Breaks: each(r.Breaks, func(b audit.Break) auditBreak { return auditBreak{Rule: b.Rule, Job: int64(b.Job), Text: b.Text} }),
	}
	return &read[auditDoc]{Body: doc}, nil
}
