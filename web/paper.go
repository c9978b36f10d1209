package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/invoices"
)

// paperRoutes registers what can be printed.
func (s *Server) paperRoutes(r *gin.RouterGroup) {
	r.GET("/quotes/:quote/paper.pdf", s.quotePaper)
	r.GET("/invoices/:invoice/paper.pdf", s.invoicePaper)
	r.GET("/payments/:payment/receipt.pdf", s.receiptPaper)
	r.GET("/credit-notes/:note/paper.pdf", s.creditPaper)
	r.GET("/jobs/:job/tag.pdf", s.tagPaper)
}

func (s *Server) quotePaper(c *gin.Context) {
	v := s.openVersion(c)
	if v == nil {
		return
	}
	if v.q.Said.IsZero() {
		s.fail(c, domain.Conflictf("version %d is a draft; it goes on paper when it is said", v.q.Version))
		return
	}
	s.quoteOnPaper(c, v.Folder, v.q)
}

// quoteOnPaper answers with a version that was said.
func (s *Server) quoteOnPaper(c *gin.Context, f *workshop.Folder, q *quote.Quote) {
	tell, err := s.tellOf(c, q)
	if err != nil {
		s.fail(c, err)
		return
	}
	told, err := s.Read.PromisesOf(c.Request.Context(), f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.paper(c, fmt.Sprintf("quote-%d.pdf", q.Number), func(w io.Writer) error {
		return invoices.Quote(w, invoices.QuoteDoc{
			Shop: *f.Shop, Customer: *f.Customer, Instrument: *f.Instrument, Job: f.Job, Quote: q, Today: f.Shop.Today(s.now()), Told: toldWith(told, q.ID), Tell: tell,
		})
	})
}

// toldWith is what was told of the day with one version, nil for nothing.
func toldWith(all []workshop.PromiseMade, id domain.QuoteID) *workshop.PromiseMade {
	for i := range all {
		if all[i].Quote == id {
			return &all[i]
		}
	}
	return nil
}

// tellOf gathers what the templates on a quote say to its reader, each once.
func (s *Server) tellOf(c *gin.Context, q *quote.Quote) ([]string, error) {
	var out []string
	for _, l := range q.Lines {
		if l.Template == "" {
			continue
		}
		e, err := s.Read.EditionOf(c.Request.Context(), l.Template, l.Edition)
		if err != nil {
			return nil, err
		}
		for _, text := range e.Tell {
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out, nil
}

// paper writes a document, whole or not at all.
func (s *Server) paper(c *gin.Context, name string, draw func(w io.Writer) error) {
	var buf bytes.Buffer
	if err := draw(&buf); err != nil {
		s.fail(c, fmt.Errorf("draw %s: %w", name, err))
		return
	}
	c.Header("Content-Disposition", `inline; filename="`+name+`"`)
	c.Header("Cache-Control", "no-store")
	c.Data(http.StatusOK, "application/pdf", buf.Bytes())
}

func (s *Server) invoicePaper(c *gin.Context) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	var inv *billing.Invoice
	if err == nil {
		inv, err = s.Read.InvoiceByID(ctx, domain.InvoiceID(number(c, "invoice")))
	}
	if err == nil && inv.Job == 0 {
		s.salePaper(c, inv.ID)
		return
	}
	var f *workshop.Folder
	if err == nil {
		f, err = workshop.ReadFolder(ctx, s.Read, inv.Job, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	s.invoiceOnPaper(c, f, inv)
}

// invoiceOnPaper answers with the invoice of a job.
func (s *Server) invoiceOnPaper(c *gin.Context, f *workshop.Folder, inv *billing.Invoice) {
	s.paper(c, fmt.Sprintf("invoice-%d.pdf", inv.Number), func(w io.Writer) error {
		return invoices.Invoice(w, invoices.InvoiceDoc{
			Shop: *f.Shop, Customer: *f.Customer, Instrument: *f.Instrument, Job: f.Job, Invoice: inv, Payments: f.Payments, Balance: f.Balance,
		})
	})
}

func (s *Server) receiptPaper(c *gin.Context) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	var p *billing.Payment
	if err == nil {
		p, err = s.Read.PaymentByID(ctx, domain.PaymentID(number(c, "payment")))
	}
	if err == nil && p.Job == 0 {
		s.saleReceipt(c, p)
		return
	}
	var f *workshop.Folder
	if err == nil {
		f, err = workshop.ReadFolder(ctx, s.Read, p.Job, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	s.receiptOnPaper(c, f, p)
}

// receiptOnPaper answers with the receipt of a payment on a job.
func (s *Server) receiptOnPaper(c *gin.Context, f *workshop.Folder, p *billing.Payment) {
	inv, b := standing(f.Invoice, f.Payments, f.Shop.Coin(), p)
	s.paper(c, fmt.Sprintf("receipt-%d.pdf", p.Receipt), func(w io.Writer) error {
		return invoices.Receipt(w, invoices.ReceiptDoc{
			Shop: *f.Shop, Customer: *f.Customer, Instrument: *f.Instrument, Job: f.Job, Payment: *p, Invoice: inv, Balance: b,
		})
	})
}

// standing is what was owed right after a payment: the receipt says it as it
// was then, whatever came later. The invoice is nil for a deposit before it.
func standing(of *billing.Invoice, payments []billing.Payment, coin billing.Coin, p *billing.Payment) (*billing.Invoice, billing.Balance) {
	var inv *billing.Invoice
	if p.Invoice != 0 && of != nil {
		then := *of
		then.Credits = slices.DeleteFunc(slices.Clone(then.Credits), func(n billing.CreditNote) bool { return n.IssuedAt.After(p.At) })
		if then.WriteOff != nil && then.WriteOff.At.After(p.At) {
			then.WriteOff = nil
		}
		inv = &then
	}
	upTo := slices.IndexFunc(payments, func(x billing.Payment) bool { return x.ID == p.ID }) + 1
	return inv, billing.BalanceOf(inv, payments[:upTo], coin)
}

func (s *Server) creditPaper(c *gin.Context) {
	inv, n := s.openCredit(c)
	if n == nil {
		return
	}
	if inv.Job == 0 {
		s.saleCreditPaper(c, inv, n)
		return
	}
	f := s.folderOf(c, inv)
	if f == nil {
		return
	}
	s.paper(c, fmt.Sprintf("credit-note-%d.pdf", n.Number), func(w io.Writer) error {
		return invoices.Credit(w, invoices.CreditDoc{Shop: *f.Shop, Customer: *f.Customer, Instrument: *f.Instrument, Job: f.Job, Invoice: inv, Note: n})
	})
}

func (s *Server) tagPaper(c *gin.Context) {
	f := s.openFolder(c)
	if f == nil {
		return
	}
	s.paper(c, fmt.Sprintf("tag-%d.pdf", f.Job.Tag), func(w io.Writer) error {
		return invoices.Tag(w, invoices.TagDoc{
			Shop: *f.Shop, Customer: *f.Customer, Instrument: *f.Instrument, Job: f.Job, URL: fmt.Sprintf("%s/jobs/%d", s.Origin, f.Job.ID),
		})
	})
}
