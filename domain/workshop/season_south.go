package workshop

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"time"
)

// Hemisphere is where the shop has its winter.
type Hemisphere string

// The choices. "" goes by the time zone.
const (
	ByZone Hemisphere = ""
	North  Hemisphere = "north"
	South  Hemisphere = "south"
)

// Hemispheres lists the choices.
func Hemispheres() []Hemisphere { return []Hemisphere{ByZone, North, South} }

//go:embed southern_zones.txt
var southernZones string

// southern are the time zones of the southern hemisphere by name.
var southern = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for line := range strings.Lines(southernZones) {
		if name := strings.TrimSpace(line); name != "" && name[0] != '#' {
			out[name] = true
		}
	}
	return out
})

// South reports whether the shop's winter is in July: by its own word, else by the
// place that its time zone is named after.
func (s *Shop) South() bool {
	if s.Hemisphere == ByZone {
		return southern()[s.Zone]
	}
	return s.Hemisphere == South
}

// SouthText says where the shop has its winter and how that is known, "" for a
// northern shop that nobody told otherwise.
func (s *Shop) SouthText() string {
	switch {
	case s.South() && s.Hemisphere == ByZone:
		return "The shop lies in the southern hemisphere, by its time zone " + s.Zone + ": its winter is around July."
	case s.South():
		return "The shop lies in the southern hemisphere, by its settings: its winter is around July."
	case s.Hemisphere == North && southern()[s.Zone]:
		return "The shop's winter is around January, by its settings."
	}
	return ""
}

// Heated reports whether homes are heated in a month, from October to April, or from
// April to October in the south. Source: common practice in a cold climate, no source.
func (s *Shop) Heated(m time.Month) bool {
	if s.South() {
		return m >= time.April && m <= time.October
	}
	return m >= time.October || m <= time.April
}

func (h Hemisphere) known() bool { return slices.Contains(Hemispheres(), h) }
