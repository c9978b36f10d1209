package workshop

import (
	"context"
	"crypto/rand"
	"encoding/base32"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/totp"
)

// recoveryLetters is how many letters a recovery code has, of five bits each:
// 80 bits. recoveryCodes is how many there are.
const (
	recoveryLetters = 16
	recoveryCodes   = 10
)

// newCode makes a code of letters and of the digits 2 to 7, five random bits each.
func newCode(letters int) string {
	b := make([]byte, letters*5/8+1)
	_, _ = rand.Read(b) // never fails
	return base32.StdEncoding.EncodeToString(b)[:letters]
}

// dashed writes a code in fours.
func dashed(code string) string { return strings.ReplaceAll(totp.Groups(code), " ", "-") }

// own runs a change of how by signs in themselves, after their password was asked
// for once more: a device that was left alone shall not change locks. Tries in
// vain wait as at the sign-in. Field is where a wrong password is told.
func (w *Workshop) own(ctx context.Context, by domain.Actor, password string, fn func(tx Tx, at time.Time, s *Staff) error) error {
	if err := May(by, ActAccount); err != nil {
		return err
	}
	if by.ReadOnly {
		return domain.Deniedf("this token only reads; it may not %s", ActAccount)
	}
	gs := gates(ctx, nameGate(by.Name))
	slowed, err := w.pass(ctx, gs)
	if err != nil {
		return err
	}
	s, err := w.named(ctx, by.Name)
	if err != nil {
		return err
	}
	if s.ID != by.Staff || !SamePassword(s.Password, password) {
		if err := w.refuse(ctx, s, ByPassword, slowed); err != nil {
			return err
		}
		return wrongField("password_now", "is not your password")
	}
	_, err = w.do(ctx, by, ActAccount, func(tx Tx, at time.Time) (int64, error) {
		if err := passed(ctx, tx, at, gs); err != nil {
			return 0, err
		}
		s, err := tx.Staff(ctx, by.Staff)
		if err != nil {
			return 0, err
		}
		return int64(s.ID), fn(tx, at, s)
	})
	return err
}

func wrongField(field, text string) error {
	f := domain.Fields{}
	f.Add(field, "%s", text)
	return f.Err()
}

// ChangePassword replaces by's password and ends their other stays.
func (w *Workshop) ChangePassword(ctx context.Context, by domain.Actor, now, next string) error {
	if err := CheckPassword(by.Name, next); err != nil {
		return err
	}
	hash := HashPassword(next)
	return w.own(ctx, by, now, func(tx Tx, at time.Time, s *Staff) error {
		if now == next {
			return wrongField("password", "must differ from the present one")
		}
		s.Password = hash
		if err := tx.SaveStaff(ctx, s); err != nil {
			return err
		}
		if err := tx.EndStays(ctx, s.ID, stayOf(ctx), at, "the password was changed"); err != nil {
			return err
		}
		return changedRights(ctx, tx, at, by, s, "changed the password")
	})
}

// StartSecond makes the secret of a second step, which is not asked for until
// [Workshop.ConfirmSecond]. It is a conflict when there is one already.
func (w *Workshop) StartSecond(ctx context.Context, by domain.Actor, password string) error {
	return w.own(ctx, by, password, func(tx Tx, at time.Time, s *Staff) error {
		old, err := tx.SecondFactor(ctx, s.ID)
		if err == nil && !old.Confirmed.IsZero() {
			return domain.Conflictf("you have a second step already; take it off first")
		}
		if err != nil && domain.KindOf(err) != domain.NotFound {
			return err
		}
		return tx.SaveSecondFactor(ctx, &SecondFactor{Staff: s.ID, Secret: totp.NewSecret(), Made: at})
	})
}

// ConfirmSecond puts the second step into force once a code shows that the
// authenticator has it, and returns recovery codes, which are shown once. Other
// stays of the person end: they came in without it.
func (w *Workshop) ConfirmSecond(ctx context.Context, by domain.Actor, typed string) ([]string, error) {
	gs := gates(ctx, secondGate(by.Staff))
	if err := May(by, ActAccount); err != nil {
		return nil, err
	}
	if _, err := w.pass(ctx, gs); err != nil {
		return nil, err
	}
	codes, hashes := newRecoveryCodes()
	_, err := w.do(ctx, by, ActAccount, func(tx Tx, at time.Time) (int64, error) {
		f, err := tx.SecondFactor(ctx, by.Staff)
		if err != nil {
			return 0, err
		}
		if !f.Confirmed.IsZero() {
			return 0, domain.Conflictf("the second step is in force already")
		}
		step, ok := totp.Check(f.Secret, typed, at, f.LastStep)
		if !ok {
			return 0, wrongField("code", "is not the present code; the clocks of both devices must be right")
		}
		f.Confirmed, f.LastStep = at, step
		if err := tx.SaveSecondFactor(ctx, f); err != nil {
			return 0, err
		}
		if err := tx.SetRecoveryCodes(ctx, by.Staff, hashes); err != nil {
			return 0, err
		}
		if err := tx.EndStays(ctx, by.Staff, stayOf(ctx), at, "a second step was set up"); err != nil {
			return 0, err
		}
		if err := passed(ctx, tx, at, gs); err != nil {
			return 0, err
		}
		return 0, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, "set up the second step")
	})
	if err != nil {
		return nil, err
	}
	return codes, nil
}

func newRecoveryCodes() (codes, hashes []string) {
	for range recoveryCodes {
		code := newCode(recoveryLetters)
		codes, hashes = append(codes, dashed(code)), append(hashes, HashToken(code))
	}
	return codes, hashes
}

