package quote

import (
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Say fixes a draft: it gets its number and can only be answered or replaced
// from now on.
func (q *Quote) Say(number int, by domain.Actor, at time.Time, today domain.Date) error {
	switch s := q.StateOn(today); {
	case s != Draft:
		return domain.Conflictf("version %d is %s; draft a new version to change it", q.Version, s)
	case q.ValidUntil < today:
		return domain.Conflictf("version %d was valid until %s; save it again to renew the date", q.Version, q.ValidUntil)
	}
	for _, l := range q.Lines {
		if l.Price.IsZero() && l.Part != "" {
			return domain.Conflictf("%s has no price yet: type one, or set it on the parts list", l.Name)
		}
	}
	q.Number, q.Said, q.SaidBy = number, at, by.Name
	return nil
}

// Take records the customer's answer. chosen names the agreed lines and is
// read for a part answer only; parts of a task that is not chosen fall away
// with it. Lines agreed in an earlier version stay agreed unless this answer
// covers them.
//
// It returns a conflict when the version is not the one on the table, and an
// invalid error when the answer is incomplete.
func (q *Quote) Take(a Answer, chosen []domain.LineID, guard money.Guard, today domain.Date) error {
	switch s := q.StateOn(today); s {
	case Open:
	case Succeeded:
		return domain.Conflictf("version %d was replaced by a newer one; ask for the answer to that", q.Version)
	case Draft:
		return domain.Conflictf("version %d was not said to the customer yet", q.Version)
	case Lapsed:
		return domain.Conflictf("version %d was valid until %s; make a new version", q.Version, q.ValidUntil)
	default:
		return domain.Conflictf("version %d has its answer: %s", q.Version, s)
	}
	f := domain.Fields{}
	domain.OneOf(f, "outcome", a.Outcome, []Outcome{Whole, Part, Denied})
	domain.OneOf(f, "channel", a.Channel, append(Channels(), ByLink))
	a.Who = domain.Line(f, "who", a.Who, 120, true)
	a.Note = domain.Line(f, "note", a.Note, 300, false)
	for _, id := range chosen {
		if !slices.ContainsFunc(q.Lines, func(l Line) bool { return l.ID == id }) {
			f.Add("lines", "line %d is not on this version", id)
		}
	}
	if a.Outcome == Part && len(chosen) == 0 {
		f.Add("lines", "choose the lines that were agreed")
	}
	if err := f.Err(); err != nil {
		return err
	}
	q.Answer = &a
	if a.Outcome == Denied {
		return nil
	}
	q.agree(a.Outcome, chosen)
	if a.Outcome == Whole {
		q.YesTotal, q.YesLimit = q.Totals.Total, q.Ceiling // as it was said, whatever the shop's guard is today
		return nil
	}
	var err error
	q.YesTotal, q.YesLimit, err = q.agreement(guard)
	return err
}

func (q *Quote) agree(o Outcome, chosen []domain.LineID) {
	tasks := map[string]bool{}
	for i := range q.Lines {
		l := &q.Lines[i]
		switch o {
		case Whole:
			l.Agreed = true
		case Part:
			l.Agreed = slices.Contains(chosen, l.ID)
		}
		tasks[l.Template] = l.Agreed
	}
	for i := range q.Lines {
		if l := &q.Lines[i]; l.For != "" && l.Template == "" {
			if yes, there := tasks[l.For]; there && !yes {
				l.Agreed = false
			}
		}
	}
}

// agreement returns the total of the agreed part of the lines, with its share
// of the discount, and the ceiling that the guard gives it.
func (q *Quote) agreement(guard money.Guard) (total, ceiling money.Amount, err error) {
	total, err = q.AgreedTotal()
	if err != nil || q.Basis != Estimate {
		return total, total, err
	}
	return total, money.Ceiling(total, guard), nil
}

// AgreedTotal is what the agreed lines come to, with their share of the discount
// and their taxes.
func (q *Quote) AgreedTotal() (money.Amount, error) {
	t, err := q.AgreedTotals()
	return t.Total, err
}

// AgreedTotals are the totals of the agreed lines, with their share of the discount,
// by the taxes that the quote was priced with.
func (q *Quote) AgreedTotals() (money.Totals, error) {
	bill := q.Bill()
	var err error
	if bill.Discount, err = q.AgreedDiscount(); err != nil {
		return money.Totals{}, err
	}
	kept := bill.Lines[:0]
	for i, l := range bill.Lines {
		if q.Lines[i].Agreed {
			kept = append(kept, l)
		}
	}
	bill.Lines = kept
	return money.Sum(bill)
}

// AgreedDiscount is the part of the document's discount that belongs to the
// agreed lines: shared over all lines by their net amounts.
func (q *Quote) AgreedDiscount() (money.Amount, error) {
	if q.Discount == 0 {
		return 0, nil
	}
	weights := make([]int64, len(q.Lines))
	for i, l := range q.Lines {
		weights[i] = int64(max(l.Net, 0))
	}
	shares, err := money.Allocate(q.Discount, weights)
	if err != nil {
		return 0, err
	}
	var sum money.Amount
	for i, l := range q.Lines {
		if l.Agreed {
			sum += shares[i]
		}
	}
	return sum, nil
}
