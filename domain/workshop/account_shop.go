package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
)

// EndStaysOf signs another person out everywhere, which the owner may do.
func (w *Workshop) EndStaysOf(ctx context.Context, by domain.Actor, id domain.StaffID) error {
	return w.ofOther(ctx, by, id, func(tx Tx, at time.Time, s *Staff) (string, error) {
		return "signed out everywhere", tx.EndStays(ctx, id, stayOf(ctx), at, "the owner signed you out")
	})
}

// DropSecondOf takes the second step and the PIN of a person off who lost them,
// and ends their stays.
func (w *Workshop) DropSecondOf(ctx context.Context, by domain.Actor, id domain.StaffID) error {
	return w.ofOther(ctx, by, id, func(tx Tx, at time.Time, s *Staff) (string, error) {
		for _, g := range []gate{nameGate(s.Name), secondGate(id), pinGate(id)} {
			if err := tx.DropThrottle(ctx, g.key); err != nil {
				return "", err
			}
		}
		if err := tx.DropSecondFactor(ctx, id); err != nil {
			return "", err
		}
		if err := tx.DropPIN(ctx, id); err != nil {
			return "", err
		}
		return "second step, PIN and waits were taken off", tx.EndStays(ctx, id, stayOf(ctx), at, "the owner took the second step off")
	})
}

// ofOther changes how another person signs in.
func (w *Workshop) ofOther(ctx context.Context, by domain.Actor, id domain.StaffID, fn func(tx Tx, at time.Time, s *Staff) (string, error)) error {
	_, err := w.do(ctx, by, ActSignIns, func(tx Tx, at time.Time) (int64, error) {
		s, err := tx.Staff(ctx, id)
		if err != nil {
			return 0, err
		}
		what, err := fn(tx, at, s)
		if err != nil {
			return 0, err
		}
		return int64(id), changedRights(ctx, tx, at, by, s, what)
	})
	return err
}

// ChangeAccounts replaces the settings of who may stay signed in and how.
func (w *Workshop) ChangeAccounts(ctx context.Context, by domain.Actor, a Accounts, version int) error {
	_, err := w.do(ctx, by, ActChangeShop, func(tx Tx, at time.Time) (int64, error) {
		if err := a.Check(); err != nil {
			return 0, err
		}
		if by.Limited {
			return 0, domain.Deniedf("this needs the whole of your rights; sign in with your password")
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		was := shop.Accounts.OrUsual()
		shop.Accounts, shop.Version = a, version
		if err := tx.SaveShop(ctx, shop); err != nil {
			return 0, err
		}
		return 0, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, accountsChange(was, a.OrUsual()))
	})
	return err
}

func accountsChange(was, now Accounts) string {
	say := func(a Accounts) string {
		text := fmt.Sprintf("%d min idle, %d h in all, %d min by PIN", a.IdleMinutes, a.MostHours, a.PINMinutes)
		if a.OwnersSecond {
			text += ", owners need the second step"
		}
		return text
	}
	return "how long people stay signed in: from " + say(was) + " to " + say(now)
}

// UsualDeviceDays is how long a device is trusted when nobody said; MostDeviceDays
// the longest.
const (
	UsualDeviceDays = 180
	MostDeviceDays  = 366
)

// TrustDevice trusts the device of by for PINs and returns the secret that its
// cookie holds. It cannot be shown again, so it carries no idempotency key.
func (w *Workshop) TrustDevice(ctx context.Context, by domain.Actor, name string, days int) (string, time.Time, error) {
	secret, hash := NewToken()
	var d Device
	_, err := w.do(ctx, by, ActDevice, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		d = Device{Name: domain.Line(f, "name", name, 60, true), Hash: hash, By: by.Name, Since: at, Expires: at.AddDate(0, 0, days)}
		if days < 1 || days > MostDeviceDays {
			f.Add("days", "must be from 1 to %d", MostDeviceDays)
		}
		if err := f.Err(); err != nil {
			return 0, err
		}
		if err := tx.AddDevice(ctx, &d); err != nil {
			return 0, err
		}
		until, err := dayOf(ctx, tx, d.Expires)
		if err != nil {
			return 0, err
		}
		return d.ID, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, "trusted the device “"+d.Name+"” until "+string(until))
	})
	return secret, d.Expires, err
}

// RevokeDevice ends the trust in a device. Stays by PIN end at their usual time;
// those on this device end at once.
func (w *Workshop) RevokeDevice(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActDevice, func(tx Tx, at time.Time) (int64, error) {
		d, err := tx.Device(ctx, id)
		if err != nil {
			return 0, err
		}
		if !d.Revoked.IsZero() {
			return id, nil
		}
		d.Revoked = at
		if err := tx.SaveDevice(ctx, d); err != nil {
			return 0, err
		}
		if err := tx.EndStaysOn(ctx, id, at, "the device is trusted no more"); err != nil {
			return 0, err
		}
		return id, changedRights(ctx, tx, at, by, &Staff{ID: by.Staff, Name: by.Name}, "ended the trust in the device “"+d.Name+"”")
	})
	return err
}

