package web

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"winterbench/domain/workshop"
)

// payersShown is the most customers that a bill offers to choose from.
const payersShown = 12

// findPayer looks up who else pays, by the words typed, as an arrival looks for the
// customer. One who was chosen from those that fit counts while the words still fit. Of
// the others the one whose whole name, phone or mail was typed, or the only one that
// fits, is meant; to issue the bill, one who was only guessed must be looked at first.
func (s *Server) findPayer(ctx context.Context, t *till, issue bool) error {
	typed := t.billed.payer
	if typed == "" {
		return nil
	}
	rows, total, err := s.Read.Customers(ctx, typed, workshop.Page{Limit: payersShown + 1})
	if err != nil {
		return err
	}
	if total > 1 && total <= len(rows) { // who brought it cannot be another who pays
		rows = slices.DeleteFunc(rows, func(r workshop.CustomerRow) bool { return r.ID == t.Customer.ID })
		total = len(rows)
	}
	if total == 0 {
		t.errs.Add("payer", "is nobody we know; write less of the name, the phone or the mail, or note them as a customer first")
		return nil
	}
	if total > payersShown {
		t.errs.Add("payer", "fits %d customers; write more of the name, or the phone or mail besides", total)
		return nil
	}
	t.payers = rows
	chosen := slices.IndexFunc(rows, func(r workshop.CustomerRow) bool { return strconv.FormatInt(int64(r.ID), 10) == t.billed.payerIs })
	meant := chosen
	if meant < 0 {
		meant = theOne(rows, typed)
	}
	switch {
	case meant >= 0:
		t.bill.Payer, t.payer = rows[meant].ID, &rows[meant]
	case total == 1:
		t.bill.Payer, t.payer = rows[0].ID, &rows[0]
		if issue {
			t.errs.Add("payer", "fits %s; look whether it is them, and send it again", rows[0].Name)
		}
	default:
		t.errs.Add("payer", "fits %d customers; choose which of them pays, below", total)
	}
	return nil
}

// theOne is the only row whose whole name, phone or mail was typed, whatever the case;
// -1 when none or several are.
func theOne(rows []workshop.CustomerRow, typed string) int {
	at := -1
	for i, r := range rows {
		if !strings.EqualFold(r.Name, typed) && !strings.EqualFold(r.Phone, typed) && !strings.EqualFold(r.Email, typed) {
			continue
		}
		if at >= 0 {
			return -1
		}
		at = i
	}
	return at
}

// payerFields ask who else pays; those that the words fit stand below them to choose
// from.
func (t *till) payerFields() []Field {
	out := []Field{TextField("payer", "Another who pays", t.billed.payer).Limit(120).Middle().
		Hint("name, phone or mail of a customer, such as an insurer; empty for nobody").Marked(t.errs)}
	if len(t.payers) == 0 {
		return out
	}
	options := make([]Option, len(t.payers))
	for i, r := range t.payers {
		options[i] = Option{Value: strconv.FormatInt(int64(r.ID), 10), Label: r.Name, Note: ways(r)}
	}
	chosen := ""
	if t.payer != nil {
		chosen = strconv.FormatInt(int64(t.payer.ID), 10)
	}
	return append(out, ChoiceField("payer_is", "Which of them pays", chosen, options).Radio())
}

// payerHint says under the bill, while somebody types, what the words come to; the list
// to choose from comes with the whole page.
func (t *till) payerHint() string {
	switch text := t.errs["payer"]; {
	case text == "":
		return ""
	case len(t.payers) > 1:
		return fmt.Sprintf("Another who pays fits %d customers; “Work it out” lists them to choose from.", len(t.payers))
	default:
		return "Another who pays " + text + "."
	}
}

// ways are how a customer is reached.
func ways(r workshop.CustomerRow) string {
	return strings.Join(slices.DeleteFunc([]string{r.Phone, r.Email}, func(s string) bool { return s == "" }), " · ")
}

// payerFact says whom the draft is billed to besides the customer.
func (t *till) payerFact() (Fact, bool) {
	if t.payer == nil || t.wrong != nil {
		return Fact{}, false
	}
	own := "the customer pays nothing"
	if t.bill.OwnPart > 0 {
		own = "the customer’s own part is " + t.Shop.Currency.Show(t.bill.OwnPart)
	}
	return Fact{Name: "Billed to", Value: t.payer.Name, Note: own, Href: customerPath(t.payer.ID)}, true
}
