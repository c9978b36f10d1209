// Package quote prices planned work: its lines, what the customer is told, the
// answer and what the answer allows the shop to bill.
package quote

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/templates"
)

// Basis says how firm the price is.
type Basis string

// The two bases. A firm quote is billed as said; an estimate is a best guess
// with a ceiling that must not be passed without the customer's word.
const (
	Firm     Basis = "quote"
	Estimate Basis = "estimate"
)

// Bases lists the bases, the honest one for dryness work first.
func Bases() []Basis { return []Basis{Estimate, Firm} }

// Terms are the shop's figures a quote is built with. They are kept on the
// quote: what was said stays said when the shop changes its prices.
type Terms struct {
	Currency    money.Currency
	Profile     money.Profile
	Exempt      *money.Exemption
	HourlyRate  money.Amount // labour, per hour
	Guard       money.Guard  // how far an estimate may be passed
	ValidDays   int
	DepositRule DepositRule
	Charges     Charges
	Today       domain.Date
}

// DepositRule asks for a share of the total above thresholds that are
// multiples of the hourly rate. Source: common practice, no source.
type DepositRule struct {
	Above       decimal.Decimal `json:"above"`        // times the hourly rate
	Percent     decimal.Decimal `json:"percent"`      // of the total
	HighAbove   decimal.Decimal `json:"high_above"`   // times the hourly rate
	HighPercent decimal.Decimal `json:"high_percent"` // of the total
}

// Quote is one version of what the customer is asked to agree to. Versions
// count from 1 on each job; a later one replaces the earlier ones.
type Quote struct {
	ID       domain.QuoteID
	Job      domain.JobID
	Version  int
	Number   int // from the quotes' series, given when it is said; 0 before
	Basis    Basis
	Lines    []Line
	Discount money.Amount // off the whole, before tax
	Reason   string       // of the discount
	Because  string       // what the survey found
	Missing  string       // what is not included
	Note     string

	Currency   money.Currency
	Rounding   money.Rounding
	TaxInside  bool // prices include tax
	Taxes      []money.Tax
	HourlyRate money.Amount
	Totals     money.Totals
	Low, High  money.Amount // total at the low and at the high minutes
	Ceiling    money.Amount // the total not to be passed without a recorded yes
	Deposit    money.Amount // asked

	Hands Range          // hands-on minutes of all lines
	Days  templates.Days // elapsed days out of the waits alone
	Hold  templates.Days // of them in hold

	ValidUntil domain.Date
	Drafted    time.Time
	DraftedBy  string
	Said       time.Time // to the customer; the quote is fixed from then on
	SaidBy     string
	Replaced   time.Time // by a later version
	Answer     *Answer
	YesTotal   money.Amount // total of the agreed lines
	YesLimit   money.Amount // and the most that may be billed for them
	Lock       int          // grows with each save
}

// Range is hands-on minutes.
type Range = templates.Range

// Line is one line of a quote. A task line has a template; the others are
// parts, goods or charges.
type Line struct {
	ID       domain.LineID
	Task     domain.TaskID // the task it became; 0 until a yes
	Template string        // code; "" for a line that is no task
	Edition  int           // version of the template
	For      string        // template code of the task that a part belongs to
	Part     string        // code of the stock part; "" for none
	Kind     money.LineKind
	Name     string
	Quantity int    // of the task, in Unit
	Unit     string // mm, cleats ...; for parts the stock unit
	Count    decimal.Decimal
	Price    decimal.Decimal // per count, in the currency's major unit
	Typed    bool            // the price was typed and not computed
	Off      decimal.Decimal // discount in percent
	OffWhy   string
	ByTime   bool // billed by the clock on an estimate
	Free     bool // never billed
	Minutes  templates.Range
	Days     templates.Days
	Hold     bool
	Because  string
	Net      money.Amount
	Agreed   bool // the customer said yes to this line
}

// State says where a quote stands.
type State string

// The states.
const (
	Draft     State = "draft"
	Open      State = "said, no answer yet"
	Agreed    State = "agreed"
	Partly    State = "agreed in part"
	Refused   State = "declined"
	Lapsed    State = "lapsed"
	Succeeded State = "replaced by a newer version"
)

// StateOn derives the state of q on a day.
func (q *Quote) StateOn(today domain.Date) State {
	switch {
	case q.Answer != nil && q.Answer.Outcome == Whole:
		return Agreed
	case q.Answer != nil && q.Answer.Outcome == Part:
		return Partly
	case q.Answer != nil:
		return Refused
	case !q.Replaced.IsZero():
		return Succeeded
	case q.Said.IsZero():
		return Draft
	case q.ValidUntil < today:
		return Lapsed
	}
	return Open
}

// Outcome is what the customer answered.
type Outcome string

// The outcomes.
const (
	Whole  Outcome = "whole"
	Part   Outcome = "part"
	Denied Outcome = "declined"
)

// Answer is who answered what, how and when. Answers are never changed.
type Answer struct {
	Outcome    Outcome
	Who        string // the person who said it
	Channel    string // one of Channels
	At         time.Time
	Note       string
	RecordedBy string
}

// ByLink is the channel of an answer that the customer gave on their own page.
const ByLink = "link"

// Channels lists how an answer reaches somebody of the shop, who records it.
func Channels() []string { return []string{"in person", "phone", "message", "letter"} }
