package job

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/wood"
	"winterbench/templates"
)

var (
	start = time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC)
	runa  = domain.Actor{Staff: 1, Name: "Runa", Roles: []domain.Role{domain.Bench}}
	ivo   = domain.Actor{Staff: 2, Name: "Ivo", Roles: []domain.Role{domain.Bench}}
	tove  = domain.Actor{Staff: 3, Name: "Tove", Roles: []domain.Role{domain.Owner}}
)

func days(low, typical, high string) templates.Days {
	return templates.Days{Low: decimal.RequireFromString(low), Typical: decimal.RequireFromString(typical), High: decimal.RequireFromString(high)}
}

// approved is a job with a hold, a crack to glue, a set-up and a follow-up.
func approved() *Job {
	return &Job{
		ID: 7, Tag: 318, Arrival: Arrival{At: start.Add(-48 * time.Hour), CaseOpened: true},
		Surveyed: start.Add(-24 * time.Hour), Quoted: start.Add(-time.Hour), Approved: start,
		Tasks: []Task{
			{ID: 1, Name: "Rehumidify hold", Phase: templates.PhaseHold, Hold: true, Minutes: templates.Range{Low: 30, Typical: 60, High: 140}, WaitDays: days("6", "10", "28")},
			{ID: 2, Name: "Crack glue", Phase: templates.PhaseCracks, Dry: true, Minutes: templates.Range{Low: 35, Typical: 44, High: 62}, WaitDays: days("0.5", "1", "2"), WaitKind: "glue clamp"},
			{ID: 3, Name: "Set-up", Phase: templates.PhaseSetUp, Dry: true, Minutes: templates.Range{Low: 40, Typical: 70, High: 110}},
			{ID: 4, Name: "30-day check", Phase: templates.PhaseFollowUp},
		},
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("got %v, want no error", err)
	}
}

func refused(t *testing.T, err error, kind domain.Kind, words string) {
	t.Helper()
	if domain.KindOf(err) != kind || !strings.Contains(err.Error(), words) {
		t.Fatalf("got %v (kind %d), want kind %d with %q", err, domain.KindOf(err), kind, words)
	}
}

func TestStageFollowsFromFacts(t *testing.T) {
	later := start.Add(time.Hour)
	for _, c := range []struct {
		what string
		do   func(j *Job)
		want Stage
	}{
		{"nothing but an arrival", func(j *Job) { *j = Job{Arrival: j.Arrival} }, Arrived},
		{"a survey", func(j *Job) { *j = Job{Surveyed: start} }, Surveyed},
		{"a quote that was said", func(j *Job) { *j = Job{Surveyed: start, Quoted: start} }, Quoted},
		{"a no", func(j *Job) { *j = Job{Quoted: start, Declined: later} }, Declined},
		{"a new quote after a no", func(j *Job) { *j = Job{Quoted: later, Declined: start} }, Quoted},
		{"a yes and nothing begun", func(j *Job) {}, Approved},
		{"a running hold", func(j *Job) { j.Holds = []Hold{{Start: start}} }, InHold},
		{"a running clock wins over a hold", func(j *Job) {
			j.Holds = []Hold{{Start: start}}
			j.Clockings = []Clocking{{Start: start}}
		}, OnBench},
		{"a running wait", func(j *Job) { j.Waits = []Wait{{Task: 2, Start: start}} }, Waiting},
		{"work begun, nothing running", func(j *Job) { j.Clockings = []Clocking{{Start: start, End: later}} }, OnBench},
		{"a task finished without a clock", func(j *Job) { j.Tasks[0].Done = later }, OnBench},
		{"a customer's wait before work", func(j *Job) { j.Waits = []Wait{{Start: start, End: later}} }, Approved},
		{"the check is through", func(j *Job) { j.Checked = later }, Checked},
		{"the customer was called", func(j *Job) { j.Checked, j.Ready = later, later }, Ready},
		{"collected", func(j *Job) { j.Checked, j.Ready, j.Collected = later, later, later }, Collected},
		{"closed unclaimed", func(j *Job) { j.Ready, j.Unclaimed = later, later }, ClosedUnclaimed},
	} {
		j := approved()
		c.do(j)
		if got := StageOf(j); got != c.want {
			t.Errorf("%s: stage %q, want %q", c.what, got, c.want)
		}
		if StageSince(j).After(later) {
			t.Errorf("%s: stage since %v, later than every fact", c.what, StageSince(j))
		}
	}
	if len(Stages()) != 12 || !Collected.Over() || Ready.Over() {
		t.Error("twelve stages, of which collected and closed unclaimed are over")
	}
}

