package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"
)

// The prefix all: is needed, since a plain folder leaves out names that begin with _.
//
//go:embed all:pages
var pageFiles embed.FS

// Paged is any pointer to a struct that embeds [Page].
type Paged interface{ frame() *Page }

// Renderer holds one template set per page: the layout, the shared parts and
// the page. It is safe for concurrent use.
type Renderer struct {
	sets map[string]*template.Template
}

// NewRenderer parses every page. zone tells the shop's time zone at each call;
// nil stands for UTC. files gives the addresses of the stylesheet and script.
func NewRenderer(zone func() *time.Location, files *Static) (*Renderer, error) {
	sub, err := fs.Sub(pageFiles, "pages")
	if err != nil {
		return nil, fmt.Errorf("open pages: %w", err)
	}
	return parsePages(sub, helpers(zone, files))
}

// parsePages makes the sets: names with _ and the layout go into every set.
func parsePages(fsys fs.FS, funcs template.FuncMap) (*Renderer, error) {
	var shared, pages []string
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || d.IsDir() || path.Ext(name) != ".html":
			return err
		case strings.HasPrefix(path.Base(name), "_") || name == "layout.html":
			shared = append(shared, name)
		default:
			pages = append(pages, name)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("list pages: %w", err)
	}
	base, err := template.New("").Funcs(funcs).Option("missingkey=error").ParseFS(fsys, shared...)
	if err != nil {
		return nil, fmt.Errorf("parse shared parts: %w", err)
	}
	r := &Renderer{sets: make(map[string]*template.Template)}
	for _, name := range pages {
		set, err := template.Must(base.Clone()).ParseFS(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("parse page %s: %w", name, err)
		}
		r.sets[strings.TrimSuffix(name, ".html")] = set
	}
	return r, nil
}

// Names lists the pages in order: "error", "job/show", "signin".
func (r *Renderer) Names() []string { return slices.Sorted(maps.Keys(r.sets)) }

// Page writes a whole page. Nothing is written when the template fails, so
// that the caller can still answer with an error page.
func (r *Renderer) Page(w http.ResponseWriter, status int, name string, data Paged) error {
	return r.write(w, status, name, "layout", data)
}

// Fragment writes one named template of a page, for a swap by the script. data
// is what that template takes; it need not be the whole page.
func (r *Renderer) Fragment(w http.ResponseWriter, status int, name, part string, data any) error {
	return r.write(w, status, name, part, data)
}

// HTML renders one named template of a page to text.
func (r *Renderer) HTML(name, part string, data any) ([]byte, error) {
	set, ok := r.sets[name]
	if !ok {
		return nil, fmt.Errorf("render %s: no such page", name)
	}
	var buf bytes.Buffer
	if err := set.ExecuteTemplate(&buf, part, data); err != nil {
		return nil, fmt.Errorf("render %s, %s: %w", name, part, err)
	}
	return buf.Bytes(), nil
}

func (r *Renderer) write(w http.ResponseWriter, status int, name, part string, data any) error {
	body, err := r.HTML(name, part, data)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store") // pages hold customers' details
	h.Add("Vary", FragmentHeader)
	w.WriteHeader(status)
	if _, err := w.Write(body); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return nil
}
