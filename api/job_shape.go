package api

import (
	"time"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// jobRow is a job in a list.
type jobRow struct {
	ID         int64              `json:"id"`
	Tag        int                `json:"tag" doc:"Claim tag, never reused"`
	Stage      word[stageWords]   `json:"stage" doc:"Derived from facts"`
	Since      time.Time          `json:"since" doc:"When the stage began"`
	Arrived    time.Time          `json:"arrived"`
	Customer   int64              `json:"customer" doc:"Identity"`
	Name       string             `json:"name" doc:"Of the customer"`
	Phone      string             `json:"phone"`
	Contact    word[contactWords] `json:"contact"`
	Instrument int64              `json:"instrument" doc:"Identity"`
	Title      string             `json:"title" doc:"The instrument in a line"`
	Complaint  string             `json:"complaint"`
	Rack       string             `json:"rack"`
	Promised   *string            `json:"promised" doc:"The day said to the customer"`
	Late       bool               `json:"late" doc:"The promised day of an unfinished job is over"`
	Waits      string             `json:"waits" doc:"What it waits for, or its place in the cabinet"`
	WaitUntil  *time.Time         `json:"wait_until"`
	TasksOpen  int                `json:"tasks_open"`
	TasksDone  int                `json:"tasks_done"`
	Agreed     string             `json:"agreed" doc:"Total of the agreed quote, 0 before it"`
	Total      string             `json:"total" doc:"Total of the invoice, 0 before it"`
	Paid       string             `json:"paid"`
	Due        string             `json:"due" doc:"Total less paid"`
	Comeback   bool               `json:"comeback" doc:"It repeats an earlier job"`
}

func jobRowOf(r workshop.JobRow, shop *workshop.Shop, now time.Time) jobRow {
	text := shop.Currency.Text
	return jobRow{
		ID: int64(r.ID), Tag: r.Tag, Stage: word[stageWords](r.Stage), Since: r.Since.UTC(), Arrived: r.Arrived.UTC(), Customer: int64(r.Customer), Name: r.Name,
		Phone: r.Phone, Contact: word[contactWords](r.Contact), Instrument: int64(r.Instrument), Title: r.Title, Complaint: r.Complaint, Rack: r.Rack,
		Promised: civil(r.Promised), Late: r.Late(shop.Today(now)), Waits: r.Waits, WaitUntil: moment(r.WaitUntil), TasksOpen: r.TasksOpen, TasksDone: r.TasksDone,
		Agreed: text(r.Agreed), Total: text(r.Total), Paid: text(r.Paid), Due: text(r.Due()), Comeback: r.Comeback,
	}
}

// jobDoc is the whole folder of a job.
type jobDoc struct {
	ID       int64            `json:"id"`
	Tag      int              `json:"tag" doc:"Claim tag, never reused"`
	Version  int              `json:"version" doc:"Grows with each change"`
	Currency string           `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Stage    word[stageWords] `json:"stage" doc:"Derived from facts, never set"`
	Since    time.Time        `json:"since" doc:"When the stage began"`
	Answer   string           `json:"answer" doc:"Where it is and when it is likely ready, in a sentence"`
	NextStep string           `json:"next_step" doc:"What moves it on, in words; empty when it is over"`
	Window   *window          `json:"window,omitempty" doc:"When it is likely ready; left out when it is checked or nothing is quoted"`
	Promised *string          `json:"promised" doc:"The day said to the customer"`
	Queue    *promiseDoc      `json:"queue,omitempty" doc:"When the real queue has it done; left out for a job that is not agreed or is checked, and when the queue cannot be played"`

	Customer   customerRef   `json:"customer"`
	Instrument instrumentRef `json:"instrument"`
	ComebackOf *int64        `json:"comeback_of" doc:"The earlier job that this one repeats"`
	Comeback   *comebackDoc  `json:"comeback,omitempty" doc:"Who pays for it; left out until the owner decides"`
	Arrival    arrivalDoc    `json:"arrival"`
	Marks      []markDoc     `json:"marks" doc:"Damage that was there before"`

	Surveyed  *time.Time `json:"surveyed" doc:"The last survey"`
	Quoted    *time.Time `json:"quoted" doc:"The last quote was said"`
	Approved  *time.Time `json:"approved" doc:"The first yes"`
	Declined  *time.Time `json:"declined"`
	Checked   *time.Time `json:"checked" doc:"Every task and check is through"`
	CheckedBy string     `json:"checked_by"`
	Ready     *time.Time `json:"ready" doc:"The customer was told"`
	Collected *time.Time `json:"collected"`
	Unclaimed *time.Time `json:"unclaimed" doc:"Closed unclaimed"`

	Account   account       `json:"account" doc:"Bench time and waiting side by side, as quoted and as it went"`
	Pieces    []piece       `json:"pieces" doc:"Its life from arrival until now, without gaps"`
	Tasks     []taskDoc     `json:"tasks"`
	Waits     []waitDoc     `json:"waits"`
	Holds     []holdDoc     `json:"holds"`
	Clockings []clockingDoc `json:"clockings"`
	Parts     []partUsedDoc `json:"parts" doc:"Parts used; put back stands as a negative quantity"`
	Checks    []checkDoc    `json:"checks" doc:"Results in the order they were noted; the last on the same check stands"`
	Contacts  []contactDoc  `json:"contacts" doc:"Attempts to reach the customer"`

	Surveys  []surveyDoc   `json:"surveys" doc:"Newest first"`
	Quotes   []quoteRow    `json:"quotes" doc:"Newest version first"`
	Invoice  *invoiceRef   `json:"invoice,omitempty" doc:"Left out before there is one"`
	Payments []paymentDoc  `json:"payments"`
	Balance  balance       `json:"balance"`
	HandOver *handOverNote `json:"hand_over,omitempty" doc:"How it left"`
}

type window struct {
	Earliest string `json:"earliest" format:"date"`
	Likely   string `json:"likely" format:"date"`
	Late     string `json:"late" format:"date" doc:"The day to say"`
	ByQueue  bool   `json:"by_queue" doc:"Out of the real queue; else the waits alone"`
	Because  string `json:"because" doc:"What the time goes into, or why the queue has no answer; may be empty"`
}

func windowOf(w workshop.Window) *window {
	if w.IsZero() {
		return nil
	}
	return &window{Earliest: string(w.Earliest), Likely: string(w.Likely), Late: string(w.Late), ByQueue: w.ByQueue, Because: w.Because}
}

type customerRef struct {
	ID    int64  `json:"id"`
	Name  string `json:"name"`
	Phone string `json:"phone"`
}

type instrumentRef struct {
	ID     int64  `json:"id"`
	Title  string `json:"title"`
	Serial string `json:"serial"`
}

type arrivalDoc struct {
	At          time.Time             `json:"at"`
	By          string                `json:"by"`
	Complaint   string                `json:"complaint"`
	Since       string                `json:"since"`
	Storage     word[storageWords]    `json:"storage"`
	Heating     word[heatingWords]    `json:"heating"`
	Humidifier  word[humidifierWords] `json:"humidifier"`
	Contents    string                `json:"contents"`
	Rack        string                `json:"rack"`
	CaseOpened  bool                  `json:"case_opened"`
	MarksSeenBy string                `json:"marks_seen_by"`
	SurveyFee   string                `json:"survey_fee"`
	StorageFee  bool                  `json:"storage_fee"`
}

func arrivalOf(a job.Arrival, c money.Currency) arrivalDoc {
	return arrivalDoc{
		At: a.At.UTC(), By: a.By, Complaint: a.Complaint, Since: a.Since, Storage: word[storageWords](a.Storage), Heating: word[heatingWords](a.Heating),
		Humidifier: word[humidifierWords](a.Humidifier), Contents: a.Contents, Rack: a.Rack, CaseOpened: a.CaseOpened, MarksSeenBy: a.MarksSeenBy,
		SurveyFee: c.Text(a.SurveyFee), StorageFee: a.StorageFee,
	}
}

type markDoc struct {
	ID    int64           `json:"id"`
	What  word[markWords] `json:"what"`
	Place string          `json:"place"`
	Note  string          `json:"note"`
	At    time.Time       `json:"at"`
	By    string          `json:"by"`
}

func markOf(m job.Mark) markDoc {
	return markDoc{ID: m.ID, What: word[markWords](m.What), Place: m.Place, Note: m.Note, At: m.At.UTC(), By: m.By}
}

// account sets bench time and waiting side by side.
type account struct {
	Answer string        `json:"answer" doc:"In a sentence; empty before the yes"`
	Tasks  []taskAccount `json:"tasks"`
	Quoted minutes       `json:"quoted" doc:"Hands-on minutes of all tasks"`
	Went   int           `json:"went" doc:"Minutes clocked so far"`
	Hold   daysAccount   `json:"hold" doc:"Days in the cabinet"`
	Other  daysAccount   `json:"other" doc:"Days in other waits"`
	Idle   int           `json:"idle" doc:"Whole days on which nobody touched it and nothing ran"`
	Total  int           `json:"total" doc:"Whole days from the yes until checked, or until now"`
}

type taskAccount struct {
	Task   int64   `json:"task"`
	Name   string  `json:"name"`
	Quoted minutes `json:"quoted"`
	Went   int     `json:"went" doc:"Minutes clocked"`
}

type daysAccount struct {
	Quoted days   `json:"quoted"`
	Went   string `json:"went" doc:"With one decimal"`
}

func accountOf(a job.Account) account {
	return account{
		Answer: workshop.AccountAnswer(a),
		Tasks: each(a.Tasks, func(t job.TaskAccount) taskAccount {
			return taskAccount{Task: int64(t.Task), Name: t.Name, Quoted: minutesOf(t.Quoted), Went: t.Went}
		}),
		Quoted: minutesOf(a.Quoted), Went: a.Went, Idle: a.Idle, Total: a.Total,
		Hold:  daysAccount{Quoted: daysOf(a.Hold.Quoted), Went: a.Hold.Went.String()},
		Other: daysAccount{Quoted: daysOf(a.Other.Quoted), Went: a.Other.Went.String()},
	}
}

type piece struct {
	Kind  word[pieceWords] `json:"kind"`
	From  time.Time        `json:"from"`
	To    time.Time        `json:"to"`
	Label string           `json:"label"`
}

func pieceOf(p job.Piece) piece {
	return piece{Kind: word[pieceWords](p.Kind), From: p.From.UTC(), To: p.To.UTC(), Label: p.Label}
}

type contactDoc struct {
	ID     int64             `json:"id"`
	About  word[aboutWords]  `json:"about"`
	Result word[calledWords] `json:"result"`
	Note   string            `json:"note"`
	At     time.Time         `json:"at"`
	By     string            `json:"by"`
}

func contactOf(c job.Contact) contactDoc {
	return contactDoc{ID: c.ID, About: word[aboutWords](c.About), Result: word[calledWords](c.Result), Note: c.Note, At: c.At.UTC(), By: c.By}
}

type balance struct {
	Answer    string `json:"answer" doc:"What is owed, in a sentence"`
	Total     string `json:"total" doc:"Of the invoice; 0 before it"`
	Paid      string `json:"paid" doc:"Deposits, payments and refunds, with cash rounding"`
	Deposits  string `json:"deposits" doc:"Of it before the invoice"`
	Due       string `json:"due" doc:"Negative: to be given back"`
	CashDue   string `json:"cash_due" doc:"The customer's own part of due, if it is paid in cash"`
	Credited  string `json:"credited" doc:"By credit notes"`
	GivenUp   string `json:"given_up" doc:"As a debt that was written off, less what came in of it after all"`
	Recovered string `json:"recovered" doc:"Came in after it was given up; in paid too"`
	PayerDue  string `json:"payer_due" doc:"Of due, what another is to pay"`
}

func balanceOf(b billing.Balance, answer string, c money.Currency) balance {
	return balance{Answer: answer, Total: c.Text(b.Total), Paid: c.Text(b.Paid), Deposits: c.Text(b.Deposits), Due: c.Text(b.Due), CashDue: c.Text(b.CashDue),
		Credited: c.Text(b.Credited), GivenUp: c.Text(b.WrittenOff), Recovered: c.Text(b.Recovered), PayerDue: c.Text(b.PayerDue)}
}

type handOverNote struct {
	To       string  `json:"to"`
	TagShown bool    `json:"tag_shown"`
	Brief    bool    `json:"brief" doc:"The care brief was explained and given"`
	Recheck  *string `json:"recheck" doc:"Day of the check after it left"`
	Note     string  `json:"note"`
	Unpaid   string  `json:"unpaid" doc:"Why it left with a balance"`
	By       string  `json:"by"`
}

type invoiceRef struct {
	ID     int64  `json:"id"`
	Number int    `json:"number"`
	Date   string `json:"date" format:"date"`
	Total  string `json:"total"`
}

// jobDocOf lays a folder out. checks are what the templates ask of each task.
func jobDocOf(f *workshop.Folder, asks asksOf, now time.Time) jobDoc {
	j, c := f.Job, f.Shop.Currency
	doc := jobDoc{
		ID: int64(j.ID), Tag: j.Tag, Version: j.Version, Currency: c.Code, Stage: word[stageWords](f.Stage), Since: job.StageSince(j).UTC(),
		Answer: f.Answer, NextStep: f.NextStep, Window: windowOf(f.Window), Promised: civil(j.Promised),
		Customer:   customerRef{ID: int64(f.Customer.ID), Name: f.Customer.Name, Phone: f.Customer.Phone},
		Instrument: instrumentRef{ID: int64(f.Instrument.ID), Title: f.Instrument.Title(), Serial: f.Instrument.Serial},
		ComebackOf: identity(j.ComebackOf), Comeback: comebackOf(j.Comeback), Arrival: arrivalOf(j.Arrival, c), Marks: each(j.Marks, markOf),
		Surveyed: moment(j.Surveyed), Quoted: moment(j.Quoted), Approved: moment(j.Approved), Declined: moment(j.Declined),
		Checked: moment(j.Checked), CheckedBy: j.CheckedBy, Ready: moment(j.Ready), Collected: moment(j.Collected), Unclaimed: moment(j.Unclaimed),
		Account: accountOf(f.Account), Pieces: each(f.Pieces, pieceOf),
		Tasks:     each(j.Tasks, func(t job.Task) taskDoc { return taskOf(&t, j, asks[t.ID], now) }),
		Waits:     each(j.Waits, waitOf),
		Holds:     each(j.Holds, func(h job.Hold) holdDoc { return holdOf(h, f, now) }),
		Clockings: each(j.Clockings, clockingOf),
		Parts:     each(j.Parts, func(p job.PartUsed) partUsedDoc { return partUsedOf(p, c) }),
		Checks:    each(j.Checks, checkOf), Contacts: each(j.Contacts, contactOf),
		Surveys:  each(f.Surveys, func(s job.Survey) surveyDoc { return surveyOf(s, *f.Instrument, f.Shop.Bands) }),
		Payments: each(f.Payments, func(p billing.Payment) paymentDoc { return paymentOf(p, c) }),
		Balance:  balanceOf(f.Balance, workshop.MoneyAnswer(f), c),
		Quotes:   quoteRows(f, now),
	}
	if inv := f.Invoice; inv != nil {
		doc.Invoice = &invoiceRef{ID: int64(inv.ID), Number: inv.Number, Date: string(inv.Date), Total: c.Text(inv.Totals.Total)}
	}
	if h := j.HandOver; !j.Collected.IsZero() {
		doc.HandOver = &handOverNote{To: h.To, TagShown: h.TagShown, Brief: h.Brief, Recheck: civil(h.Recheck), Note: h.Note, Unpaid: h.Unpaid, By: h.By}
	}
	return doc
}
