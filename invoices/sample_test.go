package invoices

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// The values below are invented. They are drawn up by the domain, so that the
// amounts on paper are compared with those that it worked out.

var noon = time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC)

const today = domain.Date("2026-11-25")

var clerk = domain.Actor{Name: "Solveig"}

func sampleShop(t testing.TB, profile string) workshop.Shop {
	t.Helper()
	all := money.SampleProfiles()
	i := slices.IndexFunc(all, func(p money.Profile) bool { return p.Name == profile })
	if i < 0 {
		t.Fatalf("there is no sample profile %q", profile)
	}
	p := all[i]
	for k := range p.Components {
		p.Components[k].Number = fmt.Sprintf("R%07d", 1000+k)
	}
	c, err := money.CurrencyOf(p.Currency)
	if err != nil {
		t.Fatal(err)
	}
	return workshop.Shop{
		Name: "Frostmere Fretted Repair", Address: "3 Tannery Lane\nFrostmere", Phone: "555-0142", Email: "bench@example.org",
		Zone: "America/Toronto", Currency: c, Rate: 8400, Profile: p, Guard: money.Guard{Percent: decimal.NewFromInt(10)},
		Deposit:   quote.DepositRule{Above: decimal.NewFromInt(3), Percent: decimal.NewFromInt(30)},
		ValidDays: 14, QuarterUp: 15, SurveyFee: 3000, Demo: true,
		Foot: "Work is covered for 90 days when the instrument lives between 40 and 60 % RH.",
	}
}

func sampleCustomer() customer.Customer {
	return customer.Customer{ID: 7, Name: "Mirembe Oduya-Łukasik", Phone: "555-0177", Address: "19 Alder Row\nFrostmere"}
}

func sampleInstrument() customer.Instrument {
	return customer.Instrument{
		ID: 9, Owner: 7, Kind: "steel-string guitar", Maker: "Orrin", Model: "No. 3", Serial: "OR-0318", Made: "1994",
		Top: customer.Plate{Wood: "Sitka spruce"}, Back: customer.Plate{Wood: "Indian rosewood"},
	}
}

func sampleJob() *job.Job {
	return &job.Job{
		ID: 1, Tag: 318, Customer: 7, Instrument: 9, Surveyed: noon,
		Arrival: job.Arrival{
			At: noon.Add(-24 * time.Hour), By: "Solveig", Complaint: "It buzzes since the cold set in, and there is a crack below the bridge.",
			CaseOpened: true, MarksSeenBy: "M. Oduya", SurveyFee: 3000, Contents: "capo, strap, two picks",
		},
		Marks: []job.Mark{{What: "ding", Place: "treble lower bout"}, {What: "scratch", Place: "back bout", Note: "through the finish"}},
	}
}

// sheetRow is a row of the sample: a task of a template with a quantity.
func sheetRow(code, quantity string) quote.Row {
	return quote.Row{Task: code, Quantity: quantity, WithParts: true}
}

func sampleRows() []quote.Row {
	return []quote.Row{
		sheetRow("RH", ""), {Task: "CG", Quantity: "60", Because: "top crack, bridge to tail, opens to 0.3 mm"}, sheetRow("CC", "2"), {Task: "CK"},
		{Name: "Bone saddle blank", Kind: money.Part, Price: "14.50", Off: "10", OffWhy: "second one"},
		{Name: "Return postage of old parts", Kind: money.Fee, Price: "9.95"},
	}
}

func sampleQuote(t testing.TB, shop workshop.Shop, basis quote.Basis, rows []quote.Row) *quote.Quote {
	t.Helper()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	shelf := quote.Shelf{Templates: map[string]quote.Edition{}}
	for _, tpl := range all {
		shelf.Templates[tpl.Code] = quote.Edition{Number: 1, Template: tpl}
	}
	q, err := quote.Build(quote.Sheet{
		Basis: basis, Rows: rows, Discount: "5", Reason: "long-standing customer",
		Because: "top arch behind bridge −0.8 mm (severe) · crack length 60 mm, bridge to tail (severe) · case air 27 %",
		Missing: "A splint, if the crack does not close in the cabinet: we ask again first.",
	}, shelf, shop.Terms(noon, nil))
	if err != nil {
		t.Fatal(err)
	}
	q.ID, q.Job, q.Version, q.Drafted, q.DraftedBy = 4, 1, 2, noon, "Solveig"
	for i := range q.Lines {
		q.Lines[i].ID = domain.LineID(i + 1)
	}
	if err := q.Say(12, clerk, noon, today); err != nil {
		t.Fatal(err)
	}
	return &q
}

func sampleQuoteDoc(t testing.TB, profile string, basis quote.Basis) QuoteDoc {
	shop := sampleShop(t, profile)
	return QuoteDoc{
		Shop: shop, Customer: sampleCustomer(), Instrument: sampleInstrument(), Job: sampleJob(),
		Quote: sampleQuote(t, shop, basis, sampleRows()), Today: today,
		Tell: []string{"The crack can open again if the air is dry: keep it at 40 to 50 % RH."},
	}
}

