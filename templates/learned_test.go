package templates

import (
	"testing"
	"time"

	"winterbench/domain"
)

func TestLearnedMinutesAreMarked(t *testing.T) {
	all, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	plain := all[0]
	if !plain.Learned().IsZero() {
		t.Errorf("%s was learned by %s", plain.Code, plain.Learned())
	}
	at := time.Date(2026, 12, 3, 9, 0, 0, 123456000, time.FixedZone("", 7200))
	marked := plain.WithLearned(at)
	body, err := Encode(marked)
	if err != nil {
		t.Fatal(err)
	}
	back, err := Parse("x.toml", body)
	if err != nil || !back.Learned().Equal(at) {
		t.Errorf("came back as %q, %v", back.LearnedUntil, err)
	}
	if !plain.SameMinutes(marked) {
		t.Error("the mark changes minutes")
	}
	marked.Setup.High++
	if plain.SameMinutes(marked) {
		t.Error("another figure is the same")
	}
	marked.LearnedUntil = "last winter"
	if got := domain.FieldsOf(marked.Validate())["learned_until"]; got == "" {
		t.Errorf("no moment: got %v", marked.Validate())
	}
}
