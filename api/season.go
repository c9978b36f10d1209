package api

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// seasonDoc is what the coming weeks want against what there is.
type seasonDoc struct {
	Answer string       `json:"answer" doc:"In a sentence"`
	Model  string       `json:"model" doc:"What it was foretold with and how well that did, in words"`
	House  string       `json:"house" doc:"What is in the house already, in words"`
	Dry    dryDoc       `json:"dryness"`
	Kinds  []seasonKind `json:"kinds" doc:"What each kind of repair takes, learned from the shop's own jobs"`
	Weeks  []seasonWeek `json:"weeks"`
}

type seasonKind struct {
	Name     string `json:"name"`
	Jobs     int    `json:"jobs" doc:"That it was learned from"`
	Minutes  string `json:"minutes" doc:"At the bench, mean"`
	Held     string `json:"held" doc:"Share that goes into the cabinet, 0 to 1"`
	HoldDays string `json:"hold_days" doc:"Mean of those; 0 when none did"`
}

type likely struct {
	P10 string `json:"p10"`
	P50 string `json:"p50"`
	P90 string `json:"p90"`
}

type seasonWeek struct {
	From        string `json:"from" format:"date" doc:"Monday"`
	Arrivals    likely `json:"arrivals" doc:"Jobs"`
	Hours       likely `json:"hours" doc:"At the bench"`
	HoursThere  string `json:"hours_there"`
	Behind      string `json:"behind" doc:"Bench hours left over at the end of the week"`
	Places      likely `json:"places" doc:"In the cabinet"`
	PlacesThere int    `json:"places_there"`
	WaitChance  string `json:"wait_chance" doc:"That a hold finds every place taken, 0 to 1"`
	Overloaded  bool   `json:"overloaded"`
	Guessed     int    `json:"guessed" doc:"Kinds of which the owner said how many to expect"`
}

// triedDoc is the season under a change.
type triedDoc struct {
	Says   string       `json:"says" doc:"The change in words"`
	Over   int          `json:"over" doc:"Weeks that likely want more than there is"`
	Lacks  string       `json:"lacks" doc:"Bench hours that they lack together"`
	Behind string       `json:"behind" doc:"Bench hours, at the worst"`
	Wait   string       `json:"wait" doc:"Chance that a hold finds every place taken, in the worst week"`
	Usual  *queueWindow `json:"usual,omitempty" doc:"When the usual job that comes in the fullest week is done; left out when nobody knows"`
	Jobs   string       `json:"jobs" doc:"Done in these weeks"`
	Income string       `json:"income" doc:"More than without the change, roughly, before wages"`
	Weeks  []seasonWeek `json:"weeks"`
}

type whatIfDoc struct {
	Currency string   `json:"currency" doc:"Currency of all amounts, ISO 4217"`
	Answer   string   `json:"answer" doc:"In a sentence"`
	Now      triedDoc `json:"now"`
	Then     triedDoc `json:"then"`
}

// changeNote is what is tried out.
type changeNote struct {
	Days        int    `json:"days,omitempty" doc:"More bench days a week"`
	Hours       int    `json:"hours,omitempty" doc:"A week, of one more person at the bench"`
	Places      int    `json:"places,omitempty" doc:"More places in the cabinet"`
	SetUpsMoved int    `json:"set_ups_moved,omitempty" doc:"Percent of the winter's set-ups that come in summer instead"`
	ClosedWeek  string `json:"closed_week,omitempty" doc:"A day of the week that is closed, as a date"`
	Colder      int    `json:"colder,omitempty" doc:"Percent more arrivals"`
	Degrees     int    `json:"degrees,omitempty" doc:"By how many degrees Celsius it is colder outdoors; needs the climate of the town"`
}

func (n changeNote) change(f domain.Fields) workshop.Change {
	return workshop.Change{Days: n.Days, Hours: n.Hours, Places: n.Places, SetUpsMoved: n.SetUpsMoved, ClosedWeek: dateIn(f, "closed_week", n.ClosedWeek), Colder: n.Colder, Degrees: n.Degrees}
}

