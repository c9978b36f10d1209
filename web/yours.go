package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// yoursRoutes registers what a customer reads by a secret link, without a sign-in.
func (s *Server) yoursRoutes(r *gin.RouterGroup) {
	in := r.Group("/yours/:secret", sealed)
	in.GET("", s.yours)
	in.GET("/quotes/:quote/paper.pdf", s.yourQuotePaper)
	in.GET("/invoices/:invoice/paper.pdf", s.yourInvoicePaper)
	in.GET("/payments/:payment/receipt.pdf", s.yourReceiptPaper)
	in.GET("/quotes/:quote/answer", s.yourAnswer)
	in.POST("/quotes/:quote/answer", s.takeYourAnswer)
}

// sealed keeps the address of a page from caches, other sites and search engines.
func sealed(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Robots-Tag", "noindex, nofollow")
}

// YoursPage is the page of a customer's own job.
type YoursPage struct {
	Page
	Life     Strip
	Quote    *YourQuote
	Money    Facts
	Papers   []Link
	Contact  Facts
	Deadline string // until when the link works
}

// YourQuote is the newest quote as it was said.
type YourQuote struct {
	Name    string
	Lines   Table
	Facts   Facts
	Missing string
	Note    string
	State   string   // what became of it, in words
	Ask     *YourAsk // nil when it cannot be answered
}

// YourAsk is the form of the answer; what is sent is shown again before it counts.
type YourAsk struct {
	Action  string
	Outcome Field
	Lines   []Option
	Chosen  map[string]bool
	Wrong   string
}

// YourAnswerPage asks once more, with the sums, before an answer counts.
type YourAnswerPage struct {
	Page
	Action, Back string
	Hidden       []Pair
	Lines        []string
	Facts        Facts
	Button       string
	Contact      Facts
}

// NoYoursPage answers for links that are wrong, revoked or over: one and the same.
type NoYoursPage struct {
	Page
	Contact Facts
}

// visit is a customer's look at their job.
type visit struct {
	*workshop.Folder
	workshop.Yours
	link *workshop.JobLink
	path string
}

