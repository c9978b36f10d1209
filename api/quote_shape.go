package api

import (
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// sheet is a whole quote as a person types it.
type sheet struct {
	Basis    word[basisWords] `json:"basis" doc:"quote: firm, billed as said; estimate: a best guess with a ceiling"`
	Rows     []row            `json:"rows" maxItems:"80"`
	Discount string           `json:"discount,omitempty" doc:"Amount off the whole, before tax"`
	Reason   string           `json:"reason,omitempty" doc:"Of the discount; needed with one"`
	Because  string           `json:"because,omitempty" doc:"What was found; the last survey's words when left out"`
	Missing  string           `json:"missing,omitempty" doc:"What is not included"`
	Note     string           `json:"note,omitempty"`
	Deposit  string           `json:"deposit,omitempty" doc:"Amount to ask for; what the shop's rule says when left out"`
	Valid    int              `json:"valid,omitempty" minimum:"0" maximum:"365" doc:"Days; the shop's when left out"`
}

// row is one line as typed. Exactly one of task, part and name is its subject.
type row struct {
	Task      string              `json:"task,omitempty" doc:"Code of a task template, such as CG"`
	Edition   int                 `json:"edition,omitempty" minimum:"0" doc:"Of the template; the newest when left out"`
	Quantity  string              `json:"quantity,omitempty" doc:"Of a task: whole mm, cleats, frets ...; of a part: up to three decimals; 1 when left out"`
	Part      string              `json:"part,omitempty" doc:"Code of a part"`
	For       string              `json:"for,omitempty" doc:"Code of the task that a part belongs to"`
	Name      string              `json:"name,omitempty" doc:"Words of a free line"`
	Kind      word[lineKindWords] `json:"kind,omitempty" doc:"Of a free line; taxes go by it"`
	Price     string              `json:"price,omitempty" doc:"For one; the shop's when left out"`
	Off       string              `json:"off,omitempty" doc:"Discount in per cent"`
	OffWhy    string              `json:"off_why,omitempty" doc:"Needed with off"`
	Because   string              `json:"because,omitempty"`
	WithParts bool                `json:"with_parts,omitempty" doc:"Add the parts that the template bills"`
	Was       int64               `json:"was,omitempty" minimum:"0" doc:"The running task that this row goes on with, as GET .../quotes/next gives it"`
	Agreed    bool                `json:"agreed,omitempty" doc:"Agreed in an earlier version, as GET .../quotes/next gives it"`
	Comeback  bool                `json:"comeback,omitempty" doc:"It repeats work that came back: its discount follows who pays for the comeback"`
}

func (s sheet) domain() quote.Sheet {
	out := quote.Sheet{
		Basis: quote.Basis(s.Basis), Discount: s.Discount, Reason: s.Reason, Because: s.Because, Missing: s.Missing, Note: s.Note, Deposit: s.Deposit,
		Rows: each(s.Rows, func(r row) quote.Row {
			return quote.Row{
				Task: r.Task, Edition: r.Edition, Quantity: r.Quantity, Part: r.Part, For: r.For, Name: r.Name, Kind: money.LineKind(r.Kind), Price: r.Price,
				Off: r.Off, OffWhy: r.OffWhy, Because: r.Because, WithParts: r.WithParts, Was: domain.TaskID(r.Was), Agreed: r.Agreed, Comeback: r.Comeback,
			}
		}),
	}
	if s.Valid != 0 {
		out.Valid = strconv.Itoa(s.Valid)
	}
	return out
}

func sheetOf(s quote.Sheet) sheet {
	return sheet{
		Basis: word[basisWords](s.Basis), Discount: s.Discount, Reason: s.Reason, Because: s.Because, Missing: s.Missing, Note: s.Note, Deposit: s.Deposit,
		Rows: each(s.Rows, func(r quote.Row) row {
			return row{
				Task: r.Task, Edition: r.Edition, Quantity: r.Quantity, Part: r.Part, For: r.For, Name: r.Name, Kind: word[lineKindWords](r.Kind), Price: r.Price,
				Off: r.Off, OffWhy: r.OffWhy, Because: r.Because, WithParts: r.WithParts, Was: int64(r.Was), Agreed: r.Agreed, Comeback: r.Comeback,
			}
		}),
	}
}

// quoteRow is a version of a quote in a list.
type quoteRow struct {
	ID         int64            `json:"id"`
	Version    int              `json:"version" doc:"From 1 on each job"`
	Number     int              `json:"number" doc:"Given when it is said; 0 before"`
	Basis      word[basisWords] `json:"basis"`
	State      word[stateWords] `json:"state"`
	Total      string           `json:"total"`
	Ceiling    string           `json:"ceiling" doc:"Not to be passed without a recorded yes"`
	ValidUntil string           `json:"valid_until" format:"date"`
}

func quoteRowOf(q *quote.Quote, today domain.Date) quoteRow {
	return quoteRow{
		ID: int64(q.ID), Version: q.Version, Number: q.Number, Basis: word[basisWords](q.Basis), State: word[stateWords](q.StateOn(today)),
		Total: q.Currency.Text(q.Totals.Total), Ceiling: q.Currency.Text(q.Ceiling), ValidUntil: string(q.ValidUntil),
	}
}

func quoteRows(f *workshop.Folder, now time.Time) []quoteRow {
	rows := make([]quoteRow, len(f.Versions))
	for i := range f.Versions {
		rows[i] = quoteRowOf(&f.Versions[i], f.Shop.Today(now))
	}
	return rows
}

// quoteDoc is one version of a quote.
type quoteDoc struct {
	ID       int64            `json:"id" doc:"0 for a preview"`
	Job      int64            `json:"job"`
	Version  int              `json:"version" doc:"From 1 on each job; 0 for a preview"`
	Number   int              `json:"number" doc:"Given when it is said; 0 before"`
	Lock     int              `json:"lock" doc:"Grows with each change; it stands in the ETag"`
	Currency string           `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	State    word[stateWords] `json:"state"`
	Answer   string           `json:"answer" doc:"Where it stands and what it comes to, in a sentence"`
	Basis    word[basisWords] `json:"basis"`
	Lines    []quoteLine      `json:"lines"`
	Totals   totals           `json:"totals"`
	Discount string           `json:"discount" doc:"Off the whole, before tax"`
	Reason   string           `json:"reason" doc:"Of the discount"`
	Low      string           `json:"low" doc:"Total at the low minutes"`
	High     string           `json:"high" doc:"Total at the high minutes"`
	Ceiling  string           `json:"ceiling" doc:"Not to be passed without a recorded yes"`
	Deposit  string           `json:"deposit" doc:"Asked"`
	Rate     string           `json:"rate" doc:"Labour per hour it was made with"`
	Hands    minutes          `json:"hands" doc:"Hands-on minutes of all lines"`
	Days     days             `json:"days" doc:"Elapsed days out of the waits alone; the queue is not counted"`
	Hold     days             `json:"hold" doc:"Of them in the cabinet"`
	Window   *window          `json:"window,omitempty" doc:"When it would be ready if the customer said yes today"`
	Queue    *askedDoc        `json:"queue,omitempty" doc:"What the real queue makes of it; left out once it was answered"`
	Because  string           `json:"because"`
	Missing  string           `json:"missing" doc:"What is not included"`
	Note     string           `json:"note"`

	ValidUntil string       `json:"valid_until" format:"date"`
	Drafted    *time.Time   `json:"drafted"`
	DraftedBy  string       `json:"drafted_by"`
	Said       *time.Time   `json:"said" doc:"To the customer; fixed from then on"`
	SaidBy     string       `json:"said_by"`
	Replaced   *time.Time   `json:"replaced" doc:"By a later version"`
	Reply      *quoteAnswer `json:"reply,omitempty" doc:"What the customer said"`
	YesTotal   string       `json:"yes_total" doc:"Total of the agreed lines"`
	YesLimit   string       `json:"yes_limit" doc:"The most that may be billed for them"`
}

// quoteLine is one line of a quote.
type quoteLine struct {
	ID       int64               `json:"id" doc:"0 for a preview"`
	Task     *int64              `json:"task" doc:"The task it became"`
	Template string              `json:"template" doc:"Code; empty for a line that is no task"`
	Edition  int                 `json:"edition"`
	For      string              `json:"for" doc:"Code of the task that a part belongs to"`
	Part     string              `json:"part" doc:"Code of the part"`
	Kind     word[lineKindWords] `json:"kind"`
	Name     string              `json:"name"`
	Quantity int                 `json:"quantity" doc:"Of a task, in the unit"`
	Unit     string              `json:"unit"`
	Count    string              `json:"count" doc:"By which the price is taken"`
	Price    string              `json:"price" doc:"For one"`
	Typed    bool                `json:"typed" doc:"The price was typed and not computed"`
	Off      string              `json:"off" doc:"Discount in per cent"`
	OffWhy   string              `json:"off_why"`
	ByTime   bool                `json:"by_time" doc:"Billed by the clock on an estimate"`
	Free     bool                `json:"free" doc:"Never billed"`
	Minutes  minutes             `json:"minutes"`
	Days     days                `json:"days"`
	Hold     bool                `json:"hold" doc:"It is the stay in the cabinet"`
	Because  string              `json:"because"`
	Net      string              `json:"net"`
	Agreed   bool                `json:"agreed" doc:"The customer said yes to it"`
	Comeback bool                `json:"comeback" doc:"It repeats work that came back"`
}

func quoteLineOf(l quote.Line, c money.Currency) quoteLine {
	return quoteLine{
		ID: int64(l.ID), Task: identity(l.Task), Template: l.Template, Edition: l.Edition, For: l.For, Part: l.Part, Kind: word[lineKindWords](l.Kind),
		Name: l.Name, Quantity: l.Quantity, Unit: l.Unit, Count: l.Count.String(), Price: l.Price.StringFixed(int32(c.Digits)), Typed: l.Typed,
		Off: l.Off.String(), OffWhy: l.OffWhy, ByTime: l.ByTime, Free: l.Free, Minutes: minutesOf(l.Minutes), Days: daysOf(l.Days), Hold: l.Hold,
		Because: l.Because, Net: c.Text(l.Net), Agreed: l.Agreed, Comeback: l.Comeback(),
	}
}

// quoteAnswer is who answered what, how and when.
type quoteAnswer struct {
	Outcome    word[outcomeWords] `json:"outcome"`
	Who        string             `json:"who"`
	Channel    word[cameByWords]  `json:"channel"`
	Note       string             `json:"note"`
	At         time.Time          `json:"at"`
	RecordedBy string             `json:"recorded_by"`
}

// totals of a quote or an invoice. What is shown adds up.
type totals struct {
	Sum      string     `json:"sum" doc:"Of the lines"`
	Discount string     `json:"discount"`
	Net      string     `json:"net" doc:"Without tax"`
	Taxes    []taxTotal `json:"taxes"`
	Tax      string     `json:"tax"`
	Total    string     `json:"total" doc:"With tax"`
	Included bool       `json:"included" doc:"The lines contain their taxes"`
}

type taxTotal struct {
	Name    string `json:"name"`
	Number  string `json:"number" doc:"Registration number"`
	Percent string `json:"percent"`
	Base    string `json:"base"`
	Amount  string `json:"amount"`
	Exempt  string `json:"exempt" doc:"Why the customer is exempt; empty when not"`
}

func totalsOf(t money.Totals, c money.Currency, inside bool) totals {
	return totals{
		Sum: c.Text(t.Sum), Discount: c.Text(t.Discount), Net: c.Text(t.Net), Tax: c.Text(t.Tax), Total: c.Text(t.Total), Included: inside,
		Taxes: each(t.Taxes, func(x money.TaxTotal) taxTotal {
			return taxTotal{Name: x.Name, Number: x.Number, Percent: x.Percent.String(), Base: c.Text(x.Base), Amount: c.Text(x.Amount), Exempt: x.Exempt}
		}),
	}
}

// quoteDocOf lays a version out; asked is what the queue says of it, nil for nothing.
func quoteDocOf(q *quote.Quote, asked *workshop.Asked, shop *workshop.Shop, now time.Time) quoteDoc {
	c, today := q.Currency, shop.Today(now)
	w := workshop.WindowOfQuote(q, asked, shop, now)
	doc := quoteDoc{
		ID: int64(q.ID), Job: int64(q.Job), Version: q.Version, Number: q.Number, Lock: q.Lock, Currency: c.Code, State: word[stateWords](q.StateOn(today)),
		Answer: workshop.VersionAnswer(q, w, shop, now), Basis: word[basisWords](q.Basis), Totals: totalsOf(q.Totals, c, q.TaxInside),
		Lines:    each(q.Lines, func(l quote.Line) quoteLine { return quoteLineOf(l, c) }),
		Discount: c.Text(q.Discount), Reason: q.Reason, Low: c.Text(q.Low), High: c.Text(q.High), Ceiling: c.Text(q.Ceiling), Deposit: c.Text(q.Deposit),
		Rate: c.Text(q.HourlyRate), Hands: minutesOf(q.Hands), Days: daysOf(q.Days), Hold: daysOf(q.Hold), Window: windowOf(w), Queue: askedOfQueue(asked, shop, now),
		Because: q.Because, Missing: q.Missing, Note: q.Note, ValidUntil: string(q.ValidUntil), Drafted: moment(q.Drafted), DraftedBy: q.DraftedBy,
		Said: moment(q.Said), SaidBy: q.SaidBy, Replaced: moment(q.Replaced), YesTotal: c.Text(q.YesTotal), YesLimit: c.Text(q.YesLimit),
	}
	if x := q.Answer; x != nil {
		doc.Reply = &quoteAnswer{Outcome: word[outcomeWords](x.Outcome), Who: x.Who, Channel: word[cameByWords](x.Channel), Note: x.Note, At: x.At.UTC(), RecordedBy: x.RecordedBy}
	}
	return doc
}
