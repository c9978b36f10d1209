package photo_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/photo"
)

func TestPhotosAreGroupedByWhatTheyShow(t *testing.T) {
	all := []photo.Photo{
		{ID: 1, Subject: "label"}, {ID: 2, Subject: "after"}, {ID: 3, Subject: "before"}, {ID: 4, Subject: "before", Withdrawn: time.Unix(1, 0)},
		{ID: 5, Subject: "before"}, {ID: 6, Subject: "a word of later"},
	}
	var got []string
	for _, g := range photo.Grouped(all) {
		for _, p := range g.Photos {
			got = append(got, string(rune('0'+p.ID))+" "+g.Subject)
		}
	}
	want := []string{"3 before", "5 before", "2 after", "1 label", "6 a word of later"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if n := len(photo.Standing(all)); n != 5 || len(all) != 6 {
		t.Errorf("%d of %d stand, want 5 of 6", n, len(all))
	}
}

func TestAPhotoIsWithdrawnWithAReason(t *testing.T) {
	at := time.Date(2026, 12, 3, 15, 0, 0, 0, time.UTC)
	p := photo.Photo{Subject: "front"}
	for _, why := range []string{"", "  ", strings.Repeat("x", 201), "two\nlines"} {
		if err := p.Withdraw("Tove", why, at); domain.KindOf(err) != domain.Invalid || !p.Stands() {
			t.Errorf("%q: got %v, want it refused", why, err)
		}
	}
	if err := p.Withdraw("Tove", " another guitar ", at); err != nil || p.Stands() || p.WithdrawnWhy != "another guitar" || p.WithdrawnBy != "Tove" || !p.Withdrawn.Equal(at) {
		t.Errorf("got %+v and %v, want it withdrawn", p, err)
	}
	if err := p.Withdraw("Ivo", "again", at); domain.KindOf(err) != domain.Conflict {
		t.Errorf("the second time: got %v, want a conflict", err)
	}
}

func TestNamesOfPictures(t *testing.T) {
	// FIPS 180-4 examples: SHA-256 of "abc".
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if got := photo.Name([]byte("abc")); got != abc {
		t.Errorf("got %s, want %s", got, abc)
	}
	for name, want := range map[string]bool{abc: true, "": false, abc[:63]: false, abc + "0": false, strings.ToUpper(abc): false, "../" + abc[3:]: false, abc[:63] + "\n": false} {
		if photo.IsName(name) != want {
			t.Errorf("%q is a name: got %v, want %v", name, !want, want)
		}
	}
}
