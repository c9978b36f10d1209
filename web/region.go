package web

import "strings"

// regionNames are English names of the countries and of their parts whose
// holidays are known, by their codes in ISO 3166-1 and ISO 3166-2.
var regionNames = map[string]string{
	"AT": "Austria", "AU": "Australia", "BE": "Belgium", "CA": "Canada", "CH": "Switzerland", "CZ": "Czechia", "DE": "Germany",
	"DK": "Denmark", "ES": "Spain", "FR": "France", "GB": "United Kingdom", "IE": "Ireland", "IT": "Italy", "JP": "Japan",
	"NL": "Netherlands", "NO": "Norway", "NZ": "New Zealand", "PL": "Poland", "SE": "Sweden", "US": "United States",

	"AU-ACT": "Australian Capital Territory", "AU-NSW": "New South Wales", "AU-NT": "Northern Territory", "AU-QLD": "Queensland",
	"AU-SA": "South Australia", "AU-TAS": "Tasmania", "AU-VIC": "Victoria", "AU-WA": "Western Australia",

	"CH-BE": "Bern", "CH-BS": "Basel-Stadt", "CH-GE": "Geneva", "CH-LU": "Lucerne", "CH-SG": "St. Gallen", "CH-TI": "Ticino",
	"CH-VD": "Vaud", "CH-ZH": "Zurich",

	"DE-BB": "Brandenburg", "DE-BE": "Berlin", "DE-BW": "Baden-Württemberg", "DE-BY": "Bavaria", "DE-HB": "Bremen", "DE-HE": "Hesse",
	"DE-HH": "Hamburg", "DE-MV": "Mecklenburg-Western Pomerania", "DE-NI": "Lower Saxony", "DE-NW": "North Rhine-Westphalia",
	"DE-RP": "Rhineland-Palatinate", "DE-SH": "Schleswig-Holstein", "DE-SL": "Saarland", "DE-SN": "Saxony", "DE-ST": "Saxony-Anhalt",
	"DE-TH": "Thuringia",
}

// regionName writes a region with its country before it: "Germany, Bavaria". A
// code without a name stands for itself.
func regionName(code string) string {
	country, _, part := strings.Cut(code, "-")
	name := regionNames[code]
	switch {
	case name == "":
		return code
	case part:
		return regionNames[country] + ", " + name
	}
	return name
}
