package web

import (
	"context"
	"net/http/httptest"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/domain/workshop/demo"
	"winterbench/templates"
)

// shelfNow is when the samples look at the invented shop.
var shelfNow = time.Date(2026, time.December, 3, 15, 0, 0, 0, time.UTC)

// seasonBook reads one job out of the invented shop without a database. Only
// the reads that a job's folder needs are there.
type seasonBook struct {
	workshop.Queries
	all *workshop.Season
}

func (seasonBook) HoldPrior(context.Context) (hold.Prior, error) { return hold.Prior{}, nil }

var winters = sync.OnceValue(func() seasonBook {
	s, err := demo.Season(1, shelfNow)
	if err != nil {
		panic(err)
	}
	return seasonBook{all: s}
})

func (b seasonBook) ShopSettings(context.Context) (*workshop.Shop, error) { return &b.all.Shop, nil }

func (b seasonBook) JobByID(_ context.Context, id domain.JobID) (*job.Job, error) {
	i := slices.IndexFunc(b.all.Jobs, func(j *job.Job) bool { return j.ID == id })
	if i < 0 {
		return nil, domain.NotFoundf("no job %d", id)
	}
	return b.all.Jobs[i], nil
}

func (b seasonBook) CustomerByID(_ context.Context, id domain.CustomerID) (*customer.Customer, error) {
	i := slices.IndexFunc(b.all.Customers, func(c customer.Customer) bool { return c.ID == id })
	return &b.all.Customers[i], nil
}

func (b seasonBook) InstrumentByID(_ context.Context, id domain.InstrumentID) (*customer.Instrument, error) {
	i := slices.IndexFunc(b.all.Instruments, func(c customer.Instrument) bool { return c.ID == id })
	return &b.all.Instruments[i], nil
}

func (b seasonBook) QuotesOfJob(_ context.Context, id domain.JobID) ([]quote.Quote, error) {
	var out []quote.Quote
	for _, q := range slices.Backward(b.all.Quotes) {
		if q.Job == id {
			out = append(out, *q)
		}
	}
	return out, nil
}

func (b seasonBook) SurveysOf(_ context.Context, id domain.JobID) ([]job.Survey, error) {
	var out []job.Survey
	for _, x := range slices.Backward(b.all.Surveys) {
		if x.Job == id {
			out = append(out, x)
		}
	}
	return out, nil
}

func (b seasonBook) PaymentsOfJob(_ context.Context, id domain.JobID) ([]billing.Payment, error) {
	return slices.DeleteFunc(slices.Clone(b.all.Payments), func(p billing.Payment) bool { return p.Job != id }), nil
}

func (b seasonBook) DiaryOf(_ context.Context, id domain.JobID) ([]workshop.Entry, error) {
	out := slices.DeleteFunc(slices.Clone(b.all.Diary), func(e workshop.Entry) bool { return e.Job != id })
	slices.Reverse(out)
	return out, nil
}

func (b seasonBook) InvoiceOfJob(_ context.Context, id domain.JobID) (*billing.Invoice, error) {
	for _, inv := range b.all.Invoices {
		if inv.Job == id {
			return inv, nil
		}
	}
	return nil, domain.NotFoundf("no invoice of job %d", id)
}

// folderAt is the folder of the newest job at a stage, "" for any; more may ask
// for more.
func folderAt(stage job.Stage, more func(*workshop.Folder) bool) *workshop.Folder {
	b := winters()
	for _, j := range slices.Backward(b.all.Jobs) {
		if stage != "" && job.StageOf(j) != stage {
			continue
		}
		f, err := workshop.ReadFolder(context.Background(), b, j.ID, shelfNow)
		if err != nil {
			panic(err)
		}
		if more == nil || more(f) {
			return f
		}
	}
	panic("the invented shop has no such job that is " + string(stage))
}

func everybody() domain.Actor {
	return domain.Actor{Staff: 2, Name: "Ilse Varnhagen", Roles: domain.Roles()}
}

