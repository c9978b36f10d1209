package store

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// bare turns letters that do not decompose into those that people type for them.
var bare = strings.NewReplacer("ł", "l", "ø", "o", "đ", "d", "ð", "d", "þ", "th", "ß", "ss", "æ", "ae", "œ", "oe", "ı", "i", "ŋ", "n", "ħ", "h")

// fold is the form in which names and words are compared: lower case, without
// accents. "Mączkowiak" and "maczkowiak" are the same.
func fold(s string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(s)) {
		if !unicode.Is(unicode.Mn, r) {
			b.WriteRune(r)
		}
	}
	return bare.Replace(b.String())
}
