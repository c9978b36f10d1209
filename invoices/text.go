package invoices

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// clean makes any bytes printable on one line: broken UTF-8 and letters beyond
// U+FFFF, on which the PDF library panics, become U+FFFD, which is printed as a
// box; control letters become spaces; letters without a shape vanish.
func clean(s string) string {
	s = norm.NFC.String(strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Map(func(r rune) rune {
		switch {
		case r > 0xFFFF:
			return unicode.ReplacementChar
		case unicode.IsControl(r), r == '\u2028', r == '\u2029':
			return ' '
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Variation_Selector, r):
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' }), " ")
}

// linesOf cuts text at its line breaks, cleans each line and leaves out empty ones.
func linesOf(text string) []string {
	var out []string
	for _, l := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' }) {
		if l = clean(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// visual turns the words of a line that run from right to left, so that they
// read rightly when set from left to right. Which words do is decided by the
// bidirectional algorithm of Unicode (UAX #9). A number behind such a word
// stays behind it, where the algorithm would set it before; letters are not
// joined, as Arabic would need.
func visual(line string) string {
	if !strings.ContainsFunc(line, rightToLeft) {
		return line
	}
	var p bidi.Paragraph
	if _, err := p.SetString(line, bidi.DefaultDirection(bidi.LeftToRight)); err != nil {
		return line
	}
	order, err := p.Order()
	if err != nil {
		return line
	}
	var b strings.Builder
	for i := range order.NumRuns() {
		r := order.Run(i)
		if r.Direction() == bidi.RightToLeft {
			b.WriteString(turned(r.String()))
		} else {
			b.WriteString(r.String())
		}
	}
	return b.String()
}

// turned reverses words; the spaces around them stay.
func turned(s string) string {
	words := strings.Trim(s, " ")
	at := strings.Index(s, words)
	return s[:at] + bidi.ReverseString(words) + s[at+len(words):]
}

func rightToLeft(r rune) bool {
	p, _ := bidi.LookupRune(r)
	return p.Class() == bidi.R || p.Class() == bidi.AL
}

// wrap breaks a cleaned line so that each part fits the width in mm. A word that
// is wider than a line is broken anywhere. With most above 0 there are at most so
// many lines, the last of them shortened.
func wrap(text string, w weight, size, width float64, most int) []string {
	var out []string
	line := ""
	for _, word := range strings.Split(text, " ") {
		joined := strings.TrimPrefix(line+" "+word, " ")
		if wide(joined, w, size) <= width {
			line = joined
			continue
		}
		if line != "" {
			out = append(out, line)
		}
		parts := cut(word, w, size, width)
		out = append(out, parts[:len(parts)-1]...)
		line = parts[len(parts)-1]
	}
	if line != "" {
		out = append(out, line)
	}
	if most > 0 && len(out) > most {
		rest := strings.Join(out[most-1:], " ")
		out = append(out[:most-1], shorten(rest, w, size, width))
	}
	return out
}

// cut takes a word apart into pieces that fit the width; there is at least one, and
// each has at least one letter.
func cut(word string, w weight, size, width float64) []string {
	var out []string
	start, used := 0, 0.0
	for i, r := range word {
		f, letter := choose(r, w)
		step := f.width(letter) * size * point
		if i > start && used+step > width {
			out = append(out, word[start:i])
			start, used = i, 0
		}
		used += step
	}
	return append(out, word[start:])
}

// shorten cuts text to the width and marks the cut with an ellipsis.
func shorten(text string, w weight, size, width float64) string {
	if wide(text, w, size) <= width {
		return text
	}
	room := width - wide("…", w, size)
	first := cut(text, w, size, room)[0]
	if wide(first, w, size) > room {
		return "…"
	}
	return strings.TrimRight(first, " ") + "…"
}
