package api_test

import "testing"

// Source of the figures: Sitka spruce, 200 mm, radial, 50 to 35 % at 21 C, is
// -0.68103 mm by C = 0.00148 of the Wood Handbook, table 13-5 (worked out apart in
// domain/wood/testdata/dimchange_examples.csv).
func TestCalcWood(t *testing.T) {
	h := alone(t)
	h.get("/calc").find("items", "name", "wood")
	out := h.post("/calc/wood", string(h.get("/calc/wood").raw)).is(200)
	out.want("emc_from", "9.245").want("pieces.0.change_mm", "-0.6810")
	h.post("/calc/wood", `{"temperature_c":"21","rh_from":"50","rh_to":"x","pieces":[]}`).wrong(422, "rh_to", "no decimal")
}
