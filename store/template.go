package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// editionRow is a row of task_editions.
type editionRow struct {
	Code   string
	Number int
	Body   []byte
	Origin string
	MadeAt moment
	MadeBy string
}

func (editionRow) TableName() string { return "task_editions" }

func rowOfEdition(e *workshop.EditionNote) editionRow {
	return editionRow{Code: e.Code, Number: e.Number, Body: e.Body, Origin: e.Origin, MadeAt: at(e.At), MadeBy: e.By}
}

func (r *editionRow) note() workshop.EditionNote {
	return workshop.EditionNote{Code: r.Code, Number: r.Number, Body: r.Body, Origin: r.Origin, At: r.MadeAt.Time, By: r.MadeBy}
}

// parsed remembers the templates of bodies that were read before. An edition
// never changes, but a transaction that fails may leave its number to another
// body: so the body is compared too. Its templates are shared and only read.
type parsed struct{ byEdition sync.Map } // of editionKey to parsedEdition

type editionKey struct {
	code   string
	number int
}

type parsedEdition struct {
	body     []byte
	template templates.Template
}

// edition makes the value of a row.
func (p *parsed) edition(r *editionRow) (quote.Edition, error) {
	e := quote.Edition{BuiltIn: r.Origin == workshop.BuiltIn, Number: r.Number}
	key := editionKey{r.Code, r.Number}
	if known, ok := p.byEdition.Load(key); ok && bytes.Equal(known.(parsedEdition).body, r.Body) {
		e.Template = known.(parsedEdition).template
		return e, nil
	}
	t, err := templates.Parse(r.Code, r.Body)
	if err != nil {
		// A body that could be kept but not read again is no fault of who reads it.
		return e, fmt.Errorf("read edition %d of template %s: %s", r.Number, r.Code, err)
	}
	p.byEdition.Store(key, parsedEdition{body: r.Body, template: t})
	e.Template = t
	return e, nil
}

// NewestEditions reads the newest edition of every task template, by code.
func (s *Store) NewestEditions(ctx context.Context) (map[string]quote.Edition, error) {
	return readNewest(s.db.WithContext(ctx), &s.templates)
}

// EditionOf reads one edition of a task template.
func (s *Store) EditionOf(ctx context.Context, code string, number int) (quote.Edition, error) {
	return readEdition(s.db.WithContext(ctx), &s.templates, code, number)
}

// EditionsOf reads all editions of a task template as they are kept, newest first.
func (s *Store) EditionsOf(ctx context.Context, code string) ([]workshop.EditionNote, error) {
	var rows []editionRow
	if err := s.db.WithContext(ctx).Where("code = ?", code).Order("number DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the editions of template %s: %w", code, translate(err))
	}
	return each(rows, (*editionRow).note), nil
}

// Editions reads the newest edition of every task template, by code.
func (t *tx) Editions(ctx context.Context) (map[string]quote.Edition, error) {
	return readNewest(t.db.WithContext(ctx), t.templates)
}

// Edition reads one edition of a task template.
func (t *tx) Edition(ctx context.Context, code string, number int) (quote.Edition, error) {
	return readEdition(t.db.WithContext(ctx), t.templates, code, number)
}

func readNewest(db *gorm.DB, known *parsed) (map[string]quote.Edition, error) {
	var rows []editionRow
	err := db.Where("number = (SELECT max(m.number) FROM task_editions m WHERE m.code = task_editions.code)").Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the newest templates: %w", translate(err))
	}
	out := make(map[string]quote.Edition, len(rows))
	for i := range rows {
		e, err := known.edition(&rows[i])
		if err != nil {
			return nil, err
		}
		out[rows[i].Code] = e
	}
	return out, nil
}

func readEdition(db *gorm.DB, known *parsed, code string, number int) (quote.Edition, error) {
	var row editionRow
	err := db.Take(&row, "code = ? AND number = ?", code, number).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return quote.Edition{}, domain.NotFoundf("there is no edition %d of a template %q", number, code)
	}
	if err != nil {
		return quote.Edition{}, fmt.Errorf("read edition %d of template %s: %w", number, code, translate(err))
	}
	return known.edition(&row)
}

// AddEdition inserts an edition. A body that is no template is refused: nothing
// that could not be read again is kept.
func (t *tx) AddEdition(ctx context.Context, e workshop.EditionNote) error {
	parsed, err := templates.Parse(e.Code, e.Body)
	if err != nil {
		return fmt.Errorf("add edition %d of template %s: %w", e.Number, e.Code, err)
	}
	if parsed.Code != e.Code {
		return domain.Invalidf("the body is of template %q, it must be of %q", parsed.Code, e.Code)
	}
	row := rowOfEdition(&e)
	if err := t.db.WithContext(ctx).Create(&row).Error; err != nil {
		return fmt.Errorf("add edition %d of template %s: %w", e.Number, e.Code, translate(err))
	}
	return nil
}
