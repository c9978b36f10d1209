package api_test

import "testing"

// The example's figures come out of the model that domain/season checks against
// statistics software; here the way in and out is held.
func TestCalcSeason(t *testing.T) {
	h := alone(t)
	h.get("/calc").find("items", "name", "season")
	out := h.post("/calc/season", string(h.get("/calc/season").raw)).is(200)
	out.want("weeks.0.week", "2026-W42").want("weeks.25.week", "2027-W14")
	h.post("/calc/season", `{"weeks":[{"week":"2025-W53","arrivals":{}}],"load":{"crack":{"minutes":60}},"capacity":{"minutes":600}}`).
		wrong(422, "weeks[0].week", "2026-W40")
	h.post("/calc/season", `{"winter":1}`).wrong(422, "winter", "is unknown")
}
