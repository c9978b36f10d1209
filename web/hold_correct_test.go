package web

import (
	"strings"
	"testing"
)

// A slip in a reading is taken back on the hold's page; the old one stays there,
// struck, and counts no more.
func TestReadingIsTakenBackWithItsReason(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	at := holdPath(id, h)
	s.post(at+"/reading", "gap", "0.3", "gap_known", "measured")
	if options := textOf(find(s.get(at), "name", "replaces")); !strings.Contains(options, "the one of") {
		t.Fatalf("nothing can be put right: %q", options)
	}
	if where := s.post(at+"/reading", "replaces", "1", "note", "read the wrong crack"); where != at {
		t.Errorf("led to %q, want %q", where, at)
	}
	got := textOf(s.get(at))
	for _, want := range []string{"no longer counts: read the wrong crack", "takes a reading back"} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q: %q", want, got)
		}
	}
}
