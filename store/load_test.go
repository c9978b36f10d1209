package store_test

import (
	"context"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/photo"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/domain/workshop/demo"
	"winterbench/store"
	"winterbench/store/storetest"
)

// demoSeason is the invented shop, made once for all tests that load it.
var demoSeason = sync.OnceValues(func() (*workshop.Season, error) {
	return demo.Season(1, time.Date(2026, time.November, 25, 16, 5, 0, 0, time.UTC))
})

// inventedShop is the invented shop; tests under -short go without it.
func inventedShop(t testing.TB) *workshop.Season {
	t.Helper()
	if testing.Short() {
		t.Skip("plays three winters: run without -short")
	}
	d, err := demoSeason()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// beginning is the part of the invented shop that belongs to its first jobs.
func beginning(t testing.TB) *workshop.Season {
	t.Helper()
	whole := inventedShop(t)
	const jobs = 60
	d := *whole
	d.Jobs = whole.Jobs[:jobs]
	there := map[domain.JobID]bool{0: true}
	for _, j := range d.Jobs {
		there[j.ID] = true
	}
	d.Surveys = keep(whole.Surveys, func(s job.Survey) bool { return there[s.Job] })
	d.Quotes = keep(whole.Quotes, func(q *quote.Quote) bool { return there[q.Job] })
	d.Promises = keep(whole.Promises, func(p workshop.PromiseMade) bool { return there[p.Job] })
	d.Invoices = keep(whole.Invoices, func(v *billing.Invoice) bool { return there[v.Job] })
	d.Payments = keep(whole.Payments, func(p billing.Payment) bool { return there[p.Job] })
	d.Moves = keep(whole.Moves, func(m workshop.MoveRow) bool { return there[m.Job] })
	d.Reservations = keep(whole.Reservations, func(r *stock.Reservation) bool { return there[r.Job] })
	d.Journal = keep(whole.Journal, func(e billing.Entry) bool { return there[e.Job] })
	d.Photos = keep(whole.Photos, func(p photo.Photo) bool { return there[p.Job] })
	d.Diary = keep(whole.Diary, func(e workshop.Entry) bool { return there[e.Job] })
	if len(d.Quotes) < jobs/2 || len(d.Invoices) == 0 || len(d.Payments) == 0 || len(d.Diary) < jobs {
		t.Fatalf("the beginning has %d quotes, %d invoices, %d payments and %d entries: too little to look at",
			len(d.Quotes), len(d.Invoices), len(d.Payments), len(d.Diary))
	}
	return &d
}

func keep[V any](all []V, wanted func(V) bool) []V {
	return slices.DeleteFunc(slices.Clone(all), func(v V) bool { return !wanted(v) })
}

func loadBeginning(t testing.TB, s *store.Store) *workshop.Season {
	t.Helper()
	d := beginning(t)
	if err := s.Load(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	return d
}

// loaded compares as sameValue does, but for the versions: the store gives each
// record its first.
var loaded = cmp.Options{
	sameValue,
	cmpopts.IgnoreFields(workshop.Shop{}, "Version"),
	cmpopts.IgnoreFields(workshop.Staff{}, "Version"),
	cmpopts.IgnoreFields(customer.Customer{}, "Version"),
	cmpopts.IgnoreFields(customer.Instrument{}, "Version"),
	cmpopts.IgnoreFields(quote.Quote{}, "Lock"),
}

func TestLoadKeepsEveryRecord(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := loadBeginning(t, s)
		ctx := t.Context()
		shop, err := s.ShopSettings(ctx)
		equal(t, "shop", &d.Shop, shop, err)
		staff, err := s.StaffList(ctx)
		slices.SortFunc(staff, func(a, b workshop.Staff) int { return int(a.ID - b.ID) })
		equal(t, "staff", d.Staff, staff, err)
		for i := range d.Customers[:100] {
			got, err := s.CustomerByID(ctx, d.Customers[i].ID)
			equal(t, "customer", &d.Customers[i], got, err)
		}
		for i := range d.Instruments[:100] {
			got, err := s.InstrumentByID(ctx, d.Instruments[i].ID)
			equal(t, "instrument", &d.Instruments[i], got, err)
		}
		for _, q := range d.Quotes {
			got, err := s.QuoteByID(ctx, q.ID)
			equal(t, "quote", q, got, err)
		}
		for _, v := range d.Invoices {
			got, err := s.InvoiceByID(ctx, v.ID)
			equal(t, "invoice", v, got, err)
		}
		for i := range d.Payments {
			got, err := s.PaymentByID(ctx, d.Payments[i].ID)
			equal(t, "payment", &d.Payments[i], got, err)
		}
		for _, e := range d.Editions {
			got, err := s.EditionsOf(ctx, e.Code)
			if i := slices.IndexFunc(got, func(k workshop.EditionNote) bool { return k.Number == e.Number }); err != nil || i < 0 {
				t.Fatalf("edition %d of %s is not there: %v", e.Number, e.Code, err)
			} else {
				equal(t, "edition", e, got[i], nil)
			}
		}
	})
}

