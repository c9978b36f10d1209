package web

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// MoneyPage is what is owed on a job: the bill while it is drawn up, then the
// payments.
type MoneyPage struct {
	Page
	Bill     *BillDraft // nil once the invoice is issued
	Facts    Facts
	Pay      *PayForm
	Back     *PayForm
	Payments Table
	Ways     []Link
}

// BillDraft is the bill as it would be issued now.
type BillDraft struct {
	Action, Key string
	Live        string // path that works it out while somebody types
	Why         string // why there is no bill yet; "" when there is
	Lines       Table
	Facts       Facts
	Fields      []Field
	Open        bool // the fields are shown at once
	Limit       *LimitBox
	Issue       bool   // the reader may issue it now
	Hint        string // why it cannot be issued yet
}

// LimitBox says that the bill is above what was agreed, and the two ways out.
type LimitBox struct {
	Text  string
	Quote string // path of the builder
}

// PayForm takes money or gives it back.
type PayForm struct {
	Action, Key string
	Fields      []Field
	Button      string
	Now         bool // money is due now
	Explain     []string
}

func (t *till) may(a workshop.Action) bool { return workshop.May(t.who, a) == nil }

func (t *till) path(rest string) string { return fmt.Sprintf("/jobs/%d%s", t.Job.ID, rest) }

func (t *till) fill(p *MoneyPage) {
	p.Folio, p.Answer = fmt.Sprintf("tag %d", t.Job.Tag), workshop.MoneyAnswer(t.Folder)
	if t.Invoice == nil {
		d := t.draft()
		p.Bill = &d
	}
	p.Facts = t.facts()
	p.Pay, p.Back = t.payForm(), t.backForm()
	p.Payments = t.payments()
	p.Ways = []Link{{Href: t.path(""), Text: "Back to the job"}}
	if t.Invoice != nil {
		p.Ways = append([]Link{{Href: fmt.Sprintf("/invoices/%d", t.Invoice.ID), Text: t.Invoice.Label()}}, p.Ways...)
		if t.may(workshop.ActCredit) && t.Balance.Credited < t.Balance.Total && t.Invoice.WriteOff == nil {
			p.Ways = append(p.Ways, Link{Href: t.path("/credit"), Text: "Credit note"})
		}
		if t.may(workshop.ActWriteOff) && t.Balance.Due > 0 {
			p.Ways = append(p.Ways, Link{Href: t.path("/write-off"), Text: "Give up the debt"})
		}
		if t.Balance.OwnDue() == 0 && !t.Stage.Over() && t.may(workshop.ActHandOver) {
			p.Ways = append([]Link{{Href: t.path("/hand-over"), Text: "Hand it over", Now: true}}, p.Ways...)
		}
	}
}

func (t *till) facts() Facts {
	show, b := t.Shop.Currency.Show, t.Balance
	f := Facts{{Name: "Customer", Value: t.Customer.Name, Href: fmt.Sprintf("/customers/%d", t.Customer.ID), Note: t.Customer.Phone}}
	if agreed := workshop.Agreed(pointers(t.Versions)); agreed != nil {
		f = append(f, Fact{Name: "Agreed", Value: show(agreed.YesTotal), Note: "not above " + show(agreed.YesLimit), Href: fmt.Sprintf("/quotes/%d", agreed.ID)})
		if agreed.Deposit > 0 {
			f = append(f, Fact{Name: "Deposit asked", Value: show(agreed.Deposit)})
		}
	}
	if t.Invoice != nil {
		f = append(f, Fact{Name: "Billed", Value: show(b.Total), Note: t.Invoice.Label(), Href: fmt.Sprintf("/invoices/%d", t.Invoice.ID)})
	}
	f = append(f, Fact{Name: "Paid", Value: show(b.Paid)})
	if t.Invoice != nil {
		f = append(f, creditFacts(t.Invoice, b)...)
		f = append(f, Fact{Name: "Due", Value: show(b.Due)})
	}
	return f
}

