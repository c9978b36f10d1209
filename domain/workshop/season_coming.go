package workshop

import (
	"math"
	"slices"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// ComingOf draws the arrivals that are still to come from the season's forecast: how
// many of each kind of repair in each week, and of each kind the routes that it took
// in that half of the year. Without a forecast it is [Coming], by monthly averages.
func ComingOf(routes []Route, f *SeasonForecast, shop *Shop, now time.Time) []queue.Arrival {
	zone := shop.Location()
	if f == nil || len(f.Forecast.Weeks) <= comingWeeks {
		return Coming(routes, now, shop)
	}
	if len(routes) < minRoutes {
		return nil
	}
	parts := partsOf(routes, shop)
	late := now.Sub(f.From.Time(zone)).Hours() / (7 * 24) // of the running week
	var out []queue.Arrival
	for _, k := range kindsOf(routes, shop) {
		a := queue.Arrival{Name: k.name, Tasks: k.tasks(now)}
		if len(a.Tasks) == 0 || len(a.Tasks) > queue.MaxTasks {
			continue
		}
		own := partsOf(k.all, shop)
		for w := range comingWeeks {
			half := shop.Heated(now.AddDate(0, 0, 7*w+3).In(zone).Month())
			sum := 0.0
			for _, kind := range RepairKinds() {
				here, next := f.Forecast.Weeks[w].ByKind[kind].Mean, f.Forecast.Weeks[w+1].ByKind[kind].Mean
				sum += (here*(1-late) + next*late) * parts.share(own, kind, half)
			}
			a.PerWeek = append(a.PerWeek, sum)
		}
		a.Size = f.sizeOf(k.all)
		out = append(out, a)
	}
	return out
}

// sizeOf is how much the weeks of a group of routes vary: as the kind of repair that
// most of them are.
func (f *SeasonForecast) sizeOf(routes []Route) float64 {
	n, most := map[string]int{}, ""
	for _, r := range routes {
		kind := r.Kind()
		if n[kind]++; n[kind] > n[most] {
			most = kind
		}
	}
	if size := f.Forecast.Sizes[most]; size > 0 {
		return math.Min(size, 1e5)
	}
	return usualSize
}

// part is a kind of repair in one half of the year.
type part struct {
	kind   string
	heated bool
}

// partCounts is how many routes there are of each.
type partCounts map[part]float64

func partsOf(routes []Route, shop *Shop) partCounts {
	out := partCounts{}
	for _, r := range routes {
		out[part{r.Kind(), shop.Heated(r.Agreed.In(shop.Location()).Month())}]++
	}
	return out
}

// share is the share of a group in all routes of a kind in a half of the year, or in
// the whole year when the kind never came in that half.
func (c partCounts) share(group partCounts, kind string, heated bool) float64 {
	here, there := part{kind, heated}, part{kind, !heated}
	switch {
	case c[here] > 0:
		return group[here] / c[here]
	case c[there] > 0:
		return group[there] / c[there]
	}
	return 0
}

// Kind is the kind of repair that the route counts to; see [Visit.Kind].
func (r Route) Kind() string { return Visit{Lead: r.lead()}.Kind() }

// lead is the phase of the main task, 0 without any.
func (r Route) lead() templates.Phase {
	order := LeadOrder()
	best := len(order)
	for _, t := range r.Tasks {
		if at := slices.Index(order, t.Phase); at >= 0 {
			best = min(best, at)
		}
	}
	if best == len(order) {
		return 0
	}
	return order[best]
}

// visitsBy are the jobs that had been agreed at a moment, as the season counts them,
// with nothing that was only known later.
func visitsBy(all []*job.Job, at time.Time) []Visit {
	var out []Visit
	for _, r := range routesBy(all, at) {
		v := Visit{At: r.Agreed, Lead: r.lead()}
		for _, t := range r.Tasks {
			v.Minutes += t.Minutes.Typical
		}
		out = append(out, v)
	}
	return out
}
