package wood

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Species is one wood: how much it moves across the grain, and how sure that is.
type Species struct {
	Name     string
	Synonyms []string // other names it is found by

	// Radial and Tangential are the shrinkage from green to ovendry, in % of the
	// green dimension.
	Radial, Tangential float64

	// CR and CT are the dimensional change coefficients, as a fraction of the
	// dimension at 10 % moisture per 1 % of moisture, for 6 to 14 % moisture; 0
	// where the handbook has no row.
	CR, CT float64

	// Saturation is the moisture, in %, at which shrinkage is taken to begin.
	Saturation float64

	// Spread is how far a board of this wood may move less or more than the
	// figures say, as a fraction. It is our judgement; see woods.csv.
	Spread float64

	Source string // where the figures come from
	Status string // how far they can be trusted
}

//go:embed woods.csv
var woodsFile string

// woods are the rows of woods.csv; byName finds them by folded name.
var (
	woods  = mustReadWoods(woodsFile)
	byName = indexed(woods)
)

// Unknown is the wood nothing is known of: the middle of the table with a spread
// that takes in nearly all of it.
var Unknown = woods[byName["unknown"]]

// AllSpecies lists the woods of the table in its order, [Unknown] last.
func AllSpecies() []Species { return append([]Species(nil), woods...) }

// Find returns the wood with that name or synonym; case, accents, hyphens and
// punctuation do not matter. For a name that is not there it returns [Unknown]
// and false; the name "unknown" itself is there.
func Find(name string) (Species, bool) {
	i, ok := byName[folded(name)]
	if !ok {
		return Unknown, false
	}
	return woods[i], true
}

// folded brings a name to lower-case letters without accents, one space between
// words.
func folded(name string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(name) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(unicode.ToLower(r))
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func indexed(all []Species) map[string]int {
	index := map[string]int{}
	for i, s := range all {
		for _, name := range append([]string{s.Name}, s.Synonyms...) {
			if other, there := index[folded(name)]; there && other != i {
				panic(fmt.Sprintf("woods.csv: %q names both %s and %s", name, all[other].Name, s.Name))
			}
			index[folded(name)] = i
		}
	}
	return index
}

// mustReadWoods reads woods.csv. The file is part of the program: a slip in it
// stops every test.
func mustReadWoods(file string) []Species {
	r := csv.NewReader(strings.NewReader(file))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("woods.csv: %v", err))
	}
	var all []Species
	for _, row := range rows[1:] {
		s := Species{Name: row[0], Source: row[8], Status: row[9]}
		if row[1] != "" {
			s.Synonyms = strings.Split(row[1], "; ")
		}
		for i, into := range []*float64{&s.Radial, &s.Tangential, &s.CR, &s.CT, &s.Saturation, &s.Spread} {
			*into = mustNumber(row[0], row[2+i])
		}
		all = append(all, s)
	}
	return all
}

func mustNumber(name, text string) float64 {
	if text == "" {
		return 0
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= 0) || math.IsInf(v, 0) {
		panic(fmt.Sprintf("woods.csv: %s: %q is no figure", name, text))
	}
	return v
}
