package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/einvoice"
	"winterbench/domain/workshop"
)

const electronicPath = "/settings/electronic"

// electronicRoutes registers electronic invoices and what they say of the shop.
func (s *Server) electronicRoutes(r *gin.RouterGroup) {
	r.GET(electronicPath, s.electronic)
	r.POST(electronicPath, s.saveElectronic)
	r.GET("/invoices/:invoice/electronic.xml", s.electronicInvoice)
	r.GET("/credit-notes/:note/electronic.xml", s.electronicCredit)
}

func (s *Server) electronicInvoice(c *gin.Context) {
	d, err := workshop.InvoiceDocument(c.Request.Context(), s.Read, actor(c), domain.InvoiceID(number(c, "invoice")))
	s.document(c, "invoice", d, err)
}

func (s *Server) electronicCredit(c *gin.Context) {
	d, err := workshop.CreditNoteDocument(c.Request.Context(), s.Read, actor(c), domain.CreditNoteID(number(c, "note")))
	s.document(c, "credit-note", d, err)
}

// document answers with an electronic document as a file.
func (s *Server) document(c *gin.Context, name string, d *einvoice.Document, err error) {
	var data []byte
	if err == nil {
		data, err = einvoice.Write(d)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%s.xml"`, name, d.Number))
	c.Header("Cache-Control", "no-store")
	c.Data(http.StatusOK, "application/xml; charset=utf-8", data)
}

func (s *Server) electronic(c *gin.Context) {
	if shop := s.shopToChange(c); shop != nil {
		s.showElectronic(c, http.StatusOK, shop, shop.Electronic, nil)
	}
}

// showElectronic asks what electronic invoices say of the shop; e is what stands in
// the form.
func (s *Server) showElectronic(c *gin.Context, status int, shop *workshop.Shop, e workshop.Electronic, errs domain.Fields) {
	p := &FormPage{Page: s.frame(c, "Electronic invoices", domain.Owner), Action: electronicPath, Button: "Save", Back: Link{Href: "/settings", Text: "Shop settings"}}
	p.Answer = "Invoices and credit notes can be had as files of the European standard EN 16931 (UBL 2.1), once the shop's part stands here and the customer's country on the customer's page."
	if e.Country != "" && e.TaxNumber != "" {
		p.Answer = "Each invoice and credit note can be had as a file of the European standard EN 16931 (UBL 2.1), for customers whose country is noted."
	}
	p.Notes = []Caution{{Text: "Whether you must send such files, in which national form and by which way is for your tax adviser to say. Lines with more than one tax cannot be written in this standard."}}
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(shop.Version)}}
	p.Groups = electronicGroups(e, errs)
	if clashed(c, errs, shop.Version) {
		p.beside(electronicGroups(shop.Electronic, nil), shop.Version)
	}
	s.formPage(c, status, p)
}

func electronicGroups(e workshop.Electronic, errs domain.Fields) []Group {
	short := func(name, label, value string, most int) Field {
		return TextField("electronic."+name, label, value).Limit(most).Middle()
	}
	untaxed := []Option{
		{Value: "", Label: "zero rated (Z)"}, {Value: einvoice.Exempt, Label: "exempt (E)"}, {Value: einvoice.NotSubject, Label: "outside the tax (O)"},
	}
	return []Group{
		{Legend: "The shop", Note: "Name, phone and mail stand in the shop's settings.", Across: true, Fields: markAll(errs, []Field{
			short("street", "Street", e.Street, 120), short("postcode", "Postcode", e.Postcode, 20), short("town", "Town", e.Town, 80),
			short("country", "Country", e.Country, 2).Hint("two letters, such as AT"),
		})},
		{Legend: "Tax", Across: true, Fields: markAll(errs, []Field{
			short("tax_number", "Tax number", e.TaxNumber, 40).Hint("with the letters of its country"), short("registration", "Number in a register", e.Registration, 60),
			ChoiceField("electronic.untaxed", "Lines without tax are", e.Untaxed, untaxed).Middle(), short("reason", "because", e.Reason, 200).Hint("for exempt and outside: the rule that says so"),
		})},
		{Legend: "Where to pay and to write", Across: true, Fields: markAll(errs, []Field{
			short("iban", "Account (IBAN)", e.IBAN, 60), short("address", "Electronic address", e.Address, 120), short("scheme", "Scheme of the address", e.Scheme, 4).Hint("four digits"),
		})},
	}
}

func (s *Server) saveElectronic(c *gin.Context) {
	shop := s.shopToChange(c)
	if shop == nil {
		return
	}
	typed := func(name string) string { return form(c, "electronic."+name) }
	e := workshop.Electronic{
		Country: typed("country"), Street: typed("street"), Postcode: typed("postcode"), Town: typed("town"), TaxNumber: typed("tax_number"), Registration: typed("registration"),
		Address: typed("address"), Scheme: typed("scheme"), IBAN: typed("iban"), Untaxed: typed("untaxed"), Reason: typed("reason"),
	}
	next := *shop
	next.Electronic = e
	next.Version, _ = strconv.Atoi(form(c, "version"))
	err := s.Work.ChangeShop(keyed(c), actor(c), next)
	s.answer(c, err, func(f domain.Fields) { s.showElectronic(c, http.StatusUnprocessableEntity, shop, e, f) }, "Saved.", electronicPath)
}

// electronicGroup asks what an electronic invoice says of a customer.
func electronicGroup(who *customer.Customer, errs domain.Fields) Group {
	e := customer.Electronic{}
	if who.Electronic != nil {
		e = *who.Electronic
	}
	short := func(name, label, value string, most int) Field {
		return TextField("electronic."+name, label, value).Limit(most).Middle()
	}
	return Group{Legend: "For electronic invoices", Note: "Only when the customer asks for one.", Across: true, Fields: markAll(errs, []Field{
		short("country", "Country", e.Country, 2).Hint("two letters, such as AT"), short("tax_number", "Tax number", e.TaxNumber, 40), short("buyer_ref", "Their reference", e.BuyerRef, 80),
		short("address", "Electronic address", e.Address, 120), short("scheme", "Scheme of the address", e.Scheme, 4).Hint("four digits"),
	})}
}

// electronicIn reads that group; nil when nothing was typed.
func electronicIn(c *gin.Context) *customer.Electronic {
	typed := func(name string) string { return form(c, "electronic."+name) }
	e := customer.Electronic{Country: typed("country"), TaxNumber: typed("tax_number"), BuyerRef: typed("buyer_ref"), Address: typed("address"), Scheme: typed("scheme")}
	if e == (customer.Electronic{}) {
		return nil
	}
	return &e
}
