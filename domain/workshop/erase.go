package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
)

// UsualKeepYears is for how many years papers of money are kept when the shop has
// not said otherwise. Common practice, no source: places ask for five to ten.
const UsualKeepYears = 7

// KeepsPapers is for how many years the shop keeps invoices and payments.
func (s *Shop) KeepsPapers() int {
	if s.KeepYears == 0 {
		return UsualKeepYears
	}
	return s.KeepYears
}

// Erasure notes that a customer was erased: what people had typed about them is
// gone, what the law of taxes wants is kept.
type Erasure struct {
	ID       int64
	Customer domain.CustomerID
	Reason   string
	Kept     string // what stayed and until when, in words
	At       time.Time
	By       string
}

// LongGone is a customer who has not been here for long.
type LongGone struct {
	Customer domain.CustomerID
	Name     string
	Last     time.Time // the newest visit, or when they were noted
	Jobs     int
}

// EraseTx is what erasing reads and writes in a transaction.
type EraseTx interface {
	JobsOfCustomer(ctx context.Context, id domain.CustomerID) ([]domain.JobID, error)
	// EraseCustomer takes the words out, notes the erasure and sets its identity. It
	// returns the names of pictures that nobody else's photos show.
	EraseCustomer(ctx context.Context, e *Erasure) ([]string, error)
	ErasureOf(ctx context.Context, id domain.CustomerID) (*Erasure, error)
}

// EraseQueries are the reads of erasing.
type EraseQueries interface {
	ErasureOf(ctx context.Context, id domain.CustomerID) (*Erasure, error)
	Forgettable(ctx context.Context, before time.Time, p Page) ([]LongGone, int, error)
	HandOut(ctx context.Context, id domain.CustomerID, to Writer) error
}

// Writer takes the bytes of what is handed out.
type Writer interface{ Write([]byte) (int, error) }

// ForgetBefore is the moment before which a customer's newest visit must lie for
// them to be offered for erasure: so many years back that no paper of money is
// needed any more.
func (s *Shop) ForgetBefore(now time.Time) time.Time {
	year := now.In(s.Location()).Year() - s.KeepsPapers()
	return time.Date(year, time.January, 1, 0, 0, 0, 0, s.Location()).UTC()
}

// Erase takes out what people have typed about a customer and their photos: name,
// ways to reach them, serials, complaints, notes, diaries. Measures, tasks, minutes
// and prices stay, for they tell of instruments and work. Invoices, credit notes,
// payments and the journal stay as they are for as long as the law of taxes wants.
// name must be the customer's, typed again, so that nobody is erased by a slip.
//
// It is refused while an instrument is in the house or money is owed either way.
// Copies made before hold the customer until they are thrown away.
func (w *Workshop) Erase(ctx context.Context, by domain.Actor, id domain.CustomerID, name, reason string) (*Erasure, error) {
	var pictures []string
	_, err := w.do(ctx, by, ActErase, func(tx Tx, at time.Time) (int64, error) {
		who, err := tx.Customer(ctx, id)
		if err != nil {
			return 0, err
		}
		f := domain.Fields{}
		reason := domain.Line(f, "reason", reason, 200, true)
		if NameKey(name) != NameKey(who.Name) {
			f.Add("name", "must be the customer's name, %s", who.Name)
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
		if _, err := tx.ErasureOf(ctx, id); domain.KindOf(err) != domain.NotFound {
			return 0, conflictUnless(err, "this customer was erased before")
		}
		kept, err := settledWith(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		e := &Erasure{Customer: id, Reason: reason, Kept: kept, At: at, By: by.Name}
		if pictures, err = tx.EraseCustomer(ctx, e); err != nil {
			return 0, err
		}
		return e.ID, note(ctx, tx, 0, by, at, fmt.Sprintf("erased customer %d", id), "", kept)
	})
	if err != nil {
		return nil, err
	}
	for _, name := range pictures { // after the commit: a picture that nothing names harms nobody
		if err := w.pictures.Remove(name); err != nil {
			return nil, err
		}
	}
	return w.erasureOf(ctx, id)
}

func conflictUnless(err error, text string) error {
	if err != nil {
		return err
	}
	return domain.Conflictf("%s", text)
}

func (w *Workshop) erasureOf(ctx context.Context, id domain.CustomerID) (e *Erasure, err error) {
	err = w.store.InTx(ctx, func(tx Tx) error {
		e, err = tx.ErasureOf(ctx, id)
		return err
	})
	return e, err
}

// settledWith returns what must be kept of a customer, in words, or a conflict when
// something is still open between them and the shop.
func settledWith(ctx context.Context, tx Tx, id domain.CustomerID) (string, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return "", err
	}
	jobs, err := tx.JobsOfCustomer(ctx, id)
	if err != nil {
		return "", err
	}
	credit, err := tx.StoreCredit(ctx, id)
	if err != nil {
		return "", err
	}
	if credit.Balance > 0 {
		return "", domain.Conflictf("the shop keeps %s of store credit for this customer; settle it first", shop.Currency.Show(credit.Balance))
	}
	var invoices []*billing.Invoice
	for _, jid := range jobs {
		j, err := tx.Job(ctx, jid)
		if err != nil {
			return "", err
		}
		if !job.StageOf(j).Over() {
			return "", domain.Conflictf("tag %d is in the house; a customer can be erased when everything was handed back", j.Tag)
		}
		inv, b, err := balance(ctx, tx, jid, shop.Coin())
		switch {
		case err != nil:
			return "", err
		case b.Due > 0:
			return "", domain.Conflictf("tag %d has %s open; settle it or write it off first", j.Tag, shop.Currency.Show(b.Due))
		case b.Due < 0:
			return "", domain.Conflictf("the shop owes this customer %s on tag %d; give it back first", shop.Currency.Show(-b.Due), j.Tag)
		}
		if inv != nil {
			invoices = append(invoices, inv)
		}
	}
	return keptText(invoices, shop.KeepsPapers(), credit.Place > 0), nil
}

// keptText says which papers stay and until when: to the end of the year so many
// years after that of the newest. credit says that store credit was kept once.
func keptText(invoices []*billing.Invoice, years int, credit bool) string {
	paidOut := ""
	if credit {
		paidOut = " So does to whom store credit was paid out."
	}
	if len(invoices) == 0 && credit {
		return "No invoice was ever written. To whom store credit was paid out stays with the journal."
	}
	if len(invoices) == 0 {
		return "No invoice was ever written, so nothing with the name stays."
	}
	var numbers []string
	var last domain.Date
	slices.SortFunc(invoices, func(a, b *billing.Invoice) int { return a.Number - b.Number })
	for _, inv := range invoices {
		numbers = append(numbers, fmt.Sprint(inv.Number))
		last = max(last, inv.Date)
	}
	until := last.Time(time.UTC).Year() + years
	return fmt.Sprintf("Invoice %s with name and address, the payments on it and the journal stay for the tax office until the end of %d.%s", strings.Join(numbers, ", "), until, paidOut)
}
