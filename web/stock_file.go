package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

const stockFilePath = stockPath + "/file"

func (s *Server) stockFileRoutes(r *gin.RouterGroup) {
	r.GET(stockFilePath, s.partsFile)
	r.POST(stockFilePath, s.takePartsFile)
	r.GET(stockPath+"/parts.csv", s.partsCSV)
}

// fileOrText is the file of a form, else what was pasted; empty for none.
func fileOrText(c *gin.Context) ([]byte, error) {
	head, err := c.FormFile("file")
	switch {
	case err == nil && head.Size > stock.MaxFile:
		return nil, fileError("must have at most 1 MB; cut it into pieces")
	case err == nil:
		f, err := head.Open()
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(f)
	case errors.Is(err, http.ErrMissingFile), errors.Is(err, http.ErrNotMultipart):
		return []byte(c.PostForm("text")), nil
	}
	return nil, fileError("was cut off on its way, or is larger than 1 MB; send it again, or cut it into pieces")
}

// fileForm asks for a file or its text; text is that of the look before.
func fileForm(action, scope, text, hint string, errs domain.Fields) StockForm {
	area := AreaField("text", "Or paste it", text)
	area.Rows = 6
	return StockForm{
		Action: action, Key: NewKey(), File: true, Do: "look", Button: "Look through it",
		Fields: stockFields(scope, errs, FileField("file", "The file", ".csv,text/csv,text/plain").Hint(hint), area),
	}
}

// rowsWrong lists the rows that cannot be taken.
func rowsWrong(wrong []stock.RowError) StockSection {
	t := &Table{Caption: "Rows that cannot be taken", Hidden: true, Columns: []Column{Figures("Line", ""), Head("Why")}}
	for _, w := range wrong {
		t.Rows = append(t.Rows, Line(strconv.Itoa(w.Line), w.Text))
	}
	return StockSection{Lead: "Rows that cannot be taken", Note: "Put them right in the file and look again; nothing is kept while one is wrong.", Table: t}
}

func (s *Server) partsFile(c *gin.Context) { s.showPartsFile(c, http.StatusOK, "", nil, nil) }

func (s *Server) showPartsFile(c *gin.Context, status int, text string, look *stock.PartsFile, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActPart); err != nil {
		s.fail(c, err)
		return
	}
	p := &StockPage{Page: s.frame(c, "A file of parts", domain.Owner), Ways: []Link{{Href: stockPath, Text: "Stock"}, {Href: stockPath + "/parts.csv", Text: "Parts as CSV"}}}
	p.Answer, p.Errors = "Look through a file first; nothing is kept before you say so.", errs
	ask := fileForm(stockFilePath, "parts", text, "CSV in UTF-8 with the columns of the export; a code that is on the list changes that part. At most 1 MB.", errs)
	if look != nil {
		p.Answer = fmt.Sprintf("%s new, %s changed, %d stay as they are, %s wrong. Nothing is kept yet.", Plural(len(look.Added), "part is", "parts are"), Plural(len(look.Changed), "part is", "parts are"), look.Same, Plural(len(look.Wrong), "row is", "rows are"))
		p.Sections = append(p.Sections, partsLook(look, text)...)
	} else {
		ask.Now = true
	}
	p.Sections = append(p.Sections, StockSection{Lead: "The file", Forms: []StockForm{ask}})
	s.page(c, status, "stock/show", p)
}

// partsLook shows what a file would do, with the button that does it.
func partsLook(look *stock.PartsFile, text string) []StockSection {
	var out []StockSection
	if len(look.Wrong) > 0 {
		out = append(out, rowsWrong(look.Wrong))
	}
	if len(look.Added)+len(look.Changed) == 0 {
		return out
	}
	t := &Table{Caption: "What it changes", Hidden: true, Columns: []Column{Head("Part"), Head("Code"), Head("What")}}
	for what, list := range map[string][]stock.Part{"new": look.Added, "changed": look.Changed} {
		for _, x := range list {
			t.Rows = append(t.Rows, Line(x.Name, x.Code, what))
		}
	}
	section := StockSection{Lead: "What it changes", Table: t}
	if len(look.Wrong) == 0 {
		section.Forms = []StockForm{{Action: stockFilePath, Key: NewKey(), Hidden: []Pair{{Name: "text", Value: text}}, Do: "take", Now: true, Button: fmt.Sprintf("Keep %s", Plural(len(look.Added)+len(look.Changed), "part", "parts"))}}
	}
	return append(out, section)
}