func TestOrderAtTheBench(t *testing.T) {
	j := approved()
	refused(t, j.ClockOn(2, runa, start), domain.Conflict, "comes after rehumidify hold")
	refused(t, j.StartHold(2, "place 1", runa, start), domain.Invalid, "is not a hold")
	refused(t, j.StartHold(1, "", runa, start), domain.Invalid, "needed")
	must(t, j.StartHold(1, "place 1", runa, start))
	j.Holds[0].ID = 5
	refused(t, j.StartHold(1, "place 2", runa, start), domain.Conflict, "in hold already")
	refused(t, j.ClockOn(2, runa, start), domain.Conflict, "in hold")
	refused(t, j.Finish(1, runa, start), domain.Conflict, "still runs")
	must(t, j.ClockOn(1, runa, start)) // the daily check
	must(t, j.ClockOff(1, runa, start.Add(4*time.Minute)))
	must(t, j.EndHold(5, Release{Reason: TakenBack}, runa, start.Add(time.Hour)))
	must(t, j.Finish(1, runa, start.Add(time.Hour)))
	must(t, j.ClockOn(2, runa, start.Add(time.Hour)))
	refused(t, j.ClockOn(3, ivo, start.Add(time.Hour)), domain.Conflict, "comes after crack glue")
	refused(t, j.ClockOn(2, runa, start.Add(time.Hour)), domain.Conflict, "already runs")
	refused(t, j.Finish(2, ivo, start.Add(2*time.Hour)), domain.Conflict, "Runa's clock")
	must(t, j.StartWait(2, "glue clamp", start.Add(20*time.Hour), "with film", runa, start.Add(100*time.Minute)))
	if c := j.Clockings[1]; c.Span() != 40*time.Minute {
		t.Errorf("starting the wait stopped the clock after %v, want 40m", c.Span())
	}
	refused(t, j.StartWait(2, "glue clamp", time.Time{}, "", runa, start.Add(101*time.Minute)), domain.Conflict, "waits already")
	refused(t, j.ClockOn(2, runa, start.Add(3*time.Hour)), domain.Conflict, "waits for glue clamp")
	must(t, j.Finish(2, runa, start.Add(21*time.Hour)))
	if j.Waits[0].End.IsZero() {
		t.Error("finishing the task did not end its wait")
	}
	refused(t, j.ClockOn(2, runa, start.Add(22*time.Hour)), domain.Conflict, "is finished")
	refused(t, j.ClockOn(4, runa, start.Add(22*time.Hour)), domain.Conflict, "after the hand-over")
	refused(t, j.ClockOn(99, runa, start), domain.NotFound, "no task 99")
	refused(t, j.ClockOff(3, runa, start), domain.Conflict, "does not run")
	must(t, j.Drop(3, "customer changed his mind", start.Add(22*time.Hour)))
	refused(t, j.ClockOn(3, runa, start.Add(22*time.Hour)), domain.Conflict, "no longer part")
	j.Approved = time.Time{}
	j.Tasks[2].Dropped = time.Time{}
	refused(t, j.ClockOn(3, runa, start.Add(22*time.Hour)), domain.Conflict, "has not said yes")
}

func TestDropAndReopen(t *testing.T) {
	j := approved()
	refused(t, j.Drop(1, "", start), domain.Invalid, "needed")
	must(t, j.ClockOn(1, runa, start))
	refused(t, j.Drop(1, "no", start), domain.Conflict, "was begun")
	must(t, j.Finish(1, runa, start.Add(time.Minute)))
	j.Checked, j.Ready = start, start
	must(t, j.Reopen(1, start))
	if !j.Checked.IsZero() || !j.Ready.IsZero() || !j.Tasks[0].Open() {
		t.Error("reopening a task must take the check and the call back")
	}
	refused(t, j.Reopen(1, start), domain.Conflict, "is not finished")
	refused(t, j.Reopen(9, start), domain.NotFound, "no task")
	j.Collected = start
	refused(t, j.Reopen(1, start), domain.Conflict, "has left")
	refused(t, j.ClockOn(2, runa, start), domain.Conflict, "has left")
	must(t, j.ClockOn(4, runa, start)) // the follow-up comes after the hand-over
}

