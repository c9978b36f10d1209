package web

import (
	"winterbench/domain"
	"winterbench/domain/workshop"
)

func init() { moreSamples = append(moreSamples, seasonSamples) }

// sampleWeeks are eight weeks of which two want too much.
func sampleWeeks() []workshop.SeasonWeek {
	var out []workshop.SeasonWeek
	for i, h := range []float64{24, 28, 31, 44, 47, 38, 30, 22} {
		out = append(out, workshop.SeasonWeek{
			Monday: domain.Date("2026-11-30").AddDays(7 * i), Arrivals: workshop.Likely{P50: 9, P90: 14}, Hands: workshop.Likely{P50: h, P90: h * 1.4}, HandsThere: 40,
			Places: workshop.Likely{P50: h / 8, P90: h / 5}, PlacesThere: 6, WaitChance: h / 200, LastHands: h * 0.9, LastPlaces: 3,
		})
	}
	return out
}

func seasonSamples() map[string]Paged {
	weeks := sampleWeeks()
	kinds := []workshop.SeasonKind{{Name: workshop.KindCracks, Jobs: 31, Minutes: 240, Held: 0.7, HoldDays: 8.6}, {Name: workshop.KindSetUps, Jobs: 80, Minutes: 100}}
	now, then := &workshop.Tried{Weeks: weeks, Over: 2, Short: 11, Backlog: 11, Wait: 0.2}, &workshop.Tried{Weeks: weeks, What: workshop.Change{Days: 1, Places: 2}, Wait: 0.1}
	show := &SeasonPage{Page: sampleFrame("The season"), Weeks: seasonPicture(weeks), Kinds: kindTable(kinds), Model: "Foretold from 168 weeks of the shop’s own records.", House: "Nothing agreed is in the house.", Ways: []Link{{Href: tryPath, Text: "What if", Now: true}}}
	show.Answer = workshop.SeasonAnswer(weeks, weeks, nil)
	try := &WhatIfPage{
		Page: sampleFrame("What if"), Knobs: knobs(func(string) string { return "2" }, nil), Closed: DateField("closed_week", "Closed in the week of", ""),
		Side: whatIfSide(now, then, &workshop.SeasonAhead{Shop: &workshop.Shop{}}), Name: TextField("name", "Name", ""), Keep: pairsOf(then.What),
		Kept: []KeptWhatIf{{Name: "Óscar on Fridays", Says: then.What.Text(), Href: tryPath + "?" + changeQuery(then.What), Action: tryPath + "/1", Key: "k-9", Version: 1}},
	}
	return map[string]Paged{"season/show": show, "season/what-if": try}
}
