package api

import (
	"github.com/danielgtaylor/huma/v2"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/photo"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// words is the list that a field of fixed words is taken from.
type words interface{ list() []string }

// word is text out of a list of the domain. The list stands in the description
// of the interface, and other words are refused.
type word[W words] string

// Schema describes the list.
func (word[W]) Schema(huma.Registry) *huma.Schema {
	var w W
	s := &huma.Schema{Type: huma.TypeString}
	for _, text := range w.list() {
		s.Enum = append(s.Enum, text)
	}
	return s
}

// texts turns a list of the domain into plain text.
func texts[T ~string](all []T) []string {
	return each(all, func(t T) string { return string(t) })
}

type (
	roleWords         struct{}
	contactWords      struct{}
	reasonWords       struct{}
	kindWords         struct{}
	constructionWords struct{}
	stageWords        struct{}
	storageWords      struct{}
	heatingWords      struct{}
	humidifierWords   struct{}
	markWords         struct{}
	momentWords       struct{}
	subjectWords      struct{}
	stringWords       struct{}
	symptomWords      struct{}
	causeWords        struct{}
	sureWords         struct{}
	basisWords        struct{}
	stateWords        struct{}
	outcomeWords      struct{}
	channelWords      struct{}
	cameByWords       struct{}
	lineKindWords     struct{}
	waitWords         struct{}
	holdEndWords      struct{}
	verdictWords      struct{}
	resultWords       struct{}
	aboutWords        struct{}
	calledWords       struct{}
	tenderWords       struct{}
	paymentWords      struct{}
	unitWords         struct{}

	saidWords            struct{}
	hemisphereWords      struct{}
	repairKindWords      struct{}
	lengthUnitWords      struct{}
	temperatureUnitWords struct{}
	weightUnitWords      struct{}

	partKindWords   struct{}
	knownWords      struct{}
	modeWords       struct{}
	levelWords      struct{}
	combineWords    struct{}
	depositTaxWords struct{}
	pieceWords      struct{}
	phaseWords      struct{}
	driverWords     struct{}
	cameBackWords   struct{}
	shareWords      struct{}
	fitWords        struct{}
	heldWords       struct{}
)

func (roleWords) list() []string         { return texts(domain.Roles()) }
func (contactWords) list() []string      { return texts(customer.Contacts()) }
func (reasonWords) list() []string       { return []string{money.ReasonExempt, money.ReasonResale} }
func (kindWords) list() []string         { return customer.Kinds() }
func (constructionWords) list() []string { return texts(customer.Constructions()) }
func (stageWords) list() []string        { return texts(job.Stages()) }
func (storageWords) list() []string      { return job.StorageHabits() }
func (heatingWords) list() []string      { return job.Heatings() }
func (humidifierWords) list() []string   { return job.Humidifiers() }
func (markWords) list() []string         { return job.MarkKinds() }
func (momentWords) list() []string       { return job.Moments() }
func (subjectWords) list() []string      { return photo.Subjects() }
func (stringWords) list() []string       { return job.StringStates() }
func (causeWords) list() []string        { return job.CauseWords() }
func (sureWords) list() []string         { return job.Confidences() }
func (basisWords) list() []string        { return texts(quote.Bases()) }
func (channelWords) list() []string      { return quote.Channels() }
func (cameByWords) list() []string       { return append(quote.Channels(), quote.ByLink) }
func (lineKindWords) list() []string     { return texts(money.LineKinds()) }
func (waitWords) list() []string         { return job.WaitKinds() }
func (holdEndWords) list() []string      { return job.HoldEnds() }
func (verdictWords) list() []string {
	return texts([]hold.Verdict{hold.StillDrinking, hold.Steady, hold.WillNotClose})
}
func (resultWords) list() []string { return texts(job.Results()) }
func (aboutWords) list() []string  { return []string{"ready", "question", "notice"} }
func (calledWords) list() []string { return job.ContactResults() }
func (tenderWords) list() []string { return texts(billing.Tenders()) }
func (unitWords) list() []string   { return stock.Units() }

func (saidWords) list() []string { return texts(workshop.SaidChoices()) }
func (hemisphereWords) list() []string {
	return []string{string(workshop.North), string(workshop.South)}
}
func (repairKindWords) list() []string      { return workshop.RepairKinds() }
func (lengthUnitWords) list() []string      { return workshop.LengthUnits() }
func (temperatureUnitWords) list() []string { return workshop.TemperatureUnits() }
func (weightUnitWords) list() []string      { return workshop.WeightUnits() }

func (modeWords) list() []string     { return texts(money.Modes()) }
func (cameBackWords) list() []string { return job.ComebackCauses() }
func (shareWords) list() []string    { return texts(job.Shares()) }
func (fitWords) list() []string      { return texts([]job.Fit{job.Same, job.Perhaps}) }
func (heldWords) list() []string     { return texts(queue.Causes()) }
func (driverWords) list() []string   { return texts(templates.Drivers()) }

func (symptomWords) list() []string {
	return each(job.Symptoms(), func(s job.Symptom) string { return s.Name })
}

func (stateWords) list() []string {
	return texts([]quote.State{quote.Draft, quote.Open, quote.Agreed, quote.Partly, quote.Refused, quote.Lapsed, quote.Succeeded})
}

func (outcomeWords) list() []string {
	return texts([]quote.Outcome{quote.Whole, quote.Part, quote.Denied})
}

func (paymentWords) list() []string {
	return texts([]billing.PaymentKind{billing.Deposit, billing.Settle, billing.Refund})
}

func (partKindWords) list() []string {
	return texts([]money.LineKind{money.Part, money.RetailGoods, money.ShopSupplies})
}

func (knownWords) list() []string {
	return texts([]wood.Known{wood.Measured, wood.NotMeasured, wood.CouldNotReach})
}

func (levelWords) list() []string   { return texts([]money.Level{money.ByDocument, money.ByLine}) }
func (combineWords) list() []string { return texts([]money.Combine{money.Greater, money.Lesser}) }

func (depositTaxWords) list() []string { return []string{money.OnApplication, money.OnReceipt} }

func (pieceWords) list() []string {
	return texts([]job.PieceKind{job.Hands, job.Passive, job.Nobody})
}

func (phaseWords) list() []string { return each(templates.Phases(), templates.Phase.String) }
