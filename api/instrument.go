package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/workshop"
)

// instrumentRow is an instrument in a list.
type instrumentRow struct {
	ID     int64  `json:"id"`
	Owner  int64  `json:"owner" doc:"Identity of the customer"`
	Name   string `json:"name" doc:"Name of the owner"`
	Title  string `json:"title" doc:"The instrument in a line"`
	Serial string `json:"serial"`
}

// InstrumentNote is what is noted of an instrument. Top, back and sides are told
// apart because laminated plates move far less with the air than solid ones.
type InstrumentNote struct {
	Owner  int64           `json:"owner" minimum:"1" doc:"Identity of the customer"`
	Kind   word[kindWords] `json:"kind"`
	Maker  string          `json:"maker,omitempty"`
	Model  string          `json:"model,omitempty"`
	Serial string          `json:"serial,omitempty" doc:"Left out when it has none; then identity tells it"`
	Made   string          `json:"made,omitempty" doc:"Year or decade as known"`

	TopWood           string                  `json:"top_wood,omitempty"`
	TopConstruction   word[constructionWords] `json:"top_construction,omitempty" doc:"unknown when left out"`
	BackWood          string                  `json:"back_wood,omitempty"`
	BackConstruction  word[constructionWords] `json:"back_construction,omitempty" doc:"unknown when left out"`
	SidesWood         string                  `json:"sides_wood,omitempty"`
	SidesConstruction word[constructionWords] `json:"sides_construction,omitempty" doc:"unknown when left out"`
	Board             string                  `json:"board,omitempty" doc:"Wood of the fingerboard"`

	Binding  string `json:"binding,omitempty"`
	Finish   string `json:"finish,omitempty"`
	Bracing  string `json:"bracing,omitempty"`
	Identity string `json:"identity,omitempty" doc:"Marks to know it by"`
	Note     string `json:"note,omitempty"`
}

// instrumentDoc is an instrument with its history.
type instrumentDoc struct {
	ID      int64     `json:"id"`
	Version int       `json:"version" doc:"Grows with each change"`
	Since   time.Time `json:"since"`
	Title   string    `json:"title" doc:"The instrument in a line"`
	Caution string    `json:"caution" doc:"About protected woods; empty for none. Lists change: check the current one and local law"`
	InstrumentNote
}

// OnInstrument names an instrument in the path.
type OnInstrument struct {
	Instrument int64 `path:"instrument" minimum:"1" doc:"Identity of the instrument"`
}

type instrumentIn struct{ Body InstrumentNote }

type instrumentChangeIn struct {
	OnInstrument
	Body InstrumentNote
}

func (a *API) instrumentRoutes() {
	o := operation{noun: "instruments", act: workshop.ActRead, method: http.MethodGet, path: "/instruments/{instrument}", id: "get_instrument", summary: "One instrument; its visits are GET " + Root + "/jobs?instrument="}
	add(a, o, func(ctx context.Context, in *OnInstrument) (*one[instrumentDoc], error) {
		return a.instrument(ctx, in.Instrument, false)
	})

	o = operation{noun: "instruments", act: workshop.ActInstrument, method: http.MethodPost, path: "/instruments", id: "add_instrument", summary: "Note a new instrument", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *instrumentIn) (*one[instrumentDoc], error) {
		id, err := a.work.NoteInstrument(ctx, by(ctx), in.Body.domain(0, 0))
		if err != nil {
			return nil, err
		}
		return a.instrument(ctx, int64(id), true)
	})
	o = operation{noun: "instruments", act: workshop.ActInstrument, method: http.MethodPut, path: "/instruments/{instrument}", id: "change_instrument", summary: "Change an instrument", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *instrumentChangeIn) (*one[instrumentDoc], error) {
		id := domain.InstrumentID(in.Instrument)
		if _, err := a.work.NoteInstrument(ctx, by(ctx), in.Body.domain(id, askedOf(ctx).seen)); err != nil {
			return nil, stale(ctx, err, func() (int, error) {
				x, err := a.read.InstrumentByID(ctx, id)
				if err != nil {
					return 0, err
				}
				return x.Version, nil
			})
		}
		return a.instrument(ctx, in.Instrument, false)
	})
}

func (n InstrumentNote) domain(id domain.InstrumentID, version int) customer.Instrument {
	plate := func(wood string, c word[constructionWords]) customer.Plate {
		return customer.Plate{Wood: wood, Construction: customer.Construction(c)}
	}
	return customer.Instrument{
		ID: id, Version: version, Owner: domain.CustomerID(n.Owner), Kind: string(n.Kind), Maker: n.Maker, Model: n.Model, Serial: n.Serial, Made: n.Made,
		Top: plate(n.TopWood, n.TopConstruction), Back: plate(n.BackWood, n.BackConstruction), Sides: plate(n.SidesWood, n.SidesConstruction),
		Board: n.Board, Binding: n.Binding, Finish: n.Finish, Bracing: n.Bracing, Identity: n.Identity, Note: n.Note,
	}
}

func (a *API) instrument(ctx context.Context, id int64, isNew bool) (*one[instrumentDoc], error) {
	in, err := a.read.InstrumentByID(ctx, domain.InstrumentID(id))
	if err != nil {
		return nil, err
	}
	doc := instrumentDoc{
		ID: int64(in.ID), Version: in.Version, Since: in.Since, Title: in.Title(), Caution: in.Protected(),
		InstrumentNote: InstrumentNote{
			Owner: int64(in.Owner), Kind: word[kindWords](in.Kind), Maker: in.Maker, Model: in.Model, Serial: in.Serial, Made: in.Made,
			TopWood: in.Top.Wood, TopConstruction: word[constructionWords](in.Top.Construction), BackWood: in.Back.Wood, BackConstruction: word[constructionWords](in.Back.Construction),
			SidesWood: in.Sides.Wood, SidesConstruction: word[constructionWords](in.Sides.Construction), Board: in.Board,
			Binding: in.Binding, Finish: in.Finish, Bracing: in.Bracing, Identity: in.Identity, Note: in.Note,
		},
	}
	if isNew {
		return made(ctx, in.Version, fmt.Sprintf("/instruments/%d", id), doc)
	}
	return answer(ctx, in.Version, doc)
}