// DeviceHere returns the trusted device of a secret out of a cookie.
func (w *Workshop) DeviceHere(ctx context.Context, q Queries, secret string) (*Device, error) {
	none := domain.Deniedf("this device is not trusted; an owner can trust it under Owner, Devices of the bench")
	if secret == "" || len(secret) > 200 {
		return nil, none
	}
	d, err := q.DeviceByHash(ctx, HashToken(secret))
	switch {
	case domain.KindOf(err) == domain.NotFound:
		return nil, none
	case err != nil:
		return nil, err
	case !d.Trusted(w.Now()):
		return nil, none
	}
	return d, nil
}

// SignInByPIN lets a person in at the bench, on a trusted device, by their PIN. The
// stay has the bench's hat alone, whatever else the person wears.
func (w *Workshop) SignInByPIN(ctx context.Context, q Queries, secret string, id domain.StaffID, pin string) (*Entered, error) {
	d, err := w.DeviceHere(ctx, q, secret)
	if err != nil {
		return nil, err
	}
	gs := gates(ctx, pinGate(id))
	slowed, err := w.pass(ctx, gs)
	if err != nil {
		return nil, err
	}
	s, hash, err := w.withPIN(ctx, id)
	if err != nil {
		return nil, err
	}
	if !SamePassword(hash, pin) || hash == nobody {
		if err := w.refusePIN(ctx, s, id, slowed); err != nil {
			return nil, err
		}
		return nil, &domain.Error{Kind: domain.SignIn, Text: "this is not the PIN; it can be set anew after signing in with the password"}
	}
	var e *Entered
	err = w.store.InTx(ctx, func(tx Tx) error {
		at := w.Now()
		if err := passed(ctx, tx, at, gs); err != nil {
			return err
		}
		d.Used = at
		if err := tx.SaveDevice(ctx, d); err != nil {
			return err
		}
		e, err = began(ctx, tx, at, s, ByPIN, d.ID)
		return err
	})
	if err != nil {
		return nil, err
	}
	return e, nil
}

// withPIN returns a person who may work at the bench, and the hash of their PIN;
// that of nobody when they have none.
func (w *Workshop) withPIN(ctx context.Context, id domain.StaffID) (*Staff, string, error) {
	var s *Staff
	hash := nobody
	err := w.store.InTx(ctx, func(tx Tx) error {
		s, hash = nil, nobody
		found, err := tx.Staff(ctx, id)
		if err != nil {
			return err
		}
		s = found
		kept, err := tx.PIN(ctx, id)
		if err != nil {
			return err
		}
		if s.Active && s.Actor().Wears(domain.Bench) {
			hash = kept
		}
		return nil
	})
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, "", err
	}
	return s, hash, nil
}

// refusePIN notes a wrong PIN; the last of too many takes the PIN off.
func (w *Workshop) refusePIN(ctx context.Context, s *Staff, id domain.StaffID, slowed bool) error {
	if err := w.refuse(ctx, s, ByPIN, slowed); err != nil || s == nil {
		return err
	}
	return w.store.InTx(ctx, func(tx Tx) error {
		at := w.Now()
		t, err := tx.Throttle(ctx, pinGate(id).key)
		if err != nil || t.Failures < mostPINs {
			return err
		}
		if _, err := tx.PIN(ctx, id); err != nil {
			if domain.KindOf(err) == domain.NotFound {
				return nil
			}
			return err
		}
		if err := tx.DropPIN(ctx, id); err != nil {
			return err
		}
		return changedRights(ctx, tx, at, domain.Actor{Name: s.Name}, s, fmt.Sprintf("the PIN was taken off after %d wrong ones", mostPINs))
	})
}

// firstLetters is how many letters the first code has, of five bits each: 60 bits.
const firstLetters = 12

// NewFirstCode makes a code that lets whoever reads it open the empty shop. It
// works once; others that were made before work too, since each server of a shop prints its own.
func (w *Workshop) NewFirstCode(ctx context.Context) (string, error) {
	code := newCode(firstLetters)
	err := w.store.InTx(ctx, func(tx Tx) error { return tx.AddFirstCode(ctx, HashToken(code), w.Now()) })
	if err != nil {
		return "", fmt.Errorf("make the first code: %w", err)
	}
	return dashed(code), nil
}

// SetUpByCode is [Workshop.SetUp] for who knows a code of [Workshop.NewFirstCode].
// Wrong codes are slowed as wrong passwords are.
func (w *Workshop) SetUpByCode(ctx context.Context, in Founding, code string) (domain.StaffID, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	gs := gates(ctx, gateOf("first", "", SlowName))
	if _, err := w.pass(ctx, gs); err != nil {
		return 0, err
	}
	return w.setUp(ctx, in, func(tx Tx) error {
		at := w.Now()
		ok, err := tx.UseFirstCode(ctx, HashToken(plainCode(code)), at)
		if err != nil {
			return err
		}
		if !ok {
			return wrongField("code", "is not the code that the program printed when it started; starting it again prints a new one")
		}
		return passed(ctx, tx, at, gs)
	})
}
