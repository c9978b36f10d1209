package workshop

import (
	"context"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/totp"
)

// Entered is somebody whose password, code or PIN was right.
type Entered struct {
	*Staff
	Stay int64 // 0: the second step is still to come
}

// errWrongPair is the one answer to a wrong name and to a wrong password.
func errWrongPair() error {
	return &domain.Error{Kind: domain.SignIn, Text: "name and password do not belong together"}
}

// SignIn returns the person with this name and password, with a stay, or without
// one when the second step is still to come. Whether the name or the password was
// wrong is not told, neither in words nor by the time it takes; tries in vain
// wait longer and longer, by name and by address, and then even a right password
// is not looked at.
func (w *Workshop) SignIn(ctx context.Context, name, password string) (*Entered, error) {
	gs := gates(ctx, nameGate(name))
	slowed, err := w.pass(ctx, gs)
	if err != nil {
		return nil, err
	}
	s, err := w.named(ctx, name)
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	hash := nobody
	if err == nil && s.Active && s.Password != "" {
		hash = s.Password
	}
	if !SamePassword(hash, password) || hash == nobody {
		if err := w.refuse(ctx, s, ByPassword, slowed); err != nil {
			return nil, err
		}
		return nil, errWrongPair()
	}
	return w.passwordRight(ctx, s, gs)
}

func (w *Workshop) named(ctx context.Context, name string) (s *Staff, err error) {
	err = w.store.InTx(ctx, func(tx Tx) (err error) {
		s, err = tx.StaffByName(ctx, NameKey(name))
		return err
	})
	if err != nil {
		return nil, err
	}
	return s, nil
}

// refuse writes a try in vain into the log; s is nil when the name belongs to nobody.
func (w *Workshop) refuse(ctx context.Context, s *Staff, how How, slowed bool) error {
	out := Refused
	if slowed {
		out = Slowed
	}
	return w.store.InTx(ctx, func(tx Tx) error { return noted(ctx, tx, w.Now(), s, how, out) })
}

// passwordRight lets the person in, or half way when they have a second step.
func (w *Workshop) passwordRight(ctx context.Context, s *Staff, gs []gate) (*Entered, error) {
	var e *Entered
	err := w.store.InTx(ctx, func(tx Tx) error {
		at := w.Now()
		if err := passed(ctx, tx, at, gs); err != nil {
			return err
		}
		f, err := tx.SecondFactor(ctx, s.ID)
		switch {
		case err == nil && !f.Confirmed.IsZero():
			e = &Entered{Staff: s}
			return noted(ctx, tx, at, s, ByPassword, HalfWay)
		case err != nil && domain.KindOf(err) != domain.NotFound:
			return err
		}
		e, err = began(ctx, tx, at, s, ByPassword, 0)
		return err
	})
	if err != nil {
		return nil, err
	}
	return e, nil
}

// began makes a stay and writes it into the log.
func began(ctx context.Context, tx Tx, at time.Time, s *Staff, how How, device int64) (*Entered, error) {
	stay := Stay{Staff: s.ID, How: how, Device: device, Place: placeOf(ctx), Began: at, Seen: at}
	if err := tx.AddStay(ctx, &stay); err != nil {
		return nil, err
	}
	return &Entered{Staff: s, Stay: stay.ID}, noted(ctx, tx, at, s, how, CameIn)
}

// Began makes the stay of the person who has just opened the shop.
func (w *Workshop) Began(ctx context.Context, id domain.StaffID) (*Entered, error) {
	var e *Entered
	err := w.store.InTx(ctx, func(tx Tx) error {
		s, err := tx.Staff(ctx, id)
		if err != nil {
			return err
		}
		e, err = began(ctx, tx, w.Now(), s, ByFirst, 0)
		return err
	})
	if err != nil {
		return nil, err
	}
	return e, nil
}

// SecondStep lets a person in whose password was right, by a code of their
// authenticator or by one of their recovery codes. Each is used once. Tries in
// vain wait longer and longer.
func (w *Workshop) SecondStep(ctx context.Context, id domain.StaffID, typed string) (*Entered, error) {
	gs := gates(ctx, secondGate(id))
	slowed, err := w.pass(ctx, gs)
	if err != nil {
		return nil, err
	}
	var e *Entered
	err = w.store.InTx(ctx, func(tx Tx) error {
		e = nil
		at := w.Now()
		s, err := tx.Staff(ctx, id)
		if err != nil {
			return err
		}
		how, ok, err := secondRight(ctx, tx, at, id, typed)
		if err != nil {
			return err
		}
		if !ok || !s.Active {
			out := Refused
			if slowed {
				out = Slowed
			}
			return noted(ctx, tx, at, s, how, out)
		}
		if err := passed(ctx, tx, at, gs); err != nil {
			return err
		}
		e, err = began(ctx, tx, at, s, how, 0)
		return err
	})
	switch {
	case err != nil:
		return nil, err
	case e == nil:
		return nil, &domain.Error{Kind: domain.SignIn, Text: "this is not the present code; wait for the next one, or use a recovery code"}
	}
	return e, nil
}

