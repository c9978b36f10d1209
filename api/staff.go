package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// staffDoc is a person who works in the shop.
type staffDoc struct {
	ID      int64             `json:"id"`
	Version int               `json:"version" doc:"Grows with each change"`
	Name    string            `json:"name"`
	Roles   []word[roleWords] `json:"roles"`
	Active  bool              `json:"active" doc:"May sign in"`
	Since   time.Time         `json:"since"`
	WorkNote
}

// WorkNote is when a person works and what they can do.
type WorkNote struct {
	Hours [][]stretch `json:"hours,omitempty" minItems:"7" maxItems:"7" doc:"Monday first, an empty day is free; the shop's hours when left out"`
	Away  []daysNote  `json:"away,omitempty" maxItems:"200" doc:"Days on which the person does not work"`
	Skill int         `json:"skill,omitempty" minimum:"0" maximum:"4" doc:"The hardest tasks they do: 1 counter, 2 junior, 3 bench, 4 senior; 0 or left out: by the hats"`
}

// over returns the person with what is noted of their work.
func (n WorkNote) over(s workshop.Staff) workshop.Staff {
	s.Hours, s.Away, s.Skill = weekIn(n.Hours), daysNotesIn(n.Away), n.Skill
	return s
}

func staffOf(s *workshop.Staff) staffDoc {
	return staffDoc{
		ID: int64(s.ID), Version: s.Version, Name: s.Name, Active: s.Active, Since: s.Since.UTC(),
		Roles:    each(s.Roles, func(r domain.Role) word[roleWords] { return word[roleWords](r) }),
		WorkNote: WorkNote{Hours: weekOf(s.Hours), Away: daysNotesOf(s.Away), Skill: s.Skill},
	}
}

func rolesIn(words []word[roleWords]) []domain.Role {
	return each(words, func(w word[roleWords]) domain.Role { return domain.Role(w) })
}

// OnStaff names a person in the path.
type OnStaff struct {
	Staff int64 `path:"staff" minimum:"1" doc:"Identity of the person"`
}

type staffIn struct{ Body staffNote }

type staffNote struct {
	Name     string            `json:"name" doc:"By which the person signs in; case does not matter"`
	Roles    []word[roleWords] `json:"roles" minItems:"1" maxItems:"3"`
	Password string            `json:"password" doc:"At least 12 letters; several words are easy to keep in mind"`
	WorkNote
}

type staffChangeIn struct {
	OnStaff
	Body staffChange
}

type staffChange struct {
	Name     string            `json:"name"`
	Roles    []word[roleWords] `json:"roles" minItems:"1" maxItems:"3"`
	Active   bool              `json:"active" doc:"May sign in; somebody must stay who can as owner"`
	Password string            `json:"password,omitempty" doc:"A new one; the old stays when left out"`
	WorkNote
}

func (a *API) staffRoutes() {
	o := operation{noun: "staff", act: workshop.ActStaff, method: http.MethodGet, path: "/staff", id: "list_staff", summary: "Who works here, by name"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[staffDoc], error) {
		all, err := a.read.StaffList(ctx)
		if err != nil {
			return nil, err
		}
		return whole("", each(all, func(s workshop.Staff) staffDoc { return staffOf(&s) })), nil
	})
	o.path, o.id, o.summary = "/staff/{staff}", "get_staff", "One person"
	add(a, o, func(ctx context.Context, in *OnStaff) (*one[staffDoc], error) {
		return a.person(ctx, domain.StaffID(in.Staff), false)
	})
	o = operation{noun: "staff", act: workshop.ActStaff, method: http.MethodPost, path: "/staff", id: "add_staff", summary: "Add a person", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *staffIn) (*one[staffDoc], error) {
		id, err := a.work.AddStaff(ctx, by(ctx), in.Body.over(workshop.Staff{Name: in.Body.Name, Roles: rolesIn(in.Body.Roles)}), in.Body.Password)
		if err != nil {
			return nil, err
		}
		return a.person(ctx, id, true)
	})
	o = operation{noun: "staff", act: workshop.ActStaff, method: http.MethodPut, path: "/staff/{staff}", id: "change_staff", summary: "Change a person", match: matchNeeded}
	add(a, o, a.changeStaff)
}

func (a *API) person(ctx context.Context, id domain.StaffID, isNew bool) (*one[staffDoc], error) {
	s, err := a.read.StaffMember(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, s.Version, fmt.Sprintf("/staff/%d", id), staffOf(s))
	}
	return answer(ctx, s.Version, staffOf(s))
}

func (a *API) changeStaff(ctx context.Context, in *staffChangeIn) (*one[staffDoc], error) {
	others, err := a.read.StaffList(ctx)
	if err != nil {
		return nil, err
	}
	id := domain.StaffID(in.Staff)
	s := workshop.Staff{ID: id, Version: askedOf(ctx).seen, Name: in.Body.Name, Roles: rolesIn(in.Body.Roles), Active: in.Body.Active}
	if err := a.work.ChangeStaff(ctx, by(ctx), in.Body.over(s), in.Body.Password, others); err != nil {
		return nil, stale(ctx, err, func() (int, error) {
			now, err := a.read.StaffMember(ctx, id)
			if err != nil {
				return 0, err
			}
			return now.Version, nil
		})
	}
	return a.person(ctx, id, false)
}
