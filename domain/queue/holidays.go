package queue

import (
	"maps"
	"slices"
	"strings"
	"time"

	"winterbench/domain"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/at"
	"github.com/rickar/cal/v2/au"
	"github.com/rickar/cal/v2/be"
	"github.com/rickar/cal/v2/ca"
	"github.com/rickar/cal/v2/ch"
	"github.com/rickar/cal/v2/cz"
	"github.com/rickar/cal/v2/de"
	"github.com/rickar/cal/v2/dk"
	"github.com/rickar/cal/v2/es"
	"github.com/rickar/cal/v2/fr"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/ie"
	"github.com/rickar/cal/v2/it"
	"github.com/rickar/cal/v2/jp"
	"github.com/rickar/cal/v2/nl"
	"github.com/rickar/cal/v2/no"
	"github.com/rickar/cal/v2/nz"
	"github.com/rickar/cal/v2/pl"
	"github.com/rickar/cal/v2/se"
	"github.com/rickar/cal/v2/us"
)

// Holiday is one public holiday.
type Holiday struct {
	Date    domain.Date
	Name    string // in the language of the place
	Instead bool   // the free day kept in place of one that fell on a weekend
}

// regions names each list by the codes of ISO 3166: a country, or a part of it.
var regions = map[string][]*cal.Holiday{
	"AT": at.Holidays, "BE": be.Holidays, "CA": ca.Holidays, "CZ": cz.Holidays, "DK": dk.Holidays,
	"ES": es.Holidays, "FR": fr.Holidays, "GB": gb.Holidays, "IE": ie.Holidays, "IT": it.Holidays,
	"JP": jp.Holidays, "NL": nl.Holidays, "NO": no.Holidays, "NZ": nz.Holidays, "PL": pl.Holidays,
	"SE": se.Holidays, "US": us.Holidays,

	"AU-ACT": au.HolidaysACT, "AU-NSW": au.HolidaysNSW, "AU-NT": au.HolidaysNT, "AU-QLD": au.HolidaysQLD,
	"AU-SA": au.HolidaysSA, "AU-TAS": au.HolidaysTAS, "AU-VIC": au.HolidaysVIC, "AU-WA": au.HolidaysWA,

	"CH": ch.Holidays, "CH-BE": ch.HolidaysBE, "CH-BS": ch.HolidaysBS, "CH-GE": ch.HolidaysGE,
	"CH-LU": ch.HolidaysLU, "CH-SG": ch.HolidaysSG, "CH-TI": ch.HolidaysTI, "CH-VD": ch.HolidaysVD,
	"CH-ZH": ch.HolidaysZH,

	"DE": de.Holidays, "DE-BB": de.HolidaysBB, "DE-BE": de.HolidaysBE, "DE-BW": de.HolidaysBW,
	"DE-BY": de.HolidaysBY, "DE-HB": de.HolidaysHB, "DE-HE": de.HolidaysHE, "DE-HH": de.HolidaysHH,
	"DE-MV": de.HolidaysMV, "DE-NI": de.HolidaysNI, "DE-NW": de.HolidaysNW, "DE-RP": de.HolidaysRP,
	"DE-SH": de.HolidaysSH, "DE-SL": de.HolidaysSL, "DE-SN": de.HolidaysSN, "DE-ST": de.HolidaysST,
	"DE-TH": de.HolidaysTH,
}

// Regions lists the places whose holidays are known, by code, sorted.
func Regions() []string { return slices.Sorted(maps.Keys(regions)) }

// Holidays returns the public holidays that a region keeps in a year, by date: a
// proposal for the shop's closed days that the owner looks over, because what a
// town or a state keeps besides is not all in it, and laws change. A holiday on a
// weekend is there twice when another day is kept for it: its own day and the
// free one. It returns a NotFound error for an unknown region and an Invalid one
// for a year outside 2000 to 2199.
//
// Source: the tables of the library github.com/rickar/cal.
func Holidays(region string, year int) ([]Holiday, error) {
	list, ok := regions[region]
	if !ok {
		return nil, domain.NotFoundf("no holidays are known for %q; there are: %s", region, strings.Join(Regions(), ", "))
	}
	if year < 2000 || year > 2199 {
		return nil, domain.Invalidf("holidays are known for the years 2000 to 2199, not %d", year)
	}
	var out []Holiday
	for y := year - 1; y <= year+1; y++ { // a free day may stand in the next year
		for _, h := range list {
			actual, observed := h.Calc(y)
			out = addHoliday(out, year, Holiday{Name: h.Name}, actual)
			if !observed.Equal(actual) {
				out = addHoliday(out, year, Holiday{Name: h.Name, Instead: true}, observed)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Holiday) int { return strings.Compare(string(a.Date), string(b.Date)) })
	return out, nil
}

func addHoliday(list []Holiday, year int, h Holiday, day time.Time) []Holiday {
	if day.Year() != year {
		return list
	}
	h.Date = domain.DateOf(day)
	return append(list, h)
}