func TestWaits(t *testing.T) {
	j := approved()
	refused(t, j.StartWait(0, "tea", time.Time{}, "", runa, start), domain.Invalid, "one of")
	refused(t, j.StartWait(0, "part ordered", start.Add(-time.Hour), "", runa, start), domain.Invalid, "later than now")
	refused(t, j.StartWait(99, "part ordered", time.Time{}, "", runa, start), domain.NotFound, "no task")
	must(t, j.StartWait(0, "customer answer", time.Time{}, "is it worth it?", runa, start))
	refused(t, j.StartWait(0, "customer answer", time.Time{}, "", runa, start), domain.Conflict, "already waits")
	j.Waits[0].ID = 3
	refused(t, j.ClockOn(1, runa, start), domain.Conflict, "waits for customer answer")
	must(t, j.EndWait(3, start.Add(time.Hour)))
	refused(t, j.EndWait(3, start), domain.Conflict, "ended before")
	refused(t, j.EndWait(8, start), domain.NotFound, "no wait")
}

func TestClockSetBack(t *testing.T) {
	j := approved()
	must(t, j.ClockOn(1, runa, start))
	must(t, j.ClockOff(1, runa, start.Add(-time.Hour)))
	if got := j.Clockings[0].Span(); got <= 0 {
		t.Errorf("span %v, want more than 0", got)
	}
}

func TestCorrectClocking(t *testing.T) {
	j := approved()
	must(t, j.ClockOn(1, runa, start))
	j.Clockings[0].ID = 11
	refused(t, j.CorrectClocking(11, start, start, "slip", tove), domain.Invalid, "after the start")
	refused(t, j.CorrectClocking(11, start, start.Add(25*time.Hour), "slip", tove), domain.Invalid, "24 hours")
	refused(t, j.CorrectClocking(12, start, start.Add(time.Hour), "slip", tove), domain.NotFound, "no clocking")
	must(t, j.CorrectClocking(11, start, start.Add(20*time.Minute), "forgot to stop", tove))
	j.Clockings[1].ID = 12
	if got := j.Minutes(1, start.Add(9*time.Hour)); got != 20 {
		t.Errorf("minutes %d, want 20: the corrected clocking alone counts", got)
	}
	refused(t, j.CorrectClocking(11, start, start.Add(time.Hour), "again", tove), domain.Conflict, "corrected before")
	must(t, j.CorrectClocking(12, start, start.Add(30*time.Minute), "half an hour", tove))
	if got := len(j.Counted()); got != 1 {
		t.Errorf("%d clockings count, want 1", got)
	}
	if len(j.Clockings) != 3 || j.Clockings[2].Replaces != 12 {
		t.Error("corrections must be new rows that name the old")
	}
}

func pc(s string) wood.Measure {
	m, err := wood.ParseMeasure(s, wood.Percent)
	if err != nil {
		panic(err)
	}
	return m
}

func TestReadingsAndRelease(t *testing.T) {
	j := approved()
	must(t, j.StartHold(1, "place 1", runa, start))
	j.Holds[0].ID = 5
	at := func(h int) time.Time { return start.Add(time.Duration(h) * time.Hour) }
	refused(t, j.NoteReading(5, Reading{At: at(1)}), domain.Invalid, "at least one value")
	refused(t, j.NoteReading(5, Reading{At: at(1), RH: pc("104 %")}), domain.Invalid, "from 0 to 100")
	refused(t, j.NoteReading(5, Reading{At: at(-1), RH: pc("40 %")}), domain.Invalid, "before the hold")
	refused(t, j.NoteReading(6, Reading{At: at(1), RH: pc("40 %")}), domain.NotFound, "no hold")
	drinking, steady, open := hold.Judgement{Verdict: hold.StillDrinking, Why: []string{"The crack has been read over 1 hours: 48 are needed."}}, hold.Judgement{Verdict: hold.Steady}, hold.Judgement{Verdict: hold.WillNotClose}
	end := func(reason, note string, says hold.Judgement, by domain.Actor) error {
		return j.EndHold(5, Release{Reason: reason, Note: note, Says: says}, by, at(300))
	}
	refused(t, end(SteadyByMeasure, "", drinking, runa), domain.Invalid, "48 are needed")
	refused(t, end(SteadyByMeasure, "", drinking, runa), domain.Invalid, "ask the owner for an exception")
	refused(t, end(SteadyByMeasure, "", open, tove), domain.Invalid, "by your exception")
	refused(t, end(WillNotClose, "", drinking, runa), domain.Invalid, "The owner may decide")
	refused(t, end("bored", "", steady, runa), domain.Invalid, "one of")
	refused(t, end(OwnersException, "", drinking, tove), domain.Invalid, "needed")
	refused(t, end(OwnersException, "concert", drinking, runa), domain.Denied, "only the owner")
	for _, way := range []struct {
		reason string
		says   hold.Judgement
		by     domain.Actor
	}{
		{SteadyByMeasure, steady, runa}, {WillNotClose, open, runa}, {WillNotClose, drinking, tove}, {OwnersException, drinking, tove},
		{TakenBack, drinking, runa}, {OverHumidStop, drinking, runa},
	} {
		if why := NotYet(way.reason, way.says, way.by); why != "" {
			t.Errorf("%s by %s on %q: refused, %s", way.reason, way.by.Name, way.says.Verdict, why)
		}
	}
	must(t, end(SteadyByMeasure, "", steady, runa))
	refused(t, end(SteadyByMeasure, "", steady, runa), domain.Conflict, "ended before")
	if j.OpenHold() != nil {
		t.Error("the hold still runs")
	}
}

