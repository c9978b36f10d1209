package api

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/season"
	"winterbench/domain/workshop"
)

// climateDoc is the outdoor climate of the shop's town.
type climateDoc struct {
	Version int    `json:"version" doc:"Grows with each change"`
	Answer  string `json:"answer" doc:"In a sentence"`
	ClimateNote
}

// ClimateNote is what the owner tells of the climate.
type ClimateNote struct {
	Town   string       `json:"town"`
	Source string       `json:"source,omitempty" doc:"Where the figures are from"`
	Usual  []MonthNote  `json:"usual" minItems:"12" maxItems:"12" doc:"A usual year, January first"`
	Past   []monthThere `json:"past,omitempty" maxItems:"240" doc:"Months of certain years as they were measured"`
}

// MonthNote is the outdoor air of a month, by its means.
type MonthNote struct {
	Celsius float64 `json:"celsius" minimum:"-60" maximum:"50" doc:"Temperature, to a tenth"`
	RH      float64 `json:"rh" minimum:"1" maximum:"100" doc:"Relative humidity in percent, to a tenth"`
}

type monthThere struct {
	Year  int `json:"year" minimum:"1900" maximum:"2200"`
	Month int `json:"month" minimum:"1" maximum:"12"`
	MonthNote
}

// dryDoc is what the dryness of the town's air says of the arrivals.
type dryDoc struct {
	Known       bool      `json:"known" doc:"The climate of the town is known"`
	Tried       bool      `json:"tried" doc:"There are records enough to tell"`
	Used        bool      `json:"used" doc:"It earned its place: the forecast goes by it"`
	Coefficient string    `json:"coefficient" doc:"Logarithm of the arrivals for air that is 10 percent drier"`
	Error       string    `json:"error" doc:"Its standard error"`
	Score       *scoreDoc `json:"score,omitempty" doc:"How well the last year was foretold with it"`
}

type scoreDoc struct {
	Weeks   int    `json:"weeks"`
	MASE    string `json:"mase" doc:"Scaled error; lower is better"`
	Pinball string `json:"pinball" doc:"Loss of the range, in jobs; lower is better"`
	Covered string `json:"covered" doc:"Share of the weeks within the range that should hold 0.8"`
}

func dryOf(d season.Dry) dryDoc {
	out := dryDoc{Known: d.Known, Tried: d.Tried, Used: d.Used, Coefficient: places(d.Coefficient, 3), Error: places(d.Error, 3)}
	if d.Tried {
		out.Score = &scoreDoc{Weeks: d.Score.Weeks, MASE: places(d.Score.MASE, 3), Pinball: places(d.Score.Pinball, 3), Covered: places(d.Score.Covered, 3)}
	}
	return out
}

func monthNoteOf(m season.Month) MonthNote { return MonthNote{Celsius: m.Celsius, RH: m.RH} }

func climateOf(c *workshop.Climate) climateDoc {
	out := climateDoc{Version: c.Version, Answer: workshop.ClimateAnswer(c), ClimateNote: ClimateNote{Town: c.Town, Source: c.Source, Usual: each(c.Months.Usual[:], monthNoteOf)}}
	for at, m := range c.Months.Past {
		out.Past = append(out.Past, monthThere{Year: at.Year, Month: at.Month, MonthNote: monthNoteOf(m)})
	}
	slices.SortFunc(out.Past, func(a, b monthThere) int { return cmp.Or(cmp.Compare(a.Year, b.Year), cmp.Compare(a.Month, b.Month)) })
	return out
}

func (n ClimateNote) domain(version int) workshop.Climate {
	out := workshop.Climate{Town: n.Town, Source: n.Source, Version: version, Months: season.Climate{Past: map[season.YearMonth]season.Month{}}}
	for i, m := range n.Usual {
		out.Months.Usual[i] = season.Month(m)
	}
	for _, m := range n.Past {
		out.Months.Past[season.YearMonth{Year: m.Year, Month: m.Month}] = season.Month(m.MonthNote)
	}
	return out
}

