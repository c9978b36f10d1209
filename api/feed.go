package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// feedDoc is a calendar that other programs fetch by a secret address.
type feedDoc struct {
	ID      int64      `json:"id"`
	Staff   *int64     `json:"staff" doc:"Whose work it holds; null: the whole shop's"`
	Name    string     `json:"name"`
	Created time.Time  `json:"created"`
	By      string     `json:"by"`
	Used    *time.Time `json:"used" doc:"To about an hour"`
	Revoked *time.Time `json:"revoked"`
	Expires *time.Time `json:"expires" doc:"When it ends"`
}

func feedOf(f workshop.Feed) feedDoc {
	d := feedDoc{ID: f.ID, Name: f.Name, Created: f.Created.UTC(), By: f.By, Used: moment(f.Used), Revoked: moment(f.Revoked), Expires: moment(f.Expires)}
	if f.Staff != 0 {
		id := int64(f.Staff)
		d.Staff = &id
	}
	return d
}

type feedIn struct{ Body feedNote }

type feedNote struct {
	Name string `json:"name" doc:"What it is for"`
	Shop bool   `json:"shop,omitempty" doc:"The whole shop's, which the owner makes; else your own"`
}

type feedOut struct {
	CacheControl string `header:"Cache-Control"`
	Body         newFeed
}

// newFeed is an address that was just made.
type newFeed struct {
	Name string `json:"name"`
	Path string `json:"path" doc:"Below the address of this shop; who knows it reads the calendar (RFC 5545) without signing in. It cannot be shown again"`
}

type renewedOut struct {
	CacheControl string `header:"Cache-Control"`
	Body         newAddress
}

// newAddress is the address that a renewed calendar has from now on.
type newAddress struct {
	Path string `json:"path" doc:"Below the address of this shop. It cannot be shown again"`
}

// OnFeed names a calendar in the path.
type OnFeed struct {
	Feed int64 `path:"feed" minimum:"1" doc:"Identity of the calendar"`
}

func (a *API) feedRoutes() {
	o := operation{noun: "feeds", act: workshop.ActFeed, method: http.MethodGet, path: "/feeds", id: "list_feeds", summary: "Calendar addresses: your own, for an owner all"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[feedDoc], error) {
		all, err := a.feedsFor(ctx, by(ctx))
		if err != nil {
			return nil, err
		}
		return whole("", each(all, feedOf)), nil
	})
	o = operation{noun: "feeds", act: workshop.ActFeed, method: http.MethodPost, path: "/feeds", id: "add_feed", summary: "Make a calendar address", status: http.StatusCreated, noKey: true}
	add(a, o, func(ctx context.Context, in *feedIn) (*feedOut, error) {
		whose := by(ctx).Staff
		if in.Body.Shop {
			whose = 0
		}
		secret, err := a.work.AddFeed(ctx, by(ctx), whose, in.Body.Name)
		if err != nil {
			return nil, err
		}
		return &feedOut{CacheControl: "no-store", Body: newFeed{Name: in.Body.Name, Path: "/feeds/" + secret + ".ics"}}, nil
	})
	o = operation{noun: "feeds", act: workshop.ActFeed, method: http.MethodPost, path: "/feeds/{feed}/renew", id: "renew_feed", summary: "Make a new address for a calendar and end the old one", status: http.StatusCreated, noKey: true}
	add(a, o, func(ctx context.Context, in *OnFeed) (*renewedOut, error) {
		secret, err := a.work.RenewFeed(ctx, by(ctx), in.Feed)
		if err != nil {
			return nil, err
		}
		return &renewedOut{CacheControl: "no-store", Body: newAddress{Path: "/feeds/" + secret + ".ics"}}, nil
	})
	o = operation{noun: "feeds", act: workshop.ActFeed, method: http.MethodDelete, path: "/feeds/{feed}", id: "revoke_feed", summary: "End a calendar address", status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *OnFeed) (*struct{}, error) {
		return nil, a.work.RevokeFeed(ctx, by(ctx), in.Feed)
	})
}

func (a *API) feedsFor(ctx context.Context, who domain.Actor) ([]workshop.Feed, error) {
	if who.Wears(domain.Owner) {
		return a.read.AllFeeds(ctx)
	}
	return a.read.FeedsOf(ctx, who.Staff)
}