func TestTheTaskOfAServedHoldIsFinished(t *testing.T) {
	for _, c := range []struct {
		reason string
		done   bool
	}{{SteadyByMeasure, true}, {WillNotClose, true}, {OwnersException, true}, {TakenBack, false}, {OverHumidStop, false}} {
		j := approved()
		must(t, j.StartHold(1, "place 1", runa, start))
		j.Holds[0].ID = 5
		must(t, j.ClockOn(1, tove, start))
		says := hold.Judgement{Verdict: hold.Steady}
		must(t, j.EndHold(5, Release{Reason: c.reason, Note: "a concert", Says: says}, tove, start.Add(time.Hour)))
		if !j.Tasks[0].Done.IsZero() != c.done || j.Served(1) != c.done {
			t.Errorf("%s: done %v, served %v, want %v", c.reason, j.Tasks[0].Done, j.Served(1), c.done)
		}
		if ran := j.Clockings[0].End.IsZero(); ran == c.done {
			t.Errorf("%s: the clock of who ended it runs: %v", c.reason, ran)
		}
		if free := j.Blocked(&j.Tasks[1]) == ""; free != c.done {
			t.Errorf("%s: the glue is free: %v, want %v", c.reason, free, c.done)
		}
		if !c.done {
			must(t, j.StartHold(1, "place 2", runa, start.Add(2*time.Hour)))
		}
	}
	j := approved()
	must(t, j.StartHold(1, "place 1", runa, start))
	j.Holds[0].ID = 5
	must(t, j.ClockOn(1, ivo, start))
	must(t, j.EndHold(5, Release{Reason: SteadyByMeasure, Says: hold.Judgement{Verdict: hold.Steady}}, runa, start.Add(time.Hour)))
	if !j.Tasks[0].Open() || !j.Served(1) || j.Blocked(&j.Tasks[1]) != "" {
		t.Error("with somebody else's clock on it the task stays open, is served, and the next is free")
	}
}

func TestStartingAHoldEndsTheWaitForAPlace(t *testing.T) {
	for _, task := range []domain.TaskID{0, 1} {
		j := approved()
		must(t, j.StartWait(task, CabinetFull, time.Time{}, "", runa, start))
		must(t, j.StartHold(1, "place 1", runa, start.Add(time.Hour)))
		if j.Waits[0].End.IsZero() {
			t.Errorf("task %d: the wait for a place still runs", task)
		}
	}
	j := approved()
	must(t, j.StartWait(1, "customer answer", time.Time{}, "", runa, start))
	refused(t, j.StartHold(1, "place 1", runa, start), domain.Conflict, "customer answer")
}

