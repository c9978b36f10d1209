package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
)

// ArrivalGuess is what the owner expects of a kind of repair in a week, in place of
// what is foretold.
type ArrivalGuess struct {
	ID      int64
	Monday  domain.Date
	Kind    string // of [RepairKinds]
	Jobs    int
	Reason  string
	Made    time.Time
	By      string
	Removed time.Time // zero while it stands
	Version int
}

// Text says the guess in words.
func (g ArrivalGuess) Text() string {
	return fmt.Sprintf("%s: %d of %s expected, %s", WeekName(g.Monday), g.Jobs, g.Kind, g.Reason)
}

// GuessTx reads and writes what the owner expects.
type GuessTx interface {
	// ArrivalGuess reads and locks one that was not taken back.
	ArrivalGuess(ctx context.Context, id int64) (*ArrivalGuess, error)
	// GuessFor returns the identity of the standing guess of a kind in a week, 0 for none.
	GuessFor(ctx context.Context, monday domain.Date, kind string) (int64, error)
	AddArrivalGuess(ctx context.Context, g *ArrivalGuess) error
	SaveArrivalGuess(ctx context.Context, g *ArrivalGuess) error
}

// GuessArrivals notes what the owner expects of a kind in the week of a day and
// returns its identity. An earlier guess for the same is taken back; it stays in the
// books.
func (w *Workshop) GuessArrivals(ctx context.Context, by domain.Actor, g ArrivalGuess) (int64, error) {
	id, err := w.do(ctx, by, ActGuess, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		next := g
		if err := next.check(shop.Today(at)); err != nil {
			return 0, err
		}
		before := ""
		id, err := tx.GuessFor(ctx, next.Monday, next.Kind)
		if err != nil {
			return 0, err
		}
		if id != 0 {
			old, err := removeGuess(ctx, tx, id, at)
			if err != nil {
				return 0, err
			}
			before = old.Text()
		}
		next.ID, next.Made, next.By, next.Removed, next.Version = 0, at, by.Name, time.Time{}, 1
		if err := tx.AddArrivalGuess(ctx, &next); err != nil {
			return 0, err
		}
		return next.ID, note(ctx, tx, 0, by, at, "arrivals guessed", before, next.Text())
	})
	return id, w.changed(err)
}

// TakeGuessBack makes the forecast stand again. A guess that was taken back already
// is not found.
func (w *Workshop) TakeGuessBack(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActGuess, func(tx Tx, at time.Time) (int64, error) {
		old, err := removeGuess(ctx, tx, id, at)
		if err != nil {
			return 0, err
		}
		return id, note(ctx, tx, 0, by, at, "guess taken back", old.Text(), "")
	})
	return w.changed(err)
}

func removeGuess(ctx context.Context, tx Tx, id int64, at time.Time) (*ArrivalGuess, error) {
	g, err := tx.ArrivalGuess(ctx, id)
	if err != nil {
		return nil, err
	}
	g.Removed = at
	return g, tx.SaveArrivalGuess(ctx, g)
}

// check puts the week on its Monday and returns an Invalid error that names each
// wrong field.
func (g *ArrivalGuess) check(today domain.Date) error {
	f := domain.Fields{}
	this := mondayOf(today)
	switch _, err := domain.ParseDate(string(g.Monday)); {
	case err != nil:
		f.AddErr("week", err)
	case mondayOf(g.Monday) < this:
		f.Add("week", "the week of %s is over; choose one that is still to come", g.Monday)
	case mondayOf(g.Monday) >= this.AddDays(7*seasonWeeks):
		f.Add("week", "%s is beyond the weeks that are looked at; choose one of the next %d", g.Monday, seasonWeeks)
	default:
		g.Monday = mondayOf(g.Monday)
	}
	if !slices.Contains(RepairKinds(), g.Kind) {
		f.Add("kind", "%q is no kind of repair; choose one of the list", g.Kind)
	}
	if g.Jobs < 0 || g.Jobs > mostGuessed {
		f.Add("jobs", "must be from 0 to %d, not %d", mostGuessed, g.Jobs)
	}
	g.Reason = domain.Line(f, "reason", g.Reason, 200, true)
	return f.Err()
}

const mostGuessed = 1000

// Guessed is a guess beside what is foretold.
type Guessed struct {
	ArrivalGuess
	Foretold Likely
}

// Guessed lists the guesses of the weeks ahead with what is foretold in their place.
func (a *SeasonAhead) Guessed() []Guessed {
	var out []Guessed
	for _, g := range a.Guesses {
		w := weeksBetween(a.from, g.Monday)
		out = append(out, Guessed{g, likelyOf(a.ahead.Plain.Weeks[w].ByKind[g.Kind], 1)})
	}
	return out
}