func changeOf(c workshop.Change) changeNote {
	return changeNote{Days: c.Days, Hours: c.Hours, Places: c.Places, SetUpsMoved: c.SetUpsMoved, ClosedWeek: string(c.ClosedWeek), Colder: c.Colder, Degrees: c.Degrees}
}

// scenarioDoc is a what-if that is kept.
type scenarioDoc struct {
	ID      int64      `json:"id"`
	Version int        `json:"version" doc:"Grows with each change"`
	Name    string     `json:"name"`
	Says    string     `json:"says" doc:"The change in words"`
	Change  changeNote `json:"change"`
}

func scenarioOf(s workshop.Scenario) scenarioDoc {
	return scenarioDoc{ID: s.ID, Version: s.Version, Name: s.Name, Says: s.What.Text(), Change: changeOf(s.What)}
}

// OnScenario names a what-if in the path.
type OnScenario struct {
	Scenario int64 `path:"scenario" minimum:"1" doc:"Identity of the what-if"`
}

type tryIn struct{ Body changeNote }

type keepIn struct {
	Body struct {
		Name   string     `json:"name" doc:"That no other what-if has"`
		Change changeNote `json:"change"`
	}
}

type renameIn struct {
	OnScenario
	Body struct {
		Name string `json:"name"`
	}
}

func (a *API) seasonRoutes() {
	o := operation{noun: "the season", act: workshop.ActReadBalance, method: http.MethodGet, path: "/season", id: "get_season", summary: "What the coming weeks want of bench and cabinet, against what there is"}
	add(a, o, a.season)
	o.method, o.path, o.id, o.summary, o.pure = http.MethodPost, "/season/what-if", "try_season", "The coming weeks with something changed, beside the weeks as they are", true
	add(a, o, a.trySeason)
	a.climateRoutes()
	o = operation{noun: "the season", act: workshop.ActReadBalance, method: http.MethodGet, path: "/scenarios", id: "list_scenarios", summary: "The what-ifs that are kept, by name"}
	add(a, o, a.scenarios)
	o.path, o.id, o.summary = "/scenarios/{scenario}", "get_scenario", "One what-if that is kept"
	add(a, o, func(ctx context.Context, in *OnScenario) (*one[scenarioDoc], error) {
		return a.scenario(ctx, in.Scenario, false)
	})
	o = operation{noun: "the season", act: workshop.ActScenario, method: http.MethodPost, path: "/scenarios", id: "keep_scenario", summary: "Keep a what-if under a name", status: http.StatusCreated}
	add(a, o, a.keepScenario)
	o = operation{noun: "the season", act: workshop.ActScenario, method: http.MethodPut, path: "/scenarios/{scenario}", id: "rename_scenario", summary: "Give a what-if another name", match: matchNeeded}
	add(a, o, a.renameScenario)
	o = operation{noun: "the season", act: workshop.ActScenario, method: http.MethodDelete, path: "/scenarios/{scenario}", id: "let_scenario_go", summary: "Take a what-if off the list; its row stays in the books", match: matchNeeded, status: http.StatusNoContent}
	add(a, o, func(ctx context.Context, in *OnScenario) (*struct{}, error) {
		return nil, a.staleScenario(ctx, in.Scenario, a.work.LetScenarioGo(a.seenScenario(ctx), by(ctx), in.Scenario))
	})
}

func (a *API) ahead(ctx context.Context) (*workshop.SeasonAhead, error) {
	if a.outlook == nil {
		return nil, domain.NotFoundf("this server does not work out the season")
	}
	return a.outlook.Season(ctx)
}

func (a *API) season(ctx context.Context, _ *struct{}) (*read[seasonDoc], error) {
	s, err := a.ahead(ctx)
	if err != nil {
		return nil, err
	}
	doc := seasonDoc{Answer: s.Answer, Model: s.Model, House: s.House, Weeks: each(s.Weeks, seasonWeekOf), Dry: dryOf(s.Dry)}
	doc.Kinds = each(s.Kinds, func(k workshop.SeasonKind) seasonKind {
		return seasonKind{Name: k.Name, Jobs: k.Jobs, Minutes: places(k.Minutes, 1), Held: places(k.Held, 3), HoldDays: places(k.HoldDays, 2)}
	})
	return &read[seasonDoc]{Body: doc}, nil
}

