// Package templates holds the standard repairs of the shop: what each task
// takes in minutes and days, what it uses, what is measured when it is done,
// what the owner of the instrument must be told and when to say no.
//
// One readable TOML file describes one task. The files beside this code are
// built in; a shop may write files of its own, which [Parse] checks in the same
// way. Every figure is a starting default that a shop changes.
package templates

import (
	"github.com/shopspring/decimal"
)

// Driver says what the minutes of a task grow with.
type Driver string

// The drivers.
const (
	Each   Driver = "each"   // one job of work; the quantity is how often
	Length Driver = "length" // millimetres of crack or gap
	Count  Driver = "count"  // pieces: cleats, frets, braces, splices
	Run    Driver = "run"    // runs or edges of binding
)

// Drivers lists every driver.
func Drivers() []Driver { return []Driver{Each, Length, Count, Run} }

// Range is a figure in whole minutes: good luck, the usual, bad luck.
// None is negative and Low <= Typical <= High.
type Range struct {
	Low     int `toml:"low" json:"low"`
	Typical int `toml:"typical" json:"typical"`
	High    int `toml:"high" json:"high"`
}

// Plus returns the sum, figure by figure.
func (r Range) Plus(s Range) Range {
	return Range{r.Low + s.Low, r.Typical + s.Typical, r.High + s.High}
}

// Template is one standard repair. A job keeps the revision it was quoted with.
type Template struct {
	Code     string   `toml:"code" json:"code"`       // short and unique, such as CG; 1 to 8 capital letters and digits
	Name     string   `toml:"name" json:"name"`       // what the quote line says
	Summary  string   `toml:"summary" json:"summary"` // what is done, in a sentence or two
	Synonyms []string `toml:"synonyms,multiline,omitempty" json:"synonyms"`
	Revision int      `toml:"revision" json:"revision"` // 1, 2, ...; a changed figure is a new revision

	Phase     Phase    `toml:"phase" json:"phase"`
	After     []string `toml:"after,omitempty" json:"after"`         // codes that come first when the job has them
	NeedsHold bool     `toml:"needs_hold" json:"needs_hold"`         // only after the wood is back and steady
	AtPitch   bool     `toml:"check_at_pitch" json:"check_at_pitch"` // glued or strung: a day at pitch is due before hand-over

	Driver   Driver `toml:"driver" json:"driver"`
	PerUnit  int    `toml:"per_unit" json:"per_unit"`    // the quantity that one Labour covers: 100 for mm, 1 else
	Unit     string `toml:"unit" json:"unit"`            // of the quantity: mm, cleats, ...; "" for each
	Setup    Range  `toml:"setup,inline" json:"setup"`   // minutes once, however much there is
	Labour   Range  `toml:"labour,inline" json:"labour"` // minutes for each PerUnit
	PerCheck int    `toml:"per_check" json:"per_check"`  // minutes of each daily check; 0 for all but a hold
	Skill    int    `toml:"skill" json:"skill"`          // 1 counter, 2 bench junior, 3 bench tech, 4 senior only

	// Clamp is the kind of clamp that one instrument takes while it is glued and while
	// the glue dries, such as "bridge clamps"; "" for none that is few. How many
	// instruments a kind serves at once stands in the shop's settings.
	Clamp string `toml:"clamp,omitempty" json:"clamp"`

	ComebackRisk string `toml:"comeback_risk" json:"comeback_risk"`                     // low, medium or high, and why; "" does not apply
	Retired      bool   `toml:"retired" json:"retired"`                                 // kept for old jobs, not offered for new ones
	Source       string `toml:"source" json:"source"`                                   // where the figures come from
	LearnedUntil string `toml:"learned_until,omitempty" json:"learned_until,omitempty"` // RFC 3339: the minutes were adopted from the shop's own work finished by then; "" when they were not

	Tools    []string `toml:"tools,multiline,omitempty" json:"tools"`
	Tell     []string `toml:"tell,multiline,omitempty" json:"tell"`         // what the instrument's owner hears before saying yes
	Refuse   []string `toml:"refuse,multiline,omitempty" json:"refuse"`     // when to say no, or send it elsewhere
	Cautions []string `toml:"cautions,multiline,omitempty" json:"cautions"` // printed on the bench sheet

	Price     Price      `toml:"price" json:"price"`
	Waits     []Wait     `toml:"waits,omitempty" json:"waits"`
	Materials []Material `toml:"materials,omitempty" json:"materials"`
	Checks    []Check    `toml:"checks,omitempty" json:"checks"`
}

