package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// places lists the packages of the module from the inside out. A package may
// import what stands on an earlier line, and its own sub-packages; never its
// neighbours on the same line. A package covers those below it that stand
// nowhere themselves.
var places = [][]string{
	{"domain"},
	{"domain/strict", "domain/totp", "domain/mail"},
	{"domain/money", "domain/wood"},
	{"domain/hold"},
	{"domain/customer", "domain/stock", "domain/air", "domain/photo"},
	{"templates"},
	{"domain/job"},
	{"domain/quote"},
	{"domain/billing"},
	{"domain/queue", "domain/season", "domain/audit", "domain/einvoice"},
	{"domain/workshop"},
	{"domain/workshop/demo"}, // makes an invented history through the use cases
	{"migrations"},
	{"store", "api", "web", "invoices", "post"},
	{"store/storetest"},
	{"cmd"},
}

// neighbours are the imports allowed between packages of one line.
var neighbours = map[string]string{"api": "invoices", "web": "invoices"}

// keptTo says who alone may import a package from outside the module, directly.
// A name covers everything below it.
var keptTo = map[string][]string{
	"net/http":                      {"api", "web", "cmd"},
	"github.com/gin-gonic/gin":      {"api", "web", "cmd"},
	"github.com/danielgtaylor/huma": {"api", "web", "cmd"},
	"github.com/alexedwards/scs":    {"api", "web", "cmd"},
	"html/template":                 {"web", "api"},
	"github.com/johnfercher/maroto": {"invoices"},
	"github.com/phpdave11/gofpdf":   {"invoices"},
	"database/sql":                  {"store", "migrations"},
	"gorm.io":                       {"store", "migrations"},
	"github.com/jackc/pgx":          {"store", "migrations"},
	"github.com/libtnb/sqlite":      {"store", "migrations"},
	"modernc.org/sqlite":            {"store", "migrations"},
	"github.com/pressly/goose":      {"store", "migrations"},
	"github.com/riverqueue/river":   {"store"},
	"github.com/prometheus":         {"cmd"},
	"github.com/wneessen/go-mail":   {"post"},
	"github.com/alecthomas/kong":    {"cmd"},
	"winterbench/store/storetest":   {}, // for tests alone
	"github.com/google/go-cmp":      {},
	"pgregory.net/rapid":            {},
	"net/http/httptest":             {},
	"testing":                       {"store/storetest"},
}

// listed is what "go list" tells of a package.
type listed struct {
	ImportPath string
	Imports    []string
}

func TestImportsPointInward(t *testing.T) {
	packages := listPackages(t)
	if len(packages) < 5 {
		t.Fatalf("go list tells of %d packages of the module, want them all", len(packages))
	}
	for _, wrong := range wrongImports(packages) {
		t.Error(wrong)
	}
}

// listPackages returns the packages of the module, without their tests: a test
// may use what stands further out.
func listPackages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-deps", "-json=ImportPath,Imports", "./...")
	cmd.Dir = "../.."
	out, err := cmd.Output()
	if failed := (*exec.ExitError)(nil); errors.As(err, &failed) {
		t.Fatalf("go list: %v\n%s", err, failed.Stderr)
	}
	if err != nil {
		t.Fatal(err)
	}
	var own []listed
	for in := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := in.Decode(&p); errors.Is(err, io.EOF) {
			return own
		} else if err != nil {
			t.Fatal(err)
		}
		if below("winterbench", p.ImportPath) {
			own = append(own, p)
		}
	}
}

// wrongImports says what breaks the rules, one sentence each.
func wrongImports(packages []listed) []string {
	var wrong []string
	for _, p := range packages {
		from := strings.TrimPrefix(p.ImportPath, "winterbench/")
		line, place := placeOf(from)
		if place == "" {
			wrong = append(wrong, from+" stands nowhere in the order of packages; give it a place")
			continue
		}
		for _, imported := range p.Imports {
			if to, own := strings.CutPrefix(imported, "winterbench/"); own && !inward(line, place, to) {
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which does not stand further in", from, to))
			}
			if !permitted(place, imported) {
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which is kept to: %s", from, imported, keepers(imported)))
			}
		}
	}
	return wrong
}

// placeOf returns the line and the name under which a package stands, the
// longest that covers it; "" for none. The bare word domain covers nothing
// below it: each package there has its own place.
func placeOf(pkg string) (line int, place string) {
	for i, names := range places {
		for _, name := range names {
			covers := pkg == name || name != "domain" && below(name, pkg)
			if covers && len(name) > len(place) {
				line, place = i, name
			}
		}
	}
	return line, place
}

