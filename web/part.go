package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

func (s *Server) parts(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	list, err := s.Read.PartList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Parts list", domain.Owner), Lead: "Parts", Back: Link{Href: "/owner", Text: "Owner"}}
	p.Answer = fmt.Sprintf("%s on the list with their prices.", Plural(len(list), "part stands", "parts stand"))
	t := &Table{Caption: "Parts", Hidden: true, Columns: []Column{Head("Part"), Head("Unit"), Head("Kind"), Figures("Price", shop.Currency.Code)}, Empty: Empty{Text: "No part is listed yet."}}
	for _, part := range list {
		t.Rows = append(t.Rows, Row{Struck: part.Retired, Cells: []Cell{
			{Text: part.Name, Href: fmt.Sprintf("/parts/%d", part.ID), Note: part.Code}, {Text: part.Unit}, {Text: strings.ReplaceAll(string(part.Kind), "_", " ")}, {Text: Money(shop.Currency, part.Price)},
		}})
	}
	p.Above, p.Ways = t, []Link{{Href: stockPath, Text: "Stock"}}
	if workshop.May(actor(c), workshop.ActPart) == nil {
		p.Notes = nil
		p.Groups, p.Button, p.Action = s.partGroups(c, stock.Part{Unit: "each", Kind: money.Part}, shop.Currency, nil), "Add the part", "/parts/0"
	}
	s.formPage(c, http.StatusOK, p)
}

func (s *Server) part(c *gin.Context) { s.showPart(c, http.StatusOK, nil) }

func (s *Server) showPart(c *gin.Context, status int, errs domain.Fields) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	part := &stock.Part{Name: "New part", Unit: "each", Kind: money.Part}
	if id := number(c, "part"); id != 0 {
		if part, err = s.Read.PartByID(ctx, domain.PartID(id)); err != nil {
			s.fail(c, err)
			return
		}
	}
	p := &FormPage{Page: s.frame(c, part.Name, domain.Owner), Action: fmt.Sprintf("/parts/%d", part.ID), Button: "Save", Back: Link{Href: "/parts", Text: "Parts list"}}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(part.Version)}}
	p.Groups = s.partGroups(c, *part, shop.Currency, errs)
	if clashed(c, errs, part.Version) && part.ID != 0 {
		p.beside(s.partGroups(c, *part, shop.Currency, nil), part.Version)
	}
	s.formPage(c, status, p)
}

func (s *Server) partGroups(c *gin.Context, part stock.Part, cur money.Currency, errs domain.Fields) []Group {
	name, code, unit, kind, priced, cost, retired := part.Name, part.Code, part.Unit, string(part.Kind), Money(cur, part.Price), Money(cur, part.Cost), part.Retired
	if part.ID == 0 {
		name, priced, cost = "", "", ""
	}
	if errs != nil {
		name, code, unit, kind, priced, cost, retired = form(c, "name"), form(c, "code"), form(c, "unit"), form(c, "kind"), form(c, "price"), form(c, "cost"), form(c, "retired") == "yes"
	}
	kinds := []Option{{Value: "part", Label: "part, fitted and billed"}, {Value: "retail_goods", Label: "goods, sold over the counter"}, {Value: "shop_supplies", Label: "supply, used up and not billed"}}
	groups := []Group{{Legend: "The part", Fields: markAll(errs, []Field{
		TextField("name", "Name", name).Need().Limit(120), TextField("code", "Code", code).Need().Limit(40).Middle().Hint("Short and stable, such as strings-set."),
		ChoiceField("unit", "Counted in", unit, Options(stock.Units())), ChoiceField("kind", "Kind", kind, kinds),
		MoneyField("price", "Price", priced, cur.Code).Hint("Left alone when a markup makes it."), MoneyField("cost", "Cost to the shop", cost, cur.Code).Hint("What a unit cost last."), CheckField("retired", "no longer offered", retired),
	})}}
	return append(groups, s.shelfGroups(c, part, errs)...)
}

func (s *Server) savePart(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	version, _ := strconv.Atoi(form(c, "version"))
	part := stock.Part{
		ID: domain.PartID(number(c, "part")), Code: form(c, "code"), Name: form(c, "name"), Unit: form(c, "unit"), Kind: money.LineKind(form(c, "kind")),
		Price: amountIn(f, c, "price", shop.Currency), Cost: amountIn(f, c, "cost", shop.Currency), Retired: form(c, "retired") == "yes", Version: version,
	}
	shelfIn(f, c, &part)
	f.AddErr("", part.Check())
	err = joinFields(f)
	if err == nil {
		_, err = s.Work.NotePart(keyed(c), actor(c), part)
	}
	s.answer(c, err, func(f domain.Fields) { s.showPart(c, http.StatusUnprocessableEntity, f) }, "Saved.", "/parts")
}

// joinFields takes the leading dot off names noted under "".
func joinFields(f domain.Fields) error {
	out := domain.Fields{}
	for name, text := range f {
		out[strings.TrimLeft(name, ".")] = text
	}
	return out.Err()
}

// amountIn reads an amount of money; "" is 0.
func amountIn(f domain.Fields, c *gin.Context, name string, cur money.Currency) money.Amount {
	typed := form(c, name)
	if typed == "" {
		return 0
	}
	a, err := cur.Parse(typed)
	f.AddErr(name, err)
	return a
}
