package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// tokenRow is a row of api_tokens.
type tokenRow struct {
	ID         int64
	StaffID    int64
	Name       string
	TokenHash  string
	CreatedAt  moment
	LastUsedAt *moment
	RevokedAt  *moment
	ReadsOnly  bool
	Roles      string
	ExpiresAt  *moment
}

func (tokenRow) TableName() string { return "api_tokens" }
func (r *tokenRow) key() *int64    { return &r.ID }

func rowOfToken(t *workshop.Token) tokenRow {
	return tokenRow{
		ID: t.ID, StaffID: int64(t.Staff), Name: t.Name, TokenHash: t.Hash, CreatedAt: at(t.Created),
		LastUsedAt: atOrNull(t.Used), RevokedAt: atOrNull(t.Revoked), ReadsOnly: t.ReadsOnly, Roles: rolesText(t.Roles), ExpiresAt: atOrNull(t.Expires),
	}
}

func (r *tokenRow) token() workshop.Token {
	return workshop.Token{
		ID: r.ID, Staff: domain.StaffID(r.StaffID), Name: r.Name, Hash: r.TokenHash, Created: r.CreatedAt.Time,
		Used: r.LastUsedAt.orZero(), Revoked: r.RevokedAt.orZero(), ReadsOnly: r.ReadsOnly, Roles: rolesOf(r.Roles), Expires: r.ExpiresAt.orZero(),
	}
}

// TokensOf reads a person's tokens, newest first, also the revoked.
func (s *Store) TokensOf(ctx context.Context, id domain.StaffID) ([]workshop.Token, error) {
	var rows []tokenRow
	if err := s.db.WithContext(ctx).Where("staff_id = ?", id).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the tokens of staff %d: %w", id, translate(err))
	}
	return each(rows, (*tokenRow).token), nil
}

// AddToken inserts a token and sets its identity.
func (t *tx) AddToken(ctx context.Context, token *workshop.Token) error {
	row := rowOfToken(token)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	token.ID = row.ID
	return nil
}

// TokenByHash reads the token of a hash.
func (t *tx) TokenByHash(ctx context.Context, hash string) (*workshop.Token, error) {
	var row tokenRow
	err := t.db.WithContext(ctx).Take(&row, "token_hash = ?", hash).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("there is no such token")
	}
	if err != nil {
		return nil, fmt.Errorf("find a token: %w", translate(err))
	}
	token := row.token()
	return &token, nil
}

// Token reads one token and locks the row.
func (t *tx) Token(ctx context.Context, id int64) (*workshop.Token, error) {
	var row tokenRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "token"); err != nil {
		return nil, err
	}
	token := row.token()
	return &token, nil
}

// SaveToken writes when a token was used last and when it was revoked. What was
// revoked stays so: a use that began before takes nothing back.
func (t *tx) SaveToken(ctx context.Context, token *workshop.Token) error {
	row := rowOfToken(token)
	return saveUse(t.db.WithContext(ctx), &row, row.ID, row.RevokedAt, "token")
}

// saveUse writes when what a secret opens was used last, and when it was revoked if it
// was.
func saveUse(db *gorm.DB, row any, id int64, revoked *moment, what string) error {
	columns := []string{"last_used_at"}
	if revoked != nil {
		columns = append(columns, "revoked_at")
	}
	res := db.Model(row).Where("id = ?", id).Select(columns).Updates(row)
	if res.Error != nil {
		return fmt.Errorf("save %s %d: %w", what, id, translate(res.Error))
	}
	if res.RowsAffected == 0 {
		return domain.NotFoundf("there is no %s %d", what, id)
	}
	return nil
}