func inward(fromLine int, from, to string) bool {
	line, place := placeOf(to)
	return place != "" && (line < fromLine || place == from || neighbours[from] == place)
}

func permitted(place, imported string) bool {
	keeper, kept := keeperOf(imported)
	return !kept || slices.Contains(keptTo[keeper], place) || place == "store/storetest" && slices.Contains(keptTo[keeper], "store")
}

// keeperOf returns the longest entry of keptTo that covers an import.
func keeperOf(imported string) (entry string, found bool) {
	for name := range keptTo {
		if below(name, imported) && len(name) > len(entry) {
			entry, found = name, true
		}
	}
	return entry, found
}

func keepers(imported string) string {
	entry, _ := keeperOf(imported)
	if len(keptTo[entry]) == 0 {
		return "tests"
	}
	return strings.Join(keptTo[entry], ", ")
}

// below reports whether pkg is parent or stands under it.
func below(parent, pkg string) bool { return pkg == parent || strings.HasPrefix(pkg, parent+"/") }

func TestWrongImportsAreFound(t *testing.T) {
	tests := []struct {
		name, from, imports string
		wrong               bool
	}{
		{"a rule may use a rule further in", "domain/job", "domain/wood", false},
		{"a rule may not use one further out", "domain/wood", "domain/job", true},
		{"neighbours stay apart", "domain/queue", "domain/season", true},
		{"words use nothing", "domain", "domain/money", true},
		{"templates know money, not jobs", "templates", "domain/job", true},
		{"jobs know templates", "domain/job", "templates", false},
		{"use cases do not know the store", "domain/workshop", "store", true},
		{"the demo uses the use cases", "domain/workshop/demo", "domain/workshop", false},
		{"use cases do not know the demo", "domain/workshop", "domain/workshop/demo", true},
		{"the store knows the use cases", "store", "domain/workshop", false},
		{"the store knows the migrations", "store", "migrations", false},
		{"pages do not know the store", "web", "store", true},
		{"pages do not know the API", "web", "api", true},
		{"the API does not know the store", "api", "store", true},
		{"the store does not know the pages", "store", "web", true},
		{"pages print documents", "web", "invoices", false},
		{"documents know no pages", "invoices", "web", true},
		{"pages have packages of their own", "web", "web/pages", false},
		{"store tests use the store", "store/storetest", "store", false},
		{"nobody ships the store's tests", "cmd/winterbench", "store/storetest", true},
		{"the program knows all", "cmd/winterbench", "store", false},
		{"nobody imports the program", "web", "cmd/winterbench", true},
		{"a new package needs a place", "domain/tuba", "domain", true},
		{"a rule knows no HTTP", "domain/job", "!net/http", true},
		{"a rule knows no SQL", "domain/billing", "!database/sql", true},
		{"a rule knows no SQL driver", "domain/billing", "!database/sql/driver", true},
		{"a rule knows no HTML", "domain/quote", "!html/template", true},
		{"a rule knows no PDF", "domain/quote", "!github.com/johnfercher/maroto/v2", true},
		{"a rule knows no gorm", "domain/workshop", "!gorm.io/gorm", true},
		{"pages know no gorm", "web", "!gorm.io/gorm/clause", true},
		{"the program knows no SQL", "cmd/winterbench", "!database/sql", true},
		{"the store knows gorm", "store", "!gorm.io/gorm", false},
		{"store tests make databases", "store/storetest", "!database/sql", false},
		{"the store knows no gin", "store", "!github.com/gin-gonic/gin", true},
		{"pages know gin", "web", "!github.com/gin-gonic/gin/binding", false},
		{"a similar name is another", "domain/job", "!net/httpx", false},
		{"test tools stay in tests", "domain/job", "!pgregory.net/rapid", true},
		{"rules use decimals", "domain/money", "!github.com/shopspring/decimal", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			imported, outside := strings.CutPrefix(tt.imports, "!")
			if !outside {
				imported = "winterbench/" + imported
			}
			got := wrongImports([]listed{{ImportPath: "winterbench/" + tt.from, Imports: []string{"fmt", imported}}})
			if (len(got) > 0) != tt.wrong {
				t.Errorf("%s imports %s: got %q, want wrong to be %v", tt.from, imported, got, tt.wrong)
			}
		})
	}
}
