package api

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"
)

//go:embed page.html page.css
var files embed.FS

var pageTemplate = template.Must(template.ParseFS(files, "page.html"))

// describe serves the description of the interface: as OpenAPI 3.1 in JSON and
// YAML, and as a page to read. All are made once; they never change while the
// program runs.
func (a *API) describe(e *gin.Engine) {
	a.loosen()
	asJSON, err := json.MarshalIndent(a.huma.OpenAPI(), "", "  ")
	if err != nil {
		panic(fmt.Sprintf("api: describe in JSON: %v", err)) // a test describes it
	}
	asYAML, err := a.huma.OpenAPI().YAML()
	if err != nil {
		panic(fmt.Sprintf("api: describe in YAML: %v", err))
	}
	var page bytes.Buffer
	if err := pageTemplate.Execute(&page, a.pageOf()); err != nil {
		panic(fmt.Sprintf("api: describe as a page: %v", err))
	}
	css, err := files.ReadFile("page.css")
	if err != nil {
		panic(fmt.Sprintf("api: style of the page: %v", err))
	}
	serve := func(path, kind string, content []byte) {
		e.GET(Root+path, func(c *gin.Context) {
			c.Header("Content-Security-Policy", "default-src 'self'; frame-ancestors 'none'; form-action 'none'; base-uri 'none'")
			c.Data(http.StatusOK, kind, content)
		})
	}
	serve("/openapi.json", "application/openapi+json", asJSON)
	serve("/openapi.yaml", "application/openapi+yaml", asYAML)
	serve("/", "text/html; charset=utf-8", page.Bytes())
	serve("/page.css", "text/css; charset=utf-8", css)
}

// loosen lets answers grow: a shape that is in no request may get new fields
// later, and a client must not refuse them.
func (a *API) loosen() {
	strict := map[*huma.Schema]bool{}
	for _, item := range a.huma.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Post, item.Put} {
			if op != nil && op.RequestBody != nil {
				a.reach(bodyShape(op.RequestBody), strict)
			}
		}
	}
	for _, s := range a.huma.OpenAPI().Components.Schemas.Map() {
		if !strict[s] {
			s.AdditionalProperties = nil
		}
	}
}

// reach notes every schema that s leads to.
func (a *API) reach(s *huma.Schema, seen map[*huma.Schema]bool) {
	s = a.target(s)
	if s == nil || seen[s] {
		return
	}
	seen[s] = true
	a.reach(s.Items, seen)
	for _, inner := range s.Properties {
		a.reach(inner, seen)
	}
}

// pageData is the readable page.
type pageData struct {
	Root, Version string
	About         []string // paragraphs
	Rules         []string // what holds everywhere
	Nouns         []pageNoun
	Shapes        []pageShape // of what is answered, and of parts of bodies
}

type pageShape struct {
	Name   string
	Fields []pageField
}

type pageNoun struct {
	Name, Anchor string
	Operations   []pageOperation
}

type pageOperation struct {
	ID, Method, Path, Summary string
	About                     []string
	Takes                     []pageField // path, query, headers
	Body                      []pageField
	Answer                    string // name of a shape, "" for none
	Status                    int
}

type pageField struct {
	Name, In, Type, About string
	Shape                 string // of the field, or of each of a list; "" for plain values
	Needed                bool
	Words                 []string
}

func (a *API) pageOf() pageData {
	d := pageData{Root: Root, Version: a.version}
	for _, part := range strings.Split(about, "\n") {
		if rule, is := strings.CutPrefix(part, "- "); is {
			d.Rules = append(d.Rules, strings.ReplaceAll(rule, "`", ""))
		} else if part != "" {
			d.About = append(d.About, strings.ReplaceAll(part, "`", ""))
		}
	}
	byNoun := map[string][]pageOperation{}
	for path, item := range a.huma.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
			if op != nil {
				byNoun[op.Tags[0]] = append(byNoun[op.Tags[0]], a.operationOf(path, op))
			}
		}
	}
	for _, noun := range a.nouns {
		ops := byNoun[noun]
		slices.SortFunc(ops, func(x, y pageOperation) int {
			return cmp.Or(cmp.Compare(x.Path, y.Path), cmp.Compare(x.Method, y.Method))
		})
		d.Nouns = append(d.Nouns, pageNoun{Name: noun, Anchor: "noun-" + strings.ReplaceAll(noun, " ", "-"), Operations: ops})
	}
	bodies := a.bodies()
	for name, s := range a.huma.OpenAPI().Components.Schemas.Map() {
		if bodies[name] {
			continue // stands with its operation
		}
		d.Shapes = append(d.Shapes, pageShape{Name: name, Fields: a.fieldsOf(s)})
	}
	slices.SortFunc(d.Shapes, func(x, y pageShape) int { return cmp.Compare(x.Name, y.Name) })
	return d
}