// quietRequest is a request for handlers' helpers that read what was typed.
func quietRequest() *gin.Context {
	c, _ := gin.CreateTestContext(httptest.NewRecorder())
	c.Request = httptest.NewRequest("GET", "/", nil)
	return c
}

func init() { moreSamples = append(moreSamples, jobSamples) }

func jobSamples() map[string]Paged {
	return map[string]Paged{
		"quote/build": sampleBuilder(true), "quote/version": sampleVersion(), "job/show": sampleJob(job.Waiting), "job/handover": sampleHandOver(),
		"money/show": sampleMoney(job.Checked), "money/invoice": sampleInvoice(),
	}
}

// sampleBuilder prices a small sheet for a surveyed job.
func sampleBuilder(filled bool) *QuotePage {
	f := folderAt("", func(f *workshop.Folder) bool { return len(f.Surveys) > 0 && workshop.CrackLength(&f.Surveys[0]) > 50 })
	d := &drafting{Folder: f, errs: domain.Fields{}, shelf: quote.Shelf{Templates: map[string]quote.Edition{}, Parts: map[string]stock.Part{}}}
	all, err := templates.Builtin()
	if err != nil {
		panic(err)
	}
	for _, t := range all {
		d.shelf.Templates[t.Code] = quote.Edition{Number: 1, Template: t, BuiltIn: true}
	}
	d.parts = winters().all.Parts
	for _, p := range d.parts {
		d.shelf.Parts[p.Code] = p
	}
	d.sheet = quote.Sheet{Basis: quote.Estimate, CaseRH: f.Surveys[0].CaseRH.Value, Because: f.Surveys[0].Because()}
	if filled {
		for _, code := range []string{"SU", "RH", "CG"} {
			d.put(d.shelf.Templates[code].Template, "60", true)
		}
		d.sheet.Rows[0].Quantity = "1"
		d.sheet.Rows = append(d.sheet.Rows, quote.Row{Name: "Courier to the customer", Kind: money.Surcharge, Price: "12.50"})
		for i := range d.sheet.Rows {
			if d.sheet.Rows[i].Task == "SU" {
				d.sheet.Rows[i] = quote.Row{Task: "SU", Edition: 1, Quantity: "1", Off: "10", OffWhy: "comes every winter"}
			}
		}
	}
	q, err := quote.Build(d.sheet, d.shelf, f.Shop.Terms(shelfNow, nil))
	p := &QuotePage{Page: sampleFrame("Quote for " + f.Instrument.Title())}
	p.Folio = "tag 318"
	if filled {
		p.Errors = fieldErrors(err)
	}
	d.add.parts = true
	d.window = workshop.WindowOfQuote(&q, nil, f.Shop, shelfNow)
	d.fill(p, &q, len(fieldErrors(err)), shelfNow)
	return p
}

func sampleVersion() *VersionPage {
	f := folderAt(job.Quoted, nil)
	v := &version{Folder: f, q: &f.Versions[0]}
	p := &VersionPage{Page: sampleFrame("Quote, version 1")}
	p.Answer = workshop.VersionAnswer(v.q, workshop.WindowFrom(f.Shop.Today(shelfNow), v.q.Days), f.Shop, shelfNow)
	v.fill(p, shelfNow)
	p.Take = v.takeForm(quietRequest(), domain.Fields{"lines": "choose the lines that were agreed"})
	p.Say = &SayForm{Action: "/quotes/1/say", Key: "k", Promised: DateField("promised", "Day to say", "2026-12-18")}
	p.Edit = &Link{Href: "/jobs/1/quote", Text: "Make a new version"}
	p.News = newsTable(v.q, v.q)
	return p
}

func sampleJob(stage job.Stage) *JobPage {
	f := folderAt(stage, nil)
	p := &JobPage{Page: sampleFrame(f.Instrument.Title() + ", " + f.Customer.Name)}
	v := jobView{Folder: f, who: everybody(), now: shelfNow, typed: func(string) string { return "dent" }, required: map[domain.TaskID][]string{}}
	if !stage.Over() {
		v.part, v.errs = "mark", domain.Fields{"mark_place": "is needed"}
	}
	p.Errors = v.errs
	v.fill(p)
	return p
}