// Kinds of wait: the job's reasons for waiting that a template can know.
const (
	WaitHold       = "hold"            // in the cabinet until the wood is steady
	WaitGlue       = "glue clamp"      // clamped
	WaitCure       = "finish cure"     // finish hardening
	WaitSettle     = "settle at pitch" // strung, before the last readings
	WaitPart       = "part ordered"
	WaitAnswer     = "customer answer"
	WaitSenior     = "senior tech"
	WaitAssessor   = "assessor"
	WaitCold       = "cold case"
	WaitWithPlayer = "with the player" // handed over; counts after the job, not within it
)

// WaitKinds lists every kind of wait.
func WaitKinds() []string {
	return []string{WaitHold, WaitGlue, WaitCure, WaitSettle, WaitPart, WaitAnswer,
		WaitSenior, WaitAssessor, WaitCold, WaitWithPlayer}
}

// Wait is time in which nobody works on the instrument, in elapsed days.
// None is negative and Low <= Typical <= High.
type Wait struct {
	Kind    string          `toml:"kind" json:"kind"`
	Low     decimal.Decimal `toml:"low" json:"low"`
	Typical decimal.Decimal `toml:"typical" json:"typical"`
	High    decimal.Decimal `toml:"high" json:"high"`
}

// How much of a material goes with what.
const (
	PerJob  = "job"  // the same whatever the quantity
	PerUnit = "unit" // for each PerUnit of the quantity
)

// The kinds of money line that a material can become.
const (
	KindPart     = "part"          // fitted and billed
	KindSupplies = "shop_supplies" // used up, not billed by the piece
	KindRetail   = "retail_goods"  // sold over the counter
)

// Material is what the task uses.
type Material struct {
	Name     string          `toml:"name" json:"name"`
	Quantity decimal.Decimal `toml:"quantity" json:"quantity"` // above 0, in Unit
	Unit     string          `toml:"unit" json:"unit"`
	Per      string          `toml:"per" json:"per"`       // PerJob or PerUnit
	Billed   bool            `toml:"billed" json:"billed"` // true for a part or retail goods, false for supplies
	Kind     string          `toml:"kind" json:"kind"`
	Part     string          `toml:"part" json:"part"` // stock code, such as strings-set; "" when not kept in stock. Of a choice, such as "hide or aliphatic glue", the built-in files name one; the shop writes its own
}

// Check is something looked at or measured when the task is done. With no
// Unit and no limit it is a plain yes or no.
type Check struct {
	What    string           `toml:"what" json:"what"`
	Unit    string           `toml:"unit,omitempty" json:"unit"`
	AtMost  *decimal.Decimal `toml:"at_most" json:"at_most"`   // in Unit, the limit itself passes; nil for none
	AtLeast *decimal.Decimal `toml:"at_least" json:"at_least"` // likewise
	Method  string           `toml:"method" json:"method"`     // how it is measured
}

// Passes reports whether a measured value lies within the limits.
func (c Check) Passes(v decimal.Decimal) bool {
	return (c.AtMost == nil || v.LessThanOrEqual(*c.AtMost)) &&
		(c.AtLeast == nil || v.GreaterThanOrEqual(*c.AtLeast))
}

// Measured reports whether the check has a limit to compare a number with.
func (c Check) Measured() bool { return c.AtMost != nil || c.AtLeast != nil }

// How a task is priced.
const (
	Flat = "flat" // a fixed multiple of the hourly rate
	Time = "time" // minutes at the hourly rate, up to a ceiling
)

// Price says how the labour of a task is charged.
type Price struct {
	Basis string          `toml:"basis" json:"basis"` // Flat or Time
	Flat  decimal.Decimal `toml:"flat" json:"flat"`   // multiples of the shop's hourly rate; 0 unless Basis is Flat
	Free  bool            `toml:"free" json:"free"`   // never billed; the minutes are still clocked
}
