package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const guessPath = "/season/guesses"

func (s *Server) guessRoutes(r *gin.RouterGroup) {
	r.POST(guessPath, s.guessArrivals)
	r.POST(guessPath+"/:guess", s.takeGuessBack)
}

// ShownGuess is what the owner expects of a week, beside what is foretold.
type ShownGuess struct {
	Says     string
	Foretold string
	Action   string
	Key      string
}

// GuessForm asks what a week will bring.
type GuessForm struct {
	Fields []Field
	Key    string
	Given  []ShownGuess
}

// guessForm lays the form out with what get knows.
func guessForm(a *workshop.SeasonAhead, get func(string) string, errs domain.Fields) GuessForm {
	var weeks, kinds []Option
	for _, w := range a.Weeks {
		weeks = append(weeks, Option{Value: string(w.Monday), Label: fmt.Sprintf("%s, from %s", workshop.WeekName(w.Monday), near(w.Monday))})
	}
	for _, k := range workshop.RepairKinds() {
		kinds = append(kinds, Option{Value: k, Label: k})
	}
	out := GuessForm{Key: NewKey(), Fields: markAll(errs, []Field{
		ChoiceField("week", "In the", get("week"), weeks).Middle(), CountField("jobs", "I expect", get("jobs"), "jobs").Need(),
		ChoiceField("kind", "Kind of repair", get("kind"), kinds).Middle(), TextField("reason", "Because", get("reason")).Need().Limit(200).Hint("a school’s instruments, a fair, a storm in the papers"),
	})}
	for _, g := range a.Guessed() {
		out.Given = append(out.Given, ShownGuess{
			Says:     fmt.Sprintf("%s, from %s: %s of %s. %s (%s)", capital(workshop.WeekName(g.Monday)), near(g.Monday), Plural(g.Jobs, "job", "jobs"), g.Kind, g.Reason, g.By),
			Foretold: fmt.Sprintf("Foretold: %s, or %s to %s.", count(g.Foretold.P50), count(g.Foretold.P10), count(g.Foretold.P90)),
			Action:   fmt.Sprintf("%s/%d", guessPath, g.ID), Key: NewKey(),
		})
	}
	return out
}

func count(x float64) string { return strconv.FormatFloat(x, 'f', 0, 64) }

// guessArrivals notes what the owner expects of a week.
func (s *Server) guessArrivals(c *gin.Context) {
	f := domain.Fields{}
	g := workshop.ArrivalGuess{Monday: domain.Date(form(c, "week")), Kind: form(c, "kind"), Jobs: countIn(f, c, "jobs"), Reason: form(c, "reason")}
	err := f.Err()
	if err == nil {
		_, err = s.Work.GuessArrivals(keyed(c), actor(c), g)
	}
	s.answer(c, err, func(errs domain.Fields) {
		s.showSeason(c, http.StatusUnprocessableEntity, c.PostForm, wholeError(errs, err))
	}, "The forecast goes by what you expect there.", seasonPath)
}

// takeGuessBack lets the forecast stand again.
func (s *Server) takeGuessBack(c *gin.Context) {
	err := s.Work.TakeGuessBack(keyed(c), actor(c), number(c, "guess"))
	s.answer(c, err, func(errs domain.Fields) {
		s.showSeason(c, http.StatusUnprocessableEntity, func(string) string { return "" }, wholeError(errs, err))
	}, "The forecast stands again.", seasonPath)
}
