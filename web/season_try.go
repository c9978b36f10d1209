package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// WhatIfPage sets a changed season beside the one of today.
type WhatIfPage struct {
	Page
	Knobs  []Knob
	Closed Field
	Side   WhatIfSide
	Name   Field // under which it is kept
	Keep   []Pair
	Kept   []KeptWhatIf
}

// WhatIfSide is what the script fills anew: the two seasons side by side.
type WhatIfSide struct {
	Says   string
	Table  Table
	Today  Picture
	Then   Picture
	Errors domain.Fields
}

// Knob is one number with a slider beside it.
type Knob struct {
	Name, Label, Unit string
	Value             string
	Most              int
	Error             string
	Hint              string
}

// KeptWhatIf is a what-if that is kept.
type KeptWhatIf struct {
	Name, Says, Href string
	Action           string
	Key              string
	Version          int
}

// changeIn reads a change out of a query or a form and notes what is no number.
func changeIn(f domain.Fields, get func(string) string) workshop.Change {
	number := func(name string) int {
		text := strings.TrimSpace(get(name))
		if text == "" {
			return 0
		}
		n, err := strconv.Atoi(text)
		if err != nil {
			f.Add(name, "must be a whole number, not %q", text)
		}
		return n
	}
	return workshop.Change{
		Days: number("days"), Hours: number("hours"), Places: number("places"), SetUpsMoved: number("set_ups_moved"), Colder: number("colder"), Degrees: number("degrees"),
		ClosedWeek: domain.Date(strings.TrimSpace(get("closed_week"))),
	}
}

// changeQuery writes a change as the page's address carries it.
func changeQuery(c workshop.Change) string {
	q := url.Values{}
	for name, n := range map[string]int{"days": c.Days, "hours": c.Hours, "places": c.Places, "set_ups_moved": c.SetUpsMoved, "colder": c.Colder, "degrees": c.Degrees} {
		if n != 0 {
			q.Set(name, strconv.Itoa(n))
		}
	}
	if c.ClosedWeek != "" {
		q.Set("closed_week", string(c.ClosedWeek))
	}
	return q.Encode()
}

func (s *Server) whatIf(c *gin.Context) { s.showWhatIf(c, http.StatusOK, c.Query, nil) }

// showWhatIf writes the page with the values that get knows, and what is wrong.
func (s *Server) showWhatIf(c *gin.Context, status int, get func(string) string, wrong domain.Fields) {
	a := s.seasonAhead(c)
	if a == nil {
		return
	}
	f := domain.Fields{}
	change := changeIn(f, get)
	if err := a.CheckChange(change); len(f) == 0 {
		for name, text := range domain.FieldsOf(err) {
			f.Add(name, "%s", text)
		}
	}
	p := &WhatIfPage{Page: s.frame(c, "What if", domain.Owner), Knobs: knobs(get, f, a.KnowsClimate())}
	p.Errors = domain.Fields{}
	for _, fields := range []domain.Fields{f, wrong} {
		for name, text := range fields {
			p.Errors.Add(name, "%s", text)
		}
	}
	p.Closed = DateField("closed_week", "Closed in the week of", change.ClosedWeek).Hint("any day of it; empty for none").Marked(f)
	p.Name = TextField("name", "Name", get("name")).Limit(80).Middle().Marked(p.Errors)
	if err := s.fillWhatIf(c, p, a, change, len(f) == 0); err != nil {
		s.fail(c, err)
		return
	}
	if len(f) > 0 && status == http.StatusOK {
		status = http.StatusUnprocessableEntity
	}
	if _, ok := WantsFragment(c); ok {
		s.fragment(c, status, "season/what-if", "beside", p.Side)
		return
	}
	s.page(c, status, "season/what-if", p)
}

func (s *Server) fillWhatIf(c *gin.Context, p *WhatIfPage, a *workshop.SeasonAhead, change workshop.Change, sound bool) error {
	ctx := c.Request.Context()
	p.Side.Errors = p.Errors
	if sound {
		now, then, err := a.Beside(change)
		if err != nil {
			return err
		}
		p.Side = whatIfSide(now, then, a)
		p.Answer = p.Side.Says
		p.Keep = pairsOf(change)
	} else {
		p.Answer = "Nothing was worked out: put right what is marked."
	}
	kept, err := s.Read.Scenarios(ctx)
	for _, k := range kept {
		p.Kept = append(p.Kept, KeptWhatIf{
			Name: k.Name, Says: k.What.Text(), Href: tryPath + "?" + changeQuery(k.What), Action: fmt.Sprintf("%s/%d", tryPath, k.ID), Key: NewKey(), Version: k.Version,
		})
	}
	return err
}

func pairsOf(c workshop.Change) []Pair {
	var out []Pair
	q, _ := url.ParseQuery(changeQuery(c))
	for name := range q {
		out = append(out, Pair{Name: name, Value: q.Get(name)})
	}
	return out
}

