// Package web makes the pages: what a person at the counter, at the bench or in
// the owner's chair sees and fills in.
//
// A page is one template in pages/ and one Go struct that embeds [Page]. The
// template defines "main"; the layout puts the answer sentence above it. Matter
// stands in sections, whose headings hang in the margin:
//
//	{{define "main"}}<section class="entry"><h2>Tasks</h2><div>
//	{{template "table" .Tasks}}
//	</div></section>{{end}}
//
// The shared parts (fields, tables, the job strip and the rest) are templates in
// pages/_*.html, each fed by a struct of this package: {{template "strip" .Life}}.
// Every page needs a sample in pages_test.go, which renders and checks it.
//
// A form works without the script. With data-target="id" the script sends it
// and fills that element with the answer, a [Renderer.Fragment]; with
// data-live="/path" it also posts there while somebody types. data-keep warns of
// unsaved changes, data-confirm on a form or button asks first.
package web

import (
	"winterbench/domain"
)

// Page is what every page needs for its frame. Embed it in the page's struct.
type Page struct {
	Title   string       // names the page, in the browser tab and as its heading
	Folio   string       // short mark in the margin beside the answer: "tag 318"; may be empty
	Answer  string       // the computed sentence that answers the page's question; may be empty
	Because []string     // short reasons under the answer
	Shop    string       // the shop's name
	Person  domain.Actor // who is signed in; the zero Actor for nobody
	Doors   []Door       // the doors this person may open
	Flash   *Flash       // what the last action did; nil for nothing
	Search  string       // what stands in the search field
	Theme   Theme        // the chosen theme; "" follows the device
	Here    string       // path of this page, where the theme form returns to
	Key     string       // idempotency key for the main form; further forms carry their own
	Version string       // of the program, in the footer
	Errors  domain.Fields
	Device  bool // this device says that it is trusted
	Limited bool // the person is in by PIN, for the bench alone
	Sealed  bool // its address is a secret, which other places must not learn
}

// frame lets the renderer reach the Page inside any page struct.
func (p *Page) frame() *Page { return p }

// AtBench reports whether the page is for the bench, which reads larger type.
func (p *Page) AtBench() bool {
	for _, d := range p.Doors {
		if d.Here {
			return d.Role == domain.Bench
		}
	}
	return false
}

// Door is one of the three ways into the shop.
type Door struct {
	Role domain.Role
	Name string // as shown
	Path string
	Here bool // this page lies behind the door
}

// Doors lists the doors that open lets through, in the order of the top line.
// here is the door the page lies behind, "" for none.
func Doors(open func(domain.Role) bool, here domain.Role) []Door {
	names := map[domain.Role]string{domain.Counter: "Counter", domain.Bench: "Bench", domain.Owner: "Owner"}
	var out []Door
	for _, r := range domain.Roles() {
		if open(r) {
			out = append(out, Door{Role: r, Name: names[r], Path: "/" + string(r), Here: r == here})
		}
	}
	return out
}

// Flash is one message about the action that led to this page.
type Flash struct {
	Text string
	Bad  bool  // the action did not happen
	Undo *Undo // how to take it back; nil when it cannot be
}

// Theme is the reader's choice of paper.
type Theme string

// The themes. Device follows the device's own setting.
const (
	Device Theme = ""
	Light  Theme = "light"
	Dark   Theme = "dark"
)

// Themes lists the themes in the order they are offered.
func Themes() []Theme { return []Theme{Device, Light, Dark} }

// Word says the theme to a person.
func (t Theme) Word() string {
	switch t {
	case Light:
		return "light paper"
	case Dark:
		return "dark paper"
	}
	return "as the device"
}
