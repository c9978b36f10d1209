package billing

import (
	"net/url"
	"slices"
	"strconv"

	"winterbench/domain"
)

// Query writes the choice as the query of an address, the same for pages and API.
func (l Lines) Query() url.Values {
	q := url.Values{}
	for _, a := range l.Accounts {
		q.Add("account", string(a))
	}
	for _, e := range l.Events {
		q.Add("event", string(e))
	}
	for _, e := range l.Not {
		q.Add("not", string(e))
	}
	for name, v := range map[string]string{"from": string(l.From), "to": string(l.To), "detail": l.Detail, "sum": string(l.Sum)} {
		if v != "" {
			q.Set(name, v)
		}
	}
	for name, n := range map[string]int64{"customer": int64(l.Customer), "job": int64(l.Job), "invoice": int64(l.Invoice)} {
		if n != 0 {
			q.Set(name, strconv.FormatInt(n, 10))
		}
	}
	for name, yes := range map[string]bool{"no_invoice": l.NoInvoice, "no_job": l.NoJob, "no_customer": l.NoCustomer, "no_detail": l.NoDetail, "paid": l.Paid} {
		if yes {
			q.Set(name, "yes")
		}
	}
	return q
}

// ReadLines reads what [Lines.Query] wrote. It returns an Invalid error by field for
// what cannot be.
func ReadLines(q url.Values) (Lines, error) {
	f := domain.Fields{}
	l := Lines{
		Detail: q.Get("detail"), NoDetail: q.Get("no_detail") == "yes", NoInvoice: q.Get("no_invoice") == "yes", NoJob: q.Get("no_job") == "yes", NoCustomer: q.Get("no_customer") == "yes", Paid: q.Get("paid") == "yes",
	}
	for name, to := range map[string]*domain.Date{"from": &l.From, "to": &l.To} {
		if text := q.Get(name); text != "" {
			d, err := domain.ParseDate(text)
			f.AddErr(name, err)
			*to = d
		}
	}
	for _, a := range q["account"] {
		if !slices.Contains(Accounts(), Account(a)) {
			f.Add("account", "%q is no account of the journal", a)
		}
		l.Accounts = append(l.Accounts, Account(a))
	}
	l.Sum = Side(q.Get("sum"))
	domain.OneOf(f, "sum", l.Sum, []Side{OwnSide, DebitsOnly, CreditsOnly, Debits, Credits})
	for _, e := range q["event"] {
		l.Events = append(l.Events, Event(e))
	}
	for _, e := range q["not"] {
		l.Not = append(l.Not, Event(e))
	}
	l.Customer = domain.CustomerID(numberIn(f, q, "customer"))
	l.Job = domain.JobID(numberIn(f, q, "job"))
	l.Invoice = domain.InvoiceID(numberIn(f, q, "invoice"))
	return l, f.Err()
}

func numberIn(f domain.Fields, q url.Values, name string) int64 {
	text := q.Get(name)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		f.Add(name, "must be a number from 1 up")
	}
	return n
}