// knobs are what can be turned. A colder winter is told in degrees when the climate of
// the town is known, else in percent.
func knobs(get func(string) string, errs domain.Fields, climate bool) []Knob {
	all := []Knob{
		{Name: "days", Label: "More bench days", Unit: fmt.Sprintf("a week, of %d h", workshop.BenchDayHours), Most: workshop.MostDays},
		{Name: "hours", Label: "A part-time hand", Unit: "h a week", Most: workshop.MostHours},
		{Name: "places", Label: "More cabinet places", Unit: "places", Most: workshop.MostPlaces},
		{Name: "set_ups_moved", Label: "Set-ups moved to summer", Unit: "of 100", Most: 100},
	}
	if climate {
		all = append(all, Knob{Name: "degrees", Label: "A colder winter", Unit: "°C colder", Most: workshop.MostDegrees, Hint: "the same humidity outdoors, and so drier air in heated rooms"})
	}
	if more := get("colder"); !climate || more != "" && more != "0" {
		all = append(all, Knob{Name: "colder", Label: "More work", Unit: "% more jobs", Most: workshop.MostColder})
	}
	if !climate {
		all[len(all)-1].Label = "A colder winter"
		all[len(all)-1].Hint = "in degrees once the climate of your town is known"
	}
	for i := range all {
		all[i].Value, all[i].Error = get(all[i].Name), errs[all[i].Name]
		if all[i].Value == "" {
			all[i].Value = "0"
		}
	}
	return all
}

// whatIfSide sets today beside the change.
func whatIfSide(now, then *workshop.Tried, a *workshop.SeasonAhead) WhatIfSide {
	side := WhatIfSide{Says: workshop.TriedAnswer(now, then), Today: seasonPicture(now.Weeks), Then: seasonPicture(then.Weeks)}
	side.Today.Title, side.Then.Title = "As it is", "With "+then.What.Text()
	side.Table = Table{Caption: "Side by side", Hidden: true, Columns: []Column{Head(""), Figures("As it is", ""), Figures("Changed", "")}}
	row := func(name, before, after string) { side.Table.Rows = append(side.Table.Rows, Line(name, before, after)) }
	row("Weeks that want too much", strconv.Itoa(now.Over), strconv.Itoa(then.Over))
	row("Bench hours they lack together", tenth(now.Short), tenth(then.Short))
	row("Behind at the worst, in bench hours", tenth(now.Backlog), tenth(then.Backlog))
	row("A hold must wait for a place, in the worst week", chance(now.Wait), chance(then.Wait))
	row("The usual job that comes in the fullest week is ready", windowText(now, a), windowText(then, a))
	row("Jobs done in these weeks, about", strconv.Itoa(int(math.Round(now.Jobs))), strconv.Itoa(int(math.Round(then.Jobs))))
	row("Income more, roughly, before any wages for it", "", Money(a.Shop.Currency, then.Income)+" "+a.Shop.Currency.Code)
	return side
}

func chance(p float64) string { return Plural(int(math.Round(100*p)), "time", "times") + " in 100" }

// windowText writes when the usual job is ready: likely, and with bad luck.
func windowText(t *workshop.Tried, a *workshop.SeasonAhead) string {
	if t.Window == nil {
		return "nobody knows"
	}
	zone := a.Shop.Location()
	return fmt.Sprintf("likely %s, with bad luck %s", Day(t.Window.P50.In(zone)), Day(t.Window.P80.In(zone)))
}

// keepWhatIf keeps the what-if of the page under a name.
func (s *Server) keepWhatIf(c *gin.Context) {
	f := domain.Fields{}
	change := changeIn(f, c.PostForm)
	err := f.Err()
	if err == nil {
		_, err = s.Work.KeepScenario(keyed(c), actor(c), form(c, "name"), change)
	}
	s.answer(c, err, func(errs domain.Fields) {
		if len(errs) == 0 {
			errs = domain.Fields{"name": domain.TextOf(err)}
		}
		s.showWhatIf(c, http.StatusUnprocessableEntity, c.PostForm, errs)
	}, "The what-if is kept.", tryPath+"?"+changeQuery(change))
}

// changeWhatIf renames a what-if that is kept, or lets it go.
func (s *Server) changeWhatIf(c *gin.Context) {
	id := number(c, "scenario")
	version, _ := strconv.Atoi(form(c, "version"))
	ctx := workshop.WithVersion(keyed(c), version)
	var err error
	text := "The what-if has a new name."
	if form(c, "do") == "go" {
		err, text = s.Work.LetScenarioGo(ctx, actor(c), id), "The what-if is let go."
	} else {
		err = s.Work.RenameScenario(ctx, actor(c), id, form(c, "name"))
	}
	s.answer(c, err, func(errs domain.Fields) {
		if len(errs) == 0 {
			errs = domain.Fields{"name": domain.TextOf(err)}
		}
		s.showWhatIf(c, http.StatusUnprocessableEntity, func(string) string { return "" }, errs)
	}, text, tryPath)
}
