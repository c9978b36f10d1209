package workshop

import (
	"fmt"
	"strings"

	"winterbench/domain"
	"winterbench/domain/season"
)

// predict foretells each kind for a year of weeks out of the shop's own records
// and says in words what it went by and how well that did. The method and its
// evidence stand in package season.
func (a *SeasonAhead) predict(monday domain.Date, counts map[string][]int) (string, error) {
	h := season.History{From: monday, Counts: counts}
	for _, k := range a.Kinds {
		if len(counts[k.Name]) > 0 {
			h.Kinds = append(h.Kinds, k.Name)
		}
	}
	if len(h.Kinds) == 0 {
		return "Nothing is foretold: no full week of agreed work is in the books yet. The weeks hold what is in the house.", nil
	}
	f, err := season.Predict(h, season.Options{Weeks: yearWeeks, Seed: queueSeed})
	if err != nil {
		return "", fmt.Errorf("foretell the season: %w", err)
	}
	for _, kind := range a.Kinds {
		k := kindAhead{kind: kind, size: max(f.Sizes[kind.Name], 0.1), mean: make([]float64, yearWeeks)}
		for w := range k.mean {
			k.mean[w] = f.Weeks[w].ByKind[kind.Name].Mean
		}
		a.ahead = append(a.ahead, k)
	}
	a.Seasons = float64(len(counts[h.Kinds[0]])) / yearOfWeeks
	return strings.TrimSpace(f.Model + " " + f.Why), nil
}

const yearOfWeeks = 52
