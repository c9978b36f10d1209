package web

import (
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/stock"
)

// shelfGroups asks where a part lies, who sells it and what else must be known of it.
func (s *Server) shelfGroups(c *gin.Context, p stock.Part, errs domain.Fields) []Group {
	suppliers := []Option{{Value: "", Label: "none"}}
	list, err := s.Read.SupplierList(c.Request.Context())
	for _, x := range list {
		if err == nil && (!x.Retired || x.ID == p.Supplier) {
			suppliers = append(suppliers, Option{Value: strconv.FormatInt(int64(x.ID), 10), Label: x.Name})
		}
	}
	value := func(name, kept string) string {
		if errs != nil {
			return form(c, name)
		}
		return kept
	}
	mark := func(q stock.Quantity) string {
		if q == 0 {
			return ""
		}
		return q.Units().String()
	}
	supplier, markup := "", ""
	if p.Supplier != 0 {
		supplier = strconv.FormatInt(int64(p.Supplier), 10)
	}
	if p.Markup != nil {
		markup = p.Markup.String()
	}
	protected := p.Protected
	if errs != nil {
		protected = form(c, "protected") == "yes"
	}
	return []Group{
		{Legend: "Shelf and supplier", Fields: markAll(errs, []Field{
			TextField("shelf", "Shelf", value("shelf", p.Shelf)).Limit(40).Middle(), ChoiceField("supplier", "Supplier", value("supplier", supplier), suppliers),
			TextField("order_code", "The supplier’s number of it", value("order_code", p.OrderCode)).Limit(60).Middle(),
			CountField("reorder_at", "Order when no more is free than", value("reorder_at", mark(p.ReorderAt)), p.Unit), CountField("reorder_to", "And up to", value("reorder_to", mark(p.ReorderTo)), p.Unit),
			CountField("markup", "Markup on the cost", value("markup", markup), "%").Hint("Then the price follows what a unit cost last. Empty: the price is typed."),
		})},
		{Legend: "Glue, wood and bone", Note: "What is protected needs papers where the law says so; the place’s authority knows which.", Fields: markAll(errs, []Field{
			DateField("opened_on", "Opened on", domain.Date(value("opened_on", string(p.OpenedOn)))), DateField("expires_on", "Good until", domain.Date(value("expires_on", string(p.ExpiresOn)))),
			TextField("batch", "Batch or board", value("batch", p.Batch)).Limit(60).Middle(), TextField("species", "Species", value("species", p.Species)).Limit(80), TextField("origin", "Origin", value("origin", p.Origin)).Limit(80),
			CheckField("protected", "trade in it may need papers", protected), TextField("papers", "Papers", value("papers", p.Papers)).Limit(200).Hint("Number and date of the certificate."),
		})},
	}
}

// shelfIn reads those fields.
func shelfIn(f domain.Fields, c *gin.Context, p *stock.Part) {
	var err error
	p.Shelf, p.OrderCode, p.Batch, p.Species, p.Origin, p.Papers = form(c, "shelf"), form(c, "order_code"), form(c, "batch"), form(c, "species"), form(c, "origin"), form(c, "papers")
	p.Supplier, p.Protected = domain.SupplierID(idIn(f, c, "supplier")), form(c, "protected") == "yes"
	p.OpenedOn, p.ExpiresOn = domain.Date(form(c, "opened_on")), domain.Date(form(c, "expires_on"))
	p.ReorderAt, err = stock.ParseLevel(form(c, "reorder_at"))
	f.AddErr("reorder_at", err)
	p.ReorderTo, err = stock.ParseLevel(form(c, "reorder_to"))
	f.AddErr("reorder_to", err)
	p.Markup, err = stock.ParseMarkup(form(c, "markup"))
	f.AddErr("markup", err)
}
