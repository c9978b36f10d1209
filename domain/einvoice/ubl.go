package einvoice

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Namespaces of UBL 2.1.
const (
	invoiceSpace    = "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2"
	creditNoteSpace = "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2"
	partsSpace      = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
	valuesSpace     = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
)

// specification is BT-24: the standard itself, without a national profile.
const specification = "urn:cen.eu:en16931:2017"

// The elements of UBL that are used, in the order of its schema. An element that holds
// others is a part (cac), one that holds a value is a value (cbc).
type (
	ublDocument struct {
		XMLName        xml.Name
		Specification  string     `xml:"CustomizationID"`
		ID             string     `xml:"ID"`
		IssueDate      string     `xml:"IssueDate"`
		DueDate        string     `xml:"DueDate,omitempty"`
		InvoiceType    string     `xml:"InvoiceTypeCode,omitempty"`
		CreditType     string     `xml:"CreditNoteTypeCode,omitempty"`
		Note           string     `xml:"Note,omitempty"`
		Currency       string     `xml:"DocumentCurrencyCode"`
		BuyerReference string     `xml:"BuyerReference,omitempty"`
		Before         *ublBefore `xml:"BillingReference"`
		Seller         ublActor   `xml:"AccountingSupplierParty"`
		Buyer          ublActor   `xml:"AccountingCustomerParty"`
		Means          *ublMeans  `xml:"PaymentMeans"`
		Terms          *ublTerms  `xml:"PaymentTerms"`
		Extras         []ublExtra `xml:"AllowanceCharge"`
		Tax            []ublTax   `xml:"TaxTotal"`
		Totals         ublTotals  `xml:"LegalMonetaryTotal"`
		InvoiceLines   []ublLine  `xml:"InvoiceLine"`
		CreditLines    []ublLine  `xml:"CreditNoteLine"`
	}
	ublBefore struct {
		Document struct {
			ID        string `xml:"ID"`
			IssueDate string `xml:"IssueDate,omitempty"`
		} `xml:"InvoiceDocumentReference"`
	}
	ublActor struct {
		Party ublParty `xml:"Party"`
	}
	ublParty struct {
		Endpoint *ublMarked `xml:"EndpointID"`
		Address  ublAddress `xml:"PostalAddress"`
		Tax      []ublTaxID `xml:"PartyTaxScheme"`
		Legal    ublLegal   `xml:"PartyLegalEntity"`
		Contact  *ublReach  `xml:"Contact"`
	}
	ublMarked struct {
		Scheme string `xml:"schemeID,attr,omitempty"`
		Value  string `xml:",chardata"`
	}
	ublAddress struct {
		Street   string      `xml:"StreetName,omitempty"`
		Extra    string      `xml:"AdditionalStreetName,omitempty"`
		Town     string      `xml:"CityName,omitempty"`
		Postcode string      `xml:"PostalZone,omitempty"`
		Line     *ublText    `xml:"AddressLine"`
		Country  *ublCountry `xml:"Country"`
	}
	ublText struct {
		Line string `xml:"Line"`
	}
	ublCountry struct {
		Code string `xml:"IdentificationCode"`
	}
	ublTaxID struct {
		Number string    `xml:"CompanyID"`
		Scheme ublScheme `xml:"TaxScheme"`
	}
	ublScheme struct {
		ID string `xml:"ID"`
	}
	ublLegal struct {
		Name         string `xml:"RegistrationName"`
		Registration string `xml:"CompanyID,omitempty"`
	}
	ublReach struct {
		Phone string `xml:"Telephone,omitempty"`
		Email string `xml:"ElectronicMail,omitempty"`
	}
	ublMeans struct {
		Code    string     `xml:"PaymentMeansCode"`
		DueDate string     `xml:"PaymentDueDate,omitempty"`
		Account *ublScheme `xml:"PayeeFinancialAccount"`
	}
	ublTerms struct {
		Note string `xml:"Note"`
	}
	ublExtra struct {
		Charge   bool         `xml:"ChargeIndicator"`
		Code     string       `xml:"AllowanceChargeReasonCode,omitempty"`
		Reason   string       `xml:"AllowanceChargeReason,omitempty"`
		Percent  string       `xml:"MultiplierFactorNumeric,omitempty"`
		Amount   ublAmount    `xml:"Amount"`
		Base     *ublAmount   `xml:"BaseAmount"`
		Category *ublCategory `xml:"TaxCategory"`
	}
	ublAmount struct {
		Currency string `xml:"currencyID,attr,omitempty"`
		Value    string `xml:",chardata"`
	}
	ublCategory struct {
		Code    string    `xml:"ID"`
		Percent string    `xml:"Percent,omitempty"`
		Reason  string    `xml:"TaxExemptionReason,omitempty"`
		Scheme  ublScheme `xml:"TaxScheme"`
	}
	ublTax struct {
		Amount ublAmount  `xml:"TaxAmount"`
		Parts  []ublShare `xml:"TaxSubtotal"`
	}
	ublShare struct {
		Base     ublAmount   `xml:"TaxableAmount"`
		Tax      ublAmount   `xml:"TaxAmount"`
		Category ublCategory `xml:"TaxCategory"`
	}
	ublTotals struct {
		Lines      ublAmount  `xml:"LineExtensionAmount"`
		Net        ublAmount  `xml:"TaxExclusiveAmount"`
		Total      ublAmount  `xml:"TaxInclusiveAmount"`
		Allowances *ublAmount `xml:"AllowanceTotalAmount"`
		Charges    *ublAmount `xml:"ChargeTotalAmount"`
		Paid       *ublAmount `xml:"PrepaidAmount"`
		Rounding   *ublAmount `xml:"PayableRoundingAmount"`
		Due        ublAmount  `xml:"PayableAmount"`
	}
	ublLine struct {
		ID       string       `xml:"ID"`
		Invoiced *ublQuantity `xml:"InvoicedQuantity"`
		Credited *ublQuantity `xml:"CreditedQuantity"`
		Net      ublAmount    `xml:"LineExtensionAmount"`
		Extras   []ublExtra   `xml:"AllowanceCharge"`
		Item     ublItem      `xml:"Item"`
		Price    ublPrice     `xml:"Price"`
	}
	ublQuantity struct {
		Unit  string `xml:"unitCode,attr,omitempty"`
		Value string `xml:",chardata"`
	}
	ublItem struct {
		Detail   string      `xml:"Description,omitempty"`
		Name     string      `xml:"Name"`
		Category ublCategory `xml:"ClassifiedTaxCategory"`
	}
	ublPrice struct {
		Amount ublAmount    `xml:"PriceAmount"`
		Per    *ublQuantity `xml:"BaseQuantity"`
	}
)

