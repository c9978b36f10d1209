package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"winterbench/api"
	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// whoMay says which action each operation stands for. What is not in it is a
// read of the books, or open to all.
var whoMay = map[string]workshop.Action{
	"POST /customers": workshop.ActCustomer, "PUT /customers/{customer}": workshop.ActCustomer,
	"GET /customers/{customer}/everything": workshop.ActHandOut, "POST /customers/{customer}/erasure": workshop.ActErase,
	"POST /instruments": workshop.ActInstrument, "PUT /instruments/{instrument}": workshop.ActInstrument,
	"POST /jobs": workshop.ActArrive, "POST /jobs/{job}/marks": workshop.ActMark, "POST /jobs/{job}/open-case": workshop.ActMark,
	"POST /jobs/{job}/surveys": workshop.ActSurvey, "POST /jobs/{job}/quotes/preview": workshop.ActQuote, "POST /jobs/{job}/quotes": workshop.ActQuote,
	"POST /quotes/{quote}/say": workshop.ActSay, "POST /quotes/{quote}/answer": workshop.ActAnswer,
	"POST /jobs/{job}/tasks/{task}/clock-on": workshop.ActClock, "POST /jobs/{job}/tasks/{task}/clock-off": workshop.ActClock,
	"POST /jobs/{job}/clockings/{clocking}/corrections": workshop.ActCorrect,
	"POST /jobs/{job}/tasks/{task}/finish":              workshop.ActTask, "POST /jobs/{job}/tasks/{task}/reopen": workshop.ActTask, "POST /jobs/{job}/tasks/{task}/drop": workshop.ActTask,
	"POST /jobs/{job}/tasks/{task}/checks": workshop.ActCheck, "POST /jobs/{job}/pass": workshop.ActCheck,
	"POST /jobs/{job}/tasks/{task}/parts": workshop.ActPartUsed, "POST /jobs/{job}/parts/{row}/put-back": workshop.ActPartUsed,
	"POST /jobs/{job}/photos": workshop.ActPhoto, "POST /photos/{photo}/withdraw": workshop.ActWithdraw,
	"POST /air/usual-places": workshop.ActMeter, "POST /air/places": workshop.ActMeter, "PUT /air/places/{place}": workshop.ActMeter,
	"POST /air/meters": workshop.ActMeter, "PUT /air/meters/{meter}": workshop.ActMeter, "POST /air/meters/{meter}/calibrations": workshop.ActMeter,
	"POST /air/places/{place}/readings": workshop.ActAir, "POST /air/readings/{reading}/correction": workshop.ActAir,
	"POST /air/places/{place}/import": workshop.ActAir, "POST /air/places/{place}/answers": workshop.ActAir,
	"POST /jobs/{job}/waits": workshop.ActWait, "POST /jobs/{job}/tasks/{task}/waits": workshop.ActWait, "POST /jobs/{job}/waits/{wait}/end": workshop.ActWait,
	"POST /jobs/{job}/holds": workshop.ActHold, "POST /jobs/{job}/holds/{hold}/readings": workshop.ActHold, "POST /jobs/{job}/holds/{hold}/readings/{reading}/correction": workshop.ActHold, "POST /jobs/{job}/holds/{hold}/end": workshop.ActHold,
	"POST /jobs/{job}/earlier": workshop.ActLink, "POST /jobs/{job}/comeback": workshop.ActComeback, "POST /jobs/{job}/tasks/{task}/made": workshop.ActMade,
	"POST /jobs/{job}/calls": workshop.ActCall, "POST /jobs/{job}/promise": workshop.ActSay, "POST /jobs/{job}/invoices": workshop.ActInvoice, "POST /jobs/{job}/invoices/preview": workshop.ActRead,
	"GET /season": workshop.ActReadBalance, "GET /season/holds": workshop.ActReadBalance, "POST /season/what-if": workshop.ActReadBalance, "GET /scenarios": workshop.ActReadBalance, "GET /scenarios/{scenario}": workshop.ActReadBalance,
	"GET /season/climate": workshop.ActReadBalance, "PUT /season/climate": workshop.ActClimate, "DELETE /season/climate": workshop.ActClimate, "POST /season/climate/import": workshop.ActClimate,
	"GET /season/guesses": workshop.ActReadBalance, "POST /season/guesses": workshop.ActGuess, "DELETE /season/guesses/{guess}": workshop.ActGuess,
	"POST /scenarios": workshop.ActScenario, "PUT /scenarios/{scenario}": workshop.ActScenario, "DELETE /scenarios/{scenario}": workshop.ActScenario,
	"POST /jobs/{job}/payments": workshop.ActMoney, "POST /jobs/{job}/refunds": workshop.ActRefund,
	"POST /jobs/{job}/credit-notes": workshop.ActCredit, "POST /jobs/{job}/write-off": workshop.ActWriteOff, "GET /tips": workshop.ActTips, "POST /tips": workshop.ActTips,
	"POST /sales": workshop.ActSell, "POST /sales/preview": workshop.ActSell, "POST /sales/{invoice}/payments": workshop.ActMoney, "POST /sales/{invoice}/refunds": workshop.ActRefund,
	"POST /sales/{invoice}/take-back": workshop.ActCredit, "POST /sales/{invoice}/write-off": workshop.ActWriteOff,
	"GET /customers/{customer}/statement": workshop.ActMoney, "PUT /customers/{customer}/account": workshop.ActTerms,
	"GET /customers/{customer}/store-credit": workshop.ActMoney, "POST /customers/{customer}/store-credit": workshop.ActPayCredit,
	"GET /books/months": workshop.ActReadBalance, "GET /books/months/{month}": workshop.ActReadBalance, "GET /books/reports/{report}": workshop.ActReadBalance, "GET /books/reports/{report}/csv": workshop.ActReadBalance,
	"GET /books/entries": workshop.ActReadBalance, "GET /books/entries/{entry}": workshop.ActReadBalance, "POST /books/entries": workshop.ActBooks, "POST /books/entries/{entry}/reverse": workshop.ActBooks,
	"POST /books/months/{month}/close": workshop.ActBooks, "POST /books/months/{month}/open": workshop.ActBooks,
	"POST /jobs/{job}/hand-over": workshop.ActHandOver, "POST /jobs/{job}/unclaimed": workshop.ActUnclaimed,
	"POST /stock/{part}/receipts": workshop.ActReceive, "POST /stock/{part}/send-back": workshop.ActReceive, "POST /stock/{part}/damage": workshop.ActDamage, "POST /receipts-of-parts/{receipt}/bill": workshop.ActReceive, "POST /stock/parts/import": workshop.ActPart,
	"POST /counts": workshop.ActCount, "POST /counts/{count}/post": workshop.ActCount, "POST /counts/{count}/drop": workshop.ActCount, "POST /counts/import": workshop.ActCount,
	"POST /orders": workshop.ActOrder, "PUT /orders/{order}": workshop.ActOrder, "POST /orders/{order}/send": workshop.ActOrder, "POST /orders/{order}/close": workshop.ActOrder, "POST /orders/{order}/expect": workshop.ActReceive, "POST /orders/{order}/receipts": workshop.ActReceive,
	"POST /suppliers": workshop.ActOrder, "PUT /suppliers/{supplier}": workshop.ActOrder,
	"POST /parts": workshop.ActPart, "PUT /parts/{part}": workshop.ActPart, "PUT /templates/{code}": workshop.ActTemplate, "GET /templates/learn": workshop.ActReadBalance, "POST /templates/{code}/learn": workshop.ActTemplate,
	"PUT /shop": workshop.ActChangeShop, "GET /staff": workshop.ActStaff, "GET /staff/{staff}": workshop.ActStaff, "POST /staff": workshop.ActStaff, "PUT /staff/{staff}": workshop.ActStaff,
	"POST /audit": workshop.ActReadBalance, "GET /tokens": workshop.ActToken, "POST /tokens": workshop.ActToken, "DELETE /tokens/{token}": workshop.ActToken,
	"GET /mails": workshop.ActOutbox, "POST /mails/{mail}/again": workshop.ActOutbox, "GET /jobs/{job}/mails/preview": workshop.ActMail, "POST /jobs/{job}/mails": workshop.ActMail, "PUT /customers/{customer}/reminders": workshop.ActCustomer,
	"GET /feeds": workshop.ActFeed, "POST /feeds": workshop.ActFeed, "DELETE /feeds/{feed}": workshop.ActFeed, "POST /feeds/{feed}/renew": workshop.ActFeed,
	"GET /jobs/{job}/links": workshop.ActShare, "POST /jobs/{job}/links": workshop.ActShare, "DELETE /jobs/{job}/links/{link}": workshop.ActShare,
}

