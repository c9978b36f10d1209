package workshop

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
)

// HeatedTo is the room temperature, in °C, at which outdoor air is compared.
const HeatedTo = 21

// OutdoorAnswer says what the outdoor air would be in a heated room with nothing
// added: "Outdoor air (-10 °C, 80 %) warmed to 21 °C would be at 9 %." It is ""
// without an outdoor place that was read with its temperature.
func OutdoorAnswer(n *AirNow) string {
	for _, p := range n.Places {
		if p.Place.Kind != air.Outdoors || p.Last == nil || p.Last.Celsius == nil {
			continue
		}
		c, rh := p.Last.Celsius.InexactFloat64(), p.Last.RH.InexactFloat64()
		word := "warmed"
		if c > HeatedTo {
			word = "cooled"
		}
		said := fmt.Sprintf("Outdoor air (%s °C, %s %%) %s to %d °C would be at %.0f %%.", p.Last.Celsius.Round(0), p.Last.RH.Round(0), word, HeatedTo, math.Round(wood.HeatedIndoor(c, rh, HeatedTo)))
		return strings.Replace(said, "(-", "(\u2212", 1)
	}
	return ""
}

// StopAnswer names the places whose air stops the work and that nobody saw to,
// "" for none. It is cheap while no reading lies above its place's limit.
func StopAnswer(ctx context.Context, q AirQueries, now time.Time) (string, error) {
	places, err := q.AirPlaces(ctx)
	if err != nil {
		return "", err
	}
	last, err := q.LastAir(ctx)
	if err != nil || !anyStops(places, last) {
		return "", err
	}
	alarms, err := AirAlarms(ctx, q, now)
	if err != nil {
		return "", err
	}
	var parts []string
	for _, a := range alarms {
		if a.Stop && a.Answered == nil {
			parts = append(parts, placeName(places, a.Place)+": "+a.Text)
		}
	}
	return strings.Join(parts, " "), nil
}

func anyStops(places []air.Place, last []air.Reading) bool {
	for _, r := range last {
		for _, p := range places {
			if p.ID == r.Place && p.Retired.IsZero() && !p.Rules.Stop.IsZero() && r.RH.GreaterThan(p.Rules.Stop) {
				return true
			}
		}
	}
	return false
}

func placeName(places []air.Place, id domain.AirPlaceID) string {
	for _, p := range places {
		if p.ID == id {
			return p.Name
		}
	}
	return ""
}
