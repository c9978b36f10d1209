package web

import (
	"bytes"
	"net/http"
	"testing"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

func TestPaperIsPDFAndKeepsToItself(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	at := s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	if w := s.as(s.owner, at+"/paper.pdf", nil, ""); w.Code != http.StatusConflict {
		t.Errorf("a draft on paper: got %d, want 409", w.Code)
	}
	s.post(at+"/say", "promised", "")
	s.post(at+"/answer", "outcome", "whole", "who", "Mara", "channel", "phone")
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "27.39")
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	s.post("/jobs/1/money/bill", "do", "issue")
	for path, name := range map[string]string{
		at + "/paper.pdf": "quote-1.pdf", "/invoices/1/paper.pdf": "invoice-1.pdf", "/payments/1/receipt.pdf": "receipt-1.pdf", "/jobs/1/tag.pdf": "tag-1.pdf",
	} {
		w := s.as(s.owner, path, nil, "")
		if w.Code != 200 || !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF-1.")) || w.Header().Get("Content-Type") != "application/pdf" {
			t.Errorf("GET %s: got %d, %s, want a PDF", path, w.Code, w.Header().Get("Content-Type"))
		}
		if got, want := w.Header().Get("Content-Disposition"), `inline; filename="`+name+`"`; got != want {
			t.Errorf("GET %s: named %s, want %s", path, got, want)
		}
		if got := w.Header().Get("Cache-Control"); got != "no-store" {
			t.Errorf("GET %s: Cache-Control is %q, want no-store", path, got)
		}
		if again := s.as(s.owner, path, nil, ""); !bytes.Equal(again.Body.Bytes(), w.Body.Bytes()) {
			t.Errorf("GET %s: twice gives different bytes", path)
		}
		if w := s.as(domain.Actor{}, path, nil, ""); w.Code != http.StatusSeeOther {
			t.Errorf("GET %s for nobody: got %d, want 303 to the sign-in", path, w.Code)
		}
	}
	for _, path := range []string{"/quotes/9/paper.pdf", "/invoices/9/paper.pdf", "/payments/9/receipt.pdf", "/jobs/9/tag.pdf"} {
		if w := s.as(s.owner, path, nil, ""); w.Code != http.StatusNotFound {
			t.Errorf("GET %s: got %d, want 404", path, w.Code)
		}
	}
}

// TestReceiptSaysWhatWasOwedThen: the receipt of a deposit has no invoice beside
// it; on that of the last payment nothing is left to pay.
func TestReceiptSaysWhatWasOwedThen(t *testing.T) {
	f := folderAt("collected", func(f *workshop.Folder) bool { return len(f.Payments) > 0 && f.Invoice != nil })
	f.Payments = f.Payments[:1]
	f.Payments[0].Invoice = 0
	first := f.Payments[0]
	second := first
	second.ID, second.Invoice, second.Amount, second.Rounding = first.ID+1, f.Invoice.ID, f.Invoice.Totals.Total-first.Amount-first.Rounding, 0
	f.Payments = append(f.Payments, second)
	if inv, b := standing(f.Invoice, f.Payments, f.Shop.Coin(), &first); inv != nil || b.Paid != first.Amount+first.Rounding {
		t.Errorf("the deposit's receipt: got invoice %v and %d paid, want none and %d", inv, b.Paid, first.Amount+first.Rounding)
	}
	if inv, b := standing(f.Invoice, f.Payments, f.Shop.Coin(), &second); inv == nil || b.Due != 0 {
		t.Errorf("the last receipt: got %d due, want the invoice and nothing due", b.Due)
	}
}
