package web

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"winterbench/domain"
)

// Which hats a page is closed to, by its route. A GET that stands nowhere is for
// everybody who is signed in; a POST must stand somewhere.
var (
	ownersAlone = []string{
		"GET /season", "GET /season/holds", "GET /season/holds/templates.csv", "GET /season/weeks.csv", "GET /season/what-if", "GET /season/climate",
		"GET /settings", "GET /settings/bands", "GET /settings/holds", "GET /settings/calendar", "GET /staff", "GET /staff/:staff", "GET /staff/:staff/sign-ins",
		"GET /sign-ins", "GET /devices", "GET /owner", "GET /customers/long-gone", "GET /customers/:customer/everything.zip", "GET /customers/:customer/erase",
		"GET /books", "GET /books/entries", "GET /books/entries/file.csv", "GET /books/entries/:entry", "GET /books/reports/:report/file.csv", "GET /books/note", "GET /templates/learn",
		"POST /jobs/:job/money/give-back", "POST /jobs/:job/was-it-us/decide", "POST /jobs/:job/unclaimed",
		"POST /season/climate", "POST /season/climate/import", "POST /season/climate/forget", "POST /season/climate/winter", "POST /season/what-if", "POST /season/what-if/:scenario",
		"POST /season/guesses", "POST /season/guesses/:guess", "POST /settings", "POST /settings/bands", "POST /settings/holds", "POST /settings/calendar", "POST /sign-ins/settings",
		"POST /staff", "POST /staff/:staff", "POST /staff/:staff/sign-out", "POST /staff/:staff/unlock", "POST /templates/:code/learn", "POST /customers/:customer/erase",
		"POST /books/close", "POST /books/open", "POST /books/note", "POST /books/entries/:entry/reverse", "POST /devices", "POST /devices/:device/revoke",
		"GET /stock/file", "POST /stock/file", "GET /books/audit", "POST /books/audit", "POST /stock/orders", "POST /stock/orders/:order", "POST /stock/orders/:order/send", "POST /stock/orders/:order/close",
		"POST /stock/suppliers/:supplier",
		"GET /settings/counter", "POST /settings/counter", "GET /settings/electronic", "POST /settings/electronic", "GET /jobs/:job/write-off", "POST /jobs/:job/write-off", "GET /jobs/:job/credit", "POST /jobs/:job/credit", "GET /sales/:invoice/take-back", "POST /sales/:invoice/take-back", "GET /sales/:invoice/write-off", "POST /sales/:invoice/write-off", "POST /sales/:invoice/give-back", "GET /tips", "POST /tips", "GET /outbox", "POST /outbox/:mail/again", "POST /customers/:customer/account", "POST /customers/:customer/store-credit",
	}
	notTheBench = []string{
		"GET /jobs/:job/mail", "POST /jobs/:job/mail", "POST /customers/:customer/reminders", "GET /sales/new", "POST /sales", "POST /sales/draft", "POST /sales/:invoice/pay", "GET /arrive", "POST /arrive", "POST /jobs/:job/money/pay", "POST /jobs/:job/hand-over", "POST /jobs/:job/calls", "POST /customers", "POST /customers/:customer/edit", "GET /customers/:customer/account", "GET /customers/:customer/store-credit", "POST /stock/orders/:order/expect", "POST /stock/:part/bill",
		"GET /jobs/:job/links", "POST /jobs/:job/links", "POST /jobs/:job/links/:link/revoke",
	}
	notTheCounter = []string{
		"GET /cabinet/round", "GET /air/places/:place", "POST /jobs/:job/tasks/:task/clock", "POST /jobs/:job/tasks/:task/clocking", "POST /jobs/:job/tasks/:task/check",
		"POST /jobs/:job/tasks/:task/done", "POST /jobs/:job/tasks/:task/hold", "POST /jobs/:job/tasks/:task/made", "POST /jobs/:job/holds/:hold/reading", "POST /jobs/:job/holds/:hold/end",
		"POST /jobs/:job/pass", "POST /air/set-up", "POST /air/places/:place", "POST /cabinet/round", "POST /stock/count", "POST /stock/count/:count/post", "POST /stock/count/:count/drop",
	}
	// whatIsSent is looked at first: an empty form of these is refused for what it
	// lacks, or for a record that there is not, before the hats are asked. That the use
	// cases ask them is tested in package workshop and, with whole forms, below.
	looksFirst = []string{
		"POST /jobs/:job/tasks/:task/wait", "POST /jobs/:job/tasks/:task/part", "POST /jobs/:job/money/bill", "POST /jobs/:job/money/draft", "POST /jobs/:job/marks",
		"POST /jobs/:job/waits", "POST /jobs/:job/waits/:wait/end", "POST /jobs/:job/was-it-us/link", "POST /jobs/:job/survey", "POST /jobs/:job/survey/look", "POST /jobs/:job/quote",
		"POST /jobs/:job/quote/price", "POST /jobs/:job/case", "POST /jobs/:job/photos", "POST /jobs/:job/day", "POST /settings/feeds", "POST /settings/feeds/:feed/revoke", "POST /settings/feeds/:feed/renew",
		"POST /account/second/confirm", "POST /account/second/codes", "POST /account/second/start", "POST /account/second/drop", "POST /account/sign-out", "POST /account/password", "POST /account/pin",
		"POST /air/readings", "POST /air/readings/:reading", "POST /air/alarms", "POST /air/import", "POST /templates/:code/figures", "POST /templates/:code/file", "POST /tokens",
		"POST /quotes/:quote/say", "POST /quotes/:quote/answer", "POST /instruments", "POST /instruments/:instrument/edit", "POST /meters/:meter", "POST /meters/:meter/calibrations",
		"POST /photos/:photo/withdraw", "POST /parts/:part",
		"POST /stock/orders/:order/receive", "POST /stock/:part/receive", "POST /stock/:part/damage", "POST /stock/:part/send-back",
	}
	// openToAll need no sign-in.
	openToAll = []string{
		"GET /static/*name", "GET /sign-in", "POST /sign-in", "GET /sign-in/code", "POST /sign-in/code", "GET /quick", "POST /quick", "POST /sign-out", "GET /first", "POST /first",
		"POST /theme", "GET /feeds/:secret", "HEAD /feeds/:secret",
		"GET /yours/:secret", "GET /yours/:secret/quotes/:quote/paper.pdf", "GET /yours/:secret/invoices/:invoice/paper.pdf", "GET /yours/:secret/payments/:payment/receipt.pdf",
		"GET /yours/:secret/quotes/:quote/answer", "POST /yours/:secret/quotes/:quote/answer",
	}
)

