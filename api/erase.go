package api

import (
	"bytes"
	"context"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// erasureDoc says that a customer was erased.
type erasureDoc struct {
	ID       int64     `json:"id"`
	Customer int64     `json:"customer"`
	Reason   string    `json:"reason"`
	Kept     string    `json:"kept" doc:"What stayed and until when"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
}

func erasureOf(e *workshop.Erasure) *read[erasureDoc] {
	return &read[erasureDoc]{Body: erasureDoc{ID: e.ID, Customer: int64(e.Customer), Reason: e.Reason, Kept: e.Kept, At: e.At, By: e.By}}
}

// EraseNote asks for a customer to be erased.
type EraseNote struct {
	Name   string `json:"name" doc:"The customer's name, so that nobody is erased by a slip"`
	Reason string `json:"reason" doc:"Why; at most 200 letters"`
}

type eraseIn struct {
	OnCustomer
	Body EraseNote
}

// zipOut is a file.
type zipOut struct {
	ContentType string `header:"Content-Type"`
	Body        []byte
}

func (a *API) eraseRoutes() {
	o := operation{noun: "customers", act: workshop.ActHandOut, method: http.MethodGet}
	o.id, o.path, o.summary = "hand_out_customer", "/customers/{customer}/everything", "All that is kept on a customer, as a zip file"
	o.about = "customer.json in it has the rows of every table that leads to the customer, money in the smallest unit of its currency; the photos lie beside it."
	add(a, o, a.handOut)
	o = operation{noun: "customers", act: workshop.ActErase, method: http.MethodPost, status: http.StatusCreated}
	o.id, o.path, o.summary = "erase_customer", "/customers/{customer}/erasure", "Erase what was typed about a customer, and the photos"
	o.about = "Measures, tasks, minutes and prices stay without a name. Invoices, payments and the journal stay as they are for the time that the shop keeps papers. Refused while an instrument is in the house or money is owed. It cannot be taken back."
	add(a, o, a.erase)
	o = operation{noun: "customers", act: workshop.ActRead, method: http.MethodGet}
	o.id, o.path, o.summary = "get_erasure", "/customers/{customer}/erasure", "How a customer was erased; 404 when they were not"
	add(a, o, func(ctx context.Context, in *OnCustomer) (*read[erasureDoc], error) {
		e, err := a.read.ErasureOf(ctx, domain.CustomerID(in.Customer))
		if err != nil {
			return nil, err
		}
		return erasureOf(e), nil
	})
}

func (a *API) handOut(ctx context.Context, in *OnCustomer) (*zipOut, error) {
	var zip bytes.Buffer
	if err := a.read.HandOut(ctx, domain.CustomerID(in.Customer), &zip); err != nil {
		return nil, err
	}
	return &zipOut{ContentType: "application/zip", Body: zip.Bytes()}, nil
}

func (a *API) erase(ctx context.Context, in *eraseIn) (*read[erasureDoc], error) {
	e, err := a.work.Erase(ctx, by(ctx), domain.CustomerID(in.Customer), in.Body.Name, in.Body.Reason)
	if err != nil {
		return nil, err
	}
	return erasureOf(e), nil
}
