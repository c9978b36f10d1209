// Package invoices puts finished domain values on paper: quotes and estimates,
// invoices, receipts and claim tags, as PDF.
//
// It reads no store and does no sums: every amount is one that the domain
// computed, so that page, JSON and paper agree to the last cent. The same value
// gives the same bytes. Fonts are embedded. Solid means hands, hatched means
// waiting, on paper as on the screen.
//
// The documents are untagged PDF 1.4; the accessible form of each is its page.
// Letters that no font has (Hangul and Arabic among them) and those beyond the
// Basic Multilingual Plane are printed as a box.
package invoices

import (
	"time"

	"winterbench/domain/workshop"
)

// about is what a document is, for its head and its properties.
type about struct {
	title string // "Invoice 000123"
	at    time.Time
	tag   int
}

// when is the moment the document was made, as the value has it.
func (a about) when() time.Time {
	if a.at.IsZero() {
		return undated
	}
	return a.at.UTC().Truncate(time.Second)
}

// paper is the size of a page in mm.
type paper struct{ width, height float64 }

var (
	a4     = paper{210, 297}     // ISO 216
	letter = paper{215.9, 279.4} // 8.5 x 11 inches
)

// paperOf chooses the paper by the shop's currency: Letter where US and
// Canadian dollars are used, A4 elsewhere.
func paperOf(shop *workshop.Shop) paper {
	switch shop.Currency.Code {
	case "USD", "CAD":
		return letter
	}
	return a4
}