// actionOf is the action behind an operation, "" for one that is open to all.
func actionOf(t *testing.T, method, path string) workshop.Action {
	t.Helper()
	a, there := whoMay[method+" "+path]
	switch {
	case there:
		return a
	case strings.HasPrefix(path, "/calc") || method+" "+path == "POST /shop":
		return ""
	case method != http.MethodGet:
		t.Fatalf("%s %s is a change that this test does not know; say who may do it", method, path)
	}
	return workshop.ActRead
}

func TestWhoMayDoWhat(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h, denied := open(t, s), 0
		for path, methods := range described(t).Paths {
			path = strings.TrimPrefix(path, api.Root)
			for method := range methods {
				method = strings.ToUpper(method)
				act := actionOf(t, method, path)
				if act == "" {
					continue
				}
				for _, role := range domain.Roles() {
					r := h.as(role).ask(method, nowhere(path), nil)
					may := slices.Contains(workshop.Allowed(act), role)
					if (r.status == http.StatusForbidden) == may || r.status == http.StatusUnauthorized || r.status >= 500 {
						t.Errorf("%s asks %s %s: got %d, allowed is %v", role, method, path, r.status, may)
					}
					if !may {
						r.problem(403, "ask somebody who wears the right hat")
						denied++
					}
				}
			}
		}
		if denied < 30 {
			t.Errorf("%d requests were denied, want more: the counter may not clock, the bench not bill", denied)
		}
	})
}

// nowhere fills a path with identities that nothing has.
func nowhere(path string) string {
	for strings.Contains(path, "{") {
		path = path[:strings.Index(path, "{")] + "987654" + path[strings.Index(path, "}")+1:]
	}
	return path
}
