package store

import "testing"

func TestFold(t *testing.T) {
	for typed, want := range map[string]string{
		"Édith": "edith", "Csörgő": "csorgo", "Mączkowiak": "maczkowiak", "Paweł ØSTERGÅRD": "pawel ostergard", "Yiğit Işıkçı": "yigit isikci",
		"Strauß": "strauss", "E\u0301dith": "edith", "Τάσος": "τασος", "o'brien 100%": "o'brien 100%",
	} {
		if got := fold(typed); got != want {
			t.Errorf("fold(%q) = %q, want %q", typed, got, want)
		}
		if fold(fold(typed)) != fold(typed) {
			t.Errorf("folding %q twice differs", typed)
		}
	}
}
