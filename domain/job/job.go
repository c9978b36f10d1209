// Package job knows one visit of one instrument: how it arrived, what the
// survey found, the tasks, waits and holds it goes through, who worked on it
// and how it left. Its rules are plain functions on plain values.
package job

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/wood"
	"winterbench/templates"
)

// Job is one visit of one instrument, with all that happened at the bench.
// A zero time means that it has not happened.
type Job struct {
	ID         domain.JobID
	Tag        int // claim tag, never reused
	Customer   domain.CustomerID
	Instrument domain.InstrumentID
	Arrival    Arrival
	Marks      []Mark
	ComebackOf domain.JobID // the earlier job this one repeats; 0 for none
	Comeback   *Comeback    // what was decided about it; nil before that

	Surveyed time.Time // the last survey
	Quoted   time.Time // the last quote was said to the customer
	Approved time.Time // the first yes
	Declined time.Time // the last answer was no and no earlier yes stands
	Promised domain.Date

	Tasks     []Task
	Waits     []Wait
	Holds     []Hold
	Clockings []Clocking
	Parts     []PartUsed
	Checks    []Check
	Contacts  []Contact

	Checked   time.Time // every task and check is through
	CheckedBy string
	Ready     time.Time // the customer was told, or an attempt was made
	Collected time.Time
	HandOver  HandOver
	Unclaimed time.Time // closed unclaimed
	Version   int       // grows with each save
}

// Arrival is what was asked and noted at the counter.
type Arrival struct {
	At          time.Time
	By          string // who took it in
	Complaint   string // the customer's words
	Since       string // since when
	Storage     string // how it lives at home, one of StorageHabits
	Heating     string // one of Heatings
	Humidifier  string // one of Humidifiers
	Contents    string // what is in the case
	Rack        string // where it stands
	CaseOpened  bool   // false: a cold case, still closed
	MarksSeenBy string // the customer's name under the condition marks
	SurveyFee   money.Amount
	StorageFee  bool // the storage fee was agreed in writing
}

// Mark is damage that was there before: shown to the customer at arrival.
type Mark struct {
	ID    int64
	What  string // one of MarkKinds
	Place string
	Note  string
	At    time.Time
	By    string
}

// Task is one planned piece of work. It keeps the figures of the template
// version it was quoted with.
type Task struct {
	ID       domain.TaskID
	Line     domain.LineID // the approved quote line behind it
	Template string        // code
	Edition  int           // version of the template
	Name     string
	Phase    templates.Phase
	Quantity int    // mm, cleats, frets ... as Unit says; 1 when Unit is ""
	Unit     string // "" for each
	Minutes  templates.Range
	WaitDays templates.Days
	WaitKind string // kind of the wait that follows, "" for none
	Skill    int
	Hold     bool // this task is the hold itself
	Dry      bool // must come after the hold
	Done     time.Time
	DoneBy   string
	Dropped  time.Time
	Reason   string // why it was dropped
	Made     string // how the joint was made: glue, cleats, splint; the next person needs it
}

// Open reports whether the task is neither done nor dropped.
func (t Task) Open() bool { return t.Done.IsZero() && t.Dropped.IsZero() }

// Wait is a stretch in which nobody works because something must happen first.
type Wait struct {
	ID    domain.WaitID
	Task  domain.TaskID // 0: the whole job waits
	Kind  string        // one of WaitKinds
	Start time.Time
	Until time.Time // expected end; zero when nobody knows
	End   time.Time
	Note  string
	By    string
}

// Hold is the rehumidify wait with its place in the cabinet.
type Hold struct {
	ID       domain.HoldID
	Task     domain.TaskID
	Place    string
	Start    time.Time
	End      time.Time
	Reason   string // why it ended, one of HoldEnds
	Note     string
	By       string
	EndedBy  string
	Readings []Reading
}

// Reading is one look at a held instrument. Readings are never changed.
type Reading struct {
	ID      domain.ReadingID
	At      time.Time
	RH      wood.Measure    // air in the body or case, %
	Air     wood.Measure    // temperature, C
	Gap     wood.Measure    // the worst crack, mm
	Arch    wood.Measure    // behind the bridge, mm, + is dome
	Weight  wood.Measure    // g
	Meter   domain.MeterID  // that read RH; 0 when it is not on the list
	Offset  decimal.Decimal // added to what the meter showed; RH is the corrected value, RH.Typed what was read
	Trusted bool            // the meter was within its calibration at that moment
	Note    string          // of a correction: its reason
	By      string

	// Replaces is the reading that this row puts right, or takes back when it
	// has no value; 0 for a reading of its own. At is then that of the old one.
	Replaces domain.ReadingID
}

// Comeback is what was decided about work that came back.
type Comeback struct {
	Cause string // one of ComebackCauses
	Share Share
	Why   string
	At    time.Time
	By    string
}

// Share says who pays for a comeback.
type Share string

// The shares: ours is free of charge, of a shared one the labour is halved, and
// what dried again is priced as usual. Minutes and parts are logged all the
// same. Source: common practice, no source.
const (
	Ours       Share = "ours"
	Shared     Share = "shared"
	DriedAgain Share = "dried again"
)

