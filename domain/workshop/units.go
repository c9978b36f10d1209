package workshop

import (
	"winterbench/domain"
	"winterbench/domain/wood"
)

// LengthUnits, TemperatureUnits and WeightUnits list in what a shop may have
// its measures shown; the first of each is the canonical one.
func LengthUnits() []string { return []string{"mm", "in"} }

// TemperatureUnits lists the units of temperature.
func TemperatureUnits() []string { return []string{"C", "F"} }

// WeightUnits lists the units of weight.
func WeightUnits() []string { return []string{"g", "oz"} }

// checkUnits notes units that the shop cannot have; "" is the canonical one.
func checkUnits(f domain.Fields, u wood.Units) {
	for _, one := range []struct {
		field, value string
		words        []string
	}{{"units.length", u.Length, LengthUnits()}, {"units.temperature", u.Temperature, TemperatureUnits()}, {"units.weight", u.Weight, WeightUnits()}} {
		if one.value != "" {
			domain.OneOf(f, one.field, one.value, one.words)
		}
	}
}

// Shown is a measure as the shop likes it, with the canonical value behind it
// where that differs, since sentences and limits speak of that: "0.006 in (0.15 mm)".
func Shown(m wood.Measure, u wood.Units) string {
	text := m.In(u)
	if canon := m.Text(); text != canon {
		return text + " (" + canon + ")"
	}
	return text
}