func places(x float64, n int) string { return strconv.FormatFloat(x, 'f', n, 64) }

func likelyOf(l workshop.Likely) likely {
	return likely{P10: places(l.P10, 2), P50: places(l.P50, 2), P90: places(l.P90, 2)}
}

func seasonWeekOf(w workshop.SeasonWeek) seasonWeek {
	return seasonWeek{
		From: string(w.Monday), Arrivals: likelyOf(w.Arrivals), Hours: likelyOf(w.Hands), HoursThere: places(w.HandsThere, 2), Behind: places(w.Backlog, 2),
		Places: likelyOf(w.Places), PlacesThere: w.PlacesThere, WaitChance: places(w.WaitChance, 4), Overloaded: w.Over(), Guessed: w.Guessed,
	}
}

func (a *API) trySeason(ctx context.Context, in *tryIn) (*read[whatIfDoc], error) {
	f := domain.Fields{}
	change := in.Body.change(f)
	if err := f.Err(); err != nil {
		return nil, err
	}
	s, err := a.ahead(ctx)
	if err != nil {
		return nil, err
	}
	now, then, err := s.Beside(change)
	if err != nil {
		return nil, err
	}
	c := s.Shop.Currency
	triedOf := func(t *workshop.Tried) triedDoc {
		return triedDoc{
			Says: t.What.Text(), Over: t.Over, Lacks: places(t.Short, 1), Behind: places(t.Backlog, 1), Wait: places(t.Wait, 4), Usual: queueWindowOf(t.Window),
			Jobs: places(t.Jobs, 1), Income: c.Text(t.Income), Weeks: each(t.Weeks, seasonWeekOf),
		}
	}
	return &read[whatIfDoc]{Body: whatIfDoc{Currency: c.Code, Answer: workshop.TriedAnswer(now, then), Now: triedOf(now), Then: triedOf(then)}}, nil
}

func (a *API) scenarios(ctx context.Context, _ *struct{}) (*many[scenarioDoc], error) {
	all, err := a.read.Scenarios(ctx)
	if err != nil {
		return nil, err
	}
	return whole("", each(all, scenarioOf)), nil
}

func (a *API) scenario(ctx context.Context, id int64, isNew bool) (*one[scenarioDoc], error) {
	s, err := a.read.ScenarioByID(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, s.Version, fmt.Sprintf("/scenarios/%d", id), scenarioOf(*s))
	}
	return answer(ctx, s.Version, scenarioOf(*s))
}

func (a *API) keepScenario(ctx context.Context, in *keepIn) (*one[scenarioDoc], error) {
	f := domain.Fields{}
	change := in.Body.Change.change(f)
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.KeepScenario(ctx, by(ctx), in.Body.Name, change)
	if err != nil {
		return nil, err
	}
	return a.scenario(ctx, id, true)
}

func (a *API) renameScenario(ctx context.Context, in *renameIn) (*one[scenarioDoc], error) {
	err := a.work.RenameScenario(a.seenScenario(ctx), by(ctx), in.Scenario, in.Body.Name)
	if err := a.staleScenario(ctx, in.Scenario, err); err != nil {
		return nil, err
	}
	return a.scenario(ctx, in.Scenario, false)
}

// seenScenario tells the use case which version the sender saw.
func (a *API) seenScenario(ctx context.Context) context.Context {
	return workshop.WithVersion(ctx, askedOf(ctx).seen)
}

func (a *API) staleScenario(ctx context.Context, id int64, err error) error {
	return stale(ctx, err, func() (int, error) {
		s, err := a.read.ScenarioByID(ctx, id)
		if err != nil {
			return 0, err
		}
		return s.Version, nil
	})
}
