package api

import (
	"context"
	"fmt"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// OnQuote names a version of a quote in the path.
type OnQuote struct {
	Quote int64 `path:"quote" minimum:"1" doc:"Identity of one version of a quote"`
}

type sheetIn struct {
	OnJob
	Body sheet
}

type sayIn struct {
	OnQuote
	Body *sayOrder
}

type sayOrder struct {
	Promised string `json:"promised,omitempty" format:"date" doc:"The day said to the customer"`
}

type replyIn struct {
	OnQuote
	Body struct {
		Outcome word[outcomeWords] `json:"outcome"`
		Who     string             `json:"who" doc:"The person who said it"`
		Channel word[channelWords] `json:"channel"`
		Note    string             `json:"note,omitempty"`
		Lines   []int64            `json:"lines,omitempty" maxItems:"200" doc:"Identities of the agreed lines; only for a part"`
	} `nameHint:"ReplyNote"`
}

func (a *API) quoteRoutes() {
	o := operation{noun: "quotes", act: workshop.ActRead, method: http.MethodGet, path: "/jobs/{job}/quotes", id: "list_quotes", summary: "Versions of a job's quote, newest first"}
	add(a, o, a.quotes)
	o.path, o.id, o.summary = "/jobs/{job}/quotes/next", "next_sheet", "The sheet from which the next version is made"
	o.about = "The present draft's rows, or those of the newest version with what was agreed marked. Its ETag is that of the draft; there is none for a new version."
	add(a, o, a.nextSheet)
	o.path, o.id, o.summary, o.about = "/quotes/{quote}", "get_quote", "One version of a quote", ""
	add(a, o, func(ctx context.Context, in *OnQuote) (*one[quoteDoc], error) { return a.quote(ctx, in.Quote) })

	o = operation{noun: "quotes", act: workshop.ActQuote, method: http.MethodPost, path: "/jobs/{job}/quotes/preview", id: "price_quote", summary: "Price a sheet and keep nothing", pure: true}
	add(a, o, a.priceQuote)
	o = operation{noun: "quotes", act: workshop.ActQuote, method: http.MethodPost, path: "/jobs/{job}/quotes", id: "draft_quote", summary: "Keep a sheet as the draft", match: matchMay,
		about: "It becomes the next version when the newest was said. To replace a draft, send its ETag in If-Match."}
	add(a, o, a.draftQuote)
	o = operation{noun: "quotes", act: workshop.ActSay, method: http.MethodPost, path: "/quotes/{quote}/say", id: "say_quote", summary: "Fix the draft and give it its number: it was said to the customer", match: matchMay}
	add(a, o, a.sayQuote)
	o = operation{noun: "quotes", act: workshop.ActAnswer, method: http.MethodPost, path: "/quotes/{quote}/answer", id: "answer_quote", summary: "Note what the customer answered", match: matchMay,
		about: "A yes makes the agreed lines tasks. Only the version on the table can be answered."}
	add(a, o, a.answerQuote)
}

func (a *API) quotes(ctx context.Context, in *OnJob) (*many[quoteRow], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := a.read.JobByID(ctx, in.job()); err != nil {
		return nil, err
	}
	all, err := a.read.QuotesOfJob(ctx, in.job())
	if err != nil {
		return nil, err
	}
	today := shop.Today(a.work.Now())
	return whole(shop.Currency.Code, each(all, func(q quote.Quote) quoteRow { return quoteRowOf(&q, today) })), nil
}

func (a *API) nextSheet(ctx context.Context, in *OnJob) (*one[sheet], error) {
	if _, err := a.read.JobByID(ctx, in.job()); err != nil {
		return nil, err
	}
	all, err := a.read.QuotesOfJob(ctx, in.job())
	if err != nil {
		return nil, err
	}
	s, lock := workshop.NextSheet(all)
	if lock == 0 {
		return &one[sheet]{Body: sheetOf(s)}, nil
	}
	return answer(ctx, lock, sheetOf(s))
}

func (a *API) quote(ctx context.Context, id int64) (*one[quoteDoc], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	q, err := a.read.QuoteByID(ctx, domain.QuoteID(id))
	if err != nil {
		return nil, err
	}
	asked, err := a.ask(ctx, q, shop)
	if err != nil {
		return nil, err
	}
	return answer(ctx, q.Lock, quoteDocOf(q, asked, shop, a.work.Now()))
}

// quoteLock reads the present lock of a version.
func (a *API) quoteLock(ctx context.Context, id domain.QuoteID) func() (int, error) {
	return func() (int, error) {
		q, err := a.read.QuoteByID(ctx, id)
		if err != nil {
			return 0, err
		}
		return q.Lock, nil
	}
}

// preview is a priced sheet that was not kept.
type preview struct{ Body quoteDoc }

func (a *API) priceQuote(ctx context.Context, in *sheetIn) (*preview, error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	q, err := a.work.PriceQuote(ctx, by(ctx), in.job(), in.Body.domain())
	if err != nil {
		return nil, err
	}
	asked, err := a.ask(ctx, &q, shop)
	if err != nil {
		return nil, err
	}
	return &preview{Body: quoteDocOf(&q, asked, shop, a.work.Now())}, nil
}

func (a *API) draftQuote(ctx context.Context, in *sheetIn) (*one[quoteDoc], error) {
	id, err := a.work.DraftQuote(ctx, by(ctx), in.job(), in.Body.domain(), askedOf(ctx).seen)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.newestLock(ctx, in.job()) })
	}
	out, err := a.quote(ctx, int64(id))
	if err == nil {
		out.Location = fmt.Sprintf("%s/quotes/%d", Root, id)
	}
	return out, err
}

// newestLock is the lock of a job's newest version, 0 for none.
func (a *API) newestLock(ctx context.Context, id domain.JobID) (int, error) {
	all, err := a.read.QuotesOfJob(ctx, id)
	if err != nil || len(all) == 0 {
		return 0, err
	}
	return all[0].Lock, nil
}

func (a *API) sayQuote(ctx context.Context, in *sayIn) (*one[quoteDoc], error) {
	var promised domain.Date
	if in.Body != nil {
		f := domain.Fields{}
		promised = dateIn(f, "promised", in.Body.Promised)
		if err := f.Err(); err != nil {
			return nil, err
		}
	}
	id := domain.QuoteID(in.Quote)
	if err := a.work.SayQuote(workshop.WithLock(ctx, askedOf(ctx).seen), by(ctx), id, promised); err != nil {
		return nil, stale(ctx, err, a.quoteLock(ctx, id))
	}
	return a.quote(ctx, in.Quote)
}

func (a *API) answerQuote(ctx context.Context, in *replyIn) (*one[quoteDoc], error) {
	id, b := domain.QuoteID(in.Quote), in.Body
	reply := quote.Answer{Outcome: quote.Outcome(b.Outcome), Who: b.Who, Channel: string(b.Channel), Note: b.Note}
	lines := each(b.Lines, func(n int64) domain.LineID { return domain.LineID(n) })
	if err := a.work.AnswerQuote(workshop.WithLock(ctx, askedOf(ctx).seen), by(ctx), id, reply, lines); err != nil {
		return nil, stale(ctx, err, a.quoteLock(ctx, id))
	}
	return a.quote(ctx, in.Quote)
}
