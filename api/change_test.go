package api_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestChangesMeetTheVersionThatWasSeen(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.post("/customers", map[string]any{"name": "Ada"}).is(201).id("id")
		path := fmt.Sprintf("/customers/%d", id)
		seen := h.get(path).header.Get("ETag")
		h.ask("PUT", path, map[string]any{"name": "Ada B."}).problem(428, "If-Match")
		h.ask("PUT", path, map[string]any{"name": "Ada B."}, headers{"If-Match": "seven"}).wrong(422, "If-Match", "one ETag")
		h.ask("PUT", path, map[string]any{"name": "Ada B."}, headers{"If-Match": seen}).is(200).want("name", "Ada B.")
		h.ask("PUT", path, map[string]any{"name": "Ada C."}, headers{"If-Match": seen}).problem(412, "read it again")
		now := h.get(path).want("name", "Ada B.").header.Get("ETag")
		r := h.ask("GET", path, nil, headers{"If-None-Match": now})
		if r.is(304); len(r.raw) != 0 || r.header.Get("ETag") != now {
			t.Errorf("304 came with %q and tag %s, want nothing and %s", r.raw, r.header.Get("ETag"), now)
		}
		h.ask("GET", path, nil, headers{"If-None-Match": seen}).is(200)
	})
}

func TestAJobThatChangedMeanwhile(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		job := h.arrive()
		seen := headers{"If-Match": h.get(job).header.Get("ETag")}
		mark := map[string]any{"what": "dent", "place": "lower bout"}
		h.post(job+"/marks", mark, seen).is(200)
		h.post(job+"/marks", mark, seen).problem(412)
		h.get(job).want("marks.1.what", "dent")
		if h.get(job).at("marks.2") != nil {
			t.Error("the second mark was kept")
		}
		h.post(job+"/open-case", nil, headers{"If-Match": h.get(job).header.Get("ETag")}).problem(409, "opened before")
	})
}

func TestADraftThatChangedMeanwhile(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		job := h.arrive()
		h.survey(job)
		sheet := func(n string) map[string]any {
			return map[string]any{"basis": "quote", "rows": []any{task("CC", n)}}
		}
		first := h.post(job+"/quotes", sheet("2")).is(200)
		q := fmt.Sprintf("/quotes/%d", first.id("id"))
		h.post(job+"/quotes", sheet("3")).problem(409, "changed this draft")
		tag := headers{"If-Match": first.header.Get("ETag")}
		second := h.post(job+"/quotes", sheet("3"), tag).is(200).want("version", "1")
		h.post(job+"/quotes", sheet("4"), tag).problem(412)
		h.post(q+"/say", nil, tag).problem(412)
		h.post(q+"/say", nil, headers{"If-Match": second.header.Get("ETag")}).is(200)
		h.get(job+"/quotes").want("total", "1")
	})
}

func TestLongListsLeadOn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		for i := range 5 {
			h.post("/customers", map[string]any{"name": fmt.Sprintf("Customer %d", i)}).is(201)
		}
		r := h.get("/customers?limit=2&offset=2&q=customer").want("total", "5").want("offset", "2").want("items.0.name", "Customer 2")
		for _, want := range []string{
			`</api/v1/customers?limit=2&offset=0&q=customer>; rel="first"`, `</api/v1/customers?limit=2&offset=0&q=customer>; rel="prev"`,
			`</api/v1/customers?limit=2&offset=4&q=customer>; rel="next"`, `</api/v1/customers?limit=2&offset=4&q=customer>; rel="last"`,
		} {
			if !strings.Contains(r.header.Get("Link"), want) {
				t.Errorf("got Link %s, want %s in it", r.header.Get("Link"), want)
			}
		}
		if link := h.get("/customers").header.Get("Link"); link != "" {
			t.Errorf("a list that is whole leads to %s", link)
		}
	})
}