// sampleInvoiceDoc takes the quote to its bill: yes, all tasks done, a deposit
// and the rest in cash.
func sampleInvoiceDoc(t testing.TB, profile string) InvoiceDoc {
	t.Helper()
	d := sampleQuoteDoc(t, profile, quote.Firm)
	if err := d.Quote.Take(quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone", At: noon}, nil, d.Shop.Guard, today); err != nil {
		t.Fatal(err)
	}
	for i := range d.Quote.Lines {
		if l := &d.Quote.Lines[i]; l.Template != "" {
			l.Task = domain.TaskID(i + 1)
			d.Job.Tasks = append(d.Job.Tasks, job.Task{ID: l.Task, Name: l.Name, Template: l.Template, Done: noon})
		}
	}
	inv, err := billing.Draft(d.Job, d.Quote, d.Shop.Terms(noon, d.Customer.Exempt), billing.Options{Note: "Keep the case at 45 % RH."})
	if err != nil {
		t.Fatal(err)
	}
	inv.ID, inv.Number, inv.Date, inv.IssuedAt, inv.BilledTo = 3, 123, today, noon, nameAndAddress(d.Customer)
	coin := billing.Coin{Step: d.Shop.Profile.CashStep, Mode: d.Shop.Profile.CashMode}
	paid := []billing.Payment{{ID: 1, Job: 1, Kind: billing.Deposit, Tender: "card", Amount: 4000, Receipt: 44, At: noon}}
	settled, err := billing.Take(billing.Payment{Tender: billing.Cash, Amount: 10_000, Given: 12_000}, billing.BalanceOf(&inv, paid, coin), true, 0, coin)
	if err != nil {
		t.Fatal(err)
	}
	settled.ID, settled.Invoice, settled.Receipt, settled.At, settled.By = 2, 3, 45, noon, "Solveig"
	paid = append(paid, settled)
	return InvoiceDoc{
		Shop: d.Shop, Customer: d.Customer, Instrument: d.Instrument, Job: d.Job, Invoice: &inv, Payments: paid,
		Balance: billing.BalanceOf(&inv, paid, coin),
	}
}

func sampleReceiptDoc(t testing.TB, profile string) ReceiptDoc {
	d := sampleInvoiceDoc(t, profile)
	return ReceiptDoc{
		Shop: d.Shop, Customer: d.Customer, Instrument: d.Instrument, Job: d.Job, Invoice: d.Invoice, Balance: d.Balance,
		Payment: d.Payments[len(d.Payments)-1],
	}
}

// sampleCreditDoc takes the last line of the sample invoice back.
func sampleCreditDoc(t testing.TB, profile string) CreditDoc {
	t.Helper()
	d := sampleInvoiceDoc(t, profile)
	last := len(d.Invoice.Lines)
	n, err := billing.Credit(d.Invoice, []billing.Wanted{{Place: last, Count: d.Invoice.Lines[last-1].Count}}, "the parts were collected after all")
	if err != nil {
		t.Fatal(err)
	}
	n.ID, n.Number, n.Date, n.IssuedAt, n.IssuedBy = 2, 6, today, noon, "Solveig"
	return CreditDoc{Shop: d.Shop, Customer: d.Customer, Instrument: d.Instrument, Job: d.Job, Invoice: d.Invoice, Note: &n}
}

func sampleTagDoc(t testing.TB, profile string) TagDoc {
	return TagDoc{
		Shop: sampleShop(t, profile), Customer: sampleCustomer(), Instrument: sampleInstrument(), Job: sampleJob(),
		URL: "https://bench.example.org/jobs/1",
	}
}

const (
	quebec  = "CA-QC: GST and QST"       // two taxes on top, Letter paper
	british = "GB: VAT, prices with tax" // tax inside, A4
)

// printed returns the bytes of a document.
func printed(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// documents lists one of each kind, by name, on both papers.
func documents(t testing.TB) map[string]func(io.Writer) error {
	out := map[string]func(io.Writer) error{}
	for _, profile := range []string{quebec, british} {
		estimate, firm := sampleQuoteDoc(t, profile, quote.Estimate), sampleQuoteDoc(t, profile, quote.Firm)
		bill, receipt, tag := sampleInvoiceDoc(t, profile), sampleReceiptDoc(t, profile), sampleTagDoc(t, profile)
		out["estimate, "+profile] = func(w io.Writer) error { return Quote(w, estimate) }
		out["quote, "+profile] = func(w io.Writer) error { return Quote(w, firm) }
		out["invoice, "+profile] = func(w io.Writer) error { return Invoice(w, bill) }
		out["receipt, "+profile] = func(w io.Writer) error { return Receipt(w, receipt) }
		credit := sampleCreditDoc(t, profile)
		out["credit note, "+profile] = func(w io.Writer) error { return Credit(w, credit) }
		out["tag, "+profile] = func(w io.Writer) error { return Tag(w, tag) }
	}
	return out
}
