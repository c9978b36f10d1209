package api

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// shopDoc is the shop's own settings.
type shopDoc struct {
	Version int  `json:"version" doc:"Grows with each change"`
	Demo    bool `json:"demo" doc:"An invented shop"`
	ShopNote
}

// ShopNote is what a shop is set up with. Rates, exemptions and limits are
// settings: the owner checks them against the law of the place.
type ShopNote struct {
	Name       string          `json:"name"`
	Address    string          `json:"address,omitempty" doc:"Several lines"`
	Phone      string          `json:"phone,omitempty"`
	Email      string          `json:"email,omitempty"`
	Zone       string          `json:"zone" doc:"IANA name of the time zone, such as Europe/Helsinki"`
	Currency   string          `json:"currency" doc:"ISO 4217; fixed once the shop is open"`
	Rate       string          `json:"rate" doc:"Labour per hour, as the customer pays it"`
	CostRate   string          `json:"cost_rate,omitempty" doc:"What that hour costs the shop; for the owner alone"`
	Profile    taxProfile      `json:"profile"`
	Guard      guardNote       `json:"guard" doc:"How far a bill may rise above its estimate without a new yes"`
	Deposit    depositNote     `json:"deposit" doc:"When a deposit is asked"`
	ValidDays  int             `json:"valid_days" doc:"Days for which a quote is valid"`
	QuarterUp  int             `json:"quarter_up" doc:"Minutes are billed up to the next multiple, once per job"`
	SurveyFee  string          `json:"survey_fee,omitempty"`
	Counter    *counterNote    `json:"counter,omitempty" doc:"What is charged besides; nothing when left out"`
	Electronic *electronicShop `json:"electronic,omitempty" doc:"What electronic invoices say of the shop; nothing when left out"`
	KeepYears  int             `json:"keep_years,omitempty" minimum:"0" maximum:"50" doc:"Years for which papers of money are kept, after which a customer can be forgotten; 7 when left out"`
	Hours      []hours         `json:"hours" minItems:"7" maxItems:"7" doc:"Monday first"`
	Region     string          `json:"region,omitempty" doc:"Of public holidays, a code of ISO 3166 such as AT or DE-BY; none are kept when left out"`
	OpenOn     []string        `json:"open_on,omitempty" maxItems:"400" doc:"Public holidays on which the shop works all the same, as dates"`
	Closed     []daysNote      `json:"closed,omitempty" maxItems:"200" doc:"Other days on which the shop is closed"`
	Places     []string        `json:"places" maxItems:"40" doc:"Of the cabinet"`
	Clamps     []clampNote     `json:"clamps,omitempty" maxItems:"40" doc:"Kinds of clamps that are few; a kind that is left out never runs short"`
	Warranty   *warranty       `json:"warranty,omitempty" doc:"90 days in air from 40 to 60 % when left out; local consumer law may give more"`
	Foot       string          `json:"foot,omitempty" doc:"The last lines on paper"`
	Hold       *holdRule       `json:"hold,omitempty" doc:"When a hold may end; figures left out are the usual ones"`
	Units      *showUnits      `json:"units,omitempty" doc:"In which pages show measures; here they are always mm, C, % and g"`
	Said       word[saidWords] `json:"said,omitempty" doc:"How sure the day is that a customer is told; p80 when left out"`
	Bands      []band          `json:"bands,omitempty" maxItems:"20" doc:"How a survey's measures are graded; those left out are the usual ones"`

	Winter   word[hemisphereWords] `json:"hemisphere,omitempty" doc:"Where the shop has its winter; by the time zone when left out"`
	Expected int                   `json:"expected,omitempty" minimum:"0" maximum:"1000" doc:"Jobs a week that the owner expects while no week is in the books; no guess when left out"`
}

// clampNote is how many instruments a kind of clamp serves at once.
type clampNote struct {
	Name  string `json:"name" doc:"As task templates name it"`
	Count int    `json:"count" minimum:"1" doc:"What one instrument takes counts as one"`
}

// showUnits are units that pages show. They change nothing that is sent here.
type showUnits struct {
	Length      word[lengthUnitWords]      `json:"length,omitempty" doc:"mm when left out"`
	Temperature word[temperatureUnitWords] `json:"temperature,omitempty" doc:"C when left out"`
	Weight      word[weightUnitWords]      `json:"weight,omitempty" doc:"g when left out"`
}

func showUnitsOf(u wood.Units) *showUnits {
	if u == (wood.Units{}) {
		return nil
	}
	return &showUnits{Length: word[lengthUnitWords](u.Length), Temperature: word[temperatureUnitWords](u.Temperature), Weight: word[weightUnitWords](u.Weight)}
}

func (u *showUnits) domain() wood.Units {
	if u == nil {
		return wood.Units{}
	}
	return wood.Units{Length: string(u.Length), Temperature: string(u.Temperature), Weight: string(u.Weight)}
}

