package store_test

import (
	"path/filepath"
	"testing"

	"winterbench/domain"
	"winterbench/store"
)

// Whatever is searched for finds something or nothing; it is no fault of ours.
func FuzzFind(f *testing.F) {
	s, err := store.Open(f.Context(), filepath.Join(f.TempDir(), "shop.db"), nil)
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { _ = s.Close() })
	for _, words := range []string{"", "318", "Åse", "%", "_", "'; --", "\x00", "555 01", "\xff", "a b c d e f g h", "99999999999999999999"} {
		f.Add(words)
	}
	f.Fuzz(func(t *testing.T, words string) {
		found, err := s.Find(t.Context(), words, 5)
		if err != nil && domain.KindOf(err) == domain.Internal {
			t.Errorf("%q: %v", words, err)
		}
		if len(found.Customers)+len(found.Instruments)+len(found.Jobs) != 0 {
			t.Errorf("%q finds something in an empty shop", words)
		}
	})
}