func equal(t *testing.T, what string, want, got any, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if diff := cmp.Diff(want, got, loaded); diff != "" {
		t.Fatalf("%s (-want +got):\n%s", what, diff)
	}
}

// After a load life goes on: identities, tags and receipts go on from the last.
func TestLoadLetsLifeGoOn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := loadBeginning(t, s)
		highest := domain.CustomerID(0)
		for _, c := range d.Customers {
			highest = max(highest, c.ID)
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			c := customer.Customer{Name: "Ada Lind", Contact: customer.ByPhone, Since: start}
			if err := tx.AddCustomer(ctx, &c); err != nil {
				return err
			}
			if c.ID != highest+1 {
				t.Errorf("got customer %d, want %d", c.ID, highest+1)
			}
			in := instrumentOf(c.ID, "Orrin", "No. 3", "W-1")
			if err := tx.AddInstrument(ctx, &in); err != nil {
				return err
			}
			p := &people{customer: c, instrument: in}
			tag, err := tx.Next(ctx, workshop.Tags)
			if err != nil {
				return err
			}
			if tag != d.Series[workshop.Tags]+1 {
				t.Errorf("got tag %d, want %d", tag, d.Series[workshop.Tags]+1)
			}
			j := p.newJob(tag)
			if err := tx.AddJob(ctx, j); err != nil {
				return err
			}
			receipt, err := tx.Next(ctx, workshop.Receipts)
			if err != nil {
				return err
			}
			return tx.AddPayment(ctx, &billing.Payment{Job: j.ID, Kind: billing.Deposit, Tender: billing.Cash, Amount: 500, Receipt: receipt, At: start, By: "Odo"})
		})
	})
}

func TestLoadRefusesADatabaseInUse(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		addPeople(t, s)
		wantKind(t, s.Load(t.Context(), beginning(t)), domain.Conflict)
		if _, total, err := s.Customers(t.Context(), "", workshop.Page{Limit: 1}); err != nil || total != 1 {
			t.Errorf("got %d customers and error %v, want the one that was there", total, err)
		}
	})
}

// A season with a mistake in its last record leaves nothing behind.
func TestLoadIsAllOrNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		broken := *beginning(t)
		broken.Series = map[workshop.Series]int{"parcels": 1}
		if err := s.Load(t.Context(), &broken); err == nil {
			t.Fatal("a series that does not exist was taken")
		}
		_, err := s.ShopSettings(t.Context())
		wantKind(t, err, domain.NotFound)
		loadBeginning(t, s) // so it can be loaded again
	})
}

// The whole of the invented shop fits the database's rules.
func TestLoadTheWholeSeason(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := inventedShop(t)
		if err := s.Load(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		_, jobs, err := s.Jobs(t.Context(), workshop.JobFilter{}, workshop.Page{Limit: 1})
		if err != nil || jobs != len(d.Jobs) {
			t.Errorf("got %d jobs and error %v, want %d", jobs, err, len(d.Jobs))
		}
		_, invoices, err := s.Invoices(t.Context(), workshop.Page{Limit: 1})
		if err != nil || invoices != len(d.Invoices) {
			t.Errorf("got %d invoices and error %v, want %d", invoices, err, len(d.Invoices))
		}
	})
}

// The invented shop holds about 1,400 jobs with 60,000 rows.
func BenchmarkLoad(b *testing.B) {
	d := inventedShop(b)
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				s := storetest.Open(b, engine)
				b.StartTimer()
				if err := s.Load(b.Context(), d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