// warranty is what the shop stands for.
type warranty struct {
	Days   int `json:"days" minimum:"0" maximum:"3650" doc:"After hand-over; 0: none beyond the law"`
	LowRH  int `json:"low_rh" minimum:"0" maximum:"100" doc:"Per cent; below it dry air is named as the cause"`
	HighRH int `json:"high_rh" minimum:"0" maximum:"100" doc:"Per cent; above it moist air is"`
}

type hours struct {
	Open  string `json:"open" doc:"Such as 09:00; empty when closed"`
	Close string `json:"close" doc:"Such as 17:30; empty when closed"`
}

// taxProfile is how a shop is taxed.
type taxProfile struct {
	Name             string                `json:"name"`
	Caution          string                `json:"caution,omitempty" doc:"What the owner must check"`
	PricesIncludeTax bool                  `json:"prices_include_tax,omitempty"`
	Rounding         rounding              `json:"rounding,omitempty"`
	Components       []taxComponent        `json:"components" doc:"In the order they are printed; none: no tax"`
	DepositTax       word[depositTaxWords] `json:"deposit_tax" doc:"When a deposit is taxed"`
	CashStep         string                `json:"cash_step,omitempty" doc:"Smallest coin; cash is not rounded when left out"`
	CashMode         word[modeWords]       `json:"cash_mode,omitempty" doc:"half_up when left out"`
}

type rounding struct {
	Mode  word[modeWords]  `json:"mode,omitempty" doc:"half_up when left out"`
	Level word[levelWords] `json:"level,omitempty" doc:"Of the taxes; document when left out"`
}

type taxComponent struct {
	Name   string                `json:"name"`
	Number string                `json:"number,omitempty" doc:"Registration number to print"`
	On     []word[lineKindWords] `json:"on" doc:"The kinds of lines it is on"`
	After  []string              `json:"after,omitempty" doc:"Earlier components whose amount is part of its base"`
	Rates  []taxRate             `json:"rates" doc:"Without gap or overlap"`
}

type taxRate struct {
	From    string `json:"from" format:"date" doc:"First day"`
	To      string `json:"to,omitempty" format:"date" doc:"Last day; left out: open"`
	Percent string `json:"percent"`
}

type guardNote struct {
	Percent  string             `json:"percent,omitempty" doc:"Of the estimate"`
	Absolute string             `json:"absolute,omitempty" doc:"Amount"`
	Combine  word[combineWords] `json:"combine,omitempty" doc:"Which limit counts when both are set"`
}

type depositNote struct {
	Above       string `json:"above,omitempty" doc:"Times the hourly rate; never when left out"`
	Percent     string `json:"percent,omitempty" doc:"Of the total"`
	HighAbove   string `json:"high_above,omitempty" doc:"Times the hourly rate"`
	HighPercent string `json:"high_percent,omitempty" doc:"Of the total"`
}

func shopOf(s *workshop.Shop, by domain.Actor) shopDoc {
	c := s.Currency
	n := ShopNote{
		Name: s.Name, Address: s.Address, Phone: s.Phone, Email: s.Email, Zone: s.Zone, Currency: c.Code, Rate: c.Text(s.Rate), Profile: profileOf(s.Profile, c),
		Guard:   guardNote{Percent: s.Guard.Percent.String(), Absolute: c.Text(s.Guard.Absolute), Combine: word[combineWords](s.Guard.Combine)},
		Deposit: depositNote{Above: s.Deposit.Above.String(), Percent: s.Deposit.Percent.String(), HighAbove: s.Deposit.HighAbove.String(), HighPercent: s.Deposit.HighPercent.String()},
		Counter: counterOf(s.Counter, c), Electronic: electronicShopOf(s.Electronic), KeepYears: s.KeepsPapers(), ValidDays: s.ValidDays, QuarterUp: s.QuarterUp, SurveyFee: c.Text(s.SurveyFee), Places: same(s.Places), Foot: s.Foot,
		Clamps: each(s.Clamps, func(c workshop.ClampCount) clampNote { return clampNote(c) }),
		Hours:  each(s.Hours[:], func(h workshop.Hours) hours { return hours(h) }), Hold: holdRuleOf(s.Hold), Bands: bandsOf(s.Bands), Units: showUnitsOf(s.Units),
		Region: s.Region, Closed: daysNotesOf(s.Closed), Said: word[saidWords](s.Said), Winter: word[hemisphereWords](s.Hemisphere), Expected: s.Expected,
		OpenOn: each(s.OpenOn, func(d domain.Date) string { return string(d) }),
	}
	w := warranty(s.Covers())
	n.Warranty = &w
	if workshop.May(by, workshop.ActReadBalance) == nil {
		n.CostRate = c.Text(s.CostRate)
	}
	return shopDoc{Version: s.Version, Demo: s.Demo, ShopNote: n}
}

