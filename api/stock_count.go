package api

import (
	"context"
	"fmt"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// OnCount names a count in the path.
type OnCount struct {
	Count int64 `path:"count" minimum:"1" doc:"Identity of the count"`
}

func (in OnCount) count() domain.CountID { return domain.CountID(in.Count) }

// foundNote is what was found of one part.
type foundNote struct {
	Part   int64  `json:"part" minimum:"1"`
	Found  string `json:"found" doc:"0 when it is not there"`
	Reason string `json:"reason,omitempty" doc:"Of a difference, when it is known already"`
}

// reasonNote is why a count differs.
type reasonNote struct {
	Part   int64  `json:"part" minimum:"1"`
	Reason string `json:"reason"`
}

type (
	countsIn struct{ Paged }
	countIn  struct {
		Body struct {
			Shelf string      `json:"shelf,omitempty"`
			Lines []foundNote `json:"lines"`
		}
	}
	postCountIn struct {
		OnCount
		Body struct {
			Reasons []reasonNote `json:"reasons,omitempty" doc:"Every difference needs one, here or when it was counted"`
		}
	}
	dropCountIn struct {
		OnCount
		Body struct {
			Reason string `json:"reason"`
		}
	}
	countImportIn struct {
		DryRun  bool   `query:"dry_run" doc:"Tell every wrong row and keep nothing"`
		Shelf   string `query:"shelf" doc:"The shelf that was counted"`
		RawBody []byte `contentType:"text/csv"`
	}
)

// countFileDoc is what a file of a count holds, and the count that it made.
type countFileDoc struct {
	Counted int           `json:"counted"`
	Empty   int           `json:"empty" doc:"Rows without a figure"`
	Wrong   []rowErrorDoc `json:"wrong"`
	Count   *int64        `json:"count" doc:"null on a dry run"`
}

func (a *API) countRoutes() {
	o := operation{noun: "counts", act: workshop.ActRead, method: http.MethodGet}
	o.path, o.id, o.summary = "/counts", "list_counts", "Counts of the shelf, newest first"
	add(a, o, func(ctx context.Context, in *countsIn) (*many[countDoc], error) {
		all, total, err := a.read.CountSheets(ctx, in.page())
		if err != nil {
			return nil, err
		}
		return paged(ctx, in.Paged, "", total, each(all, func(x stock.CountSheet) countDoc { return countOf(&x) })), nil
	})
	o.path, o.id, o.summary = "/counts/{count}", "get_count", "One count"
	add(a, o, func(ctx context.Context, in *OnCount) (*one[countDoc], error) { return a.count(ctx, in.count(), false) })
	o = operation{noun: "counts", act: workshop.ActCount, method: http.MethodPost, path: "/counts", id: "enter_count", summary: "Enter what was found; nothing moves before it is posted", status: http.StatusCreated}
	add(a, o, a.enterCount)
	o.path, o.id, o.summary, o.status = "/counts/{count}/post", "post_count", "Post the differences, each with its reason", 0
	add(a, o, a.postCount)
	o.path, o.id, o.summary = "/counts/{count}/drop", "drop_count", "Throw a count away before it is posted"
	add(a, o, func(ctx context.Context, in *dropCountIn) (*one[countDoc], error) {
		if err := a.work.DropCount(ctx, by(ctx), in.count(), in.Body.Reason); err != nil {
			return nil, err
		}
		return a.count(ctx, in.count(), false)
	})
	o.path, o.id, o.summary, o.body = "/counts/import", "import_count", "Enter the count of a CSV file with the columns code and found", stock.MaxFile
	o.about = "UTF-8. All of it is entered or nothing; a dry run names every wrong row. It is posted like any other count."
	add(a, o, a.importCount)
}

func (a *API) count(ctx context.Context, id domain.CountID, isNew bool) (*one[countDoc], error) {
	x, err := a.read.CountSheetByID(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, x.Version, fmt.Sprintf("/counts/%d", id), countOf(x))
	}
	return answer(ctx, x.Version, countOf(x))
}

func (a *API) enterCount(ctx context.Context, in *countIn) (*one[countDoc], error) {
	f := domain.Fields{}
	var lines []stock.CountLine
	for i, l := range in.Body.Lines {
		at := fmt.Sprintf("lines[%d].found", i)
		typedIn(f, at, l.Found)
		lines = append(lines, stock.CountLine{Part: domain.PartID(l.Part), Found: quantityIn(f, at, l.Found), Reason: l.Reason})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.EnterCount(ctx, by(ctx), in.Body.Shelf, lines)
	if err != nil {
		return nil, err
	}
	return a.count(ctx, id, true)
}

func (a *API) postCount(ctx context.Context, in *postCountIn) (*one[countDoc], error) {
	reasons := map[domain.PartID]string{}
	for _, r := range in.Body.Reasons {
		reasons[domain.PartID(r.Part)] = r.Reason
	}
	if err := a.work.PostCount(ctx, by(ctx), in.count(), reasons); err != nil {
		return nil, err
	}
	return a.count(ctx, in.count(), false)
}

func (a *API) importCount(ctx context.Context, in *countImportIn) (*read[countFileDoc], error) {
	look, err := a.work.TryCount(ctx, by(ctx), in.RawBody)
	if err != nil {
		return nil, err
	}
	out := &read[countFileDoc]{Body: countFileDoc{Counted: len(look.Lines), Empty: look.Empty, Wrong: rowErrors(look.Wrong)}}
	if in.DryRun {
		return out, nil
	}
	id, err := a.work.ImportCount(ctx, by(ctx), in.Shelf, in.RawBody)
	if err != nil {
		return nil, err
	}
	out.Body.Count = identity(id)
	return out, nil
}
