package invoices

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestClean(t *testing.T) {
	for _, c := range []struct{ says, typed, want string }{
		{"plain text stays", "Orrin No. 3", "Orrin No. 3"},
		{"spaces are single", "  a \t b  ", "a b"},
		{"control letters are spaces", "a\x00b\x1bc\u0085d\u2028e", "a b c d e"},
		{"broken UTF-8 is one replacement", "a\xff\xfeb", "a\uFFFDb"},
		{"letters beyond U+FFFF are replaced", "guitar 🎸", "guitar \uFFFD"},
		{"letters without shape vanish", "\ufeffa\u200db\u202ec\ufe0f", "abc"},
		{"letters are composed", "e\u0301", "é"},
	} {
		if got := clean(c.typed); got != c.want {
			t.Errorf("%s: clean(%q) is %q, want %q", c.says, c.typed, got, c.want)
		}
	}
}

// Source of the direction: UAX #9 of Unicode; the Hebrew word is shalom, whose
// first letter stands at the right.
func TestVisual(t *testing.T) {
	for _, c := range []struct{ says, line, want string }{
		{"left to right stays", "abc 12", "abc 12"},
		{"a word from the right is turned", "שלום", "םולש"},
		{"it is turned where it stands", "to שלום 3 x", "to םולש 3 x"},
		{"the space after a number stays there", "2 שלום x", "2 םולש x"},
		{"two words change places", "שלום רב", "בר םולש"},
		{"brackets are mirrored", "(שלום)", "(םולש)"},
	} {
		if got := visual(c.line); got != c.want {
			t.Errorf("%s: visual(%q) is %q, want %q", c.says, c.line, got, c.want)
		}
	}
}

func TestChooseFace(t *testing.T) {
	for _, c := range []struct {
		says   string
		letter rune
		family string
		want   rune
	}{
		{"Latin", 'é', "text", 'é'},
		{"Polish", 'Ł', "text", 'Ł'},
		{"Greek", 'ω', "text", 'ω'},
		{"Cyrillic", 'Ж', "text", 'Ж'},
		{"Vietnamese", 'ệ', "text", 'ệ'},
		{"kanji", '山', "wide", '山'},
		{"kana", 'ぎ', "wide", 'ぎ'},
		{"Thai is in neither", 'อ', "text", missing},
	} {
		for _, w := range []weight{plain, bold} {
			if f, got := choose(c.letter, w); f.family != c.family || got != c.want {
				t.Errorf("%s, weight %d: got %q in %s, want %q in %s", c.says, w, got, f.family, c.want, c.family)
			}
		}
	}
	for _, f := range faces()[:2] {
		if !f.has(missing) {
			t.Errorf("%s%s lacks the box for missing letters", f.family, f.style)
		}
	}
}

func TestSetChangesFaceWithinALine(t *testing.T) {
	runs := set("M. 山田 Oduya", bold, body)
	if len(runs) != 3 || runs[0].face.style != "B" || runs[1].face.family != "wide" || runs[2].face.family != "text" {
		t.Fatalf("got %d runs %v, want bold, wide, bold", len(runs), runs)
	}
	var sum float64
	for _, r := range runs {
		sum += r.width
	}
	if whole := wide("M. 山田 Oduya", bold, body); sum < whole-0.6 || sum > whole+0.6 {
		t.Errorf("the runs are %.2f mm, the text is %.2f mm", sum, whole)
	}
}

func TestWrapFitsAndKeepsEveryLetter(t *testing.T) {
	letters := rapid.SampledFrom([]rune("abcdeWmil .,-ЖŁ山田אב0123456789 "))
	rapid.Check(t, func(t *rapid.T) {
		text := clean(string(rapid.SliceOfN(letters, 0, 300).Draw(t, "text")))
		width := rapid.Float64Range(8, 180).Draw(t, "width")
		lines := wrap(text, plain, body, width, 0)
		for _, l := range lines {
			if w := wide(l, plain, body); w > width+1e-9 {
				t.Fatalf("%q is %.2f mm wide, want at most %.2f", l, w, width)
			}
		}
		got, want := strings.ReplaceAll(strings.Join(lines, ""), " ", ""), strings.ReplaceAll(text, " ", "")
		if got != want {
			t.Fatalf("got the letters %q, want %q", got, want)
		}
	})
}

func TestShorten(t *testing.T) {
	long := strings.Repeat("W", 120)
	for _, width := range []float64{5, 20, 80} {
		got := shorten(long, bold, body, width)
		if w := wide(got, bold, body); w > width || !strings.HasSuffix(got, "…") {
			t.Errorf("at %.0f mm got %q, %.2f mm wide, want at most that and an ellipsis", width, got, w)
		}
	}
	if got := shorten("short", plain, body, 80); got != "short" {
		t.Errorf("got %q, want the text as it is when it fits", got)
	}
	if got := wrap("one two three four", plain, body, 12, 2); len(got) != 2 || !strings.HasSuffix(got[1], "…") {
		t.Errorf("got %q, want two lines, the second shortened", got)
	}
}

func FuzzClean(f *testing.F) {
	for _, s := range []string{"", "a", "\x00", "🎸\xff", "שלום 🎸 e\u0301", strings.Repeat("ﷺ", 40)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := visual(clean(s))
		if !utf8.ValidString(got) {
			t.Fatalf("%q became %q, want valid UTF-8", s, got)
		}
		for _, r := range got {
			if r > 0xFFFF || r < ' ' {
				t.Fatalf("%q kept %U, on which the PDF library panics", s, r)
			}
		}
		set(got, bold, body)
	})
}
