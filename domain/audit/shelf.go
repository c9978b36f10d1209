package audit

import (
	"slices"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// Move is a move of a part with what it left and what was posted for it.
type Move struct {
	stock.Move
	LeftQuantity stock.Quantity
	LeftValue    money.Amount
	Entries      int          // that name it, but for those of the supplier's bill
	Posted       money.Amount // on the account of stock by them
}

// Level is what is written down of a part.
type Level struct {
	Part     domain.PartID
	Quantity stock.Quantity
	Value    money.Amount
	Reserved stock.Quantity // written on the level
	Open     stock.Quantity // what its reservations hold open
}

// Move holds a move against the one before it of the same part. Moves come by part
// and then by identity.
func (a *Audit) Move(m Move) {
	a.looked(shelfRule, 1)
	a.looked(shelfBooksRule, 1)
	before := a.shelf
	if before.Part != m.Part {
		before = Level{Part: m.Part}
	}
	q, v := before.Quantity+m.Quantity, before.Value+m.Value
	if q != m.LeftQuantity || v != m.LeftValue || q < 0 || v < 0 {
		a.broken(shelfRule, m.Job, "part %d, move %d (%s) of %s for %s: it leaves %s worth %s; with what was there before it would be %s worth %s",
			m.Part, m.ID, m.Kind, m.Quantity.Units(), a.show(m.Value), m.LeftQuantity.Units(), a.show(m.LeftValue), q.Units(), a.show(v))
	}
	a.shelf = Level{Part: m.Part, Quantity: m.LeftQuantity, Value: m.LeftValue}
	a.posted(m)
}

// posted looks for the entry of a move. That of a supplier's bill is posted as a
// whole, and one of no value has none.
func (a *Audit) posted(m Move) {
	if m.Kind == stock.Repriced {
		return
	}
	want := 1
	if m.Value == 0 {
		want = 0
	}
	switch {
	case m.Entries != want:
		a.broken(shelfBooksRule, m.Job, "part %d, move %d (%s) of %s has %d entries in the journal, want %d", m.Part, m.ID, m.Kind, a.show(m.Value), m.Entries, want)
	case m.Posted != m.Value:
		a.broken(shelfBooksRule, m.Job, "part %d, move %d (%s) of %s is posted with %s", m.Part, m.ID, m.Kind, a.show(m.Value), a.show(m.Posted))
	}
}

func (a *Audit) show(v money.Amount) string { return a.terms.Currency.Show(v) }

// Level holds what is written down of a part against what its last move left, the
// zero Level when it has none.
func (a *Audit) Level(l, last Level) {
	a.looked(shelfRule, 1)
	a.looked(reserveRule, 1)
	if l.Quantity != last.Quantity || l.Value != last.Value {
		a.broken(shelfRule, 0, "part %d stands at %s worth %s; its moves leave %s worth %s", l.Part,
			l.Quantity.Units(), a.show(l.Value), last.Quantity.Units(), a.show(last.Value))
	}
	if l.Reserved != l.Open {
		a.broken(reserveRule, 0, "part %d has %s reserved; its open reservations come to %s", l.Part, l.Reserved.Units(), l.Open.Units())
	}
}

// Reserved is an open reservation with the job it is for.
type Reserved struct {
	ID    int64
	Part  domain.PartID
	Job   domain.JobID
	Tag   int
	Stage job.Stage
}

// Reserved holds an open reservation against its job.
func (a *Audit) Reserved(r Reserved) {
	a.looked(reserveRule, 1)
	agreed := !slices.Contains([]job.Stage{job.Arrived, job.Surveyed, job.Quoted, job.Declined}, r.Stage)
	if r.Stage.Over() || !agreed {
		a.broken(reserveRule, r.Job, "reservation %d of part %d is open for tag %d (job %d), which is %s", r.ID, r.Part, r.Tag, r.Job, r.Stage)
	}
}