// openYours finds the job behind the secret, or answers the request itself.
func (s *Server) openYours(c *gin.Context) *visit {
	ctx := c.Request.Context()
	l, err := s.Work.OpenLink(ctx, s.Read, c.Param("secret"))
	if domain.KindOf(err) == domain.NotFound {
		s.noYours(c)
		return nil
	}
	v := &visit{link: l, path: workshop.LinkPath(c.Param("secret"))}
	if err == nil {
		v.Folder, err = workshop.ReadFolder(ctx, s.Read, l.Job, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	v.Yours = workshop.YoursOf(v.Folder, s.now())
	return v
}

func (s *Server) noYours(c *gin.Context) {
	p := &NoYoursPage{Page: s.yoursFrame(c, "Nothing here")}
	p.Here = "/" // the address itself stays out of the page
	p.Answer = "This address opens nothing, or nothing any more. Call the shop: they give you a new one."
	if shop, err := s.Read.ShopSettings(c.Request.Context()); err == nil {
		p.Contact = contactOf(shop)
	}
	s.page(c, http.StatusNotFound, "yours/none", p)
}

// yoursFrame is the frame of a page for somebody who does not work here.
func (s *Server) yoursFrame(c *gin.Context, title string) Page {
	p := s.frame(c, title, "")
	p.Sealed, p.Device = true, false
	return p
}

func contactOf(shop *workshop.Shop) Facts {
	var f Facts
	add := func(name, value, href string) {
		if value != "" {
			f = append(f, Fact{Name: name, Value: value, Href: href})
		}
	}
	add("Shop", shop.Name, "")
	add("Address", shop.Address, "")
	add("Phone", shop.Phone, "")
	add("Mail", shop.Email, "")
	return f
}

func (s *Server) yours(c *gin.Context) {
	if v := s.openYours(c); v != nil {
		s.showYours(c, http.StatusOK, v, nil, "")
	}
}

// showYours writes the page. errs are mistakes of the answer, bad what did not happen.
func (s *Server) showYours(c *gin.Context, status int, v *visit, errs domain.Fields, bad string) {
	p := &YoursPage{Page: s.yoursFrame(c, v.Instrument.Title())}
	p.Here, p.Answer, p.Errors = v.path, v.Answer, errs
	p.Folio = fmt.Sprintf("tag %d", v.Job.Tag)
	if bad != "" {
		p.Flash = &Flash{Text: bad, Bad: true}
	}
	p.Life = v.life(s)
	p.Contact, p.Money, p.Papers = contactOf(v.Shop), v.money(), v.papers()
	p.Deadline = "This page works until " + dated(v.link.Expires, v.Shop.Location()) + ". Who has its address reads it: keep it to yourself."
	if v.Quote != nil {
		p.Quote = v.quote(c, s, errs)
	}
	s.page(c, status, "yours/show", p)
}

// life is the strip without the shop's own words.
func (v *visit) life(s *Server) Strip {
	strip := lifeStrip(v.Folder, s.now())
	for i := range strip.Pieces {
		if strip.Pieces[i].Kind != Idle {
			strip.Pieces[i].Label = ""
		}
	}
	return strip
}

func (v *visit) money() Facts {
	show, b := v.Shop.Currency.Show, v.Balance
	var f Facts
	if v.Invoice != nil {
		f = append(f, Fact{Name: "Invoice", Value: show(b.Total), Note: fmt.Sprintf("no. %d", v.Invoice.Number)})
	}
	if b.Paid != 0 {
		f = append(f, Fact{Name: "Paid", Value: show(b.Paid)})
	}
	if b.Credited != 0 {
		f = append(f, Fact{Name: "Credited", Value: show(b.Credited)})
	}
	if v.Invoice == nil {
		return append(f, Fact{Name: "To pay", Value: "nothing is billed yet"})
	}
	if b.PayerDue != 0 {
		f = append(f, Fact{Name: "Open with another payer", Value: show(b.PayerDue)})
	}
	switch due := b.OwnDue(); {
	case due > 0:
		f = append(f, Fact{Name: "To pay", Value: show(due)})
	case due < 0:
		f = append(f, Fact{Name: "You get back", Value: show(-due)})
	default:
		f = append(f, Fact{Name: "To pay", Value: "nothing"})
	}
	return f
}

func (v *visit) papers() []Link {
	var out []Link
	for _, q := range slices.Backward(v.Versions) {
		if !q.Said.IsZero() {
			out = append(out, Link{Href: fmt.Sprintf("%s/quotes/%d/paper.pdf", v.path, q.ID), Text: fmt.Sprintf("Quote %d (PDF)", q.Number)})
		}
	}
	if v.Invoice != nil {
		out = append(out, Link{Href: fmt.Sprintf("%s/invoices/%d/paper.pdf", v.path, v.Invoice.ID), Text: fmt.Sprintf("Invoice %d (PDF)", v.Invoice.Number)})
	}
	for _, p := range v.Payments {
		out = append(out, Link{Href: fmt.Sprintf("%s/payments/%d/receipt.pdf", v.path, p.ID), Text: fmt.Sprintf("Receipt %d (PDF)", p.Receipt)})
	}
	return out
}

func (v *visit) quote(c *gin.Context, s *Server, errs domain.Fields) *YourQuote {
	q := v.Quote
	out := &YourQuote{Name: fmt.Sprintf("Quote %d of %s", q.Number, Day(q.Said.In(v.Shop.Location()))), Lines: quoteTable(q), Missing: q.Missing, Note: q.Note}
	out.Facts = (&version{Folder: v.Folder, q: q}).terms()
	switch q.StateOn(v.Shop.Today(s.now())) {
	case quote.Agreed:
		out.State = "You agreed to all of it."
	case quote.Partly:
		out.State = fmt.Sprintf("You agreed to a part: %s, not above %s.", q.Currency.Show(q.YesTotal), q.Currency.Show(q.YesLimit))
	case quote.Refused:
		out.State = "You said no."
	case quote.Lapsed:
		out.State = "It is valid no more. Call us for a new one."
	}
	if !v.Open {
		return out
	}
	a := &YourAsk{Action: fmt.Sprintf("%s/quotes/%d/answer", v.path, q.ID), Chosen: map[string]bool{}, Wrong: errs["lines"]}
	a.Outcome = ChoiceField("outcome", "Your answer", c.Query("outcome"), []Option{
		{Value: string(quote.Whole), Label: "yes to all of it"},
		{Value: string(quote.Part), Label: "yes to a part", Note: "mark the lines below"},
		{Value: string(quote.Denied), Label: "no"},
	}).Radio().Need().Marked(errs)
	for _, l := range q.Lines {
		price := q.Currency.Show(l.Net)
		if l.Free {
			price = "free"
		}
		a.Lines = append(a.Lines, Option{Value: fmt.Sprint(l.ID), Label: l.Name + countOf(l), Note: price})
	}
	for _, id := range c.QueryArray("lines") {
		a.Chosen[id] = true
	}
	out.Ask = a
	return out
}

// asked is the version in the path, when it was said to this customer; else nil, and
// the request is answered.
func (s *Server) asked(c *gin.Context, v *visit) *quote.Quote {
	for i := range v.Versions {
		if q := &v.Versions[i]; int64(q.ID) == number(c, "quote") && !q.Said.IsZero() {
			return q
		}
	}
	s.noYours(c)
	return nil
}

// closedText says why a version takes no answer, "" when it takes one.
func (v *visit) closedText(q *quote.Quote) string {
	switch {
	case v.Open && v.Quote.ID == q.ID:
		return ""
	case q.Answer != nil:
		return "This quote has its answer already; nothing was changed. Call us if you think otherwise."
	case !q.Replaced.IsZero():
		return "This quote was replaced meanwhile: nothing was agreed. The new one stands below."
	}
	return "This quote takes no answer any more: nothing was agreed. Call us."
}

// chosenLines reads the lines that were marked, for a yes to a part.
func chosenLines(o quote.Outcome, typed []string) []domain.LineID {
	var out []domain.LineID
	if o == quote.Part {
		for _, t := range typed {
			id, _ := strconv.ParseInt(t, 10, 64)
			out = append(out, domain.LineID(id))
		}
	}
	return out
}

// yourAnswer shows what an answer would mean. It changes nothing.
func (s *Server) yourAnswer(c *gin.Context) {
	v := s.openYours(c)
	if v == nil {
		return
	}
	q := s.asked(c, v)
	if q == nil {
		return
	}
	if text := v.closedText(q); text != "" {
		s.showYours(c, http.StatusConflict, v, nil, text)
		return
	}
	o := quote.Outcome(c.Query("outcome"))
	would, lines := *q, chosenLines(o, c.QueryArray("lines"))
	would.Lines = slices.Clone(q.Lines)
	if err := would.Take(quote.Answer{Outcome: o, Who: v.Customer.Name, Channel: quote.ByLink}, lines, v.Shop.Guard, v.Shop.Today(s.now())); err != nil {
		s.showYours(c, StatusOf(domain.KindOf(err)), v, fieldErrors(err), "")
		return
	}
	p := &YourAnswerPage{Page: s.yoursFrame(c, "Is this your answer?"), Back: v.path, Action: fmt.Sprintf("%s/quotes/%d/answer", v.path, q.ID), Contact: contactOf(v.Shop)}
	p.Hidden = []Pair{{"outcome", string(o)}}
	for _, id := range lines {
		p.Hidden = append(p.Hidden, Pair{"lines", fmt.Sprint(id)})
	}
	confirm(p, &would)
	s.page(c, http.StatusOK, "yours/answer", p)
}

// confirm says what an answer means: for a yes its sum and what may not be passed.
func confirm(p *YourAnswerPage, q *quote.Quote) {
	show := q.Currency.Show
	if q.Answer.Outcome == quote.Denied {
		p.Answer, p.Button = "You say no: no work is done and your instrument can be collected.", "Yes, I say no"
		return
	}
	p.Answer, p.Button = fmt.Sprintf("You agree to %s. That is the price.", show(q.YesTotal)), "Yes, I agree"
	p.Facts = Facts{{Name: "You agree to", Value: show(q.YesTotal)}, {Name: "Not above", Value: show(q.YesLimit), Note: "without your word"}}
	if q.Basis == quote.Estimate {
		p.Answer = fmt.Sprintf("You agree to about %s, not above %s without your word.", show(q.YesTotal), show(q.YesLimit))
	}
	if q.Deposit > 0 {
		p.Facts = append(p.Facts, Fact{Name: "Deposit asked", Value: show(q.Deposit)})
	}
	for _, l := range q.Lines {
		if l.Agreed {
			p.Lines = append(p.Lines, l.Name+countOf(l))
		}
	}
}

// takeYourAnswer records the answer that was shown once more.
func (s *Server) takeYourAnswer(c *gin.Context) {
	v := s.openYours(c)
	if v == nil {
		return
	}
	q := s.asked(c, v)
	if q == nil {
		return
	}
	o := quote.Outcome(form(c, "outcome"))
	err := s.Work.AnswerByLink(keyed(c), v.link.Actor(), q.ID, o, chosenLines(o, c.PostFormArray("lines")))
	switch kind := domain.KindOf(err); {
	case err == nil:
		Go(c, v.path)
	case kind == domain.NotFound:
		s.noYours(c)
	case kind == domain.Conflict || kind == domain.Invalid:
		if v = s.openYours(c); v == nil { // it changed meanwhile
			return
		}
		text := ""
		if kind == domain.Conflict {
			if text = "This could not be recorded: look at how it stands now."; s.said(v, q.ID) != "" {
				text = s.said(v, q.ID)
			}
		}
		s.showYours(c, StatusOf(kind), v, fieldErrors(onlyInvalid(err)), text)
	default:
		s.fail(c, err)
	}
}

// said is why a version takes no answer now, "" when it does.
func (s *Server) said(v *visit, id domain.QuoteID) string {
	for i := range v.Versions {
		if v.Versions[i].ID == id {
			return v.closedText(&v.Versions[i])
		}
	}
	return ""
}

// onlyInvalid keeps what is wrong with a form; other errors speak to the staff.
func onlyInvalid(err error) error {
	if domain.KindOf(err) == domain.Invalid {
		return err
	}
	return nil
}

func (s *Server) yourQuotePaper(c *gin.Context) {
	v := s.openYours(c)
	if v == nil {
		return
	}
	if q := s.asked(c, v); q != nil {
		s.quoteOnPaper(c, v.Folder, q)
	}
}

func (s *Server) yourInvoicePaper(c *gin.Context) {
	v := s.openYours(c)
	switch {
	case v == nil:
	case v.Invoice == nil || int64(v.Invoice.ID) != number(c, "invoice"):
		s.noYours(c)
	default:
		s.invoiceOnPaper(c, v.Folder, v.Invoice)
	}
}

func (s *Server) yourReceiptPaper(c *gin.Context) {
	v := s.openYours(c)
	if v == nil {
		return
	}
	for i := range v.Payments {
		if int64(v.Payments[i].ID) == number(c, "payment") {
			s.receiptOnPaper(c, v.Folder, &v.Payments[i])
			return
		}
	}
	s.noYours(c)
}