// Shares lists the shares.
func Shares() []Share { return []Share{Ours, Shared, DriedAgain} }

// ComebackCauses lists why work comes back.
func ComebackCauses() []string {
	return []string{
		"dried again", "glue failed", "cleat off", "missed at survey", "part faulty", "set-up drift", "finish shows",
		"customer changed their mind", "new damage", "transit",
	}
}

// Clocking is a stretch of one person's time on one task. Once it is closed it
// is never changed; a correction is a new one that names the old.
type Clocking struct {
	ID       domain.ClockingID
	Task     domain.TaskID
	Staff    domain.StaffID
	Name     string
	Start    time.Time
	End      time.Time         // zero while the clock runs
	Replaces domain.ClockingID // the slip that this one puts right; 0 for none
	Reason   string            // of the correction
}

// Span is the length of a closed clocking, 0 while it runs.
func (c Clocking) Span() time.Duration {
	if c.End.IsZero() {
		return 0
	}
	return c.End.Sub(c.Start)
}

// PartUsed is a part fitted or used up, at the prices of that day.
type PartUsed struct {
	ID       int64
	Task     domain.TaskID
	Part     domain.PartID
	Code     string
	Name     string
	Unit     string
	Kind     money.LineKind
	Quantity decimal.Decimal // at most 3 decimals; negative when put back
	Price    money.Amount    // list price per unit
	Cost     money.Amount    // per unit
	Move     int64           // of stock; 0 when no stock was kept of it
	Value    money.Amount    // what that move took in all, below 0 when put back; 0 without a move
	At       time.Time
	By       string
}

// AtCost is what the row cost in all, below 0 when it was put back: what its move of
// stock took, or the quantity at the cost of a unit, rounded half away from zero.
func (p PartUsed) AtCost() money.Amount {
	if p.Move != 0 {
		return p.Value
	}
	return money.Amount(p.Quantity.Mul(decimal.NewFromInt(int64(p.Cost))).Round(0).IntPart())
}

// Check is the result of one quality check of a task. A later result for the
// same check stands; the earlier stays on record.
type Check struct {
	ID     int64
	Task   domain.TaskID
	What   string // as the template words it
	Result Result
	Value  string // what was measured, as typed
	Note   string
	At     time.Time
	By     string
}

// Result is the outcome of a quality check.
type Result string

// The outcomes.
const (
	Pass         Result = "pass"
	PassNote     Result = "pass with note"
	Fail         Result = "fail"
	NotApply     Result = "not applicable"
	CouldNotTest Result = "could not test"
)

// Results lists the outcomes in the order the pages offer them.
func Results() []Result { return []Result{Pass, PassNote, Fail, NotApply, CouldNotTest} }

// Contact is one attempt to reach the customer.
type Contact struct {
	ID     int64
	About  string // "ready", "question", "notice"
	Result string // one of ContactResults
	Note   string
	At     time.Time
	By     string
}

// HandOver is how the instrument left.
type HandOver struct {
	To       string // who took it: the customer or a person named
	TagShown bool
	Brief    bool // the care brief was explained and given
	Recheck  domain.Date
	Note     string
	Unpaid   string // the owner's reason for letting it go with a balance
	By       string
}

// Words that a form may offer. Source of all lists: common practice, no source.

// MarkKinds lists kinds of condition marks.
func MarkKinds() []string {
	return []string{"dent", "ding", "scratch", "buckle rash", "finish check", "wear through", "crack", "missing part", "loose part", "sticker", "repair mark"}
}

// StorageHabits lists how instruments live at home.
func StorageHabits() []string {
	return []string{"unknown", "closed case with kit", "closed case", "case open", "stand", "wall hanger", "gig bag", "near heat", "near window", "vehicle", "cellar", "attic", "rehearsal room"}
}

// Heatings lists ways a home is heated.
func Heatings() []string {
	return []string{"unknown", "forced air", "water radiators", "steam", "stove", "underfloor", "none"}
}

// Humidifiers lists what moistens the air at home.
func Humidifiers() []string { return []string{"unknown", "none", "room", "case"} }

// Waits that the program begins and ends by itself too.
const (
	CabinetFull = "cabinet full" // for a place in the cabinet
	PartOrdered = "part ordered" // for a part that is not on the shelf
)

// WaitKinds lists what a job or task can wait for, besides the hold.
func WaitKinds() []string {
	return []string{"glue clamp", "finish cure", "settle at pitch", PartOrdered, "customer answer", "deposit", "assessor", "senior tech", CabinetFull, "cold case"}
}

// The reasons for which a hold ends.
const (
	SteadyByMeasure = "steady by measurement"
	WillNotClose    = "will not close"
	OwnersException = "owner's exception"
	TakenBack       = "taken back by customer"
	OverHumidStop   = "over-humid, stopped"
)

// HoldEnds lists why a hold ended.
func HoldEnds() []string {
	return []string{SteadyByMeasure, WillNotClose, OwnersException, TakenBack, OverHumidStop}
}

// ContactResults lists how a call went.
func ContactResults() []string {
	return []string{"spoke", "left message", "no answer", "wrong number", "wrote"}
}
