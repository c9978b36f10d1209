// Package workshop holds the use cases: work that touches several parts of the
// domain in one transaction, who may do it, and what it leaves in the diary.
package workshop

import (
	"context"
	"fmt"
	"sync"
	"time"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
)

// Shop is the shop's own settings.
type Shop struct {
	Name      string            `json:"name"`
	Address   string            `json:"address"`
	Phone     string            `json:"phone"`
	Email     string            `json:"email"`
	Zone      string            `json:"zone"` // IANA name of the time zone
	Currency  money.Currency    `json:"currency"`
	Rate      money.Amount      `json:"rate"`      // labour, per hour, as the customer pays it
	CostRate  money.Amount      `json:"cost_rate"` // labour, per hour, as it costs the shop
	Profile   money.Profile     `json:"profile"`
	Guard     money.Guard       `json:"guard"`
	Deposit   quote.DepositRule `json:"deposit"`
	ValidDays int               `json:"valid_days"`
	QuarterUp int               `json:"quarter_up"` // minutes are billed up to the next multiple, once per job
	SurveyFee money.Amount      `json:"survey_fee"`
	Hours     [7]Hours          `json:"hours"`    // Monday first
	Places    []string          `json:"places"`   // of the hold cabinet
	Clamps    []ClampCount      `json:"clamps"`   // those that are few; a kind that is not listed never runs short
	Foot      string            `json:"foot"`     // the last lines on paper: terms, warranty
	Bands     job.Bands         `json:"bands"`    // grades of the survey; empty: the usual ones
	Hold      hold.Rule         `json:"hold"`     // when a hold may end; zeros: the usual figures
	Warranty  job.Warranty      `json:"warranty"` // zeros: the usual one
	Units     wood.Units        `json:"units"`    // in which measures are shown; zero: mm, C, g
	Region    string            `json:"region"`   // of public holidays, such as "AT" or "DE-BY"; "" keeps none
	OpenOn    []domain.Date     `json:"open_on"`  // public holidays on which the shop works all the same
	Closed    []DaySpan         `json:"closed"`   // other days on which the shop is closed
	Said      Said              `json:"said"`     // how sure the day is that a customer is told; "": p80
	Accounts  Accounts          `json:"accounts"` // who may stay signed in and how; zeros: the usual figures
	Demo      bool              `json:"demo"`     // an invented shop
	Version   int               `json:"-"`

	Counter Counter `json:"counter"` // what is charged besides; zeros: nothing

	Electronic Electronic `json:"electronic"` // what electronic invoices say of the shop

	KeepYears int `json:"keep_years"` // papers of money are kept so long; 0: the usual time

	Hemisphere Hemisphere `json:"hemisphere"` // where the shop has its winter; "": by the zone
	Expected   int        `json:"expected"`   // jobs a week, while no week is in the books; 0: no guess
}

// Hours are the opening hours of one weekday, as "09:00". Both empty: closed.
type Hours struct {
	Open  string `json:"open"`
	Close string `json:"close"`
}

// zones keeps time zones by name: reading one from its file takes longer than
// most pages.
var zones sync.Map

// Location is the shop's time zone, UTC when its name is unknown.
func (s *Shop) Location() *time.Location {
	if zone, ok := zones.Load(s.Zone); ok {
		return zone.(*time.Location)
	}
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		return time.UTC
	}
	zones.Store(s.Zone, zone)
	return zone
}

// Today is the shop's civil date at a moment.
func (s *Shop) Today(at time.Time) domain.Date { return domain.DateOf(at.In(s.Location())) }

// dayOf is the day of a moment where the shop is.
func dayOf(ctx context.Context, tx Tx, at time.Time) (domain.Date, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return "", err
	}
	return shop.Today(at), nil
}

// Terms are the figures that a quote made at a moment is built with.
func (s *Shop) Terms(at time.Time, ex *money.Exemption) quote.Terms {
	return quote.Terms{
		Currency: s.Currency, Profile: s.Profile, Exempt: ex, HourlyRate: s.Rate, Guard: s.Guard,
		ValidDays: s.ValidDays, DepositRule: s.Deposit, Today: s.Today(at), Charges: s.Counter.Charges,
	}
}

// Covers is what the shop's warranty covers.
func (s *Shop) Covers() job.Warranty { return s.Warranty.OrUsual() }

// Check trims the fields and returns an Invalid error that names each wrong one.
func (s *Shop) Check() error {
	f := domain.Fields{}
	s.Name = domain.Line(f, "name", s.Name, 80, true)
	s.Address = domain.Paragraph(f, "address", s.Address, 400, false)
	s.Phone = domain.Line(f, "phone", s.Phone, 40, false)
	s.Email = domain.Line(f, "email", s.Email, 120, false)
	s.Foot = domain.Paragraph(f, "foot", s.Foot, 1500, false)
	if _, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "" || s.Zone == "Local" {
		f.Add("zone", "must be the name of a time zone, such as Europe/Helsinki")
	}
	if _, err := money.CurrencyOf(s.Currency.Code); err != nil {
		f.AddErr("currency", err)
	}
	if s.Rate <= 0 {
		f.Add("rate", "must be more than 0")
	}
	if s.CostRate < 0 {
		f.Add("cost_rate", "must not be negative")
	}
	if s.SurveyFee < 0 {
		f.Add("survey_fee", "must not be negative")
	}
	f.AddErr("profile", s.Profile.Validate())
	if s.Profile.Currency != "" && s.Profile.Currency != s.Currency.Code {
		f.Add("profile", "is for %s, the shop uses %s", s.Profile.Currency, s.Currency.Code)
	}
	f.AddErr("guard", s.Guard.Validate())
	if s.ValidDays < 1 || s.ValidDays > 365 {
		f.Add("valid_days", "must be from 1 to 365")
	}
	if s.QuarterUp < 1 || s.QuarterUp > 60 {
		f.Add("quarter_up", "must be from 1 to 60 minutes")
	}
	if s.KeepYears < 0 || s.KeepYears > 50 {
		f.Add("keep_years", "must be from 1 to 50, or empty for %d", UsualKeepYears)
	}
	if len(s.Places) > 40 {
		f.Add("places", "must be at most 40")
	}
	for i := range s.Places {
		s.Places[i] = domain.Line(f, "places", s.Places[i], 40, true)
	}
	s.checkClamps(f)
	s.checkHours(f)
	s.checkCalendar(f)
	for field, text := range domain.FieldsOf(s.Bands.Check()) {
		f.Add(field, "%s", text)
	}
	rule := s.Hold // checked as it is used, kept as it is given: zeros stay the usual figures
	f.AddErr("hold", rule.Check())
	f.AddErr("warranty", s.Covers().Check())
	checkUnits(f, s.Units)
	f.AddErr("accounts", s.Accounts.Check())
	f.AddErr("counter", s.Counter.Check())
	f.AddErr("electronic", s.Electronic.Check())
	return f.Err()
}

// Weekdays names the days, Monday first.
var Weekdays = [7]string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}

func (s *Shop) checkHours(f domain.Fields) {
	for i, h := range s.Hours {
		if h.Open == "" && h.Close == "" {
			continue
		}
		open, errOpen := time.Parse("15:04", h.Open)
		end, errEnd := time.Parse("15:04", h.Close)
		if errOpen != nil || errEnd != nil || !end.After(open) {
			f.Add(fmt.Sprintf("hours[%d]", i), "%s must open before it closes, such as 09:00 and 17:30; leave both empty when closed", Weekdays[i])
		}
	}
}