// draft lays out the bill as it would be issued now.
func (t *till) draft() BillDraft {
	d := BillDraft{Action: t.path("/money/bill"), Live: t.path("/money/draft"), Key: NewKey()}
	if t.wrong != nil && domain.KindOf(t.wrong) != domain.Invalid {
		d.Why = domain.TextOf(t.wrong)
		if d.Why == "" {
			d.Why = "The bill cannot be drawn up just now."
		}
		return d
	}
	cur := t.Shop.Currency
	d.Fields = []Field{
		MoneyField("discount", "Goodwill off the whole", t.billed.discount, cur.Code).Marked(t.errs),
		TextField("reason", "Why", t.billed.reason).Limit(120).Middle().Marked(t.errs),
		AreaField("note", "Note on the invoice", t.billed.note).Limit(1000).Marked(t.errs),
		CheckField("keep", "Keep to the agreed limit: what is above it is let off as a discount", t.billed.keep),
	}
	d.Fields, d.Open = append(d.Fields, t.termFields()...), t.billed.payer != ""
	if t.wrong != nil {
		d.Hint = "Before there is a bill:"
		for _, x := range Problems(t.errs) {
			d.Hint += " " + strings.ToLower(x.Label) + " " + x.Text + "."
		}
		return d
	}
	totals, err := money.Sum(t.invoice.Bill())
	if err != nil {
		d.Why = "The bill cannot be summed: " + domain.TextOf(err)
		return d
	}
	d.Lines = invoiceTable(&t.invoice, totals)
	if t.over != nil {
		d.Limit = &LimitBox{Text: sentence(t.over.Error()), Quote: t.path("/quote")}
	} else if t.invoice.Quote != 0 {
		d.Facts = Facts{{Name: "Agreed", Value: cur.Show(t.invoice.Agreed)}, {Name: "Not above", Value: cur.Show(t.invoice.Limit)}}
	}
	if f, ok := t.payerFact(); ok {
		d.Facts = append(d.Facts, f)
	}
	d.Issue = t.may(workshop.ActInvoice)
	if !t.Job.Approved.IsZero() && t.Job.Checked.IsZero() {
		d.Issue, d.Hint = false, "It can be issued when the quality check is through."
	}
	return d
}

// sentence begins a text with a capital and ends it with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + strings.TrimSuffix(text[1:], ".") + "."
}

// invoiceTable lists the lines of a bill with its totals.
func invoiceTable(inv *billing.Invoice, totals money.Totals) Table {
	t := Table{
		Caption: "Lines of the bill", Hidden: true, Empty: Empty{Text: "No line is billed."},
		Columns: []Column{Head("What"), Head("How much"), Figures("Price", inv.Currency.Code), Figures("Comes to", inv.Currency.Code)},
	}
	for i, l := range inv.Lines {
		much := l.Detail
		if much == "" {
			much = strings.TrimSpace(l.Count.String() + " " + unitOf(l.Unit))
		}
		note := ""
		if l.Off.Sign() > 0 {
			note = l.Off.String() + " % off"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: l.Name, Note: note}, {Text: much}, {Text: l.Price.StringFixed(int32(inv.Currency.Digits))}, {Text: Money(inv.Currency, totals.Lines[i].Net)},
		}})
	}
	t.Totals = totalLines(inv.Currency, totals, inv.TaxInside, inv.Reason)
	return t
}

