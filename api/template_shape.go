package api

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/templates"
)

// templateDoc is one edition of a task template.
type templateDoc struct {
	Edition int  `json:"edition"`
	Newest  int  `json:"newest" doc:"The newest edition"`
	BuiltIn bool `json:"built_in" doc:"As the program brought it"`
	TemplateNote
}

// TemplateNote is a standard repair. Figures are in whole minutes and in elapsed
// days: good luck, the usual, bad luck.
type TemplateNote struct {
	Code     string   `json:"code" doc:"1 to 8 capital letters and digits, unique"`
	Name     string   `json:"name" doc:"What the quote line says"`
	Summary  string   `json:"summary"`
	Synonyms []string `json:"synonyms,omitempty"`
	Revision int      `json:"revision,omitempty" minimum:"0" doc:"Raised by itself with each new edition"`

	Phase        word[phaseWords]  `json:"phase" doc:"A lower phase is finished before a higher one begins"`
	After        []string          `json:"after,omitempty" doc:"Codes that come first when the job has them"`
	NeedsHold    bool              `json:"needs_hold,omitempty" doc:"Only after the wood is back and steady"`
	AtPitch      bool              `json:"at_pitch,omitempty" doc:"A day at pitch is due before hand-over"`
	Driver       word[driverWords] `json:"driver" doc:"What the minutes grow with"`
	PerUnit      int               `json:"per_unit" doc:"The quantity that one labour covers: 100 for mm, else 1"`
	Unit         string            `json:"unit,omitempty" doc:"Of the quantity; empty for each"`
	Setup        minutes           `json:"setup" doc:"Once, however much there is"`
	Labour       minutes           `json:"labour" doc:"For each per_unit"`
	PerCheck     int               `json:"per_check,omitempty" doc:"Minutes of each daily check of a hold"`
	Skill        int               `json:"skill" doc:"1 counter, 2 junior, 3 bench, 4 senior only"`
	Clamp        string            `json:"clamp,omitempty" doc:"Kind of clamp that one instrument takes until its glue is dry; empty for none that is few"`
	ComebackRisk string            `json:"comeback_risk,omitempty" doc:"low, medium or high, and why"`
	Retired      bool              `json:"retired,omitempty" doc:"Kept for old jobs, not offered for new ones"`
	Source       string            `json:"source,omitempty" doc:"Where the figures come from"`

	Tools    []string `json:"tools,omitempty"`
	Tell     []string `json:"tell,omitempty" doc:"What the owner hears before saying yes"`
	Refuse   []string `json:"refuse,omitempty" doc:"When to say no, or send it elsewhere"`
	Cautions []string `json:"cautions,omitempty" doc:"Printed on the bench sheet"`

	Price     templatePrice      `json:"price"`
	Waits     []templateWait     `json:"waits,omitempty"`
	Materials []templateMaterial `json:"materials,omitempty"`
	Checks    []templateCheck    `json:"checks,omitempty"`
}

type templatePrice struct {
	Basis string `json:"basis" enum:"flat,time" doc:"flat: a multiple of the hourly rate; time: minutes at the hourly rate"`
	Flat  string `json:"flat,omitempty" doc:"Multiple of the hourly rate"`
	Free  bool   `json:"free,omitempty" doc:"Never billed; the minutes are still clocked"`
}

type templateWait struct {
	Kind    string `json:"kind"`
	Low     string `json:"low"`
	Typical string `json:"typical"`
	High    string `json:"high"`
}

type templateMaterial struct {
	Name     string `json:"name"`
	Quantity string `json:"quantity"`
	Unit     string `json:"unit"`
	Per      string `json:"per" enum:"job,unit"`
	Billed   bool   `json:"billed,omitempty"`
	Kind     string `json:"kind" enum:"part,shop_supplies,retail_goods"`
	Part     string `json:"part,omitempty" doc:"Code of the part; left out when it is not kept in stock"`
}

type templateCheck struct {
	What    string  `json:"what"`
	Unit    string  `json:"unit,omitempty"`
	AtMost  *string `json:"at_most,omitempty" doc:"The limit itself passes"`
	AtLeast *string `json:"at_least,omitempty" doc:"The limit itself passes"`
	Method  string  `json:"method,omitempty" doc:"How it is measured"`
}