// climateLook is what came, or would come, of a file of months.
type climateLook struct {
	Usual   int            `json:"usual" doc:"Months of a usual year in the file"`
	Past    int            `json:"past" doc:"Months of certain years in the file"`
	Wrong   int            `json:"wrong" doc:"Lines that could not be taken"`
	Errors  []lineErrorDoc `json:"lines" doc:"The first 100 of those"`
	Columns string         `json:"columns" doc:"How the file was read"`
	Refused string         `json:"refused,omitempty" doc:"Why it cannot be kept"`
	Next    ClimateNote    `json:"climate" doc:"As it is kept, or would be"`
}

func climateLookOf(l *workshop.ClimateLook) climateLook {
	out := climateLook{Usual: l.File.Usual, Past: l.File.Past, Wrong: len(l.File.Bad), Columns: l.File.Columns, Refused: l.Why, Next: climateOf(&l.Next).ClimateNote}
	out.Errors = each(l.File.Bad[:min(100, len(l.File.Bad))], func(b season.BadLine) lineErrorDoc { return lineErrorDoc{Line: b.Line, Text: b.Text} })
	return out
}

// guessDoc is a guess that stands.
type guessDoc struct {
	ID int64 `json:"id"`
	GuessNote
	Foretold *likely `json:"foretold,omitempty" doc:"What is foretold in its place"`
	By       string  `json:"by"`
	Made     string  `json:"made" format:"date-time"`
}

// GuessNote is what the owner expects of a kind of repair in a week.
type GuessNote struct {
	Week   string                `json:"week" format:"date" doc:"A day of the week; its Monday in answers"`
	Kind   word[repairKindWords] `json:"kind" doc:"Kind of repair"`
	Jobs   int                   `json:"jobs" minimum:"0" maximum:"1000"`
	Reason string                `json:"reason" minLength:"1" maxLength:"200"`
}

func guessOf(g workshop.ArrivalGuess) guessDoc {
	return guessDoc{
		ID: g.ID, By: g.By, Made: g.Made.UTC().Format(time.RFC3339),
		GuessNote: GuessNote{Week: string(g.Monday), Kind: word[repairKindWords](g.Kind), Jobs: g.Jobs, Reason: g.Reason},
	}
}

type (
	climateIn       struct{ Body ClimateNote }
	climateImportIn struct {
		Town    string `query:"town" maxLength:"80" doc:"Left out: the town that is noted"`
		Source  string `query:"source" maxLength:"200" doc:"Where the figures are from"`
		DryRun  bool   `query:"dry_run" doc:"Tell what would be kept and keep nothing"`
		RawBody []byte `contentType:"text/csv"`
	}
	guessIn struct{ Body GuessNote }
	// OnGuess names a guess in the path.
	OnGuess struct {
		Guess int64 `path:"guess" minimum:"1" doc:"Identity of the guess"`
	}
)

