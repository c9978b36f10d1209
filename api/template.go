package api

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

type templateRow struct {
	Code    string           `json:"code"`
	Name    string           `json:"name"`
	Summary string           `json:"summary"`
	Phase   word[phaseWords] `json:"phase"`
	Unit    string           `json:"unit" doc:"Of the quantity; empty for each"`
	Edition int              `json:"edition" doc:"The newest"`
	BuiltIn bool             `json:"built_in" doc:"As the program brought it"`
	Retired bool             `json:"retired" doc:"Kept for old jobs, not offered for new ones"`
}

type editionRow struct {
	Edition int       `json:"edition"`
	Origin  string    `json:"origin" doc:"built-in or shop"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
}

// OnTemplate names a task template in the path.
type OnTemplate struct {
	Code string `path:"code" maxLength:"8" doc:"Code of the template, such as CG"`
}

type templateReadIn struct {
	OnTemplate
	Edition int `query:"edition" minimum:"1" doc:"The newest when left out"`
}

type templateIn struct {
	OnTemplate
	Body TemplateNote
}

func (a *API) templateRoutes() {
	read := operation{noun: "templates", act: workshop.ActRead, method: http.MethodGet}
	o := read
	o.path, o.id, o.summary = "/templates", "list_templates", "Task templates in the order of work"
	add(a, o, a.templates)
	o.path, o.id, o.summary = "/templates/{code}", "get_template", "One edition of a task template"
	add(a, o, func(ctx context.Context, in *templateReadIn) (*one[templateDoc], error) {
		return a.template(ctx, in.Code, in.Edition)
	})
	o.path, o.id, o.summary = "/templates/{code}/editions", "list_editions", "Editions of a task template, newest first"
	add(a, o, a.editions)
	o = operation{noun: "templates", act: workshop.ActTemplate, method: http.MethodPut, path: "/templates/{code}", id: "change_template", summary: "Keep a new edition, or a new template", match: matchMay,
		about: "Running jobs keep the edition they were quoted with. To change a template, send the ETag of its newest edition in If-Match; leave it out for a new code."}
	add(a, o, a.changeTemplate)
}

func (a *API) templates(ctx context.Context, _ *struct{}) (*many[templateRow], error) {
	have, err := a.read.NewestEditions(ctx)
	if err != nil {
		return nil, err
	}
	var all []templates.Template
	for _, code := range slices.Sorted(maps.Keys(have)) {
		all = append(all, have[code].Template)
	}
	return whole("", each(templates.Sort(all), func(t templates.Template) templateRow {
		e := have[t.Code]
		return templateRow{Code: t.Code, Name: t.Name, Summary: t.Summary, Phase: word[phaseWords](t.Phase.String()), Unit: t.Unit, Edition: e.Number, BuiltIn: e.BuiltIn, Retired: t.Retired}
	})), nil
}

func (a *API) newestEdition(ctx context.Context, code string) (int, error) {
	have, err := a.read.NewestEditions(ctx)
	return have[code].Number, err
}

func (a *API) template(ctx context.Context, code string, edition int) (*one[templateDoc], error) {
	newest, err := a.newestEdition(ctx, code)
	if err != nil {
		return nil, err
	}
	if newest == 0 {
		return nil, domain.NotFoundf("there is no task template %s", clip(code))
	}
	if edition == 0 {
		edition = newest
	}
	e, err := a.read.EditionOf(ctx, code, edition)
	if err != nil {
		return nil, err
	}
	return answer(ctx, edition, templateDoc{Edition: edition, Newest: newest, BuiltIn: e.BuiltIn, TemplateNote: templateOf(e.Template)})
}

func (a *API) editions(ctx context.Context, in *OnTemplate) (*many[editionRow], error) {
	all, err := a.read.EditionsOf(ctx, in.Code)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, domain.NotFoundf("there is no task template %s", clip(in.Code))
	}
	return whole("", each(all, func(e workshop.EditionNote) editionRow {
		return editionRow{Edition: e.Number, Origin: e.Origin, At: e.At.UTC(), By: e.By}
	})), nil
}

func (a *API) changeTemplate(ctx context.Context, in *templateIn) (*one[templateDoc], error) {
	t, err := in.Body.domain()
	if err != nil {
		return nil, err
	}
	if t.Code != in.Code {
		return nil, &domain.Error{Kind: domain.Invalid, Text: "the code is not that of the path", Fields: domain.Fields{"code": "must be that of the path"}}
	}
	n, err := a.work.NoteTemplate(ctx, by(ctx), t, askedOf(ctx).seen)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) { return a.newestEdition(ctx, t.Code) })
	}
	return a.template(ctx, t.Code, n)
}
