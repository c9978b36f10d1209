package season

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// fraction reads "12/5" or "2".
func fraction(t *testing.T, s string) float64 {
	over, under, is := strings.Cut(s, "/")
	if !is {
		return number(t, s)
	}
	return number(t, over) / number(t, under)
}

// Source: testdata/erlang.csv, in exact fractions; the printed values beside them
// agree.
func TestErlangInExactFractions(t *testing.T) {
	rows := table(t, "erlang.csv")
	if len(rows) < 15 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, r := range rows {
		servers, offered := int(number(t, r["servers"])), fraction(t, r["offered_erlang"])
		at := r["servers"] + " servers, " + r["offered_erlang"] + " erlang: "
		near(t, at+"lost", ErlangB(servers, offered), number(t, r["erlang_b"]), 1e-9)
		near(t, at+"waits", ErlangC(servers, offered), number(t, r["erlang_c_P_wait"]), 1e-9)
		near(t, at+"wait", Wait(servers, offered, 1, 1), number(t, r["Wq_in_mean_services"]), 1e-9)
		near(t, at+"length of the queue", offered*Wait(servers, offered, 1, 1), number(t, r["Lq"]), 1e-9)
		mean := Wait(servers, offered, 1, 1) / ErlangC(servers, offered)
		near(t, at+"wait of those who wait", mean, number(t, r["mean_wait_if_waiting"]), 1e-9)
		near(t, at+"longer than a while", WaitsOver(servers, offered, 1, mean), ErlangC(servers, offered)/math.E, 1e-12)
	}
}

// Source: printed tables of telephone traffic, named row by row in the file: at the
// printed load the loss is the printed one, to the decimals that were printed.
func TestErlangTables(t *testing.T) {
	for _, r := range table(t, "erlang_b_table.csv") {
		servers, lost := int(number(t, r["servers"])), number(t, r["blocking"])
		near(t, r["servers"]+" servers", ErlangB(servers, number(t, r["offered_load_computed"])), lost, 1e-6)
		_, decimals, _ := strings.Cut(r["published"], ".")
		half := 0.5 * math.Pow(10, -float64(len(decimals)))
		printed := number(t, r["published"])
		if ErlangB(servers, printed-half) > lost || ErlangB(servers, printed+half) < lost {
			t.Errorf("%s servers: a loss of %v is not reached at a load that prints as %s", r["servers"], lost, r["published"])
		}
	}
}

// Source: testdata/mg1.csv, by the formula of Pollaczek and Khinchine.
func TestWaitOfOneServer(t *testing.T) {
	for _, r := range table(t, "mg1.csv") {
		service := number(t, r["ES"])
		got := Wait(1, number(t, r["lambda"])*service, service, number(t, r["cv2"]))
		near(t, r["case"], got, number(t, r["Wq"]), 2e-9) // the file's inputs have ten digits
	}
}

// Source: testdata/cabinet.csv.
func TestCabinetAsComputedElsewhere(t *testing.T) {
	spread := math.Expm1(0.25) // lognormal with sigma 1/2
	for _, r := range table(t, "cabinet.csv") {
		places, days := int(number(t, r["places"])), number(t, r["mean_hold_days"])
		offered := number(t, r["holds_per_week"]) * days / 7
		at := r["holds_per_week"] + " a week, " + r["places"] + " places: "
		near(t, at+"all wanted", fullChance(offered, places), number(t, r["P_inf_demand_at_least_places"]), 1e-8)
		near(t, at+"lost", ErlangB(places, offered), number(t, r["erlang_b"]), 1e-8)
		if r["erlang_c"] == "overload" {
			if ErlangC(places, offered) != 1 || !math.IsInf(Wait(places, offered, days, 1), 1) || WaitsOver(places, offered, days, 30) != 1 {
				t.Errorf("%sall must wait for ever", at)
			}
			continue
		}
		near(t, at+"waits", ErlangC(places, offered), number(t, r["erlang_c"]), 1e-8)
		near(t, at+"days", Wait(places, offered, days, 1), number(t, r["Wq_days_MMc"]), 5.1e-5)
		near(t, at+"days as they spread", Wait(places, offered, days, spread), number(t, r["Wq_days_times_(1+cv2)/2_lognormal_sigma_.5"]), 5.1e-5)
	}
}

func TestErlangAtTheEdges(t *testing.T) {
	if b, c := ErlangB(0, 2), ErlangC(0, 2); b != 1 || c != 1 {
		t.Errorf("without servers %v are lost and %v wait, want all", b, c)
	}
	if b, c, w := ErlangB(3, 0), ErlangC(3, 0), Wait(3, 0, 5, 1); b != 0 || c != 0 || w != 0 {
		t.Errorf("without work %v are lost, %v wait, for %v; want none", b, c, w)
	}
	if o := WaitsOver(2, 0, 5, 1); o != 0 {
		t.Errorf("without work %v wait long", o)
	}
}

// The general-purpose library of distributions gives the same tails.
func TestTailsAsInTheLibrary(t *testing.T) {
	for _, mean := range []float64{0.3, 2, 5.45, 9} {
		for _, places := range []int{1, 3, 6, 12} {
			want := 1 - distuv.Poisson{Lambda: mean}.CDF(float64(places-1))
			near(t, strconv.Itoa(places)+" places", fullChance(mean, places), want, 1e-10)
		}
	}
	for _, over := range []float64{300, 1400, 2600} {
		mean, variance := 1360.0, 632.0*632
		g := distuv.Gamma{Alpha: mean * mean / variance, Beta: mean / variance}
		near(t, "gamma above "+strconv.Itoa(int(over)), gammaOver(mean, variance, over), g.Survival(over), 1e-10)
	}
}
