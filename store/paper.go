package store

import (
	"github.com/shopspring/decimal"

	"winterbench/domain/money"
)

// paperRow are the columns that a quote and an invoice share: how the document
// was added up. The totals are kept as they were said and never computed again;
// total stands beside them for lists.
type paperRow struct {
	Discount       int64
	Reason         string
	Currency       string
	CurrencyDigits int
	Rounding       string
	TaxInside      bool
	Taxes          string
	Totals         string
	Total          int64
}

// paper is the value of a paperRow.
type paper struct {
	discount  money.Amount
	reason    string
	currency  money.Currency
	rounding  money.Rounding
	taxInside bool
	taxes     []money.Tax
	totals    money.Totals
}

func rowOfPaper(p paper) (r paperRow, err error) {
	r = paperRow{
		Discount: int64(p.discount), Reason: p.reason, Currency: p.currency.Code, CurrencyDigits: p.currency.Digits,
		TaxInside: p.taxInside, Total: int64(p.totals.Total),
	}
	if r.Rounding, err = toJSON(p.rounding); err != nil {
		return r, err
	}
	if r.Taxes, err = toJSON(p.taxes); err != nil {
		return r, err
	}
	r.Totals, err = toJSON(p.totals)
	return r, err
}

func (r *paperRow) paper() (p paper, err error) {
	p = paper{
		discount: money.Amount(r.Discount), reason: r.Reason, taxInside: r.TaxInside,
		currency: money.Currency{Code: r.Currency, Digits: r.CurrencyDigits},
	}
	if err := fromJSON(r.Rounding, &p.rounding); err != nil {
		return p, err
	}
	if err := fromJSON(r.Taxes, &p.taxes); err != nil {
		return p, err
	}
	return p, fromJSON(r.Totals, &p.totals)
}

// digits is a decimal and the text of its column.
type digits struct {
	to   *decimal.Decimal
	from string
}

// readDigits sets each decimal to what its column says.
func readDigits(all ...digits) (err error) {
	for _, d := range all {
		if *d.to, err = readDecimal(d.from); err != nil {
			return err
		}
	}
	return nil
}
