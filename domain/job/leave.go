package job

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// UsePart notes a part fitted or used up on a task, at today's prices.
func (j *Job) UsePart(task domain.TaskID, p stock.Part, quantity decimal.Decimal, by domain.Actor, at time.Time) error {
	if _, err := j.open(task); err != nil {
		return err
	}
	if err := stock.CheckQuantity(quantity); err != nil {
		return &domain.Error{Kind: domain.Invalid, Text: "the quantity " + domain.TextOf(err), Fields: domain.Fields{"quantity": domain.TextOf(err)}}
	}
	j.Parts = append(j.Parts, PartUsed{
		Task: task, Part: p.ID, Code: p.Code, Name: p.Name, Unit: p.Unit, Kind: p.Kind,
		Quantity: quantity, Price: p.Price, Cost: p.Cost, At: at, By: by.Name,
	})
	return nil
}

// PutBack returns a part that was noted as used: a second row with the
// quantity negative, at the prices of the first.
func (j *Job) PutBack(id int64, by domain.Actor, at time.Time) error {
	i := slices.IndexFunc(j.Parts, func(p PartUsed) bool { return p.ID == id })
	if i < 0 {
		return domain.NotFoundf("job %d has no part row %d", j.ID, id)
	}
	back := j.Parts[i]
	left := decimal.Zero
	for _, p := range j.Parts {
		if p.Task == back.Task && p.Part == back.Part && p.Price == back.Price {
			left = left.Add(p.Quantity)
		}
	}
	if back.Quantity.Sign() <= 0 || left.LessThan(back.Quantity) {
		return domain.Conflictf("%s was put back before", back.Name)
	}
	back.ID, back.Quantity, back.At, back.By = 0, back.Quantity.Neg(), at, by.Name
	j.Parts = append(j.Parts, back)
	return nil
}

// NoteCheck records the result of one quality check of a task. known are the
// checks its template asks for. A fail needs a note.
func (j *Job) NoteCheck(c Check, known []string) error {
	t, err := j.Task(c.Task)
	if err != nil {
		return err
	}
	if !j.Ready.IsZero() {
		return domain.Conflictf("the customer was called; reopen %s before noting more", t.Name)
	}
	f := domain.Fields{}
	if !slices.Contains(known, c.What) {
		f.Add("what", "%s has no check %q", t.Name, c.What)
	}
	domain.OneOf(f, "result", c.Result, Results())
	c.Value = domain.Line(f, "value", c.Value, 60, false)
	c.Note = domain.Line(f, "note", c.Note, 300, c.Result == Fail || c.Result == PassNote || c.Result == CouldNotTest)
	if err := f.Err(); err != nil {
		return err
	}
	j.Checks = append(j.Checks, c)
	if c.Result == Fail {
		j.Checked, j.CheckedBy = time.Time{}, ""
	}
	return nil
}

// Latest returns the standing result of a check and whether there is one.
func (j *Job) Latest(task domain.TaskID, what string) (Check, bool) {
	for _, c := range slices.Backward(j.Checks) {
		if c.Task == task && c.What == what {
			return c, true
		}
	}
	return Check{}, false
}

// Pass closes the quality check of the whole job. required lists, by task, the
// checks their templates ask for. It refuses while a task is open, or a check
// has no result or failed, and names each.
func (j *Job) Pass(required map[domain.TaskID][]string, by domain.Actor, at time.Time) error {
	if j.Approved.IsZero() {
		return domain.Conflictf("nothing was approved on this job")
	}
	if !j.Checked.IsZero() {
		return domain.Conflictf("this job was checked before, by %s", j.CheckedBy)
	}
	f := domain.Fields{}
	for _, t := range j.Tasks {
		field := fmt.Sprintf("task_%d", t.ID)
		if t.Phase == templates.PhaseFollowUp {
			continue // after the hand-over
		}
		if t.Open() {
			f.Add(field, "%s is not finished", t.Name)
		}
		if !t.Dropped.IsZero() {
			continue
		}
		for _, what := range required[t.ID] {
			switch c, ok := j.Latest(t.ID, what); {
			case !ok:
				f.Add(field, "%s: no result yet for %q", t.Name, what)
			case c.Result == Fail:
				f.Add(field, "%s: %q failed; reopen the task or note a new result", t.Name, what)
			}
		}
	}
	for _, w := range j.Waits {
		if w.End.IsZero() {
			f.Add("waits", "the wait for %s still runs", w.Kind)
		}
	}
	if err := f.Err(); err != nil {
		return err
	}
	j.Checked, j.CheckedBy = at, by.Name
	return nil
}