func templateOf(t templates.Template) TemplateNote {
	return TemplateNote{
		Code: t.Code, Name: t.Name, Summary: t.Summary, Synonyms: same(t.Synonyms), Revision: t.Revision, Phase: word[phaseWords](t.Phase.String()), After: same(t.After),
		NeedsHold: t.NeedsHold, AtPitch: t.AtPitch, Driver: word[driverWords](t.Driver), PerUnit: t.PerUnit, Unit: t.Unit, Setup: minutesOf(t.Setup), Labour: minutesOf(t.Labour),
		PerCheck: t.PerCheck, Skill: t.Skill, Clamp: t.Clamp, ComebackRisk: t.ComebackRisk, Retired: t.Retired, Source: t.Source,
		Tools: same(t.Tools), Tell: same(t.Tell), Refuse: same(t.Refuse), Cautions: same(t.Cautions),
		Price: templatePrice{Basis: t.Price.Basis, Flat: t.Price.Flat.String(), Free: t.Price.Free},
		Waits: each(t.Waits, func(w templates.Wait) templateWait {
			return templateWait{Kind: w.Kind, Low: w.Low.String(), Typical: w.Typical.String(), High: w.High.String()}
		}),
		Materials: each(t.Materials, func(m templates.Material) templateMaterial {
			return templateMaterial{Name: m.Name, Quantity: m.Quantity.String(), Unit: m.Unit, Per: m.Per, Billed: m.Billed, Kind: m.Kind, Part: m.Part}
		}),
		Checks: each(t.Checks, func(c templates.Check) templateCheck {
			return templateCheck{What: c.What, Unit: c.Unit, AtMost: limit(c.AtMost), AtLeast: limit(c.AtLeast), Method: c.Method}
		}),
	}
}

func (n TemplateNote) domain() (templates.Template, error) {
	f := domain.Fields{}
	t := templates.Template{
		Code: n.Code, Name: n.Name, Summary: n.Summary, Synonyms: n.Synonyms, Revision: max(n.Revision, 1), After: n.After, NeedsHold: n.NeedsHold, AtPitch: n.AtPitch,
		Driver: templates.Driver(n.Driver), PerUnit: n.PerUnit, Unit: n.Unit, Setup: templates.Range(n.Setup), Labour: templates.Range(n.Labour), PerCheck: n.PerCheck,
		Skill: n.Skill, Clamp: n.Clamp, ComebackRisk: n.ComebackRisk, Retired: n.Retired, Source: n.Source, Tools: n.Tools, Tell: n.Tell, Refuse: n.Refuse, Cautions: n.Cautions,
		Price: templates.Price{Basis: n.Price.Basis, Flat: decimalIn(f, "price.flat", n.Price.Flat), Free: n.Price.Free},
	}
	if err := t.Phase.UnmarshalText([]byte(n.Phase)); err != nil {
		f.Add("phase", "%s", err.Error())
	}
	for i, w := range n.Waits {
		at := fmt.Sprintf("waits[%d].", i)
		t.Waits = append(t.Waits, templates.Wait{Kind: w.Kind, Low: decimalIn(f, at+"low", w.Low), Typical: decimalIn(f, at+"typical", w.Typical), High: decimalIn(f, at+"high", w.High)})
	}
	for i, m := range n.Materials {
		t.Materials = append(t.Materials, templates.Material{
			Name: m.Name, Quantity: decimalIn(f, fmt.Sprintf("materials[%d].quantity", i), m.Quantity), Unit: m.Unit, Per: m.Per, Billed: m.Billed, Kind: m.Kind, Part: m.Part,
		})
	}
	for i, c := range n.Checks {
		at := fmt.Sprintf("checks[%d].", i)
		t.Checks = append(t.Checks, templates.Check{What: c.What, Unit: c.Unit, AtMost: limitIn(f, at+"at_most", c.AtMost), AtLeast: limitIn(f, at+"at_least", c.AtLeast), Method: c.Method})
	}
	return t, f.Err()
}

func limitIn(f domain.Fields, field string, typed *string) *decimal.Decimal {
	if typed == nil || *typed == "" {
		return nil
	}
	d := decimalIn(f, field, *typed)
	return &d
}