// bodies names the shapes that are the body of an operation and part of no
// other shape.
func (a *API) bodies() map[string]bool {
	out, elsewhere := map[string]bool{}, map[string]bool{}
	for path, item := range a.huma.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put} {
			if op == nil {
				continue
			}
			elsewhere[a.operationOf(path, op).Answer] = true
			if op.RequestBody != nil {
				out[shapeName(bodyShape(op.RequestBody))] = true
			}
		}
	}
	for _, s := range a.huma.OpenAPI().Components.Schemas.Map() {
		for _, f := range a.fieldsOf(s) {
			elsewhere[f.Shape] = true
		}
	}
	maps.DeleteFunc(out, func(name string, _ bool) bool { return elsewhere[name] })
	return out
}

// bodyShape is the shape of a JSON body, nil for another body.
func bodyShape(b *huma.RequestBody) *huma.Schema {
	if m := b.Content["application/json"]; m != nil {
		return m.Schema
	}
	return nil
}

// shapeName is the name under which a shape is described, "" for plain values.
func shapeName(s *huma.Schema) string {
	if s == nil {
		return ""
	}
	return s.Ref[strings.LastIndex(s.Ref, "/")+1:]
}

func (a *API) operationOf(path string, op *huma.Operation) pageOperation {
	out := pageOperation{ID: op.OperationID, Method: op.Method, Path: path, Summary: op.Summary, Status: op.DefaultStatus}
	if op.Description != "" {
		out.About = strings.Split(op.Description, "\n\n")
	}
	for _, p := range op.Parameters {
		if p.In == "header" && !p.Required {
			continue // what holds for all stands at the top
		}
		f := a.fieldOf(p.Name, p.Schema, p.Required)
		f.In, f.About = p.In, p.Description
		out.Takes = append(out.Takes, f)
	}
	if b := op.RequestBody; b != nil && b.Content["application/json"] != nil {
		out.Body = a.fieldsOf(b.Content["application/json"].Schema)
	}
	if r := op.Responses[fmt.Sprint(op.DefaultStatus)]; r != nil && r.Content["application/json"] != nil {
		out.Answer = shapeName(r.Content["application/json"].Schema)
	}
	return out
}

// target follows a reference to what it stands for.
func (a *API) target(s *huma.Schema) *huma.Schema {
	for s != nil && s.Ref != "" {
		s = a.huma.OpenAPI().Components.Schemas.SchemaFromRef(s.Ref)
	}
	return s
}

// fieldsOf lists the fields of an object.
func (a *API) fieldsOf(s *huma.Schema) []pageField {
	s = a.target(s)
	if s == nil {
		return nil
	}
	var out []pageField
	for _, name := range sortedNames(s) {
		out = append(out, a.fieldOf(name, s.Properties[name], slices.Contains(s.Required, name)))
	}
	return out
}

func sortedNames(s *huma.Schema) []string {
	names := make([]string, 0, len(s.Properties))
	for name := range s.Properties {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func (a *API) fieldOf(name string, s *huma.Schema, needed bool) pageField {
	f := pageField{Name: name, About: s.Description, Needed: needed, Type: s.Type, Shape: shapeName(s)}
	t := a.target(s)
	if f.Type == "" {
		f.Type = t.Type
	}
	if s.Format != "" && s.Format != "int64" {
		f.Type = s.Format
	}
	words := t.Enum
	if t.Items != nil {
		item := a.target(t.Items)
		f.Type, f.Shape, words = "list of "+item.Type, shapeName(t.Items), item.Enum
	}
	for _, w := range words {
		f.Words = append(f.Words, fmt.Sprint(w))
	}
	return f
}
