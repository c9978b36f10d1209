package web

import (
	"math"

	"winterbench/domain"
	"winterbench/domain/season"
	"winterbench/domain/workshop"
)

func init() { moreSamples = append(moreSamples, seasonSamples) }

// sampleWeeks are eight weeks of which two want too much.
func sampleWeeks() []workshop.SeasonWeek {
	var out []workshop.SeasonWeek
	for i, h := range []float64{24, 28, 31, 44, 47, 38, 30, 22} {
		out = append(out, workshop.SeasonWeek{
			Monday: domain.Date("2026-11-30").AddDays(7 * i), Arrivals: workshop.Likely{P10: 5, P50: 9, P90: 14}, Hands: workshop.Likely{P50: h, P90: h * 1.4}, HandsThere: 40,
			Places: workshop.Likely{P50: h / 8, P90: h / 5}, PlacesThere: 6, WaitChance: h / 200, LastHands: h * 0.9, LastPlaces: 3,
		})
	}
	return out
}

// sampleAhead are the sample's weeks with ten before them.
func sampleAhead() *workshop.SeasonAhead {
	a := &workshop.SeasonAhead{Shop: &workshop.Shop{Zone: "UTC"}, Now: shelfNow, Weeks: sampleWeeks()}
	for i, n := range []int{4, 6, 5, 7, 9, 6, 8, 11, 7, 9} {
		a.Before = append(a.Before, workshop.WeekJobs{Monday: domain.Date("2026-09-21").AddDays(7 * i), Jobs: n})
	}
	return a
}

// sampleClimate is a page on which a file was looked through. The months are invented.
func sampleClimate() *ClimatePage {
	k := &workshop.Climate{Town: "Kaldvik", Source: "invented", Version: 2, Months: season.Climate{Past: map[season.YearMonth]season.Month{{Year: 2026, Month: 1}: {Celsius: -9.5, RH: 82}}}}
	for i := range k.Months.Usual {
		k.Months.Usual[i] = season.Month{Celsius: 4 - 12*math.Cos(math.Pi*float64(i)/6), RH: 76}
	}
	dry := season.Dry{Known: true, Tried: true, Coefficient: 0.2, Error: 0.15, Score: season.Score{Weeks: 52, MASE: 0.8, Pinball: 0.75, Covered: 0.8}, Without: season.Score{Weeks: 52, MASE: 0.8, NaiveMASE: 1.1, Pinball: 0.74, NaivePinball: 1.2, Covered: 0.81}}
	shop := &workshop.Shop{Zone: "UTC"}
	p := &ClimatePage{
		Page: sampleFrame("The climate of the town"), Months: climateTable(&k.Months), Measured: measuredTable(&k.Months), Used: dryText(k, dry), Scores: dryScores(&workshop.SeasonAhead{Dry: dry}),
		Seen: 2, ShopSeen: 3, WinterKey: "k-1", ImportKey: "k-2", ForgetKey: "k-3", Winter: winterFields(shop, nil), Where: winterWords(shop), Kept: "packed",
		Look: climateSeen(&workshop.ClimateLook{File: season.ClimateFile{Usual: 12, Past: 1, Columns: "month in column 1, temperature in 2, humidity in 3", Bad: []season.BadLine{{Line: 7, Text: "\"wet\" is no number of rh"}}}, Next: *k}, k),
	}
	p.Answer = workshop.ClimateAnswer(k)
	p.Town, p.Rows = climateFields(climateGetter(k), nil)
	p.Import = []Field{FileField("file", "The file", ".csv"), AreaField("text", "Or paste it", "")}
	return p
}

func seasonSamples() map[string]Paged {
	weeks := sampleWeeks()
	kinds := []workshop.SeasonKind{{Name: workshop.KindCracks, Jobs: 31, Minutes: 240, Held: 0.7, HoldDays: 8.6}, {Name: workshop.KindSetUps, Jobs: 80, Minutes: 100}}
	now, then := &workshop.Tried{Weeks: weeks, Over: 2, Short: 11, Backlog: 11, Wait: 0.2}, &workshop.Tried{Weeks: weeks, What: workshop.Change{Days: 1, Places: 2}, Wait: 0.1}
	show := &SeasonPage{Page: sampleFrame("The season"), Weeks: seasonPicture(weeks), Kinds: kindTable(kinds), Model: "Foretold from 168 weeks of the shop’s own records.", House: "Nothing agreed is in the house.", Ways: []Link{{Href: tryPath, Text: "What if", Now: true}}}
	show.Arrivals = arrivalsPicture(sampleAhead())
	show.Guess = GuessForm{Key: "k-7", Fields: guessForm(sampleAhead(), func(string) string { return "" }, nil).Fields, Given: []ShownGuess{{
		Says: "Week 2 of December, from 7 Dec: 9 jobs of cracks. A school’s instruments (Ines)", Foretold: "Foretold: 3, or 1 to 6.", Action: guessPath + "/1", Key: "k-8",
	}}}
	show.Answer = workshop.SeasonAnswer(weeks, weeks, nil)
	try := &WhatIfPage{
		Page: sampleFrame("What if"), Knobs: knobs(func(string) string { return "2" }, nil, true), Closed: DateField("closed_week", "Closed in the week of", ""),
		Side: whatIfSide(now, then, &workshop.SeasonAhead{Shop: &workshop.Shop{}}), Name: TextField("name", "Name", ""), Keep: pairsOf(then.What),
		Kept: []KeptWhatIf{{Name: "Óscar on Fridays", Says: then.What.Text(), Href: tryPath + "?" + changeQuery(then.What), Action: tryPath + "/1", Key: "k-9", Version: 1}},
	}
	return map[string]Paged{"season/show": show, "season/what-if": try, "season/climate": sampleClimate()}
}