func TestPartsAndPutBack(t *testing.T) {
	j := approved()
	strings12 := stock.Part{ID: 3, Code: "strings", Name: "Strings", Unit: "set", Kind: money.Part, Price: 1450, Cost: 700}
	refused(t, j.UsePart(3, strings12, decimal.RequireFromString("-1"), runa, start), domain.Invalid, "more than 0")
	refused(t, j.UsePart(9, strings12, decimal.NewFromInt(1), runa, start), domain.NotFound, "no task")
	must(t, j.UsePart(3, strings12, decimal.NewFromInt(2), runa, start))
	j.Parts[0].ID = 1
	must(t, j.PutBack(1, runa, start))
	j.Parts[1].ID = 2
	refused(t, j.PutBack(1, runa, start), domain.Conflict, "put back before")
	refused(t, j.PutBack(2, runa, start), domain.Conflict, "put back before")
	refused(t, j.PutBack(5, runa, start), domain.NotFound, "no part row")
	if !j.Parts[1].Quantity.Equal(decimal.NewFromInt(-2)) || j.Parts[1].Price != 1450 {
		t.Errorf("put back %+v, want the same row with the quantity negative", j.Parts[1])
	}
}

func TestChecksReadyAndHandOver(t *testing.T) {
	j := approved()
	need := map[domain.TaskID][]string{2: {"no light through"}}
	refused(t, j.Pass(need, runa, start), domain.Invalid, "not finished")
	for i := range j.Tasks[:3] {
		j.Tasks[i].Done = start
	}
	refused(t, j.Pass(need, runa, start), domain.Invalid, "no result yet")
	refused(t, j.NoteCheck(Check{Task: 2, What: "shine", Result: Pass}, need[2]), domain.Invalid, "has no check")
	refused(t, j.NoteCheck(Check{Task: 2, What: "no light through", Result: Fail}, need[2]), domain.Invalid, "needed")
	must(t, j.NoteCheck(Check{Task: 2, What: "no light through", Result: Fail, Note: "a hair of light"}, need[2]))
	refused(t, j.Pass(need, runa, start), domain.Invalid, "failed")
	must(t, j.NoteCheck(Check{Task: 2, What: "no light through", Result: Pass}, need[2]))
	refused(t, j.Call(Contact{About: "ready", Result: "spoke", At: start}), domain.Conflict, "not through")
	refused(t, j.Leave(HandOver{To: "M. Oduya", TagShown: true}, false, runa, start), domain.Conflict, "can leave when")
	must(t, j.Pass(need, runa, start))
	refused(t, j.Pass(need, runa, start), domain.Conflict, "checked before")
	refused(t, j.Call(Contact{About: "weather", Result: "spoke"}), domain.Invalid, "one of")
	must(t, j.Call(Contact{About: "question", Result: "no answer", At: start}))
	must(t, j.Call(Contact{About: "ready", Result: "left message", At: start.Add(time.Hour)}))
	must(t, j.Call(Contact{About: "ready", Result: "spoke", At: start.Add(2 * time.Hour)}))
	if !j.Ready.Equal(start.Add(time.Hour)) {
		t.Errorf("ready since %v, want the first call", j.Ready)
	}
	refused(t, j.NoteCheck(Check{Task: 2, What: "no light through", Result: Pass}, need[2]), domain.Conflict, "was called")
	refused(t, j.Leave(HandOver{TagShown: true}, false, runa, start), domain.Invalid, "needed")
	refused(t, j.Leave(HandOver{To: "M. Oduya"}, false, runa, start), domain.Invalid, "without the tag")
	refused(t, j.Leave(HandOver{To: "M. Oduya", TagShown: true}, true, runa, start), domain.Conflict, "balance")
	refused(t, j.Leave(HandOver{To: "M. Oduya", TagShown: true, Unpaid: "old friend"}, true, runa, start), domain.Denied, "only the owner")
	must(t, j.Leave(HandOver{To: "M. Oduya", TagShown: true, Unpaid: "old friend"}, true, tove, start.Add(3*time.Hour)))
	refused(t, j.Leave(HandOver{To: "M. Oduya", TagShown: true}, false, runa, start), domain.Conflict, "left already")
	refused(t, (&Job{}).Pass(nil, runa, start), domain.Conflict, "nothing was approved")
}

func TestPassNamesRunningWaits(t *testing.T) {
	j := approved()
	for i := range j.Tasks[:3] {
		j.Tasks[i].Done = start
	}
	j.Waits = []Wait{{Task: 3, Kind: "settle at pitch", Start: start}}
	refused(t, j.Pass(nil, runa, start), domain.Invalid, "settle at pitch")
}

