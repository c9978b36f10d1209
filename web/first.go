package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// askFirst asks for the first settings of an empty shop.
func (s *Server) askFirst(c *gin.Context) {
	if _, err := s.Read.ShopSettings(c.Request.Context()); domain.KindOf(err) != domain.NotFound {
		Go(c, "/")
		return
	}
	s.showFirst(c, http.StatusOK, nil)
}

// firstAnswers are what stands in the empty form.
func firstAnswers() map[string]string {
	out := map[string]string{"zone": "", "currency": "", "profile": "", "rate": "", "survey_fee": "", "places": "4", "guard_percent": "10", "valid_days": "14"}
	for i := range workshop.Weekdays {
		out[fmt.Sprintf("hours[%d]", i)] = "09:00-17:00"
	}
	out["hours[5]"], out["hours[6]"] = "", ""
	return out
}

func (s *Server) showFirst(c *gin.Context, status int, errs domain.Fields) {
	usual := firstAnswers()
	typed := func(name string) string {
		if errs != nil {
			return form(c, name)
		}
		return usual[name]
	}
	p := &SetupPage{Page: s.frame(c, "A shop of your own", ""), Action: "/first", Button: "Open the shop"}
	p.Answer = "A few answers, then the first instrument can come in."
	p.Intro = "All but the currency can be changed later."
	p.Caution = &Caution{Text: "The tax profiles are samples. Which taxes you owe, and since when at which rate, is for you and your tax adviser to check before the first invoice."}
	p.Errors = errs
	p.Groups = firstGroups(typed)
	s.page(c, status, "setup", p)
}

func firstGroups(typed func(string) string) []Group {
	currencies := []Option{{Value: "", Label: "choose"}}
	for _, cur := range money.Currencies() {
		currencies = append(currencies, Option{Value: cur.Code, Label: cur.Code})
	}
	profiles := []Option{{Value: "", Label: "choose"}}
	for i, p := range money.SampleProfiles() {
		label := p.Name
		if len(p.Components) > 0 {
			label += " (" + p.Currency + ")"
		}
		profiles = append(profiles, Option{Value: strconv.Itoa(i), Label: label})
	}
	hours := make([]Field, 7)
	for i, day := range workshop.Weekdays {
		name := fmt.Sprintf("hours[%d]", i)
		hours[i] = TextField(name, day, typed(name)).Middle()
	}
	return []Group{
		{Legend: "The shop", Fields: []Field{
			TextField("name", "Name of the shop", typed("name")).Need().Limit(80), AreaField("address", "Address", typed("address")),
			PhoneField("phone", "Phone", typed("phone")),
			TextField("zone", "Time zone", typed("zone")).Need().Middle().Hint("such as Europe/Helsinki or America/Winnipeg").Offer([]string{"Europe/Helsinki", "Europe/Oslo", "Europe/Berlin", "America/Winnipeg", "America/Toronto", "America/Chicago"}),
		}},
		{Legend: "Money", Note: "Amounts in major units, such as 84.00.", Fields: []Field{
			ChoiceField("currency", "Currency", typed("currency"), currencies).Need().Middle(),
			TextField("rate", "An hour at the bench costs the customer", typed("rate")).Need().Short(),
			TextField("survey_fee", "Survey fee when no work follows", typed("survey_fee")).Short(),
			ChoiceField("profile", "Tax profile", typed("profile"), profiles).Need(),
			CountField("guard_percent", "An estimate may be passed by", typed("guard_percent"), "%").Hint("without asking again; some places set a limit by law"),
			CountField("valid_days", "Quotes are valid for", typed("valid_days"), "days"),
		}},
		{Legend: "Cabinet", Fields: []Field{CountField("places", "Places for holds", typed("places"), "").Hint("how many instruments can be rehumidified at once")}},
		{Legend: "Hours", Note: "Like 09:00-17:00; empty when closed.", Across: true, Fields: hours},
		{Legend: "The first code", Note: "So that no stranger opens your shop before you do.", Fields: []Field{
			TextField("code", "Code from the terminal", typed("code")).Need().Limit(40).Middle().Hint("The program printed it where it was started."),
		}},
		{Legend: "You", Note: "You get every hat; more people are added later.", Fields: []Field{
			TextField("owner", "Your name", typed("owner")).Need().Limit(60).Auto("username"), newPassword("Password", true),
		}},
	}
}