// payForm takes a deposit or a payment; nil when nothing can be taken.
func (t *till) payForm() *PayForm {
	cur, due := t.Shop.Currency, t.Balance.OwnDue()
	if !t.may(workshop.ActMoney) {
		return nil
	}
	f := &PayForm{Action: t.path("/money/pay"), Key: NewKey(), Button: "Take the payment"}
	if t.Invoice == nil {
		agreed := workshop.Agreed(pointers(t.Versions))
		if agreed == nil || agreed.YesLimit <= t.Balance.Paid {
			return nil
		}
		due = max(agreed.Deposit-t.Balance.Paid, 0)
		f.Button = "Take the deposit"
		f.Explain = []string{"Up to " + cur.Show(agreed.YesLimit-t.Balance.Paid) + " can be taken before the bill."}
	} else if t.Balance.WrittenOff > 0 {
		due = 0
		f.Button, f.Explain = "Take what comes in after all", []string{cur.Show(t.Balance.WrittenOff) + " was given up. " + afterAll}
	} else if due <= 0 && t.Balance.PayerDue <= 0 {
		return nil
	} else if due <= 0 {
		due = t.Balance.PayerDue
	}
	f.Now = due > 0
	amount := t.pay.amount
	if amount == "" && len(t.errs) == 0 && due > 0 {
		amount = cur.Text(due)
	}
	f.Fields = t.payFields("pay", t.pay, amount)
	f.Fields = append(f.Fields, MoneyField("pay_given", "Cash on the counter", t.pay.given, cur.Code).Hint("cash only; the change is reckoned").Marked(t.errs))
	f.Fields = append(f.Fields, MoneyField("pay_tip", "For the staff besides", t.pay.tip, cur.Code).Hint("a tip; it is not the shop’s").Marked(t.errs))
	if t.Invoice != nil {
		f.Fields = append(f.Fields, CheckField("pay_keep_over", "Keep what is above as store credit", t.pay.keepOver).Marked(t.errs))
		if t.Invoice.Payer != 0 {
			f.Fields = append(f.Fields, CheckField("pay_by_payer", "Paid by who is billed, not by the customer", t.pay.byPayer || t.payersAlone()).Marked(t.errs))
		}
	}
	f.Explain = append(f.Explain, t.cashRule()...)
	return f
}

// afterAll is the caution where money is taken on a debt that was given up.
const afterAll = "What comes in after all makes the loss smaller, and tax that was taken back is owed again in proportion: ask your adviser when."

// payersAlone says that only who is billed has anything to pay.
func (t *till) payersAlone() bool {
	b := t.Balance
	return b.OwnDue() <= 0 && (b.WrittenOff == 0 || b.PayerLost == b.WrittenOff)
}

// cashRule explains how coins round what is due.
func (t *till) cashRule() []string {
	cur, b, step := t.Shop.Currency, t.Balance, t.Shop.Profile.CashStep
	if step <= 1 {
		return nil
	}
	text := fmt.Sprintf("Cash goes by steps of %s, other ways to the cent.", cur.Show(step))
	if t.Invoice != nil && b.CashDue != b.OwnDue() {
		text = fmt.Sprintf("In cash it is %s: the smallest step is %s, and the %s between stands on the receipt as rounding.",
			cur.Show(b.CashDue), cur.Show(step), cur.Show((b.CashDue - b.OwnDue()).Abs()))
	}
	return []string{text}
}

// backForm gives back what was paid too much; nil when nothing is owed.
func (t *till) backForm() *PayForm {
	if t.Balance.Due >= 0 || t.Invoice == nil || !t.may(workshop.ActRefund) {
		return nil
	}
	amount := t.back.amount
	if amount == "" && len(t.errs) == 0 {
		amount = t.Shop.Currency.Text(-t.Balance.Due)
	}
	fields := t.payFields("back", t.back, amount)
	if t.Invoice.Payer != 0 {
		fields = append(fields, CheckField("back_by_payer", "To who is billed, not to the customer", t.back.byPayer || t.Balance.PayerDue < 0).Marked(t.errs))
	}
	return &PayForm{Action: t.path("/money/give-back"), Key: NewKey(), Button: "Give it back", Now: true, Fields: fields}
}

func (t *till) payFields(prefix string, typed typedPay, amount string) []Field {
	return []Field{
		ChoiceField(prefix+"_tender", "With", typed.tender, Options(billing.Tenders())).Marked(t.errs),
		MoneyField(prefix+"_amount", "Amount", amount, t.Shop.Currency.Code).Need().Marked(t.errs),
		TextField(prefix+"_reference", "Reference", typed.reference).Limit(80).Hint("of a card slip or a transfer; may stay empty").Marked(t.errs),
	}
}

// payments lists what changed hands, oldest first.
func (t *till) payments() Table { return paymentTable(t.Shop, t.Payments, t.Balance) }

