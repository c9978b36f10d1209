package invoices

import (
	"fmt"
	"io"
	"slices"
	"sync"
	"time"

	"github.com/johnfercher/go-tree/node"
	"github.com/johnfercher/maroto/v2"
	"github.com/johnfercher/maroto/v2/pkg/components/col"
	"github.com/johnfercher/maroto/v2/pkg/components/page"
	"github.com/johnfercher/maroto/v2/pkg/components/row"
	"github.com/johnfercher/maroto/v2/pkg/config"
	"github.com/johnfercher/maroto/v2/pkg/consts/align"
	"github.com/johnfercher/maroto/v2/pkg/consts/extension"
	"github.com/johnfercher/maroto/v2/pkg/consts/linestyle"
	"github.com/johnfercher/maroto/v2/pkg/consts/orientation"
	"github.com/johnfercher/maroto/v2/pkg/core"
	"github.com/johnfercher/maroto/v2/pkg/core/entity"
	"github.com/johnfercher/maroto/v2/pkg/props"
	"github.com/phpdave11/gofpdf"

	"winterbench/domain/workshop"
)

// atOnce bounds how many documents are made at the same time: each takes up to
// some tens of megabytes while it is made.
var atOnce = make(chan struct{}, 2)

// sameBytes takes the clock and the random order of maps out of the library.
// Its settings are those of the whole process.
var sameBytes = sync.OnceFunc(func() {
	gofpdf.SetDefaultCatalogSort(true)
	gofpdf.SetDefaultModificationDate(undated)
})

// undated stands for a moment that a value does not have. The library would
// take the clock instead.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// write makes the document that draw lays out and copies it to w. Nothing is
// written when making it fails. A panic of the library becomes an error.
func write(w io.Writer, shop *workshop.Shop, about about, draw func(*sheet)) error {
	pdf, err := render(shop, about, draw)
	if err != nil {
		return fmt.Errorf("print %s: %w", about.title, err)
	}
	_, err = w.Write(pdf)
	return err
}

func render(shop *workshop.Shop, about about, draw func(*sheet)) (pdf []byte, err error) {
	atOnce <- struct{}{}
	defer func() {
		<-atOnce
		if r := recover(); r != nil {
			err = fmt.Errorf("the PDF library gave up: %v", r)
		}
	}()
	sameBytes()
	s := newSheet(shop, about)
	draw(s)
	pages := s.pages()
	m := maroto.New(s.config(pages))
	for _, lines := range pages {
		p := page.New()
		for _, l := range lines {
			p.Add(row.New(l.height).Add(col.New(1).Add(drawing(l))))
		}
		m.AddPages(p)
	}
	doc, err := m.Generate()
	if err != nil {
		return nil, err
	}
	return doc.GetBytes(), nil
}

// config is the library's setting for the sheet. Only fonts that the pages use
// are given to it, because reading one takes milliseconds. Each document gets
// a copy of them: the library writes into the bytes it was given, and two
// documents at once would race for them.
func (s *sheet) config(pages [][]line) *entity.Config {
	var fonts []*entity.CustomFont
	for _, f := range usedFaces(pages) {
		fonts = append(fonts, &entity.CustomFont{Family: f.family, Style: f.style, Bytes: slices.Clone(f.ttf)})
	}
	return config.NewBuilder().WithDimensions(s.size.width, s.size.height).WithMaxGridSize(1).
		WithLeftMargin(margin).WithRightMargin(margin).WithTopMargin(marginTop).WithBottomMargin(marginBottom).
		WithDisableAutoPageBreak(len(pages) == 1). // the library turns pages by it
		WithCompression(true).WithCreationDate(s.about.when()).
		WithTitle(clean(s.about.title), true).WithAuthor(clean(s.shop.Name), true).WithCreator("Winterbench", true).
		WithCustomFonts(fonts).WithDefaultFont(&props.Font{Family: fonts[0].Family, Style: fonts[0].Style, Size: body}).
		Build()
}

// usedFaces lists the faces that the pages are set in, in the order of faces.
// Every page has a foot, so there is at least one.
func usedFaces(pages [][]line) []*face {
	used := map[*face]bool{}
	for _, lines := range pages {
		for _, l := range lines {
			for _, p := range l.pieces {
				for _, r := range p.runs {
					used[r.face] = true
				}
			}
		}
	}
	return slices.DeleteFunc(slices.Clone(faces()), func(f *face) bool { return !used[f] })
}

// drawing puts a line of the sheet on the page. It is a component of maroto.
type drawing line

var _ core.Component = drawing{}

// Render draws the line into its cell.
func (d drawing) Render(provider core.Provider, cell *entity.Cell) {
	for _, p := range d.pieces {
		at := entity.Cell{X: cell.X + p.x, Y: cell.Y + p.y, Width: p.w, Height: p.h}
		switch {
		case p.picture != nil:
			provider.AddImageFromBytes(p.picture, &at, &props.Rect{Percent: 100}, extension.Png)
		case p.thick > 0:
			provider.AddLine(&at, p.look())
		default:
			p.text(provider, at)
		}
	}
}

// The inks, dark enough for a copier.
var (
	black = props.Color{Red: 28, Green: 26, Blue: 24}
	grey  = props.Color{Red: 92, Green: 87, Blue: 80}
)

// text draws the runs one after another. The library sets a baseline one size
// below the top of the cell, and breaks text only at the width of the cell: here
// it is wider than any page.
func (p piece) text(provider core.Provider, at entity.Cell) {
	ink := black
	if p.pale {
		ink = grey
	}
	at.Y -= p.size * point
	at.Width, at.Height = 10_000, 10_000
	for _, r := range p.runs {
		provider.AddText(r.text, &at, &props.Text{Family: r.face.family, Style: r.face.style, Size: p.size, Color: &ink, Align: align.Left})
		at.X += r.width
	}
}

// look is how a rule is drawn.
func (p piece) look() *props.Line {
	look := &props.Line{Color: &black, Thickness: p.thick, Style: linestyle.Solid, Orientation: orientation.Horizontal, SizePercent: 100}
	if p.dashed {
		look.Style = linestyle.Dashed
	}
	if p.h > 0 {
		look.Orientation = orientation.Vertical
	}
	return look
}

// GetHeight is that of the line.
func (d drawing) GetHeight(core.Provider, *entity.Cell) float64 { return d.height }

// SetConfig does nothing: a line knows its places.
func (drawing) SetConfig(*entity.Config) {}

// GetStructure names the component.
func (d drawing) GetStructure() *node.Node[core.Structure] {
	return node.New(core.Structure{Type: "line", Value: d.height})
}
