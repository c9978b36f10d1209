package einvoice

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

func dec(s string) decimal.Decimal {
	if s == "" {
		return decimal.Decimal{}
	}
	return decimal.RequireFromString(s)
}

// readJSON reads the published figures; their sources stand in
// domain/money/testdata/SOURCES.md.
func readJSON(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile("../money/testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// published is an invoice of en16931_examples.json.
type published struct {
	ID       string
	Document string
	Type     string `json:"type_code"`
	Currency string
	Lines    []struct {
		ID       string
		Quantity string
		Price    string           `json:"unit_price"`
		Per      string           `json:"price_base_quantity"`
		Net      string           `json:"line_net_amount"`
		Extras   []publishedExtra `json:"allowances_charges"`
		Category string           `json:"tax_category"`
		Rate     string           `json:"tax_rate"`
	}
	Extras []publishedExtra `json:"document_allowances_charges"`
	Taxes  []struct {
		Category string `json:"tax_category"`
		Rate     string `json:"tax_rate"`
		Base     string `json:"taxable_amount"`
		Tax      string `json:"tax_amount"`
	} `json:"tax_breakdown"`
	Totals map[string]string `json:"official_totals"`
}

type publishedExtra struct {
	Kind, Amount, Percent, Base string
	Code                        string `json:"reason_code"`
	Category                    string `json:"tax_category"`
	Rate                        string `json:"tax_rate"`
}

func (x publishedExtra) adjustment() Adjustment {
	a := Adjustment{Charge: x.Kind == "charge", Amount: dec(x.Amount), Percent: dec(x.Percent), Base: dec(x.Base), Code: x.Code, Category: Category{x.Category, dec(x.Rate)}}
	if a.Code == "" {
		a.Reason = "not published here"
	}
	return a
}

// document fills names and addresses, which were not taken from the originals, with
// invented ones.
func (p published) document() *Document {
	d := &Document{
		Type: p.Type, Number: p.ID, Date: "2026-11-25", Due: "2026-12-25", Currency: p.Currency, PayBy: "1",
		Seller: Party{Name: "Frostgate Fretted Instruments", Country: "AT", Registration: "FN 1"}, Buyer: Party{Name: "Mara Oduya", Country: "AT"},
	}
	untaxed := map[string]bool{}
	for _, x := range p.Taxes {
		b := Breakdown{Category: Category{x.Category, dec(x.Rate)}, Base: dec(x.Base), Tax: dec(x.Tax)}
		if x.Category != Standard && x.Category != ZeroRated {
			b.Reason = "not published here"
		}
		untaxed[x.Category] = true
		d.Taxes = append(d.Taxes, b)
	}
	if !untaxed[NotSubject] {
		d.Seller.TaxNumber = "ATU00000000"
	}
	for _, l := range p.Lines {
		x := Line{ID: l.ID, Name: "line " + l.ID, Count: dec(l.Quantity), Unit: "C62", Price: dec(l.Price), Per: dec(l.Per), Net: dec(l.Net), Category: Category{l.Category, dec(l.Rate)}}
		for _, e := range l.Extras {
			a := e.adjustment()
			a.Category = Category{}
			x.Extras = append(x.Extras, a)
		}
		d.Lines = append(d.Lines, x)
	}
	for _, e := range p.Extras {
		d.Extras = append(d.Extras, e.adjustment())
	}
	t := p.Totals
	d.Totals = Totals{
		Lines: dec(t["BT-106_sum_of_line_net"]), Allowances: dec(t["BT-107_sum_of_allowances"]), Charges: dec(t["BT-108_sum_of_charges"]),
		Net: dec(t["BT-109_total_without_tax"]), Tax: dec(t["BT-110_tax_total"]), Total: dec(t["BT-112_total_with_tax"]),
		Paid: dec(t["BT-113_paid_amount"]), Rounding: dec(t["BT-114_rounding_amount"]), Due: dec(t["BT-115_amount_due"]),
	}
	return d
}

// text is a document with its values in plain words, for comparing.
func text(t *testing.T, d *Document) string {
	t.Helper()
	raw, err := json.MarshalIndent(d, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// Source: the 61 documents published with the EN 16931 validation artefacts, Peppol
// BIS Billing 3 and the XRechnung test suite. Their sums obey our rules, and what we
// write of them is read again as it was.
func TestPublishedDocumentsComeBack(t *testing.T) {
	var file struct{ Examples []published }
	readJSON(t, "en16931_examples.json", &file)
	if len(file.Examples) != 61 {
		t.Fatalf("got %d examples, want 61", len(file.Examples))
	}
	for _, p := range file.Examples {
		t.Run(p.ID, func(t *testing.T) {
			d := p.document()
			for _, b := range Check(d) {
				t.Errorf("%s: %s", b.Rule, b.Text)
			}
			once, err := Write(d)
			if err != nil {
				t.Fatal(err)
			}
			again, err := Read(once)
			if err != nil {
				t.Fatalf("%v in\n%s", err, once)
			}
			if text(t, d) != text(t, again) {
				t.Errorf("written\n%s\nread\n%s", text(t, d), text(t, again))
			}
			twice, err := Write(again)
			if err != nil || !bytes.Equal(once, twice) {
				t.Errorf("written again it differs, %v", err)
			}
		})
	}
}

// Each sum of a published document, off by a cent or by more than the slack of the
// published checks, breaks the rule that it belongs to.
func TestWrongSumsAreFound(t *testing.T) {
	var file struct{ Examples []published }
	readJSON(t, "en16931_examples.json", &file)
	cent := dec("0.01")
	for name, c := range map[string]struct {
		spoil func(*Document)
		rule  string
	}{
		"lines":      {func(d *Document) { d.Totals.Lines = d.Totals.Lines.Add(cent) }, "BR-CO-10"},
		"allowances": {func(d *Document) { d.Totals.Allowances = d.Totals.Allowances.Add(cent) }, "BR-CO-11"},
		"charges":    {func(d *Document) { d.Totals.Charges = d.Totals.Charges.Add(cent) }, "BR-CO-12"},
		"net":        {func(d *Document) { d.Totals.Net = d.Totals.Net.Sub(cent) }, "BR-CO-13"},
		"tax":        {func(d *Document) { d.Totals.Tax = d.Totals.Tax.Add(cent) }, "BR-CO-14"},
		"total":      {func(d *Document) { d.Totals.Total = d.Totals.Total.Add(cent) }, "BR-CO-15"},
		"due":        {func(d *Document) { d.Totals.Due = d.Totals.Due.Add(cent) }, "BR-CO-16"},
		"no taxes":   {func(d *Document) { d.Taxes = nil }, "BR-CO-18"},
		"base":       {func(d *Document) { d.Taxes[0].Base = d.Taxes[0].Base.Add(dec("2")) }, "BR-?-08"},
		"no lines":   {func(d *Document) { d.Lines = nil }, "BR-16"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, p := range file.Examples {
				d := p.document()
				c.spoil(d)
				rule := strings.Replace(c.rule, "?", firstTax(d), 1)
				if rule == "BR-B-08" || rule == "BR-AE-08" { // categories that are not ours
					continue
				}
				if !breaks(Check(d), rule) {
					t.Errorf("%s: %s is not found", p.ID, rule)
				}
			}
		})
	}
}

// firstTax is the category of the first tax.
func firstTax(d *Document) string {
	if len(d.Taxes) == 0 {
		return ""
	}
	return d.Taxes[0].Category.Code
}

func breaks(found []Broken, rule string) bool {
	for _, b := range found {
		if b.Rule == rule {
			return true
		}
	}
	return false
}

// oneOrMore reads a JSON value that stands alone or in a list.
type oneOrMore[T any] []T

func (o *oneOrMore[T]) UnmarshalJSON(raw []byte) error {
	if raw[0] == '[' {
		return json.Unmarshal(raw, (*[]T)(o))
	}
	*o = make([]T, 1)
	return json.Unmarshal(raw, &(*o)[0])
}

type caseCategory struct{ ID, Percent string }

func (c caseCategory) category() Category { return Category{c.ID, loose(c.Percent)} }

type caseLine struct {
	LineExtensionAmount string
	Item                struct{ ClassifiedTaxCategory caseCategory }
}

// ruleCase is a unit case of en16931_rule_cases.json, by the element names of UBL.
type ruleCase struct {
	ID, Rule, Expect string
	Amounts          struct {
		LegalMonetaryTotal map[string]string
		InvoiceLine        oneOrMore[caseLine]
		CreditNoteLine     oneOrMore[caseLine]
		AllowanceCharge    oneOrMore[struct {
			ChargeIndicator, Amount string
			TaxCategory             caseCategory
		}]
		TaxTotal oneOrMore[struct {
			TaxAmount   string
			TaxSubtotal oneOrMore[struct {
				TaxableAmount, TaxAmount string
				TaxCategory              caseCategory
			}]
		}]
	}
}

// loose reads a decimal that may be missing or begin with its point.
func loose(s string) decimal.Decimal {
	if strings.HasPrefix(s, ".") {
		s = "0" + s
	}
	return dec(s)
}

func (c ruleCase) document() *Document {
	d := &Document{}
	for _, l := range append(c.Amounts.InvoiceLine, c.Amounts.CreditNoteLine...) {
		d.Lines = append(d.Lines, Line{Net: loose(l.LineExtensionAmount), Category: l.Item.ClassifiedTaxCategory.category()})
	}
	for _, x := range c.Amounts.AllowanceCharge {
		d.Extras = append(d.Extras, Adjustment{Charge: x.ChargeIndicator == "true", Amount: loose(x.Amount), Category: x.TaxCategory.category()})
	}
	for _, t := range c.Amounts.TaxTotal {
		d.Totals.Tax = loose(t.TaxAmount)
		for _, s := range t.TaxSubtotal {
			d.Taxes = append(d.Taxes, Breakdown{Category: s.TaxCategory.category(), Base: loose(s.TaxableAmount), Tax: loose(s.TaxAmount)})
		}
	}
	m := c.Amounts.LegalMonetaryTotal
	d.Totals.Lines, d.Totals.Allowances, d.Totals.Charges = loose(m["LineExtensionAmount"]), loose(m["AllowanceTotalAmount"]), loose(m["ChargeTotalAmount"])
	d.Totals.Net, d.Totals.Total, d.Totals.Paid = loose(m["TaxExclusiveAmount"]), loose(m["TaxInclusiveAmount"]), loose(m["PrepaidAmount"])
	d.Totals.Rounding, d.Totals.Due = loose(m["PayableRoundingAmount"]), loose(m["PayableAmount"])
	return d
}

// Source: the 140 unit cases of the calculation rules that are published with the
// validation artefacts of CEN/TC 434, each with its verdict. Five with two tax totals
// are left out: which of them is in the document's currency is not in the file.
func TestPublishedRuleCases(t *testing.T) {
	var file struct{ Cases []ruleCase }
	readJSON(t, "en16931_rule_cases.json", &file)
	if len(file.Cases) != 140 {
		t.Fatalf("got %d cases, want 140", len(file.Cases))
	}
	left := 0
	for _, c := range file.Cases {
		if len(c.Amounts.TaxTotal) > 1 {
			left++
			continue
		}
		t.Run(c.ID, func(t *testing.T) {
			found := Check(c.document())
			broken := breaks(found, c.Rule) || c.Rule == "BR-CO-17" && breaks(found, "BR-S-09")
			if broken != (c.Expect != "holds") {
				t.Errorf("%s: broken is %v, published is %q: %v", c.Rule, broken, c.Expect, found)
			}
		})
	}
	if left != 5 {
		t.Errorf("%d cases have two tax totals, want 5", left)
	}
}

func TestWhatIsMissingIsNamed(t *testing.T) {
	found := Check(&Document{PayBy: "30", CorrectedOn: "2026-11-25", Totals: Totals{Due: dec("1")}, Lines: []Line{{Price: dec("-1"), Category: Category{Code: Standard}}},
		Seller: Party{TaxNumber: "123456"}})
	for _, rule := range []string{"BR-02", "BR-03", "BR-04", "BR-05", "BR-06", "BR-07", "BR-09", "BR-11", "BR-21", "BR-23", "BR-25", "BR-27", "BR-55", "BR-61", "BR-CO-09", "BR-CO-18", "BR-CO-25", "BR-S-05", "BR-S-01"} {
		if !breaks(found, rule) {
			t.Errorf("%s is not found", rule)
		}
	}
}

// What may not stand beside each other in categories without tax.
func TestCategoriesWithoutTax(t *testing.T) {
	good := func(code, reason string) *Document {
		k := Category{Code: code}
		d := &Document{
			Type: TypeInvoice, Number: "7", Date: "2026-11-25", Due: "2026-11-25", Currency: "EUR", Seller: Party{Name: "Frostgate", Country: "AT", Registration: "FN 1", TaxNumber: "ATU00000000"},
			Buyer: Party{Name: "Mara Oduya", Country: "AT"}, Lines: []Line{{ID: "1", Name: "Setup", Count: dec("1"), Unit: "C62", Price: dec("80"), Net: dec("80"), Category: k}},
			Taxes: []Breakdown{{Category: k, Base: dec("80"), Reason: reason}}, Totals: Totals{Lines: dec("80"), Net: dec("80"), Total: dec("80"), Due: dec("80")},
		}
		if code == NotSubject {
			d.Seller.TaxNumber = ""
		}
		return d
	}
	for name, c := range map[string]struct {
		code, reason string
		spoil        func(*Document)
		rule         string // "" holds
	}{
		"zero rated":          {ZeroRated, "", func(*Document) {}, ""},
		"exempt":              {Exempt, "small business", func(*Document) {}, ""},
		"outside":             {NotSubject, "not taxed here", func(*Document) {}, ""},
		"exempt, no reason":   {Exempt, "", func(*Document) {}, "BR-E-10"},
		"outside, no reason":  {NotSubject, "", func(*Document) {}, "BR-O-10"},
		"zero, with a reason": {ZeroRated, "why", func(*Document) {}, "BR-Z-10"},
		"zero with a tax":     {ZeroRated, "", func(d *Document) { d.Taxes[0].Tax = dec("1") }, "BR-Z-09"},
		"exempt with a rate":  {Exempt, "x", func(d *Document) { d.Lines[0].Category.Rate = dec("5") }, "BR-E-05"},
		"base off by a cent":  {Exempt, "x", func(d *Document) { d.Taxes[0].Base = dec("80.01") }, "BR-E-08"},
		"no tax number":       {Exempt, "x", func(d *Document) { d.Seller.TaxNumber = "" }, "BR-E-02"},
		"outside, a number":   {NotSubject, "x", func(d *Document) { d.Seller.TaxNumber = "ATU1" }, "BR-O-02"},
		"outside and taxed": {NotSubject, "x", func(d *Document) {
			d.Lines = append(d.Lines, Line{ID: "2", Name: "Strings", Unit: "C62", Category: Category{Standard, dec("20")}})
		}, "BR-O-11"},
		"three decimals":  {ZeroRated, "", func(d *Document) { d.Lines[0].Net, d.Totals.Lines = dec("80.001"), dec("80.001") }, "BR-DEC-23"},
		"two sums":        {ZeroRated, "", func(d *Document) { d.Taxes = append(d.Taxes, d.Taxes[0]) }, "BR-Z-01"},
		"no address code": {ZeroRated, "", func(d *Document) { d.Seller.Address = "x"; d.Buyer.Address = "y" }, "BR-62"},
	} {
		t.Run(name, func(t *testing.T) {
			d := good(c.code, c.reason)
			c.spoil(d)
			found := Check(d)
			if c.rule == "" && len(found) > 0 || c.rule != "" && !breaks(found, c.rule) {
				t.Errorf("found %v, want %q", found, c.rule)
			}
		})
	}
}

func TestBadDocumentsAreRefused(t *testing.T) {
	for name, c := range map[string]struct{ data, says string }{
		"nothing":       {"", "no XML"},
		"no XML":        {"tag;name\n1;2", "no XML"},
		"cut off":       {`<Invoice xmlns="` + invoiceSpace + `"><ID>7</ID>`, "no XML"},
		"another":       {`<Order xmlns="urn:x"/>`, "no invoice and no credit note"},
		"no namespace":  {`<Invoice/>`, "no invoice and no credit note"},
		"an amount":     {`<Invoice xmlns="` + invoiceSpace + `"><LegalMonetaryTotal><PayableAmount>ten</PayableAmount></LegalMonetaryTotal></Invoice>`, "PayableAmount"},
		"an exponent":   {`<Invoice xmlns="` + invoiceSpace + `"><LegalMonetaryTotal><PayableAmount>1e9</PayableAmount></LegalMonetaryTotal></Invoice>`, "PayableAmount"},
		"a day":         {`<Invoice xmlns="` + invoiceSpace + `"><IssueDate>25.11.2026</IssueDate></Invoice>`, "IssueDate"},
		"an entity":     {`<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]><Invoice xmlns="` + invoiceSpace + `"><ID>&e;</ID></Invoice>`, "no XML"},
		"other letters": {"<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><Invoice xmlns=\"" + invoiceSpace + "\"/>", "no XML"},
		"too long":      {strings.Repeat(" ", MostBytes+1), "10 MB"},
		"too many":      {`<Invoice xmlns="` + invoiceSpace + `">` + strings.Repeat("<InvoiceLine/>", MostLines+1) + `</Invoice>`, "10001 lines"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read([]byte(c.data))
			if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want an Invalid error that says %q", err, c.says)
			}
		})
	}
}

// Whatever is read can be written, and is read again as the same.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`<Invoice xmlns="` + invoiceSpace + `"><ID>7</ID><IssueDate>2026-11-25</IssueDate><InvoiceLine><InvoicedQuantity unitCode="C62">2</InvoicedQuantity></InvoiceLine></Invoice>`))
	f.Add([]byte(`<CreditNote xmlns="` + creditNoteSpace + `"><CreditNoteLine><Price><PriceAmount>.5</PriceAmount></Price></CreditNoteLine></CreditNote>`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Read(data)
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Errorf("%v is no Invalid error", err)
			}
			return
		}
		Check(d)
		if _, err := Write(d); err != nil {
			t.Errorf("what was read cannot be written: %v", err)
		}
	})
}