func sampleHandOver() *HandOverPage {
	f := folderAt(job.Ready, nil)
	p := &HandOverPage{Page: sampleFrame("Hand over " + f.Instrument.Title())}
	p.Answer = workshop.LeaveAnswer(f)
	p.Facts = Facts{{Name: "To pay", Value: f.Shop.Currency.Show(f.Balance.Due), Href: "/jobs/1/money"}}
	p.Tell = []Told{{Task: "Crack cleats", Words: []string{"Nothing shows from outside."}}}
	unpaid := TextField("unpaid", "Why it may leave unpaid", "")
	p.Form, p.Unpaid = &JobForm{Action: "/jobs/1/hand-over", Key: "k", Button: "Hand it over", Fields: []Field{TextField("to", "Who takes it", "Mara")}}, &unpaid
	p.Ways = []Link{{Href: "/jobs/1", Text: "Back to the job"}}
	return p
}

func sampleMoney(stage job.Stage) *MoneyPage {
	f := folderAt(stage, func(f *workshop.Folder) bool { return f.Invoice == nil })
	t := &till{Folder: f, who: everybody(), errs: domain.Fields{}}
	t.drawFrom()
	p := &MoneyPage{Page: sampleFrame("Money for " + f.Instrument.Title())}
	t.fill(p)
	if t.over == nil && t.wrong == nil {
		p.Bill.Limit = &LimitBox{Text: sentence((&billing.LimitError{Currency: f.Shop.Currency, Total: 45500, Limit: 41240}).Error()), Quote: "/jobs/1/quote"}
	}
	return p
}

// drawFrom drafts the bill as the workshop does, without a store.
func (t *till) drawFrom() {
	t.invoice, t.wrong = billing.Draft(t.Job, workshop.Agreed(pointers(t.Versions)), t.Shop.Terms(shelfNow, nil), billing.Options{QuarterUp: 15})
}

func sampleInvoice() *InvoicePage {
	f := folderAt(job.Collected, func(f *workshop.Folder) bool { return f.Invoice != nil })
	p := &InvoicePage{Page: sampleFrame("Invoice")}
	p.Answer = workshop.MoneyAnswer(f)
	fillInvoice(p, f.Invoice, f, everybody())
	return p
}

// TestEveryStageHasItsJobPage renders the job page at every stage that the
// invented shop knows, and the money page where there is one.
func TestEveryStageHasItsJobPage(t *testing.T) {
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewRenderer(nil, static)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[job.Stage]bool{}
	for _, j := range slices.Backward(winters().all.Jobs) {
		stage := job.StageOf(j)
		if seen[stage] {
			continue
		}
		seen[stage] = true
		t.Run(string(stage), func(t *testing.T) {
			p := sampleJob(stage)
			p.Folio = "tag 1"
			html, err := r.HTML("job/show", "layout", p)
			if err != nil {
				t.Fatal(err)
			}
			checkHTML(t, html)
			if !strings.Contains(p.Because[0], string(stage)) {
				t.Errorf("got %q under the answer, want the stage %s in it", p.Because[0], stage)
			}
		})
	}
	if len(seen) < 10 {
		t.Errorf("the invented shop has %d stages, want at least 10 to look at", len(seen))
	}
}

// TestPagesHideNothingOfTheirFrame holds that no page has a field of the same
// name as one of its frame, which would then show the wrong thing.
func TestPagesHideNothingOfTheirFrame(t *testing.T) {
	frame := reflect.TypeFor[Page]()
	for name, p := range pageSamples() {
		page := reflect.TypeOf(p).Elem()
		for i := range page.NumField() {
			if f := page.Field(i); !f.Anonymous {
				if _, both := frame.FieldByName(f.Name); both {
					t.Errorf("%s: the field %s of %s hides that of the frame", name, f.Name, page.Name())
				}
			}
		}
	}
}
