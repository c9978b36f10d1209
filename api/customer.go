package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// customerRow is a customer in a list.
type customerRow struct {
	ID          int64  `json:"id"`
	Name        string `json:"name"`
	Phone       string `json:"phone"`
	Email       string `json:"email"`
	Instruments int    `json:"instruments" doc:"How many are known"`
	OpenJobs    int    `json:"open_jobs" doc:"Jobs neither collected nor closed"`
}

func customerRowOf(r workshop.CustomerRow) customerRow {
	return customerRow{ID: int64(r.ID), Name: r.Name, Phone: r.Phone, Email: r.Email, Instruments: r.Instruments, OpenJobs: r.OpenJobs}
}

// CustomerNote is what is noted of a customer.
type CustomerNote struct {
	Name       string              `json:"name" doc:"As it stands on paper; at most 120 letters"`
	Phone      string              `json:"phone,omitempty"`
	Email      string              `json:"email,omitempty"`
	Address    string              `json:"address,omitempty" doc:"Several lines"`
	Contact    word[contactWords]  `json:"contact,omitempty" doc:"How the customer wants to hear from the shop; phone when left out"`
	Note       string              `json:"note,omitempty"`
	Exempt     *exemption          `json:"exempt,omitempty" doc:"Left out: pays tax like everybody"`
	Electronic *electronicCustomer `json:"electronic,omitempty" doc:"What electronic invoices say of the customer"`
}

// exemption frees a customer from taxes; the owner checks and keeps its paper.
type exemption struct {
	Reason      word[reasonWords]     `json:"reason"`
	Certificate string                `json:"certificate" doc:"Number of the paper"`
	From        string                `json:"from,omitempty" format:"date" doc:"First day"`
	To          string                `json:"to,omitempty" format:"date" doc:"Last day; left out: open"`
	Components  []string              `json:"components,omitempty" doc:"Names of the taxes it lifts; none: all"`
	Kinds       []word[lineKindWords] `json:"kinds,omitempty" doc:"The kinds of lines it is for; none: all"`
}

// customerDoc is a customer with everything known.
type customerDoc struct {
	ID      int64     `json:"id"`
	Version int       `json:"version" doc:"Grows with each change"`
	Since   time.Time `json:"since"`
	CustomerNote
	Instruments []instrumentRow `json:"instruments"`
}

// OnCustomer names a customer in the path.
type OnCustomer struct {
	Customer int64 `path:"customer" minimum:"1" doc:"Identity of the customer"`
}

type customerIn struct{ Body CustomerNote }

type customerChangeIn struct {
	OnCustomer
	Body CustomerNote
}

type customersIn struct {
	Paged
	Q string `query:"q" maxLength:"100" doc:"Words out of name, phone or email; none: all"`
}

func (a *API) customerRoutes() {
	o := operation{noun: "customers", act: workshop.ActRead}
	o.id, o.method, o.path, o.summary = "list_customers", http.MethodGet, "/customers", "Customers by name"
	add(a, o, a.customers)
	o.id, o.path, o.summary = "get_customer", "/customers/{customer}", "One customer with the instruments"
	add(a, o, func(ctx context.Context, in *OnCustomer) (*one[customerDoc], error) {
		return a.customer(ctx, in.Customer, false)
	})

	o = operation{noun: "customers", act: workshop.ActCustomer, method: http.MethodPost, path: "/customers", id: "add_customer", summary: "Note a new customer", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *customerIn) (*one[customerDoc], error) {
		id, err := a.noteCustomer(ctx, in.Body, 0, 0)
		if err != nil {
			return nil, err
		}
		return a.customer(ctx, int64(id), true)
	})
	o = operation{noun: "customers", act: workshop.ActCustomer, method: http.MethodPut, path: "/customers/{customer}", id: "change_customer", summary: "Change a customer", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *customerChangeIn) (*one[customerDoc], error) {
		_, err := a.noteCustomer(ctx, in.Body, domain.CustomerID(in.Customer), askedOf(ctx).seen)
		if err != nil {
			return nil, stale(ctx, err, func() (int, error) {
				c, err := a.read.CustomerByID(ctx, domain.CustomerID(in.Customer))
				if err != nil {
					return 0, err
				}
				return c.Version, nil
			})
		}
		return a.customer(ctx, in.Customer, false)
	})
}

func (a *API) customers(ctx context.Context, in *customersIn) (*many[customerRow], error) {
	rows, total, err := a.read.Customers(ctx, in.Q, in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, in.Paged, "", total, each(rows, customerRowOf)), nil
}

func (a *API) customer(ctx context.Context, id int64, isNew bool) (*one[customerDoc], error) {
	c, err := a.read.CustomerByID(ctx, domain.CustomerID(id))
	if err != nil {
		return nil, err
	}
	owned, err := a.read.InstrumentsOf(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	doc := customerDoc{
		ID: int64(c.ID), Version: c.Version, Since: c.Since,
		CustomerNote: CustomerNote{
			Name: c.Name, Phone: c.Phone, Email: c.Email, Address: c.Address, Contact: word[contactWords](c.Contact), Note: c.Note, Exempt: exemptionOf(c.Exempt), Electronic: electronicCustomerOf(c.Electronic),
		},
		Instruments: each(owned, func(in customer.Instrument) instrumentRow {
			return instrumentRow{ID: int64(in.ID), Owner: int64(in.Owner), Name: c.Name, Title: in.Title(), Serial: in.Serial}
		}),
	}
	if isNew {
		return made(ctx, c.Version, fmt.Sprintf("/customers/%d", id), doc)
	}
	return answer(ctx, c.Version, doc)
}

func exemptionOf(e *money.Exemption) *exemption {
	if e == nil {
		return nil
	}
	return &exemption{
		Reason: word[reasonWords](e.Reason), Certificate: e.Certificate, From: string(e.From), To: string(e.To), Components: e.Components,
		Kinds: each(e.Kinds, func(k money.LineKind) word[lineKindWords] { return word[lineKindWords](k) }),
	}
}

func (a *API) noteCustomer(ctx context.Context, n CustomerNote, id domain.CustomerID, version int) (domain.CustomerID, error) {
	c := customer.Customer{
		ID: id, Version: version, Name: n.Name, Phone: n.Phone, Email: n.Email, Address: n.Address, Contact: customer.Contact(n.Contact), Note: n.Note, Electronic: n.Electronic.domain(),
	}
	if e := n.Exempt; e != nil {
		f := domain.Fields{}
		c.Exempt = &money.Exemption{Reason: string(e.Reason), Certificate: e.Certificate, From: dateIn(f, "exempt.from", e.From), To: dateIn(f, "exempt.to", e.To), Components: e.Components}
		for _, k := range e.Kinds {
			c.Exempt.Kinds = append(c.Exempt.Kinds, money.LineKind(k))
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
	}
	return a.work.NoteCustomer(ctx, by(ctx), c)
}