// Write gives a document as UBL 2.1.
func Write(d *Document) ([]byte, error) {
	plain, err := xml.Marshal(written(d))
	if err != nil {
		return nil, err
	}
	root, err := treeOf(plain)
	if err != nil {
		return nil, err
	}
	space := invoiceSpace
	if d.CreditNote() {
		space = creditNoteSpace
	}
	var b bytes.Buffer
	b.WriteString(xml.Header)
	root.attrs = []xml.Attr{attr("xmlns", space), attr("xmlns:cac", partsSpace), attr("xmlns:cbc", valuesSpace)}
	root.write(&b, "", 0)
	return b.Bytes(), nil
}

func attr(name, value string) xml.Attr { return xml.Attr{Name: xml.Name{Local: name}, Value: value} }

// element is a node of XML.
type element struct {
	name  string
	attrs []xml.Attr
	text  string
	parts []*element
}

// treeOf reads plain XML without namespaces into its nodes.
func treeOf(plain []byte) (*element, error) {
	d := xml.NewDecoder(bytes.NewReader(plain))
	open := []*element{{}}
	for {
		token, err := d.Token()
		if err == io.EOF {
			return open[0].parts[0], nil
		}
		if err != nil {
			return nil, err
		}
		last := open[len(open)-1]
		switch t := token.(type) {
		case xml.StartElement:
			e := &element{name: t.Name.Local, attrs: t.Copy().Attr}
			last.parts = append(last.parts, e)
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			last.text += string(t)
		}
	}
}

// write puts an element with its prefix, one a line.
func (e *element) write(b *bytes.Buffer, prefix string, depth int) {
	indent := strings.Repeat("  ", depth)
	b.WriteString(indent + "<" + prefix + e.name)
	for _, a := range e.attrs {
		b.WriteString(" " + a.Name.Local + `="`)
		xml.EscapeText(b, []byte(a.Value)) // writes to memory
		b.WriteString(`"`)
	}
	b.WriteString(">")
	if len(e.parts) == 0 {
		xml.EscapeText(b, []byte(e.text))
		b.WriteString("</" + prefix + e.name + ">\n")
		return
	}
	b.WriteString("\n")
	for _, p := range e.parts {
		own := "cbc:"
		if len(p.parts) > 0 || p.name == "PostalAddress" { // which may be empty
			own = "cac:"
		}
		p.write(b, own, depth+1)
	}
	b.WriteString(indent + "</" + prefix + e.name + ">\n")
}

