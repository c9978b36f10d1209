package store

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Every column of text in a table that leads to a customer is either wiped when the
// customer is erased, or was thought of and stays.
func TestEveryWordOnACustomerIsThoughtOf(t *testing.T) {
	s := openFresh(t, filepath.Join(t.TempDir(), "shop.db"))
	links, err := s.links(s.db)
	if err != nil {
		t.Fatal(err)
	}
	tables := []string{"customers"}
	for i := 0; i < len(tables); i++ {
		for _, l := range links {
			if l.of == tables[i] && !slices.Contains(tables, l.table) && l.table != "erasures" {
				tables = append(tables, l.table)
			}
		}
	}
	if len(tables) < 20 {
		t.Fatalf("only %v lead to a customer", tables)
	}
	for table := range staysWhole {
		if table != "*" && !slices.Contains(tables, table) {
			t.Errorf("%s does not lead to a customer", table)
		}
	}
	for _, table := range tables {
		var columns []string
		if err := s.db.Raw("SELECT name FROM pragma_table_info(?) WHERE type = 'TEXT'", table).Scan(&columns).Error; err != nil {
			t.Fatal(err)
		}
		for _, c := range columns {
			wipes := slices.ContainsFunc(toWipe, func(w wiped) bool { return w.table == table && w.set[c] != "" })
			named := slices.Contains(staysWhole[table], c)
			alike := slices.ContainsFunc(staysWhole["*"], func(like string) bool {
				return c == like || strings.HasPrefix(like, "_") && strings.HasSuffix(c, like)
			})
			if !wipes && !named && !alike {
				t.Errorf("%s.%s is neither wiped when a customer is erased nor known to stay", table, c)
			}
			if wipes && named {
				t.Errorf("%s.%s is wiped, and said to stay", table, c)
			}
		}
	}
}
