package web

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		line := MailLine{What: "the quote", State: "not sent", When: "given up 3 Nov 10:00 after 2 tries", Job: Link{Href: "/jobs/1", Text: "tag 7"}, To: "ada@example.org", Subject: "Quote", Body: "Good day", Failure: "the mail server answered 550", Again: "/outbox/1/again", Key: "k"}
		wiped := MailLine{What: "ready to collect", State: "sent", When: "sent 1 Nov 10:00", Job: line.Job}
		out := &OutboxPage{Page: sampleFrame("Outbox"), Lines: []MailLine{line, wiped}}
		out.Answer = "On this page: 0 waiting, 1 sent, 1 not sent."
		one := &JobMailPage{Page: sampleFrame("Mail to Ada"), Job: Link{Href: "/jobs/1", Text: "Back to the job"}, Lines: []MailLine{line}, Drafts: []MailDraft{
			{Lead: "Mail: the quote", To: "ada@example.org", Subject: "Quote", Body: "Good day", Action: "/jobs/1/mail", Key: "k", Hidden: []Pair{{Name: "kind", Value: "quote"}, {Name: "seen", Value: "x"}}},
			{Lead: "Mail: ready to collect", Why: "tag 7 is not finished"},
		}}
		one.Answer = "Read it as the customer will, then send it."
		return map[string]Paged{"owner/outbox": out, "job/mail": one}
	})
}
