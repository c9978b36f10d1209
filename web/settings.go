package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

func (s *Server) settings(c *gin.Context) { s.showSettings(c, http.StatusOK, nil) }

func (s *Server) showSettings(c *gin.Context, status int, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActChangeShop); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Shop settings", domain.Owner), Action: "/settings", Button: "Save", Back: Link{Href: "/owner", Text: "Owner"}}
	p.Answer = "What is changed here holds for new quotes; those that were said keep their figures."
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(shop.Version)}}
	p.Notes = []Caution{{Text: "Which taxes you owe, what a quote binds you to and what you may do with unclaimed goods is for you and your advisers to check."}}
	p.Groups = settingGroups(shop, func(name, value string) string {
		if errs != nil {
			return form(c, name)
		}
		return value
	})
	for i := range p.Groups {
		p.Groups[i].Fields = markAll(errs, p.Groups[i].Fields)
	}
	if clashed(c, errs, shop.Version) {
		p.beside(settingGroups(shop, func(_, value string) string { return value }), shop.Version)
	}
	p.Ways = []Link{{Href: calendarPath, Text: "When we work"}, {Href: bandsPath, Text: "What counts as dry"}, {Href: counterPath, Text: "What is charged besides"}, {Href: electronicPath, Text: "Electronic invoices"}, {Href: "/air/places", Text: "Places of the air"}, {Href: "/meters", Text: "Meters"}, {Href: longGonePath, Text: "Customers long gone"}}
	s.formPage(c, status, p)
}

// settingGroups asks for every setting; keep gives back what was typed.
func settingGroups(shop *workshop.Shop, keep func(name, value string) string) []Group {
	cur := shop.Currency
	amount := func(name, label string, a money.Amount) Field {
		return MoneyField(name, label, keep(name, Money(cur, a)), cur.Code)
	}
	count := func(name, label string, n int, unit string) Field {
		return CountField(name, label, keep(name, strconv.Itoa(n)), unit)
	}
	share := func(name, label string, d decimal.Decimal, unit string) Field {
		return Field{Kind: "text", Name: name, Label: label, Value: keep(name, d.String()), Unit: unit, Keys: "decimal", Width: "short"}
	}
	profile, _ := json.MarshalIndent(shop.Profile, "", "  ")
	tax := AreaField("profile", "Tax profile", keep("profile", string(profile))).Hint("Components with the kinds of line they are on and their rates by date, as JSON.")
	tax.Rows = 16
	hours := make([]Field, 7)
	for i, day := range workshop.Weekdays {
		name := fmt.Sprintf("hours[%d]", i)
		hours[i] = TextField(name, day, keep(name, hoursText(shop.Hours[i]))).Middle().Hint("09:00-17:30; empty when closed")
	}
	return []Group{
		{Legend: "The shop", Fields: []Field{
			TextField("name", "Name", keep("name", shop.Name)).Need().Limit(80), AreaField("address", "Address", keep("address", shop.Address)),
			PhoneField("phone", "Phone", keep("phone", shop.Phone)), EmailField("email", "Mail", keep("email", shop.Email)),
			TextField("zone", "Time zone", keep("zone", shop.Zone)).Need().Middle(), AreaField("foot", "Last lines on paper", keep("foot", shop.Foot)),
			count("keep_years", "Papers of money are kept for", shop.KeepsPapers(), "years").Hint("what your law asks is for you to check; after that a customer can be forgotten"),
		}},
		{Legend: "Prices", Across: true, Fields: []Field{
			amount("rate", "An hour at the bench", shop.Rate).Need(), amount("cost_rate", "What that hour costs the shop", shop.CostRate), amount("survey_fee", "Survey fee", shop.SurveyFee),
			share("guard_percent", "An estimate may be passed by", shop.Guard.Percent, "%"), count("valid_days", "Quotes are valid for", shop.ValidDays, "days"),
			count("quarter_up", "Time is billed up to the next", shop.QuarterUp, "min"),
		}},
		{Legend: "Deposit", Note: "A share of the total, asked above so many bench hours; 0 asks for none.", Across: true, Fields: []Field{
			share("deposit_above", "Above", shop.Deposit.Above, "hours"), share("deposit_percent", "ask for", shop.Deposit.Percent, "%"),
			share("deposit_high_above", "Above", shop.Deposit.HighAbove, "hours"), share("deposit_high_percent", "ask for", shop.Deposit.HighPercent, "%"),
		}},
		{Legend: "Warranty", Note: "For our own workmanship, after hand-over. Local consumer law may give the customer more; check it.", Across: true, Fields: []Field{
			count("warranty_days", "We stand for it", shop.Covers().Days, "days"), count("warranty_low", "in air from", shop.Covers().LowRH, "%"), count("warranty_high", "to", shop.Covers().HighRH, "%"),
		}},
		{Legend: "Taxes", Fields: []Field{tax}},
		{Legend: "Measures", Note: "How pages show them; limits and reasons stay in mm, °C and g. They are typed in any unit: 3/64\", 68 F.", Across: true, Fields: []Field{
			ChoiceField("units.length", "Lengths in", keep("units.length", shop.Units.Length), canonFirst(workshop.LengthUnits())),
			ChoiceField("units.temperature", "Temperatures in", keep("units.temperature", shop.Units.Temperature), canonFirst(workshop.TemperatureUnits())),
			ChoiceField("units.weight", "Weights in", keep("units.weight", shop.Units.Weight), canonFirst(workshop.WeightUnits())),
		}},
		{Legend: "Cabinet", Fields: []Field{AreaField("places", "Places, one a line", keep("places", strings.Join(shop.Places, "\n")))}},
		{Legend: "Clamps", Note: "Those that run short, by the names that the task templates use, and how many instruments each serves at once. The queue waits for them; a kind that is not here never runs short.", Fields: []Field{
			AreaField("clamps", "Kinds, one a line", keep("clamps", workshop.ClampsText(shop.Clamps))).Hint("bridge clamps: 2"),
		}},
		{Legend: "Hours", Across: true, Fields: hours},
	}
}

