package store

import (
	"archive/zip"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/migrations"
)

// link says that a column of one table names rows of another.
type link struct{ table, column, of string }

// HandOut writes all that the shop holds on a customer as a zip file: every row of
// every table that leads to the customer, as JSON by table, and the photos. Which
// tables lead there is read from the database's own references, so that a new table
// is never forgotten. Money is in the smallest unit of its currency, moments are in
// UTC, quantities of parts in thousandths.
func (s *Store) HandOut(ctx context.Context, id domain.CustomerID, to workshop.Writer) error {
	out := zip.NewWriter(writerOf{to})
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		if _, err := readCustomer(db, id); err != nil {
			return err
		}
		held, err := s.heldOn(db, int64(id))
		if err != nil {
			return err
		}
		f, err := out.CreateHeader(&zip.FileHeader{Name: "customer.json", Method: zip.Deflate})
		if err != nil {
			return err
		}
		pretty := json.NewEncoder(f)
		pretty.SetIndent("", " ")
		pretty.SetEscapeHTML(false)
		if err := pretty.Encode(held); err != nil {
			return err
		}
		return s.handOutPhotos(out, held["photos"])
	})
	if err != nil {
		return fmt.Errorf("hand out what is kept on customer %d: %w", id, err)
	}
	return out.Close()
}

// writerOf makes a whole io.Writer of the use case's own.
type writerOf struct{ workshop.Writer }

// heldOn collects the rows by table.
func (s *Store) heldOn(db *gorm.DB, id int64) (map[string][]map[string]any, error) {
	links, err := s.links(db)
	if err != nil {
		return nil, err
	}
	all, err := s.tables(db) // each after those that it names
	if err != nil {
		return nil, err
	}
	held := map[string][]map[string]any{}
	if held["customers"], err = rowsWhere(db, "customers", "id", []int64{id}); err != nil {
		return nil, err
	}
	found := map[string][]int64{"customers": {id}}
	for _, t := range all {
		rows, err := leading(db, links, t.name, found)
		if err != nil {
			return nil, err
		}
		if len(rows) > 0 {
			held[t.name], found[t.name] = rows, identitiesOf(rows)
		}
	}
	return held, nil
}

// leading are the rows of a table that any of its columns leads to a row found in
// another.
func leading(db *gorm.DB, links []link, table string, found map[string][]int64) ([]map[string]any, error) {
	var rows []map[string]any
	seen := map[any]bool{}
	for _, l := range links {
		if l.table != table || l.of == table || len(found[l.of]) == 0 {
			continue
		}
		some, err := rowsWhere(db, table, l.column, found[l.of])
		if err != nil {
			return nil, err
		}
		for _, r := range some {
			if id, has := r["id"]; has && seen[id] {
				continue
			}
			seen[r["id"]] = true
			rows = append(rows, r)
		}
	}
	return rows, nil
}

func identitiesOf(rows []map[string]any) []int64 {
	ids := []int64{}
	for _, r := range rows {
		if id, is := r["id"].(int64); is {
			ids = append(ids, id)
		}
	}
	return ids
}

// rowsWhere reads rows whose column is one of some numbers, as JSON will hold them.
func rowsWhere(db *gorm.DB, table, column string, ids []int64) ([]map[string]any, error) {
	var all []map[string]any
	for some := range slices.Chunk(ids, 500) {
		var rows []map[string]any
		if err := db.Table(table).Where(column+" IN ?", some).Order("1").Find(&rows).Error; err != nil {
			return nil, fmt.Errorf("read %s: %w", table, translate(err))
		}
		for _, r := range rows {
			for name, v := range r {
				r[name] = plain(v)
			}
		}
		all = append(all, rows...)
	}
	return all, nil
}

// plain is a value as both engines' rows are written.
func plain(v any) any {
	switch v := v.(type) {
	case time.Time:
		return v.UTC().Format("2006-01-02 15:04:05.999999+00:00")
	case []byte:
		return base64.StdEncoding.EncodeToString(v)
	case bool:
		if v {
			return 1
		}
		return 0
	}
	return v
}

// links lists what names what. The staff and their doings are not a customer's.
func (s *Store) links(db *gorm.DB) ([]link, error) {
	query := `SELECT t.name AS "table", f."from" AS "column", f."table" AS "of" FROM sqlite_master t, pragma_foreign_key_list(t.name) f WHERE t.type = 'table' ORDER BY 1, 2`
	if s.dialect == migrations.Postgres {
		query = `SELECT a.relname AS "table", c.attname AS "column", b.relname AS "of" FROM pg_constraint k JOIN pg_class a ON a.oid = k.conrelid JOIN pg_class b ON b.oid = k.confrelid
			JOIN pg_attribute c ON c.attrelid = a.oid AND c.attnum = k.conkey[1]
			WHERE k.contype = 'f' AND array_length(k.conkey, 1) = 1 AND k.connamespace = current_schema()::regnamespace ORDER BY 1, 2`
	}
	var rows []struct{ Table, Column, Of string }
	if err := db.Raw(query).Scan(&rows).Error; err != nil {
		return nil, fmt.Errorf("list references: %w", translate(err))
	}
	var out []link
	for _, r := range rows {
		out = append(out, link{r.Table, r.Column, r.Of})
	}
	return out, nil
}

// handOutPhotos adds the pictures that were not withdrawn.
func (s *Store) handOutPhotos(out *zip.Writer, rows []map[string]any) error {
	for _, r := range rows {
		name, _ := r["content"].(string)
		if r["withdrawn_at"] != nil || name == "" {
			continue
		}
		data, err := s.pictures.Read(name)
		if domain.KindOf(err) == domain.NotFound {
			continue
		}
		if err != nil {
			return err
		}
		f, err := out.CreateHeader(&zip.FileHeader{Name: "photos/" + strings.ToLower(name) + ".jpg", Method: zip.Store})
		if err != nil {
			return err
		}
		if _, err := f.Write(data); err != nil {
			return err
		}
	}
	return nil
}
