package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
)

// AirNow is the shop's own air at one moment.
type AirNow struct {
	Places []PlaceNow // those in use, by name
	Meters []air.Meter
	Alarms []air.Alarm // of all places, in their order, then of the travelling meters
	Answer string      // the one sentence
}

// PlaceNow is a place with what is known of its air.
type PlaceNow struct {
	Place  air.Place
	Last   *air.Reading // nil when it was never read
	Alarms []air.Alarm
}

// AirOf puts together how the air stands at a moment.
func AirOf(ctx context.Context, q Queries, at time.Time) (*AirNow, error) {
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	now := at.In(shop.Location())
	out := &AirNow{}
	if out.Meters, err = q.Meters(ctx); err != nil {
		return nil, err
	}
	if out.Places, err = placesNow(ctx, q, out.Meters, now); err != nil {
		return nil, err
	}
	out.Alarms = alarmsOf(out.Places, out.Meters, now)
	out.Answer = AirAnswer(out, shop, now)
	return out, nil
}

// AirAlarms returns the alarms of all places in use and of the travelling
// meters. Now is in the shop's zone.
func AirAlarms(ctx context.Context, q airReads, now time.Time) ([]air.Alarm, error) {
	meters, err := q.Meters(ctx)
	if err != nil {
		return nil, err
	}
	places, err := placesNow(ctx, q, meters, now)
	if err != nil {
		return nil, err
	}
	return alarmsOf(places, meters, now), nil
}

func alarmsOf(places []PlaceNow, meters []air.Meter, now time.Time) []air.Alarm {
	var out []air.Alarm
	for _, p := range places {
		out = append(out, p.Alarms...)
	}
	return append(out, air.MeterAlarms(0, meters, now)...)
}

// watched is since when alarms look at the readings: the Monday two weeks before
// this week's. It moves once a week, so that an alarm keeps its beginning, and
// with it its answer, for that long; one that goes on is asked again.
func watched(now time.Time) time.Time {
	back := (int(now.Weekday()) + 6) % 7
	return time.Date(now.Year(), now.Month(), now.Day()-back-14, 0, 0, 0, 0, now.Location())
}

func placesNow(ctx context.Context, q airReads, meters []air.Meter, now time.Time) ([]PlaceNow, error) {
	places, err := q.AirPlaces(ctx)
	if err != nil {
		return nil, err
	}
	last, err := q.LastAir(ctx)
	if err != nil {
		return nil, err
	}
	answers, err := q.AlarmAnswers(ctx, watched(now).AddDate(-1, 0, 0))
	if err != nil {
		return nil, err
	}
	var out []PlaceNow
	for _, p := range places {
		if !p.Retired.IsZero() {
			continue
		}
		n := PlaceNow{Place: p}
		if i := slices.IndexFunc(last, func(r air.Reading) bool { return r.Place == p.ID }); i >= 0 {
			n.Last = &last[i]
		}
		rs, err := q.AirReadings(ctx, p.ID, watched(now), now.Add(time.Microsecond))
		if err != nil {
			return nil, err
		}
		if len(rs) == 0 && n.Last != nil {
			rs = []air.Reading{*n.Last}
		}
		n.Alarms = air.Alarms(p, rs, meters, answers, now)
		out = append(out, n)
	}
	return out, nil
}

// TrustOf tells whether a meter is to be believed at a moment in the shop's
// zone, and if not why. A meter that is not on the list is not found.
func TrustOf(ctx context.Context, q AirQueries, id domain.MeterID, at time.Time) (trusted bool, why string, err error) {
	all, err := q.Meters(ctx)
	if err != nil {
		return false, "", err
	}
	i := slices.IndexFunc(all, func(m air.Meter) bool { return m.ID == id })
	if i < 0 {
		return false, "", domain.NotFoundf("there is no meter %d", id)
	}
	why = all[i].Doubt(at)
	return why == "", why, nil
}

// AirAnswer says in a few sentences how the air of each room and cabinet stands
// and what is open: "Bench is at 38 %, below its band since yesterday 16:00. Hold
// cabinet is at 46 %. 1 meter is due."
func AirAnswer(n *AirNow, shop *Shop, now time.Time) string {
	if len(n.Places) == 0 {
		return "No place of the shop's air is kept yet: begin with the usual ones."
	}
	var parts []string
	for _, p := range n.Places {
		if p.Place.Kind == air.Room || p.Place.Kind == air.Cabinet {
			parts = append(parts, placeAnswer(p, shop, now))
		}
	}
	if said := metersAnswer(n, now); said != "" {
		parts = append(parts, said)
	}
	if open := openAlarms(n.Alarms); len(parts) == 0 && open == 0 {
		return "No room and no cabinet is kept."
	}
	return strings.Join(parts, " ")
}

// metersAnswer counts the meters that want calibration and those that are not
// trusted for another reason: "1 meter is due, 1 is not trusted."
func metersAnswer(n *AirNow, now time.Time) string {
	due, doubted := map[domain.MeterID]bool{}, map[domain.MeterID]bool{}
	for _, a := range n.Alarms {
		if a.Kind != air.MeterDoubt {
			continue
		}
		if slices.ContainsFunc(n.Meters, func(m air.Meter) bool { return m.ID == a.Meter && m.IsDue(now) }) {
			due[a.Meter] = true
		} else {
			doubted[a.Meter] = true
		}
	}
	is := func(n int) string {
		if n == 1 {
			return "is"
		}
		return "are"
	}
	meters := func(n int) string {
		return fmt.Sprintf("%d %s %s", n, domain.UnitFor(n, "meters"), is(n))
	}
	switch d, bad := len(due), len(doubted); {
	case d > 0 && bad > 0:
		return fmt.Sprintf("%s due, %d %s not trusted.", meters(d), bad, is(bad))
	case d > 0:
		return meters(d) + " due."
	case bad > 0:
		return meters(bad) + " not trusted."
	}
	return ""
}

func openAlarms(alarms []air.Alarm) int {
	n := 0
	for _, a := range alarms {
		if a.Answered == nil {
			n++
		}
	}
	return n
}

// placeAnswer is one place's sentence; the gravest alarm about its air goes with
// it.
func placeAnswer(p PlaceNow, shop *Shop, now time.Time) string {
	if p.Last == nil {
		return p.Place.Name + " was not read yet."
	}
	s := fmt.Sprintf("%s is at %s %%", p.Place.Name, p.Last.RH.Round(1))
	for _, a := range p.Alarms {
		switch a.Kind {
		case air.StopNow:
			return s + ", too moist: stop and open it."
		case air.TooMoist:
			return s + ", too moist since " + since(a.Since, now, shop) + "."
		case air.TooDry:
			return s + ", too dry since " + since(a.Since, now, shop) + "."
		case air.OutOfBand:
			side := "above"
			if p.Last.RH.LessThan(p.Place.Rules.Low) {
				side = "below"
			}
			return s + ", " + side + " its band since " + since(a.Since, now, shop) + "."
		case air.NoReading:
			return s + ", last read " + since(a.Since, now, shop) + "."
		}
	}
	return s + "."
}

// since names a past moment with its clock: today 9:00, yesterday 16:00, Tue 3
// Nov 16:00.
func since(t, now time.Time, shop *Shop) string {
	said := ago(t, now, shop)
	if clock := t.In(shop.Location()).Format("15:04"); !strings.HasSuffix(said, clock) {
		said += " " + clock
	}
	return said
}