// NewRecoveryCodes replaces by's recovery codes and returns the new ones.
func (w *Workshop) NewRecoveryCodes(ctx context.Context, by domain.Actor, password string) ([]string, error) {
	codes, hashes := newRecoveryCodes()
	err := w.own(ctx, by, password, func(tx Tx, at time.Time, s *Staff) error {
		if f, err := tx.SecondFactor(ctx, s.ID); err != nil || f.Confirmed.IsZero() {
			return domain.Conflictf("recovery codes need a second step first")
		}
		if err := tx.SetRecoveryCodes(ctx, s.ID, hashes); err != nil {
			return err
		}
		return changedRights(ctx, tx, at, by, s, "made new recovery codes")
	})
	if err != nil {
		return nil, err
	}
	return codes, nil
}

// DropSecond takes by's second step off. The password and a present code or a
// recovery code are asked for.
func (w *Workshop) DropSecond(ctx context.Context, by domain.Actor, password, typed string) error {
	gs := gates(ctx, secondGate(by.Staff))
	if err := May(by, ActAccount); err != nil {
		return err
	}
	if _, err := w.pass(ctx, gs); err != nil {
		return err
	}
	return w.own(ctx, by, password, func(tx Tx, at time.Time, s *Staff) error {
		_, ok, err := secondRight(ctx, tx, at, s.ID, typed)
		if err != nil {
			return err
		}
		if !ok {
			return wrongField("code", "is neither the present code nor a recovery code")
		}
		if err := passed(ctx, tx, at, gs); err != nil {
			return err
		}
		if err := tx.DropSecondFactor(ctx, s.ID); err != nil {
			return err
		}
		return changedRights(ctx, tx, at, by, s, "took the second step off")
	})
}

// CheckPIN returns an Invalid error unless a PIN has 4 to 8 digits that are
// neither all the same nor in a row.
func CheckPIN(pin string) error {
	f := domain.Fields{}
	digits := strings.IndexFunc(pin, func(r rune) bool { return r < '0' || r > '9' }) < 0
	switch {
	case !digits || len(pin) < 4 || len(pin) > 8:
		f.Add("pin", "must have 4 to 8 digits")
	case evenSteps(pin):
		f.Add("pin", "must not be one digit again and again, nor digits in a row")
	}
	return f.Err()
}

// evenSteps reports whether each letter stands equally far from the one before,
// by -1, 0 or 1.
func evenSteps(text string) bool {
	step := int(text[1]) - int(text[0])
	for i := 1; i < len(text); i++ {
		if int(text[i])-int(text[i-1]) != step {
			return false
		}
	}
	return step >= -1 && step <= 1
}

// SetPIN gives by a PIN for trusted devices of the bench; "" takes it off.
func (w *Workshop) SetPIN(ctx context.Context, by domain.Actor, password, pin string) error {
	hash := ""
	if pin != "" {
		if err := CheckPIN(pin); err != nil {
			return err
		}
		if !by.Wears(domain.Bench) {
			return domain.Deniedf("a PIN opens the bench alone, and you do not wear its hat")
		}
		hash = HashPassword(pin)
	}
	return w.own(ctx, by, password, func(tx Tx, at time.Time, s *Staff) error {
		what, err := "set a PIN", error(nil)
		if hash == "" {
			what, err = "took the PIN off", tx.DropPIN(ctx, s.ID)
		} else {
			err = tx.SavePIN(ctx, s.ID, hash, at)
		}
		if err != nil {
			return err
		}
		if err := tx.DropThrottle(ctx, pinGate(s.ID).key); err != nil {
			return err
		}
		return changedRights(ctx, tx, at, by, s, what)
	})
}

// EndOwnStays ends by's stays but the present one; with all also that.
func (w *Workshop) EndOwnStays(ctx context.Context, by domain.Actor, all bool) error {
	_, err := w.do(ctx, by, ActAccount, func(tx Tx, at time.Time) (int64, error) {
		but := stayOf(ctx)
		if all {
			but = 0
		}
		if err := tx.EndStays(ctx, by.Staff, but, at, "signed out everywhere"); err != nil {
			return 0, err
		}
		return 0, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, "signed out everywhere else")
	})
	return err
}

// afterChange ends the stays of a person whose password was replaced or who may
// sign in no more, forgets their tries in vain, and writes down which rights changed.
func afterChange(ctx context.Context, tx Tx, at time.Time, by domain.Actor, old, now *Staff) error {
	var what []string
	if now.Password != old.Password {
		what = append(what, "a new password was given")
		for _, g := range []gate{nameGate(now.Name), secondGate(now.ID)} {
			if err := tx.DropThrottle(ctx, g.key); err != nil {
				return err
			}
		}
	}
	if old.Active != now.Active {
		what = append(what, map[bool]string{true: "may sign in again", false: "may not sign in any more"}[now.Active])
	}
	if now.Password != old.Password || !now.Active {
		if err := tx.EndStays(ctx, now.ID, stayOf(ctx), at, "the owner changed how you sign in"); err != nil {
			return err
		}
	}
	if !slices.Equal(sortedRoles(old.Roles), sortedRoles(now.Roles)) {
		what = append(what, fmt.Sprintf("hats changed from %s to %s", rolesWords(old.Roles), rolesWords(now.Roles)))
	}
	if old.Name != now.Name {
		what = append(what, "the name changed from "+old.Name)
	}
	if len(what) == 0 {
		return nil
	}
	return changedRights(ctx, tx, at, by, now, strings.Join(what, "; "))
}

func sortedRoles(rs []domain.Role) []domain.Role { return slices.Sorted(slices.Values(rs)) }