func profileOf(p money.Profile, c money.Currency) taxProfile {
	return taxProfile{
		Name: p.Name, Caution: p.Caution, PricesIncludeTax: p.PricesIncludeTax, Rounding: rounding{Mode: word[modeWords](p.Rounding.Mode), Level: word[levelWords](p.Rounding.Level)},
		DepositTax: word[depositTaxWords](p.DepositTax), CashStep: c.Text(p.CashStep), CashMode: word[modeWords](p.CashMode),
		Components: each(p.Components, func(x money.Component) taxComponent {
			return taxComponent{
				Name: x.Name, Number: x.Number, After: same(x.After),
				On: each(x.On, func(k money.LineKind) word[lineKindWords] { return word[lineKindWords](k) }),
				Rates: each(x.Rates, func(r money.Rate) taxRate {
					return taxRate{From: string(r.From), To: string(r.To), Percent: r.Percent.String()}
				}),
			}
		}),
	}
}

func (n ShopNote) domain() (workshop.Shop, error) {
	f := domain.Fields{}
	c, err := money.CurrencyOf(n.Currency)
	if err != nil {
		f.AddErr("currency", err)
		return workshop.Shop{}, f.Err()
	}
	s := workshop.Shop{
		Name: n.Name, Address: n.Address, Phone: n.Phone, Email: n.Email, Zone: n.Zone, Currency: c, Rate: amountIn(f, "rate", n.Rate, c), CostRate: amountIn(f, "cost_rate", n.CostRate, c),
		Profile: n.Profile.domain(f, c),
		Guard:   money.Guard{Percent: decimalIn(f, "guard.percent", n.Guard.Percent), Absolute: amountIn(f, "guard.absolute", n.Guard.Absolute, c), Combine: money.Combine(n.Guard.Combine)},
		Deposit: quote.DepositRule{
			Above: shareIn(f, "deposit.above", n.Deposit.Above, 1000), Percent: shareIn(f, "deposit.percent", n.Deposit.Percent, 100),
			HighAbove: shareIn(f, "deposit.high_above", n.Deposit.HighAbove, 1000), HighPercent: shareIn(f, "deposit.high_percent", n.Deposit.HighPercent, 100),
		},
		Counter: n.Counter.domain(f, c), Electronic: n.Electronic.domain(), KeepYears: n.KeepYears, ValidDays: n.ValidDays, QuarterUp: n.QuarterUp, SurveyFee: amountIn(f, "survey_fee", n.SurveyFee, c), Places: same(n.Places), Foot: n.Foot,
		Clamps: each(n.Clamps, func(c clampNote) workshop.ClampCount { return workshop.ClampCount(c) }),
		Hold:   n.Hold.domain(), Bands: bandsIn(f, n.Bands), Units: n.Units.domain(),
		Region: n.Region, Closed: daysNotesIn(n.Closed), Said: workshop.Said(n.Said), Hemisphere: workshop.Hemisphere(n.Winter), Expected: n.Expected,
	}
	for _, d := range n.OpenOn {
		s.OpenOn = append(s.OpenOn, domain.Date(d))
	}
	if n.Warranty != nil {
		s.Warranty = job.Warranty(*n.Warranty)
	}
	for i, h := range n.Hours {
		s.Hours[i] = workshop.Hours(h)
	}
	if err := f.Err(); err != nil {
		return s, err
	}
	return s, s.Check()
}

// shareIn reads a decimal from 0 to most.
func shareIn(f domain.Fields, field, typed string, most int64) decimal.Decimal {
	d := decimalIn(f, field, typed)
	if d.Sign() < 0 || d.GreaterThan(decimal.NewFromInt(most)) {
		f.Add(field, "must be from 0 to %d", most)
	}
	return d
}

func (p taxProfile) domain(f domain.Fields, c money.Currency) money.Profile {
	out := money.Profile{
		Name: p.Name, Caution: p.Caution, Currency: c.Code, PricesIncludeTax: p.PricesIncludeTax,
		Rounding:   money.Rounding{Mode: money.Mode(p.Rounding.Mode), Level: money.Level(p.Rounding.Level)},
		DepositTax: string(p.DepositTax), CashStep: amountIn(f, "profile.cash_step", p.CashStep, c), CashMode: money.Mode(p.CashMode),
	}
	for i, x := range p.Components {
		component := money.Component{Name: x.Name, Number: x.Number, After: x.After}
		for _, k := range x.On {
			component.On = append(component.On, money.LineKind(k))
		}
		for k, r := range x.Rates {
			at := fmt.Sprintf("profile.components[%d].rates[%d].", i, k)
			component.Rates = append(component.Rates, money.Rate{From: dateIn(f, at+"from", r.From), To: dateIn(f, at+"to", r.To), Percent: decimalIn(f, at+"percent", r.Percent)})
		}
		out.Components = append(out.Components, component)
	}
	return out
}
