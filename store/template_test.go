package store_test

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

// bodies are two templates of the program with what stands in their files.
func bodies(t *testing.T) (first, second templates.Template, firstBody, secondBody []byte) {
	t.Helper()
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	write := func(tpl templates.Template) []byte {
		body, err := templates.Encode(tpl)
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	return all[0], all[1], write(all[0]), write(all[1])
}

func TestEditionsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		a, b, bodyA, bodyB := bodies(t)
		newer := bytes.Replace(bodyA, []byte(a.Name), []byte("Another name"), 1)
		notes := []workshop.EditionNote{
			{Code: a.Code, Number: 1, Body: bodyA, Origin: workshop.BuiltIn, At: start},
			{Code: a.Code, Number: 2, Body: newer, Origin: workshop.ShopsOwn, At: hours(1), By: "Odo"},
			{Code: b.Code, Number: 1, Body: bodyB, Origin: workshop.BuiltIn, At: start},
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, e := range notes {
				if err := tx.AddEdition(ctx, e); err != nil {
					return err
				}
			}
			e, err := tx.Edition(ctx, a.Code, 1)
			same(t, "the first edition", a, e.Template, err)
			newest, err := tx.Editions(ctx)
			if e := newest[a.Code]; err != nil || len(newest) != 2 || e.Number != 2 || e.BuiltIn || e.Name != "Another name" {
				t.Errorf("got %d codes, edition %d of %q, built-in %v, error %v", len(newest), e.Number, e.Name, e.BuiltIn, err)
			}
			return nil
		})
		for range 2 { // the second time out of memory
			newest, err := s.NewestEditions(ctx)
			same(t, "the other template", b, newest[b.Code].Template, err)
			old, err := s.EditionOf(ctx, a.Code, 1)
			same(t, "the first edition", a, old.Template, err)
			if !old.BuiltIn || old.Number != 1 {
				t.Errorf("got edition %d, built-in %v; want 1, true", old.Number, old.BuiltIn)
			}
		}
		all, err := s.EditionsOf(ctx, a.Code)
		same(t, "notes, newest first", []workshop.EditionNote{notes[1], notes[0]}, all, err)
		_, err = s.EditionOf(ctx, a.Code, 3)
		wantKind(t, err, domain.NotFound)
		wantKind(t, s.InTx(ctx, func(tx workshop.Tx) error { return tx.AddEdition(ctx, notes[1]) }), domain.Conflict)
	})
}

// An edition of a transaction that fails leaves its number to another body.
func TestAFailedEditionIsForgotten(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		a, _, body, _ := bodies(t)
		other := bytes.Replace(body, []byte(a.Name), []byte("Another name"), 1)
		refusal := errors.New("no")
		add := func(body []byte, end error) error {
			return s.InTx(ctx, func(tx workshop.Tx) error {
				if err := tx.AddEdition(ctx, workshop.EditionNote{Code: a.Code, Number: 1, Body: body, Origin: workshop.ShopsOwn, At: start}); err != nil {
					return err
				}
				_, err := tx.Edition(ctx, a.Code, 1)
				return errors.Join(err, end)
			})
		}
		if err := add(other, refusal); !errors.Is(err, refusal) {
			t.Fatal(err)
		}
		if err := add(body, nil); err != nil {
			t.Fatal(err)
		}
		got, err := s.EditionOf(ctx, a.Code, 1)
		same(t, "edition", a, got.Template, err)
	})
}

func TestABodyThatIsNoTemplateIsRefused(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		a, b, body, _ := bodies(t)
		for name, e := range map[string]workshop.EditionNote{
			"no template":        {Code: a.Code, Number: 1, Body: []byte("code = 1"), Origin: workshop.ShopsOwn, At: start},
			"another's template": {Code: b.Code, Number: 1, Body: body, Origin: workshop.ShopsOwn, At: start},
		} {
			err := s.InTx(ctx, func(tx workshop.Tx) error { return tx.AddEdition(ctx, e) })
			if domain.KindOf(err) != domain.Invalid {
				t.Errorf("%s: got %v, want it refused as invalid", name, err)
			}
		}
	})
}

// Pricing a quote reads the newest editions of all templates each time.
func BenchmarkNewestEditions(b *testing.B) {
	all, err := templates.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			inTx(b, s, func(ctx context.Context, tx workshop.Tx) error {
				for _, t := range all {
					body, err := templates.Encode(t)
					if err != nil {
						return err
					}
					if err := tx.AddEdition(ctx, workshop.EditionNote{Code: t.Code, Number: 1, Body: body, Origin: workshop.BuiltIn, At: start}); err != nil {
						return err
					}
				}
				return nil
			})
			for b.Loop() {
				if got, err := s.NewestEditions(b.Context()); err != nil || len(got) != len(all) {
					b.Fatalf("got %d templates and error %v, want %d", len(got), err, len(all))
				}
			}
		})
	}
}
