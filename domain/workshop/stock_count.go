package workshop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// EnterCount keeps a sheet of what was found, with what was expected at this moment.
// Nothing moves before it is posted, except that a sheet without any difference is
// posted at once.
func (w *Workshop) EnterCount(ctx context.Context, by domain.Actor, place string, lines []stock.CountLine) (domain.CountID, error) {
	id, err := w.do(ctx, by, ActCount, func(tx Tx, at time.Time) (int64, error) {
		c := stock.CountSheet{Shelf: place, Lines: slices.Clone(lines), At: at, By: by.Name}
		if err := c.Check(); err != nil {
			return 0, err
		}
		slices.SortFunc(c.Lines, func(a, b stock.CountLine) int { return cmp.Compare(a.Part, b.Part) })
		for i := range c.Lines {
			l := &c.Lines[i]
			s, err := shelfFor(ctx, tx, l.Part)
			if err != nil {
				return 0, err
			}
			l.Expected, l.Move = s.level.Quantity, 0
			if err := keepFrom(ctx, tx, s); err != nil {
				return 0, err
			}
		}
		if !slices.ContainsFunc(c.Lines, func(l stock.CountLine) bool { return l.Difference() != 0 }) {
			c.Posted, c.PostedBy = at, by.Name
		}
		if err := tx.AddCountSheet(ctx, &c); err != nil {
			return 0, err
		}
		return int64(c.ID), note(ctx, tx, 0, by, at, "counted "+inNumber(len(c.Lines), "part", "parts"), "", c.Shelf)
	})
	return domain.CountID(id), err
}

// keepFrom begins to keep stock of a part with an empty level.
func keepFrom(ctx context.Context, tx Tx, s shelf) error {
	if s.part.Kept {
		return nil
	}
	s.part.Kept = true
	if err := tx.SavePart(ctx, s.part); err != nil {
		return err
	}
	return tx.SaveLevel(ctx, s.level)
}

// PostCount posts the differences of a sheet, each with its reason by part. What moved
// since the sheet was entered stays moved: the difference is what is posted.
func (w *Workshop) PostCount(ctx context.Context, by domain.Actor, id domain.CountID, reasons map[domain.PartID]string) error {
	_, err := w.do(ctx, by, ActCount, func(tx Tx, at time.Time) (int64, error) {
		c, err := openCount(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		if err := reasoned(c, reasons); err != nil {
			return 0, err
		}
		var moved []domain.PartID
		for i := range c.Lines {
			did, err := w.postLine(ctx, tx, &c.Lines[i], by, at)
			if err != nil {
				return 0, err
			}
			if did {
				moved = append(moved, c.Lines[i].Part)
			}
		}
		c.Posted, c.PostedBy = at, by.Name
		if err := tx.SaveCountSheet(ctx, c); err != nil {
			return 0, err
		}
		if err := note(ctx, tx, 0, by, at, "posted a count with "+inNumber(len(moved), "difference", "differences"), "", c.Shelf); err != nil {
			return 0, err
		}
		return int64(id), w.settle(ctx, tx, by, at, nil, moved...)
	})
	return err
}

func openCount(ctx context.Context, tx Tx, id domain.CountID) (*stock.CountSheet, error) {
	c, err := tx.CountSheet(ctx, id)
	if err != nil {
		return nil, err
	}
	switch {
	case c.Dropped != "":
		return nil, domain.Conflictf("this count was dropped: %s", c.Dropped)
	case !c.Posted.IsZero():
		return nil, domain.Conflictf("this count was posted by %s before", c.PostedBy)
	}
	return c, nil
}

// reasoned puts the reasons on the lines; each difference needs one.
func reasoned(c *stock.CountSheet, reasons map[domain.PartID]string) error {
	f := domain.Fields{}
	for i := range c.Lines {
		l := &c.Lines[i]
		typed := reasons[l.Part]
		if typed == "" {
			typed = l.Reason
		}
		l.Reason = domain.Line(f, fmt.Sprintf("reasons[%d]", l.Part), typed, 120, l.Difference() != 0)
	}
	return f.Err()
}

// postLine moves the difference of one line and reports whether there was one.
func (w *Workshop) postLine(ctx context.Context, tx Tx, l *stock.CountLine, by domain.Actor, at time.Time) (bool, error) {
	if l.Difference() == 0 {
		return false, nil
	}
	s, err := keptShelf(ctx, tx, l.Part)
	if err != nil {
		return false, err
	}
	found := s.level.Quantity + l.Difference()
	if found < 0 {
		return false, domain.Conflictf("%s of %s left the shelf since it was counted; drop this count and count again", QuantityWords(l.Expected-s.level.Quantity, s.part.Unit), s.part.Name)
	}
	m, ok, err := s.level.Count(found, s.part.Cost, l.Reason)
	if err != nil || !ok {
		return false, err
	}
	if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
		return false, err
	}
	l.Move = m.ID
	return true, nil
}

// DropCount throws a sheet away before it was posted.
func (w *Workshop) DropCount(ctx context.Context, by domain.Actor, id domain.CountID, why string) error {
	_, err := w.do(ctx, by, ActCount, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		why = domain.Line(f, "reason", why, 120, true)
		if err := f.Err(); err != nil {
			return 0, err
		}
		c, err := openCount(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		c.Dropped = why
		if err := tx.SaveCountSheet(ctx, c); err != nil {
			return 0, err
		}
		return int64(id), note(ctx, tx, 0, by, at, "dropped a count", "", why)
	})
	return err
}