// Call records an attempt to reach the customer. The first call about "ready"
// makes a checked job ready.
func (j *Job) Call(c Contact) error {
	f := domain.Fields{}
	domain.OneOf(f, "about", c.About, []string{"ready", "question", "notice"})
	domain.OneOf(f, "result", c.Result, ContactResults())
	c.Note = domain.Line(f, "note", c.Note, 300, false)
	if err := f.Err(); err != nil {
		return err
	}
	if c.About == "ready" {
		if j.Checked.IsZero() && StageOf(j) != Declined {
			return domain.Conflictf("the quality check is not through; call when it is")
		}
		if j.Ready.IsZero() && !j.Checked.IsZero() {
			j.Ready = c.At
		}
	}
	j.Contacts = append(j.Contacts, c)
	return nil
}

// Leave hands the instrument over. It needs a checked or declined job; owed
// says whether a balance is open, which only the owner may wave through, with
// a reason.
func (j *Job) Leave(h HandOver, owed bool, by domain.Actor, at time.Time) error {
	switch s := StageOf(j); {
	case s.Over():
		return domain.Conflictf("tag %d has left already", j.Tag)
	case s != Ready && s != Checked && s != Declined && j.anyScope():
		return domain.Conflictf("tag %d is %s; it can leave when it is checked", j.Tag, s)
	case j.OpenHold() != nil:
		return domain.Conflictf("tag %d is still in hold", j.Tag)
	}
	f := domain.Fields{}
	h.To = domain.Line(f, "to", h.To, 120, true)
	h.Note = domain.Line(f, "note", h.Note, 300, !h.TagShown)
	h.Unpaid = domain.Line(f, "unpaid", h.Unpaid, 200, false)
	if !h.TagShown && h.Note == "" {
		f["note"] = "without the tag, say how the person proved to be the owner"
	}
	if err := f.Err(); err != nil {
		return err
	}
	if owed && h.Unpaid == "" {
		return domain.Conflictf("there is a balance to pay; nothing leaves unpaid unless the owner says why")
	}
	if owed && !by.Wears(domain.Owner) {
		return domain.Deniedf("only the owner may let an instrument go with a balance")
	}
	h.By = by.Name
	j.Collected, j.HandOver = at, h
	return nil
}

// anyScope reports whether work was agreed or is still on offer.
func (j *Job) anyScope() bool { return !j.Approved.IsZero() || !j.Quoted.IsZero() }

// CloseUnclaimed closes a ready job whose owner never came. The law on selling
// or keeping it differs from place to place; the owner has checked it.
func (j *Job) CloseUnclaimed(lawChecked bool, by domain.Actor, at time.Time) error {
	if s := StageOf(j); s != Ready && s != Declined {
		return domain.Conflictf("tag %d is %s; only what is ready or declined can be unclaimed", j.Tag, s)
	}
	if !by.Wears(domain.Owner) {
		return domain.Deniedf("only the owner may close a job as unclaimed")
	}
	if !lawChecked {
		return &domain.Error{
			Kind: domain.Invalid, Text: "confirm that notices were given and local law was checked",
			Fields: domain.Fields{"law_checked": "confirm that notices were given and local law was checked"},
		}
	}
	j.Unclaimed = at
	return nil
}

// Mark adds a condition mark. Marks stand once noted; more can be added.
func (j *Job) AddMark(m Mark) error {
	f := domain.Fields{}
	domain.OneOf(f, "what", m.What, MarkKinds())
	m.Place = domain.Line(f, "place", m.Place, 80, true)
	m.Note = domain.Line(f, "note", m.Note, 200, false)
	if err := f.Err(); err != nil {
		return err
	}
	j.Marks = append(j.Marks, m)
	return nil
}

// Check trims the arrival's fields and returns an Invalid error naming each wrong one.
func (a *Arrival) Check() error {
	f := domain.Fields{}
	a.Complaint = domain.Paragraph(f, "complaint", a.Complaint, 1000, true)
	a.Since = domain.Line(f, "since", a.Since, 80, false)
	a.Contents = domain.Line(f, "contents", a.Contents, 200, false)
	a.Rack = domain.Line(f, "rack", a.Rack, 40, false)
	a.MarksSeenBy = domain.Line(f, "marks_seen_by", a.MarksSeenBy, 120, false)
	for _, c := range []struct {
		field string
		value *string
		known []string
	}{{"storage", &a.Storage, StorageHabits()}, {"heating", &a.Heating, Heatings()}, {"humidifier", &a.Humidifier, Humidifiers()}} {
		if *c.value == "" {
			*c.value = "unknown"
		}
		domain.OneOf(f, c.field, *c.value, c.known)
	}
	if a.SurveyFee < 0 {
		f.Add("survey_fee", "must not be negative")
	}
	return f.Err()
}