// canonFirst offers units; the first, which is canonical, is kept as "".
func canonFirst(units []string) []Option {
	out := Options(units)
	out[0].Value = ""
	for i := range out {
		out[i].Label = UnitWord(wood.Unit(out[i].Label))
	}
	return out
}

func hoursText(h workshop.Hours) string {
	if h.Open == "" {
		return ""
	}
	return h.Open + "-" + h.Close
}

func (s *Server) saveSettings(c *gin.Context) {
	old, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := settingsIn(c, *old)
	if err == nil {
		err = s.Work.ChangeShop(keyed(c), actor(c), shop)
	}
	s.answer(c, err, func(f domain.Fields) { s.showSettings(c, http.StatusUnprocessableEntity, f) }, "Saved.", "/settings")
}

// settingsIn reads the settings form over the present settings.
func settingsIn(c *gin.Context, shop workshop.Shop) (workshop.Shop, error) {
	f := domain.Fields{}
	cur := shop.Currency
	shop.Name, shop.Address, shop.Phone, shop.Email = form(c, "name"), form(c, "address"), form(c, "phone"), form(c, "email")
	shop.Zone, shop.Foot = form(c, "zone"), form(c, "foot")
	shop.Rate, shop.CostRate, shop.SurveyFee = amountIn(f, c, "rate", cur), amountIn(f, c, "cost_rate", cur), amountIn(f, c, "survey_fee", cur)
	shop.KeepYears = countIn(f, c, "keep_years")
	shop.ValidDays, shop.QuarterUp = countIn(f, c, "valid_days"), countIn(f, c, "quarter_up")
	shop.Warranty = job.Warranty{Days: countIn(f, c, "warranty_days"), LowRH: countIn(f, c, "warranty_low"), HighRH: countIn(f, c, "warranty_high")}
	shop.Guard.Percent = shareIn(f, c, "guard_percent", 100)
	shop.Deposit.Above, shop.Deposit.Percent = shareIn(f, c, "deposit_above", 1000), shareIn(f, c, "deposit_percent", 100)
	shop.Deposit.HighAbove, shop.Deposit.HighPercent = shareIn(f, c, "deposit_high_above", 1000), shareIn(f, c, "deposit_high_percent", 100)
	shop.Units = wood.Units{Length: form(c, "units.length"), Temperature: form(c, "units.temperature"), Weight: form(c, "units.weight")}
	shop.Places = nil
	for _, line := range strings.Split(form(c, "places"), "\n") {
		if line = strings.TrimSpace(line); line != "" {
			shop.Places = append(shop.Places, line)
		}
	}
	shop.Clamps = workshop.ClampsIn(f, form(c, "clamps"))
	for i := range shop.Hours {
		shop.Hours[i] = hoursIn(form(c, fmt.Sprintf("hours[%d]", i)))
	}
	dec := json.NewDecoder(bytes.NewBufferString(form(c, "profile")))
	dec.DisallowUnknownFields()
	var profile money.Profile
	if err := dec.Decode(&profile); err != nil {
		f.Add("profile", "is not JSON of a tax profile: %s", strings.TrimPrefix(err.Error(), "json: "))
	} else {
		shop.Profile = profile
	}
	version, _ := strconv.Atoi(form(c, "version"))
	shop.Version = version
	for name, text := range domain.FieldsOf(shop.Check()) {
		f.Add(warrantyField(name), "%s", text)
	}
	return shop, joinFields(f)
}

// warrantyField gives the form's name of a figure of the warranty.
func warrantyField(name string) string {
	return strings.NewReplacer("warranty.days", "warranty_days", "warranty.low_rh", "warranty_low", "warranty.high_rh", "warranty_high").Replace(name)
}

func countIn(f domain.Fields, c *gin.Context, name string) int {
	n, err := strconv.Atoi(form(c, name))
	if err != nil {
		f.Add(name, "must be a whole number")
	}
	return n
}

// shareIn reads a decimal from 0 to most; "" is 0.
func shareIn(f domain.Fields, c *gin.Context, name string, most int64) decimal.Decimal {
	typed := form(c, name)
	if typed == "" {
		return decimal.Zero
	}
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 12 || d.Sign() < 0 || d.GreaterThan(decimal.NewFromInt(most)) {
		f.Add(name, "must be a number from 0 to %d", most)
		return decimal.Zero
	}
	return d
}