func (s *Server) takePartsFile(c *gin.Context) {
	raw, err := fileOrText(c)
	if err == nil && len(raw) == 0 {
		err = fileError("is missing: choose one, or paste it")
	}
	var look *stock.PartsFile
	take := err == nil && c.PostForm("do") == "take"
	switch {
	case err != nil:
	case take:
		_, err = s.Work.ImportParts(keyed(c), actor(c), raw)
	default:
		look, err = s.Work.TryParts(c.Request.Context(), actor(c), raw)
	}
	if err == nil && !take {
		s.showPartsFile(c, http.StatusOK, strings.TrimPrefix(string(raw), "\uFEFF"), look, nil)
		return
	}
	s.answer(c, err, func(f domain.Fields) {
		s.showPartsFile(c, http.StatusUnprocessableEntity, "", nil, inForm("parts", f))
	}, "The parts are kept.", stockPath)
}

func (s *Server) partsCSV(c *gin.Context) {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	l := stock.Lists{Currency: shop.Currency}
	if l.Parts, err = s.Read.PartList(ctx); err == nil {
		l.Suppliers, err = s.Read.SupplierList(ctx)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	if !may(c, workshop.ActReadBalance) {
		for i := range l.Parts {
			l.Parts[i].Cost = 0
		}
	}
	s.sendFile(c, "parts.csv", func(w io.Writer) error { return stock.WriteParts(w, l) })
}

// countFileSection asks for a count that was written into a file.
func countFileSection(c *gin.Context, errs domain.Fields) StockSection {
	form := fileForm(countPath, "count", c.PostForm("text"), "CSV in UTF-8 with the columns code and found, such as the sheet with all parts that you can download. At most 1 MB.", errs)
	return StockSection{Lead: "Or from a file", Note: "The sheet is at " + stockPath + "/count.csv.", Forms: []StockForm{form}}
}

// takeCountFile looks through a file of a count, or enters it.
func (s *Server) takeCountFile(c *gin.Context, raw []byte) {
	wrong := func(f domain.Fields) {
		s.showCounts(c, http.StatusUnprocessableEntity, "", false, inForm("count", f))
	}
	if c.PostForm("do") == "take" {
		id, err := s.Work.ImportCount(keyed(c), actor(c), "", raw)
		s.answer(c, err, wrong, "The count is entered.", countSheetPath(id))
		return
	}
	look, err := s.Work.TryCount(c.Request.Context(), actor(c), raw)
	if err != nil {
		s.answer(c, err, wrong, "", "")
		return
	}
	p := &StockPage{Page: s.frame(c, "A file of a count", deskDoor(c)), Ways: []Link{{Href: countPath, Text: "Counts"}}}
	p.Answer = fmt.Sprintf("%s counted, %d left empty, %s wrong. Nothing is kept yet.", Plural(len(look.Lines), "part was", "parts were"), look.Empty, Plural(len(look.Wrong), "row is", "rows are"))
	if len(look.Wrong) > 0 {
		p.Sections = append(p.Sections, rowsWrong(look.Wrong))
	} else if len(look.Lines) > 0 {
		p.Sections = append(p.Sections, StockSection{Lead: "Enter it", Forms: []StockForm{{
			Action: countPath, Key: NewKey(), Hidden: []Pair{{Name: "text", Value: strings.TrimPrefix(string(raw), "\uFEFF")}}, Do: "take", Now: true, Button: "Enter " + Plural(len(look.Lines), "figure", "figures"),
		}}})
	}
	p.Sections = append(p.Sections, countFileSection(c, nil))
	s.page(c, http.StatusOK, "stock/show", p)
}
