package api_test

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/api"
)

// alone is a house without a database: what is refused before anything is read.
func alone(t *testing.T) *house { return &house{t: t, http: engine(nil, nil)} }

func TestWhatIsNotThere(t *testing.T) {
	h := alone(t)
	h.ask(http.MethodGet, "/nowhere", nil).problem(404, "lists what there is")
	h.ask(http.MethodGet, "/../../api", nil).problem(404)
	h.ask(http.MethodDelete, "/desk", nil).problem(405, "GET")
	r := h.ask("PATCH", "/customers", "{}")
	r.problem(405)
	if r.header.Get("Allow") == "" {
		t.Error("405 does not say what is allowed")
	}
}

func TestWithoutSignIn(t *testing.T) {
	h := alone(t)
	for path, methods := range described(t).Paths {
		if strings.Contains(path, "/calc") {
			continue
		}
		path = strings.NewReplacer(api.Root, "", "{code}", "CG").Replace(path)
		for strings.Contains(path, "{") {
			path = path[:strings.Index(path, "{")] + "1" + path[strings.Index(path, "}")+1:]
		}
		for method := range methods {
			if method == "post" && path == "/shop" {
				continue
			}
			r := h.ask(strings.ToUpper(method), path, nil)
			r.problem(401)
			if !strings.HasPrefix(r.header.Get("WWW-Authenticate"), "Bearer") {
				t.Errorf("%s %s: 401 does not say how to sign in", method, path)
			}
			if strings.Contains(string(r.raw), "null") {
				t.Errorf("%s: %s", path, r.raw)
			}
		}
	}
}

func TestCalc(t *testing.T) {
	h := alone(t)
	r := h.get("/calc")
	r.find("items", "name", "invoice")
	example := h.get("/calc/invoice")
	out := h.post("/calc/invoice", string(example.raw)).is(200)
	// 2.25 x 80.00 = 180.00; 47.85 - 12.5 % = 41.87; 6.50; less 15.00 is 213.37.
	// GST 5 % of 213.37 is 10.67. Hand arithmetic of the program's own example.
	out.want("net", "213.37").want("taxes.0.amount", "10.67")
	h.post("/calc/nothing", "{}").problem(404, "invoice")
	h.post("/calc/invoice", `{"currency":"CAD","line":[]}`).wrong(422, "line", "")
	h.post("/calc/invoice", `{"currency":`).problem(400, "not JSON")
	h.post("/calc/invoice", nil).problem(400)
	h.post("/calc/invoice", `"`+strings.Repeat("x", 1<<20)+`"`).problem(413, "1 MB")
}

func TestTheShapeOfAFounding(t *testing.T) {
	h := alone(t)
	secret := "a secret nobody may repeat"
	r := h.post("/shop", map[string]any{"owner": map[string]any{"name": 7, "password": secret, "pin": secret}, "shop": map[string]any{"rates": "1"}})
	r.wrong(422, "owner.name", "must be text in quotes").wrong(422, "owner.pin", "known are: name, password").
		wrong(422, "shop.rates", "known are: address").wrong(422, "shop.rate", "is needed").problem(422, "fields need another look")
	if strings.Contains(string(r.raw), "secret") {
		t.Errorf("a value came back: %s", r.raw)
	}
	h.post("/shop", `[`).problem(400, "byte")
	h.post("/shop", `[]`).problem(422, "must be an object")
	h.post("/shop", "").problem(400, "a body is needed")
	h.post("/shop", "name=x", headers{"Content-Type": "application/x-www-form-urlencoded"}).problem(415, "application/json")
	h.post("/shop", `{"Owner": {}, "shop": {}}`).wrong(422, "Owner", "is not known")
}
