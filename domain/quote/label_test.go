package quote

import "testing"

func TestLabel(t *testing.T) {
	for _, c := range []struct {
		says string
		q    Quote
		want string
	}{
		{"a quote that was said has its number", Quote{Number: 12, Version: 2}, "Q 12 · version 2"},
		{"a draft has none yet", Quote{Version: 1}, "draft · version 1"},
	} {
		if got := c.q.Label(); got != c.want {
			t.Errorf("%s: got %q, want %q", c.says, got, c.want)
		}
	}
}
