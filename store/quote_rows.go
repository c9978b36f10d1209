package store

import (
	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// quoteRow is a row of quotes.
type quoteRow struct {
	ID             int64
	JobID          int64
	Version        int
	Number         *int
	Basis          string
	Because        string
	Missing        string
	Note           string
	Paper          paperRow `gorm:"embedded"`
	HourlyRate     int64
	Low            int64
	High           int64
	Ceiling        int64
	Deposit        int64
	MinutesLow     int
	MinutesTypical int
	MinutesHigh    int
	DaysLow        string
	DaysTypical    string
	DaysHigh       string
	HoldLow        string
	HoldTypical    string
	HoldHigh       string
	ValidUntil     string
	DraftedAt      moment
	DraftedBy      string
	SaidAt         *moment
	SaidBy         string
	ReplacedAt     *moment
	AnswerOutcome  *string
	AnswerWho      string
	AnswerChannel  string
	AnsweredAt     *moment
	AnswerNote     string
	AnswerBy       string
	YesTotal       int64
	YesLimit       int64
	Lock           int
}

func (quoteRow) TableName() string { return "quotes" }
func (r *quoteRow) key() *int64    { return &r.ID }

func rowOfQuote(q *quote.Quote) (quoteRow, error) {
	paper, err := rowOfPaper(paper{
		discount: q.Discount, reason: q.Reason, currency: q.Currency, rounding: q.Rounding, taxInside: q.TaxInside, taxes: q.Taxes, totals: q.Totals,
	})
	r := quoteRow{
		ID: int64(q.ID), JobID: int64(q.Job), Version: q.Version, Basis: string(q.Basis),
		Because: q.Because, Missing: q.Missing, Note: q.Note, Paper: paper, HourlyRate: int64(q.HourlyRate),
		Low: int64(q.Low), High: int64(q.High), Ceiling: int64(q.Ceiling), Deposit: int64(q.Deposit),
		MinutesLow: q.Hands.Low, MinutesTypical: q.Hands.Typical, MinutesHigh: q.Hands.High,
		DaysLow: q.Days.Low.String(), DaysTypical: q.Days.Typical.String(), DaysHigh: q.Days.High.String(),
		HoldLow: q.Hold.Low.String(), HoldTypical: q.Hold.Typical.String(), HoldHigh: q.Hold.High.String(),
		ValidUntil: string(q.ValidUntil), DraftedAt: at(q.Drafted), DraftedBy: q.DraftedBy,
		SaidAt: atOrNull(q.Said), SaidBy: q.SaidBy, ReplacedAt: atOrNull(q.Replaced),
		YesTotal: int64(q.YesTotal), YesLimit: int64(q.YesLimit), Lock: q.Lock,
	}
	if q.Number != 0 {
		r.Number = &q.Number
	}
	if a := q.Answer; a != nil {
		r.AnswerOutcome, r.AnsweredAt = textOrNull(a.Outcome), atOrNull(a.At)
		r.AnswerWho, r.AnswerChannel, r.AnswerNote, r.AnswerBy = a.Who, a.Channel, a.Note, a.RecordedBy
	}
	return r, err
}

// quote makes the quote of a row, without its lines.
func (r *quoteRow) quote() (*quote.Quote, error) {
	p, err := r.Paper.paper()
	if err != nil {
		return nil, err
	}
	q := &quote.Quote{
		ID: domain.QuoteID(r.ID), Job: domain.JobID(r.JobID), Version: r.Version, Basis: quote.Basis(r.Basis),
		Discount: p.discount, Reason: p.reason, Because: r.Because, Missing: r.Missing, Note: r.Note,
		Currency: p.currency, Rounding: p.rounding, TaxInside: p.taxInside, Taxes: p.taxes,
		HourlyRate: money.Amount(r.HourlyRate), Totals: p.totals, Low: money.Amount(r.Low), High: money.Amount(r.High),
		Ceiling: money.Amount(r.Ceiling), Deposit: money.Amount(r.Deposit),
		Hands:      quote.Range{Low: r.MinutesLow, Typical: r.MinutesTypical, High: r.MinutesHigh},
		ValidUntil: domain.Date(r.ValidUntil), Drafted: r.DraftedAt.Time, DraftedBy: r.DraftedBy,
		Said: r.SaidAt.orZero(), SaidBy: r.SaidBy, Replaced: r.ReplacedAt.orZero(), Answer: r.answer(),
		YesTotal: money.Amount(r.YesTotal), YesLimit: money.Amount(r.YesLimit), Lock: r.Lock,
	}
	if r.Number != nil {
		q.Number = *r.Number
	}
	return q, readDigits(
		digits{&q.Days.Low, r.DaysLow}, digits{&q.Days.Typical, r.DaysTypical}, digits{&q.Days.High, r.DaysHigh},
		digits{&q.Hold.Low, r.HoldLow}, digits{&q.Hold.Typical, r.HoldTypical}, digits{&q.Hold.High, r.HoldHigh},
	)
}

func (r *quoteRow) answer() *quote.Answer {
	if r.AnswerOutcome == nil {
		return nil
	}
	return &quote.Answer{
		Outcome: quote.Outcome(*r.AnswerOutcome), Who: r.AnswerWho, Channel: r.AnswerChannel, At: r.AnsweredAt.orZero(),
		Note: r.AnswerNote, RecordedBy: r.AnswerBy,
	}
}

// quoteLineRow is a row of quote_lines.
type quoteLineRow struct {
	ID             int64
	QuoteID        int64
	Place          int
	TaskID         *int64
	Template       string
	Edition        int
	ForTemplate    string
	Part           string
	Kind           string
	Name           string
	Quantity       int
	Unit           string
	Count          string
	Price          string
	Typed          bool
	Off            string
	OffWhy         string
	ByTime         bool
	Free           bool
	MinutesLow     int
	MinutesTypical int
	MinutesHigh    int
	DaysLow        string
	DaysTypical    string
	DaysHigh       string
	Hold           bool
	Because        string
	Net            int64
	Agreed         bool
}

func (quoteLineRow) TableName() string { return "quote_lines" }
func (r *quoteLineRow) key() *int64    { return &r.ID }

// rowOfQuoteLine makes the row of the line in a place of a quote, from 1.
func rowOfQuoteLine(id int64, place int, l *quote.Line) quoteLineRow {
	return quoteLineRow{
		ID: int64(l.ID), QuoteID: id, Place: place, TaskID: idOrNull(l.Task), Template: l.Template, Edition: l.Edition,
		ForTemplate: l.For, Part: l.Part, Kind: string(l.Kind), Name: l.Name, Quantity: l.Quantity, Unit: l.Unit,
		Count: l.Count.String(), Price: l.Price.String(), Typed: l.Typed, Off: l.Off.String(), OffWhy: l.OffWhy,
		ByTime: l.ByTime, Free: l.Free, MinutesLow: l.Minutes.Low, MinutesTypical: l.Minutes.Typical, MinutesHigh: l.Minutes.High,
		DaysLow: l.Days.Low.String(), DaysTypical: l.Days.Typical.String(), DaysHigh: l.Days.High.String(),
		Hold: l.Hold, Because: l.Because, Net: int64(l.Net), Agreed: l.Agreed,
	}
}

func (r *quoteLineRow) line() (quote.Line, error) {
	l := quote.Line{
		ID: domain.LineID(r.ID), Task: orZero[domain.TaskID](r.TaskID), Template: r.Template, Edition: r.Edition,
		For: r.ForTemplate, Part: r.Part, Kind: money.LineKind(r.Kind), Name: r.Name, Quantity: r.Quantity, Unit: r.Unit,
		Typed: r.Typed, OffWhy: r.OffWhy, ByTime: r.ByTime, Free: r.Free,
		Minutes: templates.Range{Low: r.MinutesLow, Typical: r.MinutesTypical, High: r.MinutesHigh},
		Hold:    r.Hold, Because: r.Because, Net: money.Amount(r.Net), Agreed: r.Agreed,
	}
	return l, readDigits(
		digits{&l.Count, r.Count}, digits{&l.Price, r.Price}, digits{&l.Off, r.Off},
		digits{&l.Days.Low, r.DaysLow}, digits{&l.Days.Typical, r.DaysTypical}, digits{&l.Days.High, r.DaysHigh},
	)
}