var pathParam = regexp.MustCompile(`[:*][a-z_]+`)

// closedTo are the hats that a route is closed to.
func closedTo(route string) []domain.Role {
	switch {
	case slices.Contains(ownersAlone, route):
		return []domain.Role{domain.Counter, domain.Bench}
	case slices.Contains(notTheBench, route):
		return []domain.Role{domain.Bench}
	case slices.Contains(notTheCounter, route):
		return []domain.Role{domain.Counter}
	}
	return nil
}

// emptyForm is a form without answers for a POST, nil for a GET.
func emptyForm(method string) url.Values {
	if method == http.MethodPost {
		return values()
	}
	return nil
}

func TestEachHatAtEachPage(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	people := map[domain.Role]domain.Actor{}
	for role, name := range map[domain.Role]string{domain.Counter: "Ivo", domain.Bench: "Runa", domain.Owner: "Una"} {
		people[role] = s.person(name, role)
	}
	denied := 0
	for _, r := range s.routes {
		route, path := r.Method+" "+r.Path, pathParam.ReplaceAllString(r.Path, "1")
		if slices.Contains(openToAll, route) {
			continue
		}
		s.closedToNobody(r.Method, path)
		closed := closedTo(route)
		if r.Method == http.MethodPost && closed == nil && !slices.Contains(looksFirst, route) {
			t.Errorf("%s is a change that this test does not know; say who may do it", route)
		}
		for role, who := range people {
			w := s.as(who, path, emptyForm(r.Method), "")
			no := slices.Contains(closed, role)
			if (w.Code == http.StatusForbidden) != no || w.Code == http.StatusUnauthorized || w.Code >= 500 {
				t.Errorf("%s at %s: got %d, closed is %v", role, route, w.Code, no)
			}
			if no {
				denied++
			}
		}
	}
	if denied < 100 {
		t.Errorf("%d requests were denied, want more", denied)
	}
}

// closedToNobody checks that who is not signed in gets nothing but the way to the sign-in.
func (s *openShop) closedToNobody(method, path string) {
	s.Helper()
	w := s.as(domain.Actor{}, path, emptyForm(method), "")
	way := w.Code == http.StatusSeeOther && strings.HasPrefix(w.Header().Get("Location"), "/sign-in?next=")
	if method == http.MethodPost {
		way = w.Code == http.StatusUnauthorized
	}
	if !way {
		s.Errorf("nobody at %s %s: got %d to %q", method, path, w.Code, w.Header().Get("Location"))
	}
}

// Whole forms that the wrong hat sends, where an empty one would be refused for what it lacks.
func TestWholeFormsOfTheWrongHat(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	counter, bench := s.person("Ivo", domain.Counter), s.person("Runa", domain.Bench)
	for _, v := range []struct {
		who  domain.Actor
		path string
		form []string
	}{
		{bench, "/parts/0", []string{"name", "Bone nut", "code", "bone-nut", "unit", "each", "kind", "part", "price", "18.50", "cost", "6"}},
		{bench, jobPath(id) + "/day", []string{"day_promised", "2026-12-20", "day_why", "illness"}},
		{counter, "/templates/CG/figures", []string{"seen", "1", "setup.low", "20", "setup.typical", "20", "setup.high", "20", "labour.low", "30", "labour.typical", "40", "labour.high", "70",
			"waits[0].low", "0.5", "waits[0].typical", "1", "waits[0].high", "2", "price.basis", "time", "price.flat", "0"}},
	} {
		if w := s.as(v.who, v.path, values(v.form...), ""); w.Code != http.StatusForbidden {
			t.Errorf("%s sends %s: got %d, want 403\n%s", v.who.Name, v.path, w.Code, plain(w.Body.String()))
		}
	}
}
