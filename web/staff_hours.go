package web

import (
	"fmt"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

func hourName(day int) string { return fmt.Sprintf("hours[%d]", day) }

// hoursGroup asks for a person's hours by weekday, as typed.
func hoursGroup(typed [7]string, errs domain.Fields) Group {
	g := Group{Legend: "Hours", Across: true, Note: "Like 09:00-12:30, 13:00-17:00; an empty day is free. All empty: the shop's opening hours."}
	for i, day := range workshop.Weekdays {
		g.Fields = append(g.Fields, TextField(hourName(i), day, typed[i]).Middle().Limit(120).Marked(errs))
	}
	return g
}

func hoursTyped(c *gin.Context) (typed [7]string) {
	for i := range typed {
		typed[i] = form(c, hourName(i))
	}
	return typed
}

func hoursShown(w workshop.Week) (typed [7]string) {
	for i, day := range w {
		typed[i] = workshop.SpansText(day)
	}
	return typed
}

// skillField asks how hard a task the person can do.
func skillField(value string, hats int) Field {
	words := []string{"counter work", "bench work of a junior", "bench work", "senior work"}
	options := []Option{{Value: "0", Label: "by the hats: " + words[hats-1]}}
	for i, word := range words {
		options = append(options, Option{Value: strconv.Itoa(i + 1), Label: word})
	}
	return ChoiceField("skill", "The hardest tasks they do", value, options).Middle()
}

// workingIn reads when the person works and how hard a task they can do over
// what is known of them. The rows tell where the days away stand in the form.
func workingIn(c *gin.Context, person *workshop.Staff, over []workshop.DaySpan) (rows []int) {
	for i, typed := range hoursTyped(c) {
		person.Hours[i] = workshop.ParseSpans(typed)
	}
	person.Away, rows = daysIn(c, "away", over)
	skill, err := strconv.Atoi(form(c, "skill"))
	if err != nil && form(c, "skill") != "" {
		skill = -1 // refused with the right words by the person's check
	}
	person.Skill = skill
	return rows
}
