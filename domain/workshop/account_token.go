package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
)

// Token is a key with which a program signs in for a person. Only a hash of it
// is kept.
type Token struct {
	ID        int64
	Staff     domain.StaffID
	Name      string
	Hash      string        // SHA-256, hex
	ReadsOnly bool          // it changes nothing
	Roles     []domain.Role // hats it may use of those the person wears; none: all of them
	Created   time.Time
	Expires   time.Time // zero: never, as those were made before tokens had an end
	Used      time.Time
	Revoked   time.Time
}

// Works reports whether the token signs somebody in at a moment.
func (t *Token) Works(at time.Time) bool {
	return t.Revoked.IsZero() && (t.Expires.IsZero() || at.Before(t.Expires))
}

// Scope says what the token may do, in words.
func (t *Token) Scope() string {
	what := "all you may"
	if len(t.Roles) > 0 {
		what = "as " + rolesWords(t.Roles)
	}
	if t.ReadsOnly {
		what += ", reading only"
	}
	return what
}

// rolesWords lists hats in words.
func rolesWords(roles []domain.Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// TokenAsk is what a new token shall be.
type TokenAsk struct {
	Name      string
	ReadsOnly bool
	Roles     []domain.Role // none: every hat of the person, also those they get later
	Days      int           // until it ends, 1 to 366; 0: UsualTokenDays
	Until     time.Time     // it ends no later; zero: no such end
}

// UsualTokenDays is how long a token works when nobody said.
const UsualTokenDays = 366

// check returns the token that is asked for.
func (a TokenAsk) check(by domain.Actor, at time.Time) (Token, error) {
	f := domain.Fields{}
	t := Token{Staff: by.Staff, Name: domain.Line(f, "name", a.Name, 60, true), ReadsOnly: a.ReadsOnly, Created: at}
	if a.Days == 0 {
		a.Days = UsualTokenDays
	}
	if a.Days < 1 || a.Days > UsualTokenDays {
		f.Add("days", "must be from 1 to %d", UsualTokenDays)
	}
	t.Expires = at.AddDate(0, 0, a.Days)
	if !a.Until.IsZero() && a.Until.Before(t.Expires) {
		t.Expires = a.Until
	}
	for _, r := range a.Roles {
		if domain.OneOf(f, "roles", r, domain.Roles()); !by.Wears(r) {
			f.Add("roles", "must be hats that you wear: %s", rolesWords(by.Roles))
		}
	}
	t.Roles = slices.Compact(slices.Sorted(slices.Values(a.Roles)))
	return t, f.Err()
}

// AddToken makes an API token for by and returns it; it cannot be shown again,
// so it is no use case to carry an idempotency key.
func (w *Workshop) AddToken(ctx context.Context, by domain.Actor, ask TokenAsk) (string, error) {
	token, hash := NewToken()
	_, err := w.do(ctx, by, ActToken, func(tx Tx, at time.Time) (int64, error) {
		t, err := ask.check(by, at)
		if err != nil {
			return 0, err
		}
		t.Hash = hash
		if err := tx.AddToken(ctx, &t); err != nil {
			return 0, err
		}
		until, err := dayOf(ctx, tx, t.Expires)
		if err != nil {
			return 0, err
		}
		what := fmt.Sprintf("made the API token “%s”, %s, until %s", t.Name, t.Scope(), until)
		return t.ID, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, what)
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// RevokeToken ends a token of by, or any when by is an owner.
func (w *Workshop) RevokeToken(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActToken, func(tx Tx, at time.Time) (int64, error) {
		t, err := tx.Token(ctx, id)
		if err != nil {
			return 0, err
		}
		if t.Staff != by.Staff && !by.Wears(domain.Owner) {
			return 0, domain.Deniedf("only its owner may revoke a token")
		}
		if !t.Revoked.IsZero() {
			return id, nil
		}
		t.Revoked = at
		if err := tx.SaveToken(ctx, t); err != nil {
			return 0, err
		}
		whose, err := tx.Staff(ctx, t.Staff)
		if err != nil {
			return 0, err
		}
		return id, changedRights(ctx, tx, at, by, whose, "revoked the API token “"+t.Name+"”")
	})
	return err
}

// ByToken is who a token signs in.
type ByToken struct {
	*Staff
	Token Token
}

// Actor is the person with what the token leaves them: hats that both have.
func (b *ByToken) Actor() domain.Actor {
	who := b.Staff.Actor()
	who.ReadOnly = b.Token.ReadsOnly
	if len(b.Token.Roles) > 0 {
		who.Limited = true
		who.Roles = slices.DeleteFunc(slices.Clone(who.Roles), func(r domain.Role) bool { return !slices.Contains(b.Token.Roles, r) })
	}
	return who
}

// SignInByToken returns the person that an API token signs in. That it was used
// is noted to about a minute.
func (w *Workshop) SignInByToken(ctx context.Context, token string) (*ByToken, error) {
	var by *ByToken
	err := w.store.InTx(ctx, func(tx Tx) error {
		t, err := tx.TokenByHash(ctx, HashToken(token))
		if err != nil {
			return err
		}
		at := w.Now()
		if !t.Works(at) {
			return domain.NotFoundf("the token works no more")
		}
		s, err := tx.Staff(ctx, t.Staff)
		if err != nil {
			return err
		}
		by = &ByToken{Staff: s, Token: *t}
		if at.Sub(t.Used) > time.Minute {
			t.Used = at
			return tx.SaveToken(ctx, t)
		}
		return nil
	})
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	if err != nil || !by.Active {
		return nil, &domain.Error{Kind: domain.SignIn, Text: "this token signs nobody in"}
	}
	return by, nil
}