func TestTokens(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		token := h.post("/tokens", map[string]any{"name": "till"}).is(201).text("token")
		till := *h
		till.place = token
		till.get("/desk")
		list := h.get("/tokens")
		if strings.Contains(string(list.raw), token) {
			t.Error("the list tells a token")
		}
		id := list.id(fmt.Sprintf("items.%d.id", list.find("items", "name", "till")))
		h.as(domain.Bench).ask("DELETE", fmt.Sprintf("/tokens/%d", id), nil).problem(404)
		h.ask("DELETE", fmt.Sprintf("/tokens/%d", id), nil).is(204)
		till.ask("GET", "/desk", nil).problem(401)
		till.place = "nonsense"
		till.ask("GET", "/desk", nil).problem(401)
	})
}

func TestStaff(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		r := owner.post("/staff", map[string]any{"name": "Eskil", "roles": []string{"bench", "counter"}, "password": "a very long word"}).is(201)
		if strings.Contains(string(r.raw), "password") || strings.Contains(string(r.raw), "long word") {
			t.Errorf("the password came back: %s", r.raw)
		}
		path := strings.TrimPrefix(r.header.Get("Location"), "/api/v1")
		owner.post("/staff", map[string]any{"name": "eskil", "roles": []string{"bench"}, "password": "a very long word"}).wrong(409, "name", "already")
		owner.post("/staff", map[string]any{"name": "Ola", "roles": []string{"cook"}, "password": "short"}).problem(422, "must be one of: counter, bench, owner")
		change := map[string]any{"name": "Eskil", "roles": []string{"bench"}, "active": false}
		owner.ask("PUT", path, change, headers{"If-Match": r.header.Get("ETag")}).is(200).want("roles.0", "bench")
		me := owner.get("/staff")
		i := me.find("items", "name", "Tove")
		self := fmt.Sprintf("/staff/%d", me.id(fmt.Sprintf("items.%d.id", i)))
		owner.ask("PUT", self, map[string]any{"name": "Tove", "roles": []string{"bench"}, "active": true}, headers{"If-Match": owner.get(self).header.Get("ETag")}).problem(409, "owner")
	})
}

func TestAShopIsOpenedOnceAndChanged(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := empty(t, s)
		shop := map[string]any{
			"name": "The Cold Bench", "zone": "Europe/Helsinki", "currency": "EUR", "rate": "70.00", "valid_days": 30, "quarter_up": 15,
			"hours": []any{hours("09:00", "17:00"), hours("09:00", "17:00"), hours("", ""), hours("", ""), hours("", ""), hours("", ""), hours("", "")}, "places": []string{"shelf"},
			"guard": map[string]any{"percent": "10"}, "deposit": map[string]any{},
			"profile": map[string]any{"name": "VAT", "deposit_tax": "on_receipt", "prices_include_tax": true, "components": []any{
				map[string]any{"name": "VAT", "on": []string{"labour", "part"}, "rates": []any{map[string]any{"from": "2024-09-01", "percent": "25.5"}}},
			}},
		}
		found := map[string]any{"code": "none", "shop": shop, "owner": map[string]any{"name": "Tove", "password": "short"}}
		h.post("/shop", found).wrong(422, "owner.password", "at least 12")
		found["owner"] = map[string]any{"name": "Tove", "password": "snow on the roof"}
		shop["rate"] = "70.001"
		h.post("/shop", found).wrong(422, "shop.rate", "EUR has 2")
		shop["rate"] = "70.00"
		h.post("/shop", found).wrong(422, "code", "printed when it started")
		code, err := h.work.NewFirstCode(t.Context())
		h.must(err)
		found["code"] = strings.ToLower(code)
		h.post("/shop", found).is(201).want("rate", "70.00")
		h.post("/shop", found).problem(409, "set up already")

		tove, err := s.StaffList(t.Context())
		h.must(err)
		h.sign(domain.Owner, tove[0].Actor())
		owner := h.as(domain.Owner)
		tag := owner.get("/shop").want("profile.components.0.rates.0.percent", "25.5").header.Get("ETag")
		shop["rate"], shop["places"] = "75", []string{"shelf", "second shelf"}
		owner.ask("PUT", "/shop", shop, headers{"If-Match": tag}).is(200).want("rate", "75.00").want("places.1", "second shelf")
		owner.ask("PUT", "/shop", shop, headers{"If-Match": tag}).problem(412)
		shop["currency"] = "CAD"
		owner.ask("PUT", "/shop", shop, headers{"If-Match": owner.get("/shop").header.Get("ETag")}).problem(409, "currency is fixed")
	})
}

