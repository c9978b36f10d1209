package workshop

import (
	"context"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/season"
)

// Climate is the outdoor air of the shop's town as the shop knows it.
type Climate struct {
	Town    string
	Source  string // where the figures are from; "" when nobody said
	Months  season.Climate
	Changed time.Time
	By      string
	Version int // 0 before it is kept
}

// ClimateTx reads and writes the climate of the town.
type ClimateTx interface {
	// TownClimate reads and locks it; not found while nobody gave it.
	TownClimate(ctx context.Context) (*Climate, error)
	// SaveClimate writes it whole over the version that was read and raises that;
	// it inserts when Version is 0.
	SaveClimate(ctx context.Context, c *Climate) error
	// DropClimate takes it away with all its months.
	DropClimate(ctx context.Context) error
}

// SetClimate keeps the climate of the shop's town in place of the one there was. The
// version is that which the caller saw, 0 for none; another is a conflict. It returns
// an Invalid error that names each wrong field.
func (w *Workshop) SetClimate(ctx context.Context, by domain.Actor, c Climate) error {
	_, err := w.do(ctx, by, ActClimate, func(tx Tx, at time.Time) (int64, error) {
		if err := c.Check(); err != nil {
			return 0, err
		}
		old, err := tx.TownClimate(ctx)
		if err != nil && domain.KindOf(err) != domain.NotFound {
			return 0, err
		}
		before, seen := "", 0
		if old != nil {
			before, seen = old.Text(), old.Version
		}
		if seen != c.Version {
			return 0, domain.Conflictf("somebody else changed the climate meanwhile; look at it again")
		}
		next := c
		next.Changed, next.By = at, by.Name
		if err := tx.SaveClimate(ctx, &next); err != nil {
			return 0, err
		}
		return int64(next.Version), note(ctx, tx, 0, by, at, "climate of the town noted", before, next.Text())
	})
	return w.changed(err)
}

// ForgetClimate takes the climate of the town away.
func (w *Workshop) ForgetClimate(ctx context.Context, by domain.Actor, version int) error {
	_, err := w.do(ctx, by, ActClimate, func(tx Tx, at time.Time) (int64, error) {
		old, err := tx.TownClimate(ctx)
		if err != nil {
			return 0, err
		}
		if old.Version != version {
			return 0, domain.Conflictf("somebody else changed the climate meanwhile; look at it again")
		}
		if err := tx.DropClimate(ctx); err != nil {
			return 0, err
		}
		return 0, note(ctx, tx, 0, by, at, "climate of the town taken away", old.Text(), "")
	})
	return w.changed(err)
}

// Check trims the texts and returns an Invalid error that names each wrong field.
func (c *Climate) Check() error {
	f := domain.Fields{}
	c.Town = domain.Line(f, "town", c.Town, 80, true)
	c.Source = domain.Line(f, "source", c.Source, 200, false)
	for field, text := range domain.FieldsOf(c.Months.Check()) {
		f.Add(field, "%s", text)
	}
	if len(c.Months.Past) > mostPastMonths {
		f.Add("past", "are %d measured months; at most %d", len(c.Months.Past), mostPastMonths)
	}
	return f.Err()
}

// mostPastMonths are more than the season's ten years.
const mostPastMonths = 240

// Text says the climate in a line.
func (c *Climate) Text() string {
	text := fmt.Sprintf("%s, January %.1f C", c.Town, c.Months.Usual[0].Celsius)
	if n := len(c.Months.Past); n > 0 {
		text += ", " + Count(n, "measured month")
	}
	return text
}

// ClimateAnswer says what the climate does to the air in a heated room.
func ClimateAnswer(c *Climate) string {
	if c == nil {
		return "The climate of your town is not known here; the forecast goes by the calendar alone."
	}
	var dry []time.Month
	for i, m := range c.Months.Usual {
		if m.Indoor() < dryRoom {
			dry = append(dry, time.Month(i+1))
		}
	}
	if len(dry) == 0 {
		return fmt.Sprintf("In %s the air of a heated room stays at %d %% and above all year.", c.Town, dryRoom)
	}
	return fmt.Sprintf("In %s the air of a room heated to 21 °C falls below %d %% in %s, with nothing added to it.", c.Town, dryRoom, monthsText(dry))
}

// dryRoom is the humidity, in percent, below which instruments suffer; common
// practice, no source.
const dryRoom = 35

// monthsText names months of a year, a run of them by its ends; a run may go on over
// the new year.
func monthsText(months []time.Month) string {
	in := map[time.Month]bool{}
	for _, m := range months {
		in[m] = true
	}
	if len(in) == 12 {
		return "every month"
	}
	var runs []string
	for m := time.January; m <= time.December; m++ {
		if !in[m] || in[before(m)] {
			continue
		}
		last := m
		for in[after(last)] {
			last = after(last)
		}
		run := m.String()
		if last != m {
			run += " to " + last.String()
		}
		runs = append(runs, run)
	}
	return strings.Join(runs, " and ")
}

func before(m time.Month) time.Month { return (m+10)%12 + 1 }

func after(m time.Month) time.Month { return m%12 + 1 }

// ClimateImport is a file of months and what it is of.
type ClimateImport struct {
	Town    string // "" keeps the town that is noted
	Source  string // "" keeps what is noted
	CSV     []byte
	Version int // of the climate that the caller saw, 0 for none
}

// ClimateLook is what came, or would come, of a file of months.
type ClimateLook struct {
	File season.ClimateFile
	Next Climate // as it would be kept
	Why  string  // why it cannot be kept; "" when it can
}

// LookAtClimate reads a file of months over the climate there is, and keeps nothing.
// Months of the usual year that the file does not have stay as they are.
func LookAtClimate(old *Climate, in ClimateImport) (*ClimateLook, error) {
	f, err := season.ReadClimate(in.CSV)
	if err != nil {
		return nil, err
	}
	out := &ClimateLook{File: f, Next: Climate{Town: in.Town, Source: in.Source, Months: f.Climate, Version: in.Version}}
	absent := f.Absent()
	if old != nil {
		if out.Next.Town == "" {
			out.Next.Town = old.Town
		}
		if out.Next.Source == "" {
			out.Next.Source = old.Source
		}
		for _, m := range absent {
			out.Next.Months.Usual[m-1] = old.Months.Usual[m-1]
		}
		for at, m := range old.Months.Past {
			if _, newer := f.Climate.Past[at]; !newer {
				out.Next.Months.Past[at] = m
			}
		}
		absent = nil
	}
	if len(absent) > 0 {
		out.Why = "The usual year is not whole: " + monthsText(absent) + " is missing. Give all twelve months without a year."
	}
	return out, nil
}

// ImportClimate keeps the months of a file over the climate there is. Lines that make
// no sense are left out. It returns an Invalid error when the usual year would not be
// whole.
func (w *Workshop) ImportClimate(ctx context.Context, by domain.Actor, old *Climate, in ClimateImport) (*ClimateLook, error) {
	if err := May(by, ActClimate); err != nil {
		return nil, err
	}
	look, err := LookAtClimate(old, in)
	if err != nil {
		return nil, err
	}
	if look.Why != "" {
		return nil, &domain.Error{Kind: domain.Invalid, Text: look.Why, Fields: domain.Fields{"file": look.Why}}
	}
	if err := w.SetClimate(ctx, by, look.Next); err != nil {
		return nil, err
	}
	return look, nil
}
