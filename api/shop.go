package api

import (
	"context"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// OwnerNote is the first person of a shop, who wears every hat.
type OwnerNote struct {
	Name     string `json:"name"`
	Password string `json:"password" doc:"At least 12 letters; several words are easy to keep in mind"`
}

type foundingIn struct {
	Body founding
}

type founding struct {
	Code  string    `json:"code" doc:"The code that the program printed when it started on an empty database"`
	Shop  ShopNote  `json:"shop"`
	Owner OwnerNote `json:"owner"`
}

type shopIn struct{ Body ShopNote }

func (a *API) shopRoutes() {
	a.calendarRoutes()
	o := operation{noun: "shop", act: workshop.ActRead, method: http.MethodGet, path: "/shop", id: "get_shop", summary: "The shop's settings"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*one[shopDoc], error) { return a.shop(ctx, by(ctx)) })
	o = operation{noun: "shop", act: workshop.ActChangeShop, method: http.MethodPut, path: "/shop", id: "change_shop", summary: "Change the shop's settings", match: matchNeeded,
		about: "What was said and billed keeps its figures. The currency is fixed once the shop is open."}
	add(a, o, a.changeShop)
	o = operation{noun: "shop", open: true, method: http.MethodPost, path: "/shop", id: "set_up", summary: "Open an empty shop: settings and the first person", status: http.StatusCreated,
		about: "It works once. Afterwards make a token for that person: winterbench staff token NAME."}
	add(a, o, a.setUp)
}

func (a *API) shop(ctx context.Context, by domain.Actor) (*one[shopDoc], error) {
	s, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	return answer(ctx, s.Version, shopOf(s, by))
}

func (a *API) changeShop(ctx context.Context, in *shopIn) (*one[shopDoc], error) {
	s, err := in.Body.domain()
	if err != nil {
		return nil, err
	}
	s.Version = askedOf(ctx).seen
	if err := a.work.ChangeShop(ctx, by(ctx), s); err != nil {
		return nil, stale(ctx, err, func() (int, error) {
			now, err := a.read.ShopSettings(ctx)
			if err != nil {
				return 0, err
			}
			return now.Version, nil
		})
	}
	return a.shop(ctx, by(ctx))
}

func (a *API) setUp(ctx context.Context, in *foundingIn) (*one[shopDoc], error) {
	s, err := in.Body.Shop.domain()
	if err != nil {
		f := domain.Fields{}
		f.AddErr("shop", err)
		return nil, f.Err()
	}
	id, err := a.work.SetUpByCode(ctx, workshop.Founding{Shop: s, Owner: in.Body.Owner.Name, Password: in.Body.Owner.Password}, in.Body.Code)
	if err != nil {
		return nil, err
	}
	out, err := a.shop(ctx, domain.Actor{Staff: id, Name: in.Body.Owner.Name, Roles: domain.Roles()})
	if err == nil {
		out.Location = Root + "/shop"
	}
	return out, err
}