func (s *Server) first(c *gin.Context) {
	in, err := firstIn(c)
	var id domain.StaffID
	if err == nil {
		id, err = s.Work.SetUpByCode(c.Request.Context(), in, form(c, "code"))
	}
	switch {
	case domain.KindOf(err) == domain.Invalid:
		s.showFirst(c, http.StatusUnprocessableEntity, firstNames(fieldErrors(err)))
	case domain.KindOf(err) == domain.Later:
		retryAfter(c, err)
		s.showFirst(c, http.StatusTooManyRequests, domain.Fields{"code": domain.TextOf(err)})
	case err != nil:
		s.fail(c, err)
	default:
		e, err := s.Work.Began(c.Request.Context(), id)
		if err == nil {
			err = s.enter(c, e.Stay)
		}
		if err != nil {
			s.fail(c, err)
			return
		}
		s.say(c, "The shop is open. Give the parts their prices before you quote them: Owner, Parts list.")
		Go(c, "/")
	}
}

// firstNames turns the names of the use case into those of the form.
func firstNames(errs domain.Fields) domain.Fields {
	out := domain.Fields{}
	for name, text := range errs {
		switch {
		case name == "owner.name":
			name = "owner"
		case strings.HasPrefix(name, "shop.profile"):
			name = "profile"
		case strings.HasPrefix(name, "shop.guard"):
			name = "guard_percent"
		}
		name = strings.TrimPrefix(strings.TrimPrefix(name, "shop."), "owner.")
		out.Add(name, "%s", text)
	}
	return out
}

func firstIn(c *gin.Context) (workshop.Founding, error) {
	f := domain.Fields{}
	shop := workshop.Shop{
		Name: form(c, "name"), Address: form(c, "address"), Phone: form(c, "phone"), Zone: form(c, "zone"),
		ValidDays: countIn(f, c, "valid_days"), QuarterUp: 15, Guard: money.Guard{Percent: shareIn(f, c, "guard_percent", 100)},
		Deposit: quote.DepositRule{Above: decimal.NewFromInt(3), Percent: decimal.NewFromInt(30), HighAbove: decimal.NewFromInt(6), HighPercent: decimal.NewFromInt(50)},
	}
	cur, err := money.CurrencyOf(form(c, "currency"))
	f.AddErr("currency", err)
	shop.Currency = cur
	if err == nil {
		shop.Rate, shop.SurveyFee = amountIn(f, c, "rate", cur), amountIn(f, c, "survey_fee", cur)
		shop.Profile = profileIn(f, c, cur)
	}
	places := countIn(f, c, "places")
	if places < 0 || places > 40 {
		f.Add("places", "must be from 0 to 40")
		places = 0
	}
	for i := range places {
		shop.Places = append(shop.Places, fmt.Sprintf("place %d", i+1))
	}
	for i := range shop.Hours {
		shop.Hours[i] = hoursIn(form(c, fmt.Sprintf("hours[%d]", i)))
	}
	in := workshop.Founding{Shop: shop, Owner: form(c, "owner"), Password: c.PostForm("password")}
	if len(f) > 0 { // what else is wrong is told at the same time
		addFirst(f, in)
	}
	return in, f.Err()
}

// addFirst adds to f what the use case would refuse. Amounts and taxes are not
// judged while there is no currency to read them in.
func addFirst(f domain.Fields, in workshop.Founding) {
	_, noCurrency := f["currency"]
	for name, text := range firstNames(domain.FieldsOf(in.Check())) {
		if noCurrency && (name == "rate" || name == "survey_fee" || name == "profile") {
			continue
		}
		f.Add(name, "%s", text)
	}
}

// hoursIn reads 09:00-17:00; what is wrong with it is found when it is kept.
func hoursIn(typed string) workshop.Hours {
	open, end, _ := strings.Cut(typed, "-")
	return workshop.Hours{Open: strings.TrimSpace(open), Close: strings.TrimSpace(end)}
}

// profileIn reads the chosen sample. The one without taxes takes any currency.
func profileIn(f domain.Fields, c *gin.Context, cur money.Currency) money.Profile {
	samples := money.SampleProfiles()
	i, err := strconv.Atoi(form(c, "profile"))
	if err != nil || i < 0 || i >= len(samples) {
		f.Add("profile", "choose one; \"No tax\" can be changed later")
		return money.Profile{}
	}
	p := samples[i]
	if len(p.Components) == 0 {
		p.Currency = cur.Code
	}
	if p.Currency != cur.Code {
		f.Add("profile", "is for %s; choose one for %s, or \"No tax\" and write yours under Owner, Shop settings", p.Currency, cur.Code)
	}
	return p
}
