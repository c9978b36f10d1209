package api

import (
	"context"
	"encoding/json"
	"net/http"

	"winterbench/domain/workshop"
)

// calcRow is a computation that can be asked for.
type calcRow struct {
	Name string `json:"name"`
	What string `json:"what"`
}

// OnCalc names a computation in the path.
type OnCalc struct {
	Name string `path:"name" maxLength:"40" doc:"Name of the computation"`
}

type calcIn struct {
	OnCalc
	Body json.RawMessage
}

type calcOut struct{ Body json.RawMessage }

// calcRoutes are the pure computations: nothing is read and nothing is stored,
// so nobody signs in.
func (a *API) calcRoutes() {
	o := operation{noun: "calc", open: true, method: http.MethodGet, path: "/calc", id: "list_calcs", summary: "The computations there are"}
	add(a, o, func(context.Context, *struct{}) (*many[calcRow], error) {
		return whole("", each(workshop.Calcs(), func(c workshop.Calc) calcRow { return calcRow{Name: c.Name, What: c.What} })), nil
	})
	o.path, o.id, o.summary = "/calc/{name}", "calc_example", "An input that works"
	add(a, o, func(_ context.Context, in *OnCalc) (*calcOut, error) {
		c, err := workshop.CalcNamed(in.Name)
		if err != nil {
			return nil, err
		}
		return &calcOut{Body: c.Example()}, nil
	})
	o.method, o.id, o.summary, o.about = http.MethodPost, "calc", "Compute; nothing is stored", "The same JSON in and out as winterbench calc NAME."
	add(a, o, func(_ context.Context, in *calcIn) (*calcOut, error) {
		c, err := workshop.CalcNamed(in.Name)
		if err != nil {
			return nil, err
		}
		out, err := c.Run(in.Body)
		if err != nil {
			return nil, err
		}
		return &calcOut{Body: out}, nil
	})
}
