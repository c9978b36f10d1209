package billing

import "fmt"

// Label names the invoice as it stands on a page, in JSON and on paper:
// "Invoice 000123". An invoice that was not issued yet is "draft invoice".
func (inv *Invoice) Label() string {
	if inv.Number == 0 {
		return "draft invoice"
	}
	return fmt.Sprintf("Invoice %06d", inv.Number)
}

// Label names the payment by its receipt: "Receipt 000045". A payment without
// one yet is named by its kind.
func (p Payment) Label() string {
	if p.Receipt == 0 {
		return string(p.Kind) + " without a receipt"
	}
	return fmt.Sprintf("Receipt %06d", p.Receipt)
}
