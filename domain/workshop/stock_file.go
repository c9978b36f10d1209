package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// listsOf reads what a file of parts refers to.
func listsOf(ctx context.Context, tx Tx) (stock.Lists, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return stock.Lists{}, err
	}
	l := stock.Lists{Currency: shop.Currency}
	if l.Parts, err = tx.Parts(ctx); err != nil {
		return l, err
	}
	l.Suppliers, err = tx.Suppliers(ctx)
	return l, err
}

// TryParts says what a file of parts would do, and names every row that is wrong.
// Nothing is kept.
func (w *Workshop) TryParts(ctx context.Context, by domain.Actor, file []byte) (out *stock.PartsFile, err error) {
	if err := May(by, ActPart); err != nil {
		return nil, err
	}
	err = w.store.InTx(ctx, func(tx Tx) error {
		l, err := listsOf(ctx, tx)
		if err != nil {
			return err
		}
		out, err = stock.ReadParts(file, l)
		return err
	})
	return out, err
}

// ImportParts keeps a file of parts, all of it or nothing: one row that is wrong
// refuses the file. It returns how many parts were added or changed.
func (w *Workshop) ImportParts(ctx context.Context, by domain.Actor, file []byte) (int, error) {
	n, err := w.do(ctx, by, ActPart, func(tx Tx, at time.Time) (int64, error) {
		l, err := listsOf(ctx, tx)
		if err != nil {
			return 0, err
		}
		in, err := stock.ReadParts(file, l)
		if err != nil {
			return 0, err
		}
		if err := refuseRows(in.Wrong); err != nil {
			return 0, err
		}
		for i := range in.Added {
			if err := tx.AddPart(ctx, &in.Added[i]); err != nil {
				return 0, err
			}
		}
		for i := range in.Changed {
			if err := tx.SavePart(ctx, &in.Changed[i]); err != nil {
				return 0, err
			}
		}
		what := fmt.Sprintf("read a file of parts: %d new, %d changed", len(in.Added), len(in.Changed))
		return int64(len(in.Added) + len(in.Changed)), note(ctx, tx, 0, by, at, what, "", "")
	})
	return int(n), err
}

// refuseRows refuses a file with rows that are wrong, and names the first.
func refuseRows(wrong []stock.RowError) error {
	if len(wrong) == 0 {
		return nil
	}
	text := fmt.Sprintf("has %s that cannot be taken, the first on line %d: %s; nothing was kept", inNumber(len(wrong), "row", "rows"), wrong[0].Line, wrong[0].Text)
	return &domain.Error{Kind: domain.Invalid, Text: "the file " + text, Fields: domain.Fields{"file": text}}
}

// TryCount says what a file of a count holds, and names every row that is wrong.
func (w *Workshop) TryCount(ctx context.Context, by domain.Actor, file []byte) (out *stock.CountsFile, err error) {
	if err := May(by, ActCount); err != nil {
		return nil, err
	}
	err = w.store.InTx(ctx, func(tx Tx) error {
		parts, err := tx.Parts(ctx)
		if err != nil {
			return err
		}
		out, err = stock.ReadCount(file, parts)
		return err
	})
	return out, err
}

// ImportCount enters the count of a file, all of it or nothing; it is posted like any
// other sheet, see EnterCount.
func (w *Workshop) ImportCount(ctx context.Context, by domain.Actor, place string, file []byte) (domain.CountID, error) {
	in, err := w.TryCount(ctx, by, file)
	if err != nil {
		return 0, err
	}
	if err := refuseRows(in.Wrong); err != nil {
		return 0, err
	}
	return w.EnterCount(ctx, by, place, in.Lines)
}
