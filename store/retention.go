package store

import (
	"slices"
	"strings"

	"winterbench/domain"
)

// The names of copies made by the day: winterbench-2026-11-26.tar.gz.
const (
	copyPrefix = "winterbench-"
	copySuffix = ".tar.gz"
)

// CopyName is the name of the copy of a day.
func CopyName(day domain.Date) string { return copyPrefix + string(day) + copySuffix }

// copyDay is the day of a copy that [CopyName] has named; false for any other file.
func copyDay(name string) (domain.Date, bool) {
	rest, is := strings.CutPrefix(name, copyPrefix)
	text, ends := strings.CutSuffix(rest, copySuffix)
	if !is || !ends {
		return "", false
	}
	day, err := domain.ParseDate(text)
	return day, err == nil
}

// monthsKept is for how many months the first copy of each stays.
const monthsKept = 12

// Outdated picks the copies that may go out of the names in a folder: all but the
// newest keep (at least 1) and the first of each of the last twelve months that
// have any. Files that are no copies by the day are never picked.
func Outdated(names []string, keep int) []string {
	var days []domain.Date
	for _, name := range names {
		if day, is := copyDay(name); is {
			days = append(days, day)
		}
	}
	slices.Sort(days)
	days = slices.Compact(days)
	stays := map[domain.Date]bool{}
	for _, day := range days[max(len(days)-max(keep, 1), 0):] {
		stays[day] = true
	}
	var firsts []domain.Date
	for i, day := range days {
		if i == 0 || day[:7] != days[i-1][:7] {
			firsts = append(firsts, day)
		}
	}
	for _, day := range firsts[max(len(firsts)-monthsKept, 0):] {
		stays[day] = true
	}
	var out []string
	for _, day := range days {
		if !stays[day] {
			out = append(out, CopyName(day))
		}
	}
	return out
}
