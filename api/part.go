package api

import (
	"context"
	"fmt"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// partDoc is something the shop fits, sells or uses up.
type partDoc struct {
	ID       int64               `json:"id"`
	Version  int                 `json:"version" doc:"Grows with each change"`
	Currency string              `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Code     string              `json:"code"`
	Name     string              `json:"name"`
	Unit     word[unitWords]     `json:"unit"`
	Kind     word[partKindWords] `json:"kind"`
	Price    string              `json:"price" doc:"List price for one unit"`
	Cost     string              `json:"cost,omitempty" doc:"What one unit costs the shop, before tax; for the owner alone"`
	Retired  bool                `json:"retired" doc:"No longer offered"`
	Kept     bool                `json:"kept" doc:"Stock is kept of it"`
	Stock    shelfNote           `json:"stock"`
}

func partOf(p *stock.Part, c money.Currency, by domain.Actor) partDoc {
	doc := partDoc{
		ID: int64(p.ID), Version: p.Version, Currency: c.Code, Code: p.Code, Name: p.Name, Unit: word[unitWords](p.Unit), Kind: word[partKindWords](p.Kind),
		Price: c.Text(p.Price), Retired: p.Retired, Kept: p.Kept, Stock: shelfNoteOf(p),
	}
	if workshop.May(by, workshop.ActReadBalance) == nil {
		doc.Cost = c.Text(p.Cost)
	}
	return doc
}

type partNote struct {
	Code    string              `json:"code" doc:"Short and stable, such as strings-set"`
	Name    string              `json:"name"`
	Unit    word[unitWords]     `json:"unit"`
	Kind    word[partKindWords] `json:"kind"`
	Price   string              `json:"price" doc:"List price for one unit"`
	Cost    string              `json:"cost,omitempty" doc:"What one unit costs the shop, before tax; 0 when left out"`
	Retired bool                `json:"retired,omitempty" doc:"No longer offered"`
	Stock   *shelfNote          `json:"stock,omitempty" doc:"Shelf, supplier and origin; left out: as they are"`
}

// OnPart names a part in the path.
type OnPart struct {
	Part int64 `path:"part" minimum:"1" doc:"Identity of the part"`
}

type partIn struct{ Body partNote }

type partChangeIn struct {
	OnPart
	Body partNote
}

func (a *API) partRoutes() {
	o := operation{noun: "parts", act: workshop.ActRead, method: http.MethodGet, path: "/parts", id: "list_parts", summary: "Parts by name, also those no longer offered"}
	add(a, o, a.parts)
	o.path, o.id, o.summary = "/parts/{part}", "get_part", "One part"
	add(a, o, func(ctx context.Context, in *OnPart) (*one[partDoc], error) {
		return a.part(ctx, domain.PartID(in.Part), false)
	})
	o = operation{noun: "parts", act: workshop.ActPart, method: http.MethodPost, path: "/parts", id: "add_part", summary: "Add a part to the list", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *partIn) (*one[partDoc], error) {
		id, err := a.notePart(ctx, in.Body, 0)
		if err != nil {
			return nil, err
		}
		return a.part(ctx, id, true)
	})
	o = operation{noun: "parts", act: workshop.ActPart, method: http.MethodPut, path: "/parts/{part}", id: "change_part", summary: "Change a part; what was used keeps its price", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *partChangeIn) (*one[partDoc], error) {
		id := domain.PartID(in.Part)
		if _, err := a.notePart(ctx, in.Body, id); err != nil {
			return nil, stale(ctx, err, func() (int, error) {
				p, err := a.read.PartByID(ctx, id)
				if err != nil {
					return 0, err
				}
				return p.Version, nil
			})
		}
		return a.part(ctx, id, false)
	})
}

func (a *API) parts(ctx context.Context, _ *struct{}) (*many[partDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	all, err := a.read.PartList(ctx)
	if err != nil {
		return nil, err
	}
	return whole(c.Code, each(all, func(p stock.Part) partDoc { return partOf(&p, c, by(ctx)) })), nil
}

func (a *API) part(ctx context.Context, id domain.PartID, isNew bool) (*one[partDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	p, err := a.read.PartByID(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, p.Version, fmt.Sprintf("/parts/%d", id), partOf(p, c, by(ctx)))
	}
	return answer(ctx, p.Version, partOf(p, c, by(ctx)))
}

func (a *API) notePart(ctx context.Context, n partNote, id domain.PartID) (domain.PartID, error) {
	c, err := a.currency(ctx)
	if err != nil {
		return 0, err
	}
	f := domain.Fields{}
	p := stock.Part{
		ID: id, Version: askedOf(ctx).seen, Code: n.Code, Name: n.Name, Unit: string(n.Unit), Kind: money.LineKind(n.Kind),
		Price: amountIn(f, "price", n.Price, c), Cost: amountIn(f, "cost", n.Cost, c), Retired: n.Retired,
	}
	if n.Stock == nil && id != 0 {
		old, err := a.read.PartByID(ctx, id)
		if err != nil {
			return 0, err
		}
		shelfNoteOf(old).into(f, &p)
	} else if n.Stock != nil {
		n.Stock.into(f, &p)
	}
	if err := f.Err(); err != nil {
		return 0, err
	}
	return a.work.NotePart(ctx, by(ctx), p)
}