// paymentTable lists payments, oldest first, with what they come to.
func paymentTable(shop *workshop.Shop, payments []billing.Payment, b billing.Balance) Table {
	cur := shop.Currency
	out := Table{
		Caption: "Payments", Hidden: true, Empty: Empty{Text: "Nothing was paid yet."},
		Columns: []Column{Head("Receipt"), Head("When"), Head("What"), Figures("Amount", cur.Code)},
	}
	for _, p := range payments {
		note := ""
		if p.Given > 0 {
			note = "given " + cur.Show(p.Given) + ", change " + cur.Show(p.Change)
		}
		if p.Rounding != 0 {
			note = joined(note, "cash rounding "+Money(cur, p.Rounding))
		}
		if p.Kept != 0 {
			note = joined(note, "besides kept as store credit "+Money(cur, p.Kept))
		}
		if p.Tip != 0 {
			note = joined(note, "besides a tip of "+Money(cur, p.Tip))
		}
		if p.ByPayer {
			note = joined(note, "by who is billed")
		}
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			{Text: p.Label(), Href: fmt.Sprintf("/payments/%d/receipt.pdf", p.ID)},
			{Text: DayHour(p.At.In(shop.Location())), Note: p.By},
			{Text: joined(string(p.Kind)+", "+string(p.Tender), p.Reference), Note: note}, {Text: Money(cur, p.Amount)},
		}})
	}
	if len(payments) > 0 {
		out.Totals = []Total{{Name: "Paid", Value: Money(cur, b.Paid)}}
	}
	if slices.ContainsFunc(payments, func(p billing.Payment) bool { return p.Rounding != 0 }) {
		out.Totals[0].Note = "with cash rounding"
	}
	return out
}

// creditFacts says what came after an invoice: credit notes, what was given up, and who
// else pays.
func creditFacts(inv *billing.Invoice, b billing.Balance) Facts {
	show := inv.Currency.Show
	var f Facts
	for _, n := range inv.Credits {
		f = append(f, Fact{Name: "Credited", Value: show(n.Totals.Total), Note: n.Label() + ", " + n.Reason, Href: creditPath(n.ID)})
	}
	if inv.WriteOff != nil {
		f = append(f, Fact{Name: "Given up", Value: show(inv.WriteOff.Amount), Note: inv.WriteOff.Reason})
	}
	if b.Recovered != 0 {
		f = append(f, Fact{Name: "Came in after that", Value: show(b.Recovered)})
	}
	if inv.Payer != 0 {
		f = append(f,
			Fact{Name: "Billed to another", Value: show(b.PayerDue) + " open", Note: inv.PayerRef, Href: customerPath(inv.Payer) + "/account"},
			Fact{Name: "The customer’s part", Value: show(b.OwnDue()) + " open", Note: "of " + show(inv.OwnPart)})
	}
	if inv.DueOn != "" {
		f = append(f, Fact{Name: "To pay by", Value: Civil(inv.DueOn)})
	}
	return f
}

// surchargeField asks with what it is paid, when the settings charge for some.
func surchargeField(shop *workshop.Shop, payBy string) (Field, bool) {
	options := []Option{{Value: "", Label: "not said: no surcharge"}}
	for _, x := range shop.Counter.Surcharges {
		options = append(options, Option{Value: string(x.Tender), Label: fmt.Sprintf("%s, %s %% more", x.Tender, x.Percent)})
	}
	return ChoiceField("pay_by", "They pay by", payBy, options).Hint("tell them of the surcharge first; local law may forbid it"), len(options) > 1
}

// termFields ask how and by whom the bill is paid, as far as the settings have rules.
func (t *till) termFields() []Field {
	var out []Field
	if f, ok := surchargeField(t.Shop, t.billed.payBy); ok {
		out = append(out, f.Marked(t.errs))
	}
	if t.Shop.Counter.Storage.PerDay > 0 && t.Job.Arrival.StorageFee {
		out = append(out, CheckField("storage", "Charge the storage that was agreed in writing", t.billed.storage).Marked(t.errs))
	}
	cur := t.Shop.Currency.Code
	return append(append(out, t.payerFields()...),
		MoneyField("own_part", "The customer’s own part then", t.billed.ownPart, cur).Marked(t.errs),
		TextField("payer_reference", "Reference of who pays", t.billed.reference).Limit(80).Hint("such as the number of a claim").Marked(t.errs))
}
