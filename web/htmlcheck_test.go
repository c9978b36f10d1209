package web

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// checkHTML checks what holds for every page: labels, ids, headings, one main,
// nothing inline. Sources: HTML Living Standard (ids, label); WAI-ARIA 1.2
// (aria-describedby); WCAG 2.2, 1.3.1 (headings) and 3.3.2 (labels); CSP level
// 3 (inline style and script are refused by default-src 'self').
func checkHTML(t *testing.T, page []byte) {
	t.Helper()
	for _, fault := range htmlFaults(t, page) {
		t.Error(fault)
	}
}

func htmlFaults(t *testing.T, page []byte) []string {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	c := &checker{ids: map[string]int{}, labels: map[string]bool{}}
	c.collect(root)
	c.check(root)
	if c.mains != 1 || c.firsts != 1 {
		c.fault("the page has %d main and %d h1, want one of each", c.mains, c.firsts)
	}
	for id, n := range c.ids {
		if n > 1 {
			c.fault("id %q stands %d times, want once", id, n)
		}
	}
	return c.faults
}

type checker struct {
	ids           map[string]int
	labels        map[string]bool
	mains, firsts int
	level         int
	faults        []string
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, fmt.Sprintf(format, args...))
}

func (c *checker) collect(n *html.Node) {
	if n.Type == html.ElementNode {
		if id := attr(n, "id"); id != "" {
			c.ids[id]++
		}
		if n.Data == "label" {
			c.labels[attr(n, "for")] = true
		}
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		c.collect(k)
	}
}

func (c *checker) check(n *html.Node) {
	if n.Type == html.ElementNode {
		c.inline(n)
		c.references(n)
		c.labelled(n)
		c.outline(n)
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		c.check(k)
	}
}

func (c *checker) inline(n *html.Node) {
	if n.Data == "style" || n.Data == "script" && (attr(n, "src") == "" || n.FirstChild != nil) {
		c.fault("inline <%s>, which the content policy refuses", n.Data)
	}
	for _, a := range n.Attr {
		if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
			c.fault("<%s> has the inline attribute %q", n.Data, a.Key)
		}
	}
}

func (c *checker) references(n *html.Node) {
	for _, key := range []string{"aria-describedby", "aria-labelledby", "list", "for", "data-target", "data-live-target"} {
		for _, id := range strings.Fields(attr(n, key)) {
			if c.ids[id] == 0 {
				c.fault("<%s %s> points at %q, which is not on the page", n.Data, key, id)
			}
		}
	}
	if n.Data == "a" {
		if id, ok := strings.CutPrefix(attr(n, "href"), "#"); ok && c.ids[id] == 0 {
			c.fault("a link leads to %q, which is not on the page", id)
		}
	}
	if attr(n, "aria-invalid") == "true" && attr(n, "aria-describedby") == "" {
		c.fault("the wrong field %q does not name its error", attr(n, "name"))
	}
}

func (c *checker) labelled(n *html.Node) {
	switch n.Data {
	case "input", "select", "textarea":
		if attr(n, "type") != "hidden" && !c.labels[attr(n, "id")] {
			c.fault("%s %q has no label", n.Data, attr(n, "name"))
		}
	case "svg":
		inner := n.Parent != nil && n.Parent.Data == "svg" || n.Parent != nil && n.Parent.Data == "g"
		if !inner && attr(n, "aria-label") == "" && attr(n, "aria-hidden") != "true" {
			c.fault("an <%s> has no text and is not hidden", n.Data)
		}
	case "img":
		if attr(n, "alt") == "" {
			c.fault("<img src=%q> has no alt text", attr(n, "src"))
		}
	case "html":
		if attr(n, "lang") == "" {
			c.fault("<html> has no lang")
		}
	}
}

func (c *checker) outline(n *html.Node) {
	switch n.Data {
	case "main":
		c.mains++
	case "h1", "h2", "h3", "h4":
		level := int(n.Data[1] - '0')
		if level == 1 {
			c.firsts++
		}
		if level > c.level+1 {
			c.fault("heading %s skips a level", n.Data)
		}
		c.level = level
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// TestCheckerFindsFaults holds the checker to account: each bad page must fail.
func TestCheckerFindsFaults(t *testing.T) {
	frame := func(body string) []byte {
		return []byte(`<!doctype html><html lang="en"><body><main><h1>x</h1>` + body + `</main></body></html>`)
	}
	if faults := htmlFaults(t, frame(`<p>good</p>`)); len(faults) != 0 {
		t.Errorf("a good page has faults: %v", faults)
	}
	for _, bad := range []string{
		`<input name="a">`, `<p id="a"></p><p id="a"></p>`, `<p style="color:red">x</p>`, `<script>1</script>`,
		`<p aria-describedby="nowhere">x</p>`, `<label for="nowhere">x</label>`, `<h3>skipped</h3>`, `<h1>second</h1>`,
		`<svg></svg>`, `<img src="x">`, `<a href="#nowhere">x</a>`, `<button onclick="x()">x</button>`,
	} {
		if len(htmlFaults(t, frame(bad))) == 0 {
			t.Errorf("the checker passes %s", bad)
		}
	}
}