func (a *API) climateRoutes() {
	o := operation{noun: "the season", act: workshop.ActReadBalance, method: http.MethodGet, path: "/season/climate", id: "get_climate", summary: "The outdoor climate of the shop's town"}
	add(a, o, a.climate)
	o.act, o.method, o.id, o.summary, o.match = workshop.ActClimate, http.MethodPut, "set_climate", "Keep the climate of the town; with If-Match when there is one", matchMay
	add(a, o, a.setClimate)
	o.method, o.id, o.summary, o.match, o.status = http.MethodDelete, "forget_climate", "Take the climate of the town away", matchNeeded, http.StatusNoContent
	add(a, o, func(ctx context.Context, _ *struct{}) (*struct{}, error) {
		return nil, a.staleClimate(ctx, a.work.ForgetClimate(ctx, by(ctx), askedOf(ctx).seen))
	})
	o.method, o.path, o.id, o.summary, o.match, o.status = http.MethodPost, "/season/climate/import", "import_climate", "Take in a CSV file of months", matchMay, 0
	o.about = "A line of column names with month, celsius and rh, and if wanted year; a line without a year is of the usual year. Lines that make no sense are left out and told; months of the usual year that the file does not have stay as they are."
	o.body = season.MaxClimateFile
	add(a, o, a.importClimate)
	o = operation{noun: "the season", act: workshop.ActReadBalance, method: http.MethodGet, path: "/season/guesses", id: "list_guesses", summary: "What the owner expects of the weeks ahead, by week and kind"}
	add(a, o, a.guesses)
	o = operation{noun: "the season", act: workshop.ActGuess, method: http.MethodPost, path: "/season/guesses", id: "guess_arrivals", summary: "Say how many jobs of a kind a week will bring, in place of the forecast; an earlier guess for the same is taken back", status: http.StatusCreated}
	add(a, o, a.guess)
	o.method, o.path, o.id, o.summary, o.status = http.MethodDelete, "/season/guesses/{guess}", "take_guess_back", "Let the forecast stand again", http.StatusNoContent
	add(a, o, func(ctx context.Context, in *OnGuess) (*struct{}, error) {
		return nil, a.work.TakeGuessBack(ctx, by(ctx), in.Guess)
	})
}

func (a *API) climate(ctx context.Context, _ *struct{}) (*one[climateDoc], error) {
	c, err := a.read.TownClimate(ctx)
	if err != nil {
		return nil, err
	}
	return answer(ctx, c.Version, climateOf(c))
}

func (a *API) setClimate(ctx context.Context, in *climateIn) (*one[climateDoc], error) {
	err := a.work.SetClimate(ctx, by(ctx), in.Body.domain(askedOf(ctx).seen))
	if err := a.staleClimate(ctx, err); err != nil {
		return nil, err
	}
	return a.climate(ctx, nil)
}

func (a *API) staleClimate(ctx context.Context, err error) error {
	return stale(ctx, err, func() (int, error) {
		c, err := a.read.TownClimate(ctx)
		if err != nil {
			return 0, err
		}
		return c.Version, nil
	})
}

func (a *API) importClimate(ctx context.Context, in *climateImportIn) (*read[climateLook], error) {
	old, err := a.read.TownClimate(ctx)
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	file := workshop.ClimateImport{Town: in.Town, Source: in.Source, CSV: in.RawBody, Version: askedOf(ctx).seen}
	if old != nil && file.Version == 0 {
		file.Version = old.Version
	}
	var look *workshop.ClimateLook
	if in.DryRun {
		look, err = workshop.LookAtClimate(old, file)
	} else {
		look, err = a.work.ImportClimate(ctx, by(ctx), old, file)
	}
	if err := a.staleClimate(ctx, err); err != nil {
		return nil, err
	}
	return &read[climateLook]{Body: climateLookOf(look)}, nil
}

func (a *API) guesses(ctx context.Context, _ *struct{}) (*many[guessDoc], error) {
	s, err := a.ahead(ctx)
	if err != nil {
		return nil, err
	}
	return whole("", each(s.Guessed(), func(g workshop.Guessed) guessDoc {
		out, foretold := guessOf(g.ArrivalGuess), likelyOf(g.Foretold)
		out.Foretold = &foretold
		return out
	})), nil
}

func (a *API) guess(ctx context.Context, in *guessIn) (*one[guessDoc], error) {
	f := domain.Fields{}
	g := workshop.ArrivalGuess{Monday: dateIn(f, "week", in.Body.Week), Kind: string(in.Body.Kind), Jobs: in.Body.Jobs, Reason: in.Body.Reason}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.GuessArrivals(ctx, by(ctx), g)
	if err != nil {
		return nil, err
	}
	all, err := a.read.ArrivalGuesses(ctx, "")
	if err != nil {
		return nil, err
	}
	for _, g := range all {
		if g.ID == id {
			return made(ctx, g.Version, fmt.Sprintf("/season/guesses/%d", id), guessOf(g))
		}
	}
	return nil, domain.NotFoundf("the guess was taken back meanwhile")
}
