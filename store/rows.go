package store

import (
	"encoding/json"
	"errors"
	"fmt"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// locked makes a read lock the rows it finds until the transaction ends. SQLite
// needs no such lock: a transaction of work has the whole file.
//
// It is the lock that a change of the row itself takes. The stronger one, which also
// holds off rows that refer to it, let writers wait for each other in circles: an
// entry of the journal for a customer waited for whoever read that customer, who
// waited for the next number. PostgreSQL ends such a circle only after a second.
func locked(db *gorm.DB) *gorm.DB { return db.Clauses(clause.Locking{Strength: "NO KEY UPDATE"}) }

// takeRow reads the row of an identity; what names it for people.
func takeRow[ID ~int64](db *gorm.DB, row any, id ID, what string) error {
	err := db.Take(row, "id = ?", id).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return domain.NotFoundf("there is no %s %d", what, id)
	}
	if err != nil {
		return fmt.Errorf("read %s %d: %w", what, id, translate(err))
	}
	return nil
}

// addRow inserts a row without an identity and sets it.
func addRow[R any, P rowOf[R]](db *gorm.DB, row P) error {
	if id := *row.key(); id != 0 {
		return fmt.Errorf("add to %s: row %d has an identity already", row.TableName(), id)
	}
	if err := db.Create(row).Error; err != nil {
		return fmt.Errorf("add to %s: %w", row.TableName(), translate(err))
	}
	return nil
}

// saveRow writes a whole row, but not the moment it was made, over the version
// that was read; name tells people what it is.
func saveRow[R any, P rowOf[R]](db *gorm.DB, row P, read int, name string) error {
	query := db.Model(new(R)).Where("version = ?", read).Select("*").Omit("id", "created_at")
	err := saveVersion(query, *row.key(), row, "somebody else saved "+name+" meanwhile; look at it again")
	if err != nil {
		return fmt.Errorf("save %s %d: %w", row.TableName(), *row.key(), translate(err))
	}
	return nil
}

// saveVersion updates one row of a query that chooses the table, the version
// that was read and the columns. Text is the conflict when there is no such row.
func saveVersion(query *gorm.DB, id int64, row any, text string) error {
	res := query.Where("id = ?", id).Updates(row)
	if res.Error != nil {
		return res.Error
	}
	if res.RowsAffected == 0 {
		return domain.Conflictf("%s", text)
	}
	return nil
}

// toJSON writes a value as the text of a column.
func toJSON(value any) (string, error) {
	text, err := json.Marshal(value)
	if err != nil {
		return "", fmt.Errorf("write %T as JSON: %w", value, err)
	}
	return string(text), nil
}

// fromJSON reads the text of a column into what to points at.
func fromJSON(text string, to any) error {
	if err := json.Unmarshal([]byte(text), to); err != nil {
		return fmt.Errorf("the database holds JSON that is no %T: %w", to, err)
	}
	return nil
}

// withPage adds a page's limit and offset to a query's arguments.
func withPage(args []any, p workshop.Page) []any {
	return append(append([]any{}, args...), min(max(p.Limit, 1), mostRows), max(p.Offset, 0))
}
