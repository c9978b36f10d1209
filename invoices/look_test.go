package invoices

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestLook writes every document into the folder named by WINTERBENCH_LOOK, for
// a person to look at.
func TestLook(t *testing.T) {
	folder := os.Getenv("WINTERBENCH_LOOK")
	if folder == "" {
		t.Skip("set WINTERBENCH_LOOK to a folder to have the documents written there")
	}
	for name, write := range documents(t) {
		name = strings.NewReplacer(", ", "-", ": ", "-", " ", "-").Replace(name) + ".pdf"
		if err := os.WriteFile(filepath.Join(folder, name), printed(t, write), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
