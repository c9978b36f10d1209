package web

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// Source of luminance and contrast: WCAG 2.2, definitions of relative luminance
// and contrast ratio (W3C Recommendation, 12 December 2024 edition).

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatalf("colour %q: %v", hex, err)
	}
	linear := func(v uint64) float64 {
		c := float64(v&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(n>>16) + 0.7152*linear(n>>8) + 0.0722*linear(n)
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

var pairOfColours = regexp.MustCompile(`--([a-z-]+): light-dark\(#([0-9a-f]{6}), #([0-9a-f]{6})\);\s*/\*\s*\S`)

// colours reads the custom properties of the stylesheet, light and dark.
func colours(t *testing.T) (light, dark map[string]string) {
	t.Helper()
	light, dark = map[string]string{}, map[string]string{}
	for _, m := range pairOfColours.FindAllStringSubmatch(string(mustRead(t, "static/app.css")), -1) {
		if light[m[1]] != "" {
			t.Errorf("--%s is named twice", m[1])
		}
		light[m[1]], dark[m[1]] = m[2], m[3]
	}
	return light, dark
}

// TestContrast holds every pair of colours that meet on a page to WCAG 2.2:
// 7:1 for text, since any text may hold a number (1.4.6, AAA), and 3:1 for
// edges and marks (1.4.11).
func TestContrast(t *testing.T) {
	const text, mark = 7.0, 3.0
	pairs := []struct {
		fore, back string
		least      float64
	}{
		{"ink", "paper", text}, {"ink", "leaf", text},
		{"soft", "paper", text}, {"soft", "leaf", text},
		{"on-now", "now", text},
		{"air-ink", "paper", text}, {"alarm-ink", "paper", text},
		{"edge", "paper", mark}, {"edge", "leaf", mark},
		{"now-mark", "paper", mark}, {"air", "paper", mark},
		{"alarm", "paper", mark}, {"alarm", "leaf", mark},
		{"soft", "paper", mark}, // expected hands in the season picture
	}
	light, dark := colours(t)
	if len(light) < 10 {
		t.Fatalf("found %d colours with a note of use in app.css, want at least 10", len(light))
	}
	for theme, named := range map[string]map[string]string{"light": light, "dark": dark} {
		for _, p := range pairs {
			if named[p.fore] == "" || named[p.back] == "" {
				t.Errorf("%s: --%s or --%s is not in app.css", theme, p.fore, p.back)
				continue
			}
			if got := contrast(t, named[p.fore], named[p.back]); got < p.least {
				t.Errorf("%s: %s on %s has %.2f:1, want %.1f:1", theme, p.fore, p.back, got, p.least)
			}
		}
	}
}

// TestContrastFormula checks the formula on published values: black on white is
// 21:1 (WCAG 2.2, contrast ratio runs from 1 to 21), and #767676 is the lightest
// grey with 4.5:1 on white (4.54; from memory, found in many WCAG tutorials).
func TestContrastFormula(t *testing.T) {
	if got := contrast(t, "000000", "ffffff"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %.3f, want 21", got)
	}
	if got := contrast(t, "767676", "ffffff"); math.Abs(got-4.54) > 0.005 {
		t.Errorf("#767676 on white is %.3f, want 4.54", got)
	}
}

// TestColoursAreNamedOnce refuses colours outside the list at the top, apart
// from print, which is black on white, and the veil behind a dialog.
func TestColoursAreNamedOnce(t *testing.T) {
	css := string(mustRead(t, "static/app.css"))
	body := css[regexp.MustCompile(`(?m)^/\* Ground`).FindStringIndex(css)[0]:]
	body = body[:regexp.MustCompile(`(?m)^@media print`).FindStringIndex(body)[0]]
	for _, m := range regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b|\b(?:hsl|oklch)\(`).FindAllString(body, -1) {
		t.Errorf("colour %s stands outside the list at the top of app.css", m)
	}
}
