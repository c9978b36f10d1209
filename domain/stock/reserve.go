package stock

import (
	"cmp"
	"slices"
	"time"

	"winterbench/domain"
)

// Reservation is what an approved job will need of a part. The oldest is served
// first.
type Reservation struct {
	ID    int64
	Part  domain.PartID
	Job   domain.JobID
	Line  domain.LineID // of the quote
	Task  domain.TaskID // that needs it; 0 for none
	Wait  domain.WaitID // that its shortage began; 0 for none
	Asked Quantity
	Open  Quantity // of it neither used nor released
	Ended string   // why nothing is open; "" while it is
	At    time.Time
	By    string
}

// Use takes up to q off what is open and returns what it took.
func (r *Reservation) Use(q Quantity, why string) Quantity {
	took := min(q, r.Open)
	if r.Open -= took; r.Open == 0 && r.Ended == "" {
		r.Ended = why
	}
	return took
}

// Again opens up to q of a reservation that was used, for a part that was put back,
// and returns how much.
func (r *Reservation) Again(q Quantity) Quantity {
	back := min(q, r.Asked-r.Open)
	if r.Open += back; r.Open > 0 {
		r.Ended = ""
	}
	return back
}

// Coming is what a supplier still owes of a part.
type Coming struct {
	Order    domain.PurchaseID
	Quantity Quantity
	On       domain.Date // expected; "" when nobody knows
}

// Served is how a reservation stands.
type Served struct {
	Reservation
	Short   Quantity    // of what is open, not on the shelf
	Ordered bool        // what is short is on its way
	On      domain.Date // expected; "" when nobody knows or nothing is ordered
}

// Serve hands what lies on the shelf, and then what is coming, to the open
// reservations of one part, the oldest first. What is short without being ordered,
// or whose order has no date, has no day.
func Serve(onShelf Quantity, open []Reservation, coming []Coming) []Served {
	open = slices.Clone(open)
	slices.SortStableFunc(open, func(a, b Reservation) int { return cmp.Compare(a.ID, b.ID) })
	coming = slices.Clone(coming)
	slices.SortStableFunc(coming, func(a, b Coming) int { return cmp.Compare(late(a.On), late(b.On)) })
	out := make([]Served, 0, len(open))
	for _, r := range open {
		if r.Open == 0 {
			continue
		}
		s := Served{Reservation: r, Short: r.Open - min(onShelf, r.Open)}
		onShelf -= r.Open - s.Short
		if s.Short > 0 {
			s.On, s.Ordered = draw(coming, s.Short)
		}
		out = append(out, s)
	}
	return out
}

// late sorts a day that nobody knows behind all others.
func late(d domain.Date) domain.Date {
	if d == "" {
		return "9999-12-31"
	}
	return d
}

// draw takes q off what is coming and returns the day by which all of it is there,
// and whether all of it is coming at all.
func draw(coming []Coming, q Quantity) (domain.Date, bool) {
	var on domain.Date
	for i := range coming {
		took := min(q, coming[i].Quantity)
		coming[i].Quantity -= took
		if q -= took; took > 0 {
			on = coming[i].On
		}
		if q == 0 {
			return on, true
		}
	}
	return "", false
}
