package api

import (
	"context"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// stretch is a part of a day by the wall clock.
type stretch struct {
	From string `json:"from" doc:"Such as 09:00"`
	To   string `json:"to" doc:"Such as 12:30; at most 24:00"`
}

// daysNote is a run of whole days.
type daysNote struct {
	From string `json:"from" format:"date" doc:"First day"`
	To   string `json:"to" format:"date" doc:"Last day"`
	Why  string `json:"why,omitempty"`
}

func daysNotesOf(spans []workshop.DaySpan) []daysNote {
	return each(spans, func(s workshop.DaySpan) daysNote {
		return daysNote{From: string(s.From), To: string(s.To), Why: s.Why}
	})
}

// daysNotesIn reads days as they came; the domain says what is wrong with them.
func daysNotesIn(notes []daysNote) []workshop.DaySpan {
	var out []workshop.DaySpan
	for _, n := range notes {
		out = append(out, workshop.DaySpan{From: domain.Date(n.From), To: domain.Date(n.To), Why: n.Why})
	}
	return out
}

// weekOf is a person's hours by weekday, nil when they have none of their own.
func weekOf(w workshop.Week) [][]stretch {
	if w.Empty() {
		return nil
	}
	return each(w[:], func(day []workshop.Span) []stretch {
		return each(day, func(s workshop.Span) stretch { return stretch(s) })
	})
}

func weekIn(days [][]stretch) (w workshop.Week) {
	for i, day := range days {
		for _, s := range day {
			w[i] = append(w[i], workshop.Span(s))
		}
	}
	return w
}

// openDay is one day of the calendar.
type openDay struct {
	Date    string    `json:"date" format:"date"`
	Open    []stretch `json:"open" doc:"By the shop's wall clock; empty when closed"`
	Minutes int       `json:"minutes" doc:"Of work, in real time: a change of the clocks adds or takes away"`
	Why     string    `json:"why,omitempty" doc:"Why nobody works"`
}

type calendarIn struct {
	From  string `query:"from" format:"date" required:"true" doc:"First day"`
	To    string `query:"to" format:"date" required:"true" doc:"Last day, at most 400 days in all"`
	Staff int64  `query:"staff" minimum:"1" doc:"Of one person; the shop's when left out"`
}

func (a *API) calendarRoutes() {
	o := operation{noun: "shop", act: workshop.ActRead, method: http.MethodGet, path: "/calendar", id: "get_calendar", summary: "When the shop, or a person, works",
		about: "Opening hours less public holidays and closed days; of a person, their own hours less their days away. Why somebody is away is told to the owner and to that person."}
	add(a, o, a.calendar)
}

func (a *API) calendar(ctx context.Context, in *calendarIn) (*many[openDay], error) {
	f := domain.Fields{}
	from, to := dateIn(f, "from", in.From), dateIn(f, "to", in.To)
	if err := f.Err(); err != nil {
		return nil, err
	}
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	var person *workshop.Staff
	if in.Staff > 0 {
		if person, err = a.read.StaffMember(ctx, domain.StaffID(in.Staff)); err != nil {
			return nil, err
		}
		if who := by(ctx); who.Staff != person.ID && workshop.May(who, workshop.ActStaff) != nil {
			for i := range person.Away {
				person.Away[i].Why = ""
			}
		}
	}
	days, err := workshop.OpenDays(shop, person, from, to)
	if err != nil {
		return nil, err
	}
	return whole("", each(days, func(d workshop.OpenDay) openDay {
		return openDay{Date: string(d.Day), Minutes: d.Minutes, Why: d.Why, Open: each(d.Spans, func(s workshop.Span) stretch { return stretch(s) })}
	})), nil
}
