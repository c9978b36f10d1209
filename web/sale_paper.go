package web

import (
	"fmt"
	"io"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/workshop"
	"winterbench/invoices"
)

// buyerOf is who bought, without a name when none was given.
func buyerOf(f *workshop.SaleFile) customer.Customer {
	if f.Customer == nil {
		return customer.Customer{}
	}
	return *f.Customer
}

// readSale reads a sale for its papers; it answers the request and returns nil when
// that fails.
func (s *Server) readSale(c *gin.Context, id domain.InvoiceID) *workshop.SaleFile {
	f, err := workshop.ReadSale(c.Request.Context(), s.Read, id)
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return f
}

// salePaper answers with the invoice of a sale.
func (s *Server) salePaper(c *gin.Context, id domain.InvoiceID) {
	f := s.readSale(c, id)
	if f == nil {
		return
	}
	s.paper(c, fmt.Sprintf("invoice-%d.pdf", f.Invoice.Number), func(w io.Writer) error {
		return invoices.Invoice(w, invoices.InvoiceDoc{Shop: *f.Shop, Customer: buyerOf(f), Invoice: f.Invoice, Payments: f.Payments, Balance: f.Balance})
	})
}

// saleReceipt answers with the receipt of a payment on a sale.
func (s *Server) saleReceipt(c *gin.Context, p *billing.Payment) {
	f := s.readSale(c, p.Invoice)
	if f == nil {
		return
	}
	inv, b := standing(f.Invoice, f.Payments, f.Shop.Coin(), p)
	s.paper(c, fmt.Sprintf("receipt-%d.pdf", p.Receipt), func(w io.Writer) error {
		return invoices.Receipt(w, invoices.ReceiptDoc{Shop: *f.Shop, Customer: buyerOf(f), Payment: *p, Invoice: inv, Balance: b})
	})
}

// saleCreditPaper answers with the credit note of a sale.
func (s *Server) saleCreditPaper(c *gin.Context, inv *billing.Invoice, n *billing.CreditNote) {
	f := s.readSale(c, inv.ID)
	if f == nil {
		return
	}
	s.paper(c, fmt.Sprintf("credit-note-%d.pdf", n.Number), func(w io.Writer) error {
		return invoices.Credit(w, invoices.CreditDoc{Shop: *f.Shop, Customer: buyerOf(f), Invoice: inv, Note: n})
	})
}