// written turns a document into the elements of UBL.
func written(d *Document) *ublDocument {
	w := writer{d.Currency}
	u := &ublDocument{
		XMLName: xml.Name{Local: "Invoice"}, Specification: specification, ID: d.Number, IssueDate: string(d.Date), DueDate: string(d.Due),
		InvoiceType: d.Type, Note: d.Note, Currency: d.Currency, BuyerReference: d.BuyerRef, Seller: w.actor(d.Seller), Buyer: w.actor(d.Buyer),
		Totals: w.totals(d.Totals),
	}
	if d.Corrects != "" {
		u.Before = &ublBefore{}
		u.Before.Document.ID, u.Before.Document.IssueDate = d.Corrects, string(d.CorrectedOn)
	}
	if d.PayBy != "" {
		u.Means = &ublMeans{Code: d.PayBy}
		if d.IBAN != "" {
			u.Means.Account = &ublScheme{ID: d.IBAN}
		}
	}
	if d.Terms != "" {
		u.Terms = &ublTerms{Note: d.Terms}
	}
	for _, x := range d.Extras {
		e := w.extra(x)
		k := w.category(x.Category, "")
		e.Category = &k
		u.Extras = append(u.Extras, e)
	}
	tax := ublTax{Amount: w.amount(d.Totals.Tax)}
	for _, t := range d.Taxes {
		tax.Parts = append(tax.Parts, ublShare{Base: w.amount(t.Base), Tax: w.amount(t.Tax), Category: w.category(t.Category, t.Reason)})
	}
	u.Tax = []ublTax{tax}
	for _, l := range d.Lines {
		x, count := w.line(l), &ublQuantity{Unit: l.Unit, Value: l.Count.String()}
		if d.CreditNote() {
			x.Credited = count
			u.CreditLines = append(u.CreditLines, x)
		} else {
			x.Invoiced = count
			u.InvoiceLines = append(u.InvoiceLines, x)
		}
	}
	if d.CreditNote() {
		u.XMLName.Local, u.InvoiceType, u.CreditType, u.DueDate = "CreditNote", "", d.Type, ""
		if d.Due != "" && u.Means != nil { // a credit note has its day there
			u.Means.DueDate = string(d.Due)
		}
	}
	return u
}

// writer writes amounts of a currency.
type writer struct{ currency string }

// amount writes at least two decimals, and more where the amount has them.
func (w writer) amount(a decimal.Decimal) ublAmount {
	text := a.String()
	if a.Equal(a.Round(2)) {
		text = a.StringFixed(2)
	}
	return ublAmount{Currency: w.currency, Value: text}
}

// some is an amount that is left out when it is zero.
func (w writer) some(a decimal.Decimal) *ublAmount {
	if a.IsZero() {
		return nil
	}
	x := w.amount(a)
	return &x
}

func (w writer) actor(p Party) ublActor {
	u := ublParty{
		Address: ublAddress{Street: p.Street, Extra: p.Extra, Town: p.Town, Postcode: p.Postcode},
		Legal:   ublLegal{Name: p.Name, Registration: p.Registration},
	}
	if p.Address != "" {
		u.Endpoint = &ublMarked{Scheme: p.Scheme, Value: p.Address}
	}
	if p.Line != "" {
		u.Address.Line = &ublText{p.Line}
	}
	if p.Country != "" {
		u.Address.Country = &ublCountry{p.Country}
	}
	if p.TaxNumber != "" {
		u.Tax = []ublTaxID{{Number: p.TaxNumber, Scheme: ublScheme{"VAT"}}}
	}
	if p.Phone != "" || p.Email != "" {
		u.Contact = &ublReach{p.Phone, p.Email}
	}
	return ublActor{u}
}

func (w writer) extra(x Adjustment) ublExtra {
	u := ublExtra{Charge: x.Charge, Code: x.Code, Reason: x.Reason, Amount: w.amount(x.Amount)}
	if !x.Base.IsZero() || !x.Percent.IsZero() {
		u.Percent, u.Base = x.Percent.String(), w.some(x.Base)
	}
	return u
}

func (w writer) category(c Category, reason string) ublCategory {
	u := ublCategory{Code: c.Code, Percent: c.Rate.String(), Reason: reason, Scheme: ublScheme{"VAT"}}
	if c.Code == NotSubject {
		u.Percent = ""
	}
	return u
}

func (w writer) totals(t Totals) ublTotals {
	return ublTotals{
		Lines: w.amount(t.Lines), Net: w.amount(t.Net), Total: w.amount(t.Total), Allowances: w.some(t.Allowances), Charges: w.some(t.Charges),
		Paid: w.some(t.Paid), Rounding: w.some(t.Rounding), Due: w.amount(t.Due),
	}
}

func (w writer) line(l Line) ublLine {
	u := ublLine{
		ID: l.ID, Net: w.amount(l.Net), Item: ublItem{Detail: l.Detail, Name: l.Name, Category: w.category(l.Category, "")},
		Price: ublPrice{Amount: ublAmount{Currency: w.currency, Value: l.Price.String()}},
	}
	if !l.Per.IsZero() {
		u.Price.Per = &ublQuantity{Unit: l.Unit, Value: l.Per.String()}
	}
	for _, x := range l.Extras {
		u.Extras = append(u.Extras, w.extra(x))
	}
	return u
}

// date checks a day of the form 2027-01-31.
func date(f domain.Fields, field, typed string) domain.Date {
	if typed == "" {
		return ""
	}
	d, err := domain.ParseDate(typed)
	f.AddErr(field, err)
	return d
}