func TestUnclaimed(t *testing.T) {
	j := approved()
	refused(t, j.CloseUnclaimed(true, tove, start), domain.Conflict, "only what is ready")
	j.Ready = start
	refused(t, j.CloseUnclaimed(true, runa, start), domain.Denied, "only the owner")
	refused(t, j.CloseUnclaimed(false, tove, start), domain.Invalid, "local law")
	must(t, j.CloseUnclaimed(true, tove, start))
	if StageOf(j) != ClosedUnclaimed {
		t.Errorf("stage %s", StageOf(j))
	}
}

func TestSurvey(t *testing.T) {
	mm := func(s string) wood.Measure { m, _ := wood.ParseMeasure(s, wood.Millimetre); return m }
	s := Survey{Moment: "before hold", Strings: "slack", CaseRH: pc("27 %"), At: start, Findings: []Finding{
		{Symptom: "crack length", Place: "treble lower bout", Measure: mm("60 mm"), Grade: Moderate, Causes: []Cause{{"dryness", "likely"}}},
		{Symptom: "top arch behind bridge", Measure: mm("-0.8"), Grade: Severe, Causes: []Cause{{"dryness", "likely"}}},
		{Symptom: "buzz", Grade: Fine},
	}}
	must(t, s.Check())
	if s.Worst() != Severe {
		t.Errorf("worst %s, want severe: the worst single finding, never an average", s.Worst())
	}
	want := "top arch behind bridge -0.8 mm (severe) · crack length 60 mm, treble lower bout (moderate) · case air 27 %"
	if got := s.Because(); got != want {
		t.Errorf("because %q, want %q", got, want)
	}
	j := &Job{Tag: 1}
	refused(t, j.NoteSurvey(s), domain.Conflict, "still closed")
	in := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	j.Arrival.At = in
	refused(t, j.OpenCase(in.Add(11*time.Hour), false), domain.Invalid, "it stood here for 11 h")
	must(t, j.OpenCase(in.Add(12*time.Hour), false))
	j.Arrival.CaseOpened = false
	must(t, j.OpenCase(in, true))
	refused(t, j.OpenCase(in, true), domain.Conflict, "opened before")
	must(t, j.NoteSurvey(s))
	if StageOf(j) != Surveyed {
		t.Errorf("stage %s, want surveyed", StageOf(j))
	}
	j.Collected = start
	refused(t, j.NoteSurvey(s), domain.Conflict, "has left")

	bad := Survey{Moment: "noon", Strings: "at pitch", CaseRH: pc("120 %"), Findings: []Finding{
		{Symptom: "ghosts", Grade: 7, Causes: []Cause{{"magic", "sure"}}}, {Symptom: "buzz", Grade: Slight},
	}}
	err := bad.Check()
	for _, field := range []string{"moment", "case_rh", "findings[0].symptom", "findings[0].grade", "findings[0].causes[0].what", "findings[1].causes"} {
		if domain.FieldsOf(err)[field] == "" {
			t.Errorf("nothing said of %s in %v", field, err)
		}
	}
	none := Survey{Moment: "before hold", Strings: "off"}
	refused(t, none.Check(), domain.Invalid, "at least one finding")
	if Grade(9).String() != "grade 9" || len(GradeWords()) != 5 {
		t.Error("grades are five words")
	}
}

func TestArrivalAndMarks(t *testing.T) {
	a := Arrival{Complaint: "  buzzes since the heating is on ", SurveyFee: -1, Heating: "dragon"}
	err := a.Check()
	for _, field := range []string{"survey_fee", "heating"} {
		if domain.FieldsOf(err)[field] == "" {
			t.Errorf("nothing said of %s in %v", field, err)
		}
	}
	a = Arrival{Complaint: "  buzzes "}
	must(t, a.Check())
	if a.Complaint != "buzzes" || a.Storage != "unknown" {
		t.Errorf("got %+v, want trimmed text and unknown habits", a)
	}
	j := &Job{}
	refused(t, j.AddMark(Mark{What: "hole", Place: ""}), domain.Invalid, "2 fields")
	must(t, j.AddMark(Mark{What: "dent", Place: "top, beside the bridge"}))
}