func hours(from, to string) map[string]any { return map[string]any{"open": from, "close": to} }

func TestTemplatesAreChangedByEdition(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s).as(domain.Owner)
		have := h.get("/templates/CC")
		doc, usual := have.doc.(map[string]any), have.text("labour.typical")
		for _, field := range []string{"edition", "newest", "built_in"} {
			delete(doc, field)
		}
		doc["labour"] = map[string]any{"low": 10, "typical": 8, "high": 20}
		h.ask("PUT", "/templates/CC", doc, headers{"If-Match": have.header.Get("ETag")}).problem(422, "labour")
		doc["labour"] = map[string]any{"low": 10, "typical": 15, "high": 20}
		h.ask("PUT", "/templates/CC", doc).problem(409, "edition 1")
		h.ask("PUT", "/templates/XX", doc).wrong(422, "code", "path")
		h.ask("PUT", "/templates/CC", doc, headers{"If-Match": have.header.Get("ETag")}).is(200).want("edition", "2").want("labour.typical", "15")
		h.ask("PUT", "/templates/CC", doc, headers{"If-Match": have.header.Get("ETag")}).problem(412)
		h.get("/templates/CC?edition=1").want("labour.typical", usual)
		doc["code"], doc["name"], doc["after"] = "CX", "Cleats of another kind", []any{}
		h.ask("PUT", "/templates/CX", doc).is(200).want("edition", "1")
	})
}

func TestTheRestOfAJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		w.bench.survey(w.job)
		q := w.said(w.job, task("CC", "2"), task("FE", "20"))
		w.post(q+"/answer", yes).is(200)
		w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": w.get(q).text("totals.total")}).is(201)
		w.bench.post(w.task("FE")+"/drop", map[string]any{"reason": "fine after the hold"}).is(200)
		w.post(w.job+"/waits", map[string]any{"kind": "customer answer"}).is(200).want("stage", "waiting")
		w.bench.post(fmt.Sprintf("%s/waits/%d/end", w.job, w.get(w.job).id("waits.0.id")), nil).is(200)
		w.worked("CC", 30)
		clocking := fmt.Sprintf("%s/clockings/%d/corrections", w.job, w.get(w.job).id("clockings.0.id"))
		end := w.clock.Now()
		w.bench.post(clocking, map[string]any{"start": end.Add(-20 * time.Minute), "end": end, "reason": "forgot the clock"}).is(200).want("account.went", "20")
		w.bench.post(clocking, map[string]any{"start": end, "end": end.Add(time.Hour), "reason": "x"}).wrong(422, "end", "future")
		w.bench.post(w.task("CC")+"/reopen", nil).is(200)
		w.bench.post(w.task("CC")+"/finish", nil).is(200)
		w.bench.post(w.job+"/pass", nil).is(200)
		w.post(w.job+"/invoices/preview", map[string]any{"discount": "5"}).wrong(422, "reason", "needed")
		w.post(w.job+"/invoices", map[string]any{"discount": "5.00", "reason": "goodwill"}).is(201).want("totals.discount", "5.00")
		w.post(w.job+"/calls", map[string]any{"about": "ready", "result": "no answer"}).is(200)
		back := strings.TrimPrefix(w.get(w.job).text("balance.due"), "-")
		owner := h.as(domain.Owner)
		owner.post(w.job+"/refunds", map[string]any{"tender": "card", "amount": back}).is(201).want("payment.kind", "refund").want("balance.due", "0.00")
		owner.post(w.job+"/unclaimed", map[string]any{"law_checked": false}).wrong(422, "law_checked", "local law")
		owner.post(w.job+"/unclaimed", map[string]any{"law_checked": true}).is(200).want("stage", "closed unclaimed")
	})
}