// secondRight reports whether a code of the authenticator or a recovery code is
// right, and uses it up.
func secondRight(ctx context.Context, tx Tx, at time.Time, id domain.StaffID, typed string) (How, bool, error) {
	f, err := tx.SecondFactor(ctx, id)
	if err != nil || f.Confirmed.IsZero() {
		if err == nil || domain.KindOf(err) == domain.NotFound {
			return BySecond, false, nil
		}
		return BySecond, false, err
	}
	if step, ok := totp.Check(f.Secret, typed, at, f.LastStep); ok {
		f.LastStep = step
		return BySecond, true, tx.SaveSecondFactor(ctx, f)
	}
	code := plainCode(typed)
	if len(code) != recoveryLetters {
		return BySecond, false, nil
	}
	ok, err := tx.UseRecoveryCode(ctx, id, HashToken(code), at)
	return ByRecovery, ok, err
}

// Present is who stands behind a request.
type Present struct {
	Actor      domain.Actor
	Stay       Stay
	MustSecond bool // the second step must be set up before anything else
}

// Here returns who is signed in with a stay. A stay that ended, ran out, or is of
// somebody who may not sign in any more is a sign-in error.
func (w *Workshop) Here(ctx context.Context, q Queries, id int64) (*Present, error) {
	gone := &domain.Error{Kind: domain.SignIn, Text: "sign in first"}
	if id == 0 {
		return nil, gone
	}
	stay, err := q.StayByID(ctx, id)
	if domain.KindOf(err) == domain.NotFound {
		return nil, gone
	}
	if err != nil {
		return nil, err
	}
	shop, err := q.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	now := w.Now()
	if !stay.Runs(shop.Accounts, now) {
		return nil, gone
	}
	s, err := q.StaffMember(ctx, stay.Staff)
	if err != nil {
		return nil, err
	}
	if !s.Active {
		return nil, gone
	}
	p := &Present{Actor: s.Actor(), Stay: *stay}
	if stay.How == ByPIN {
		p.Actor.Roles, p.Actor.Limited = benchAlone(p.Actor), true
	}
	if err := w.seen(ctx, stay, now); err != nil {
		return nil, err
	}
	if shop.Accounts.OwnersSecond && p.Actor.Wears(domain.Owner) {
		f, _, err := q.SecondFactorOf(ctx, s.ID)
		if err != nil && domain.KindOf(err) != domain.NotFound {
			return nil, err
		}
		p.MustSecond = err != nil || f.Confirmed.IsZero()
	}
	return p, nil
}

// benchAlone leaves an actor the bench's hat, if they wear it.
func benchAlone(a domain.Actor) []domain.Role {
	if a.Wears(domain.Bench) {
		return []domain.Role{domain.Bench}
	}
	return nil
}

// seen notes that a stay is used, to about a minute. When the database has no
// room for it, people read on all the same.
func (w *Workshop) seen(ctx context.Context, s *Stay, now time.Time) error {
	if now.Sub(s.Seen) < time.Minute {
		return nil
	}
	err := w.store.InTx(ctx, func(tx Tx) error { return tx.SeeStay(ctx, s.ID, now) })
	if domain.KindOf(err) == domain.Away {
		return nil
	}
	return err
}

// SignOut ends a stay. One that has ended is no error.
func (w *Workshop) SignOut(ctx context.Context, by domain.Actor, stay int64) error {
	return w.store.InTx(ctx, func(tx Tx) error {
		at := w.Now()
		if err := tx.EndStay(ctx, stay, at, "signed out"); err != nil || by.Staff == 0 {
			return err
		}
		return noted(ctx, tx, at, &Staff{ID: by.Staff, Name: by.Name}, ByPassword, WentOut)
	})
}

// plainCode takes what people put between the letters of a code, and their case, away.
func plainCode(typed string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'A' && r <= 'Z', r >= '2' && r <= '9':
			return r
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return -1
	}, typed)
}
