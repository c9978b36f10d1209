package api

import (
	"context"
	"net/http"
	"time"

	"winterbench/domain/workshop"
)

// linkDoc is a secret link to a customer's page; its address cannot be shown again.
type linkDoc struct {
	ID      int64      `json:"id"`
	Created time.Time  `json:"created"`
	By      string     `json:"by"`
	Expires time.Time  `json:"expires"`
	Used    *time.Time `json:"used" doc:"To about an hour"`
	Revoked *time.Time `json:"revoked"`
	Works   bool       `json:"works"`
}

type pageLinkIn struct {
	OnJob
	Body pageLinkNote
}

type pageLinkNote struct {
	Days int `json:"days,omitempty" minimum:"1" maximum:"365" doc:"For how many days it works; 90 when it is not given"`
}

type linkOut struct {
	CacheControl string `header:"Cache-Control"`
	Body         newLink
}

// newLink is a link that was just made.
type newLink struct {
	Path string `json:"path" doc:"Below the address of this shop; who knows it reads the job and answers its quote without signing in. It cannot be shown again"`
}

// onLink names a link of a job in the path.
type onLink struct {
	OnJob
	Link int64 `path:"link" minimum:"1" doc:"Identity of the link"`
}

func (a *API) linkRoutes() {
	o := operation{noun: "jobs", act: workshop.ActShare, method: http.MethodGet, path: "/jobs/{job}/links", id: "list_links", summary: "Secret links to the customer's page of a job, newest first"}
	add(a, o, func(ctx context.Context, in *OnJob) (*many[linkDoc], error) {
		if _, err := a.read.JobByID(ctx, in.job()); err != nil {
			return nil, err
		}
		all, err := a.read.LinksOf(ctx, in.job())
		if err != nil {
			return nil, err
		}
		now := a.work.Now()
		return whole("", each(all, func(l workshop.JobLink) linkDoc {
			return linkDoc{ID: l.ID, Created: l.Created.UTC(), By: l.By, Expires: l.Expires.UTC(), Used: moment(l.Used), Revoked: moment(l.Revoked), Works: l.Works(now)}
		})), nil
	})
	o = operation{noun: "jobs", act: workshop.ActShare, method: http.MethodPost, path: "/jobs/{job}/links", id: "add_link", summary: "Make a secret link to the customer's page of a job", status: http.StatusCreated, noKey: true}
	add(a, o, func(ctx context.Context, in *pageLinkIn) (*linkOut, error) {
		secret, err := a.work.AddJobLink(ctx, by(ctx), in.job(), in.Body.Days)
		if err != nil {
			return nil, err
		}
		return &linkOut{CacheControl: "no-store", Body: newLink{Path: workshop.LinkPath(secret)}}, nil
	})
	o = operation{noun: "jobs", act: workshop.ActShare, method: http.MethodDelete, path: "/jobs/{job}/links/{link}", id: "revoke_link", summary: "End a link to the customer's page of a job", status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *onLink) (*struct{}, error) {
		return nil, a.work.RevokeJobLink(ctx, by(ctx), in.job(), in.Link)
	})
}
