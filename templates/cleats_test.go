package templates

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Common practice, no source.
func TestCleatCount(t *testing.T) {
	for length, want := range map[int]int{
		-1: 0, 0: 0, 19: 0, 20: 1, 50: 1, 51: 2, 60: 2, 69: 2, 70: 3, 100: 3, 150: 4, 200: 5, 250: 7, 300: 8,
	} {
		if got := CleatCount(length); got != want {
			t.Errorf("%d mm: got %d cleats, want %d", length, got, want)
		}
	}
}

func TestCleatPlaces(t *testing.T) {
	for length, want := range map[int][]int{
		10: nil, 30: {15}, 60: {12, 48}, 100: {12, 50, 88}, 150: {12, 54, 96, 138},
	} {
		if diff := cmp.Diff(want, CleatPlaces(length)); diff != "" {
			t.Errorf("%d mm (-want +got):\n%s", length, diff)
		}
	}
}

// The rule never leaves more than 45 mm between cleats. From four cleats on they
// are at least 30 mm apart; with two or three they can be as close as 23 mm.
func TestCleatSpacing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.IntRange(51, 600).Draw(t, "length")
		p := CleatPlaces(length)
		if len(p) != CleatCount(length) {
			t.Fatalf("%d places for %d cleats", len(p), CleatCount(length))
		}
		if p[0] != 12 || p[len(p)-1] != length-12 {
			t.Fatalf("first at %d and last at %d, want 12 and %d", p[0], p[len(p)-1], length-12)
		}
		closest := 30
		if len(p) < 4 {
			closest = 23
		}
		for i := 1; i < len(p); i++ {
			if gap := p[i] - p[i-1]; gap < closest || gap > 45 {
				t.Fatalf("%d mm apart at %v, want %d to 45", gap, p, closest)
			}
		}
	})
}
