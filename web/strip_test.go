package web

import (
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
	"pgregory.net/rapid"
)

func TestStripPutsPiecesInPlace(t *testing.T) {
	s := Strip{
		From: clockAt(1, 0, 0), To: clockAt(11, 0, 0), Today: clockAt(6, 0, 0), Promised: clockAt(10, 0, 0), Size: Large,
		Pieces: []StripPiece{
			{Kind: Waits, From: clockAt(5, 0, 0), To: clockAt(9, 0, 0)},
			{Kind: Hands, From: clockAt(1, 0, 0), To: clockAt(2, 0, 0), Certain: true},
		},
	}
	d := s.Lay()
	want := []StripBlock{{X: 0, Width: 10, Kind: Hands}, {X: 10, Width: 30, Kind: Idle}, {X: 40, Width: 40, Kind: Waits}}
	if len(d.Blocks) != len(want) {
		t.Fatalf("got %d blocks, want %d: the gap from day 2 to 5 is idle", len(d.Blocks), len(want))
	}
	for i, w := range want {
		got := d.Blocks[i]
		if got.X != w.X || got.Width != w.Width || got.Kind != w.Kind {
			t.Errorf("block %d is %s at %g wide %g, want %s at %g wide %g", i, got.Kind, got.X, got.Width, w.Kind, w.X, w.Width)
		}
	}
	if d.Today == nil || d.Today.X != 50 || d.Promised == nil || d.Promised.X != 90 {
		t.Errorf("today %+v and promised %+v, want them at 50 and 90", d.Today, d.Promised)
	}
	if d.Blocks[0].Faint || !d.Blocks[2].Faint {
		t.Error("what happened must not be faint, what is expected must be")
	}
}

func TestStripLeavesOutMarksOutside(t *testing.T) {
	s := sampleStrip()
	s.Today, s.Promised = s.From.AddDate(0, 0, -1), s.To.AddDate(0, 0, 1)
	if d := s.Lay(); d.Today != nil || d.Promised != nil {
		t.Errorf("got today %+v and promised %+v, want neither", d.Today, d.Promised)
	}
	if d := (Strip{Size: Small}).Lay(); len(d.Blocks) != 0 {
		t.Errorf("an empty strip drew %d blocks", len(d.Blocks))
	}
}

// TestStripGeometry: whatever the pieces, blocks stay inside the width, begin
// in the order of their start, and no hands are too narrow to see.
func TestStripGeometry(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := Strip{From: clockAt(1, 0, 0), To: clockAt(1, rapid.IntRange(1, 2000).Draw(rt, "hours"), 0)}
		kinds := rapid.SampledFrom([]PieceKind{Hands, Waits, Air, Idle})
		for range rapid.IntRange(0, 12).Draw(rt, "pieces") {
			from := clockAt(1, rapid.IntRange(-100, 2100).Draw(rt, "from"), 0)
			to := from.Add(time.Duration(rapid.IntRange(0, 9000).Draw(rt, "minutes")) * time.Minute)
			s.Pieces = append(s.Pieces, StripPiece{Kind: kinds.Draw(rt, "kind"), From: from, To: to})
		}
		last := 0.0
		for _, b := range s.Lay().Blocks {
			if b.X < 0 || b.X+b.Width > 100.000001 || b.Width <= 0 {
				rt.Fatalf("block at %g wide %g leaves the strip", b.X, b.Width)
			}
			if b.X < last-leastHands {
				rt.Fatalf("block at %g comes after one at %g", b.X, last)
			}
			if b.Kind == Hands && b.Width < leastHands-1e-9 {
				rt.Fatalf("hands %g wide cannot be seen", b.Width)
			}
			last = b.X
		}
	})
}

// TestStripHatchesWaits looks at the drawing itself: waits have a hatch, hands
// have none, idle stretches are lines.
func TestStripHatchesWaits(t *testing.T) {
	r := galleryRenderer(t)
	page, err := r.HTML("gallery", "strip", sampleStrip())
	if err != nil {
		t.Fatal(err)
	}
	root, err := html.Parse(strings.NewReader(string(page)))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Data == "rect" || n.Data == "line" {
			class := strings.Fields(attr(n, "class"))[0]
			seen[class]++
			want := map[string]string{"wait": "url(#hatch)", "air": "url(#hatch-air)"}[class]
			if got := attr(n, "fill"); got != want {
				t.Errorf("a block of %s is filled %q, want %q", class, got, want)
			}
		}
		for k := n.FirstChild; k != nil; k = k.NextSibling {
			walk(k)
		}
	}
	walk(root)
	for class, least := range map[string]int{"hands": 5, "wait": 3, "air": 2, "idle": 1} {
		if seen[class] < least {
			t.Errorf("drew %d blocks of %s, want at least %d", seen[class], class, least)
		}
	}
}

func TestStripWordsNameEveryPiece(t *testing.T) {
	text := sampleStrip().Lay().Text
	for _, want := range []string{"Tag 318", "cabinet, place 4", "crack clean, glue, clamp", "expected", "Today is Mon 30 Nov", "Promised for Fri 18 Dec"} {
		if !strings.Contains(text, want) {
			t.Errorf("the strip's text does not say %q: %s", want, text)
		}
	}
}