// The account is checked by hand arithmetic: 44 minutes clocked, two days in
// hold, half a day of glue, and the days that nothing covers.
func TestAccount(t *testing.T) {
	j := approved()
	day := 24 * time.Hour
	j.Holds = []Hold{{Task: 1, Start: start.Add(day), End: start.Add(3 * day)}}
	j.Clockings = []Clocking{
		{ID: 1, Task: 2, Start: start.Add(5 * day), End: start.Add(5*day + 40*time.Minute)},
		{ID: 2, Task: 2, Start: start.Add(5*day + time.Hour), End: start.Add(5*day + time.Hour + 3*time.Minute + 40*time.Second)},
	}
	j.Waits = []Wait{{Task: 2, Kind: "glue clamp", Start: start.Add(5 * day), End: start.Add(5*day + 12*time.Hour)}}
	a := AccountOf(j, start.Add(7*day), time.UTC)
	if a.Went != 44 || a.Tasks[1].Went != 44 {
		t.Errorf("clocked %d, want 44", a.Went)
	}
	if !a.Hold.Went.Equal(decimal.NewFromInt(2)) || !a.Other.Went.Equal(decimal.RequireFromString("0.5")) {
		t.Errorf("hold %s days, other %s; want 2 and 0.5", a.Hold.Went, a.Other.Went)
	}
	if a.Total != 7 || a.Idle != 3 { // 2 Nov, 6 Nov, 8 Nov
		t.Errorf("%d days, %d idle; want 7 and 3", a.Total, a.Idle)
	}
	if a.Quoted.Typical != 60+44+70 {
		t.Errorf("quoted %d min, want 174", a.Quoted.Typical)
	}
	if !a.Hold.Quoted.Typical.Equal(decimal.NewFromInt(10)) {
		t.Errorf("hold quoted %s days, want 10", a.Hold.Quoted.Typical)
	}
	j.Checked = start.Add(6 * day)
	if a := AccountOf(j, start.Add(90*day), time.UTC); a.Total != 6 {
		t.Errorf("the account ends with the check: %d days, want 6", a.Total)
	}
	if a := AccountOf(&Job{}, start, time.UTC); a.Total != 0 {
		t.Error("an account without a yes has no days")
	}
	running := &Job{Approved: start, Clockings: []Clocking{{Task: 1, Start: start}}}
	if got := running.Minutes(0, start.Add(90*time.Second)); got != 2 {
		t.Errorf("a running clock of 90 s counts %d min, want 2 (half up)", got)
	}
}

func TestPieces(t *testing.T) {
	j := approved()
	day := 24 * time.Hour
	j.Holds = []Hold{{Task: 1, Place: "place 1", Start: start.Add(day), End: start.Add(3 * day)}}
	j.Clockings = []Clocking{{ID: 1, Task: 1, Start: start.Add(day), End: start.Add(day + time.Hour)}}
	ps := PiecesOf(j, start.Add(4*day))
	var kinds []string
	for i, p := range ps {
		kinds = append(kinds, string(p.Kind))
		if i > 0 && !ps[i-1].To.Equal(p.From) {
			t.Errorf("a gap between %v and %v", ps[i-1].To, p.From)
		}
	}
	if got, want := strings.Join(kinds, " "), "idle hands wait idle"; got != want {
		t.Errorf("pieces %q, want %q", got, want)
	}
	j.Ready = start.Add(4 * day)
	j.Collected = start.Add(6 * day)
	ps = PiecesOf(j, start.Add(60*day))
	if last := ps[len(ps)-1]; last.Kind != Passive || !last.To.Equal(j.Collected) {
		t.Errorf("the last piece is %+v, want the wait for the owner up to the collection", last)
	}
	if PiecesOf(&Job{Arrival: Arrival{At: start}}, start) != nil {
		t.Error("no time, no pieces")
	}
	plan := PlanPieces(j.Tasks[:2], start, 120)
	if len(plan) != 4 || plan[0].Certain || plan[1].To.Sub(plan[1].From) != 10*day {
		t.Errorf("plan %+v, want hands, ten days of hold, hands, a day of glue", plan)
	}
}

func TestNewTask(t *testing.T) {
	all, err := templates.Builtin()
	must(t, err)
	crack := templates.Get(all, "CG")
	task, err := NewTask(templates.Item{Template: crack, Quantity: 60}, 2, 9)
	must(t, err)
	// 20 + 25/40/70 per 100 mm: common practice, no source.
	if task.Minutes != (templates.Range{Low: 35, Typical: 44, High: 62}) || task.Edition != 2 || task.Line != 9 || !task.Dry {
		t.Errorf("got %+v", task)
	}
	if _, err := NewTask(templates.Item{Template: crack, Quantity: -1}, 1, 1); domain.KindOf(err) != domain.Invalid {
		t.Errorf("got %v, want invalid", err)
	}
}
