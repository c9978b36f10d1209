package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/netip"
	"time"

	"winterbench/domain"
)

// Throttle is how often something was tried in vain, and when it may be tried again.
type Throttle struct {
	Key      string // a hash
	Failures int
	Last     time.Time // zero: never tried
	Next     time.Time
}

// Slowing is how tries in vain are slowed. The first Free of them cost nothing;
// before each further one there is a wait of 1 s, then 2, 4, 8 and so on up to
// Most. After Forget without a try all begins anew; 0 never forgets.
type Slowing struct {
	Free   int
	Most   time.Duration
	Forget time.Duration
}

// How tries are slowed. By these, a day allows about 110 tries of one name and about
// 335 from one address; docs/security.md has the sums. Source: growing waits
// rather than a locked door are common practice, no source for the figures.
var (
	SlowName    = Slowing{Free: 5, Most: 15 * time.Minute, Forget: 24 * time.Hour}
	SlowAddress = Slowing{Free: 40, Most: 5 * time.Minute, Forget: time.Hour}
	SlowPIN     = Slowing{Free: 3, Most: 15 * time.Minute, Forget: 24 * time.Hour}
)

// mostPINs is how many wrong PINs in a row take a PIN off, until a new one is set.
const mostPINs = 20

// Wait is how long must pass after so many tries in vain.
func (r Slowing) Wait(failures int) time.Duration {
	over := failures - r.Free
	if over < 0 {
		return 0
	}
	if over > 30 {
		return r.Most
	}
	return min(time.Second<<over, r.Most)
}

// tried is the state after one more try at a moment, as if it were in vain.
func (r Slowing) tried(t Throttle, at time.Time) Throttle {
	if r.Forget > 0 && at.Sub(t.Last) > r.Forget {
		t.Failures = 0
	}
	t.Failures, t.Last = t.Failures+1, at
	t.Next = at.Add(r.Wait(t.Failures))
	return t
}

// gate is one count that a try must pass.
type gate struct {
	key  string
	rule Slowing
	kept bool // a success takes one try back instead of all: others came through here too
}

// gateOf names a gate; what is counted is hashed, so that the database tells no
// names and addresses.
func gateOf(kind, what string, rule Slowing) gate {
	sum := sha256.Sum256([]byte(kind + "\x00" + what))
	return gate{key: hex.EncodeToString(sum[:]), rule: rule}
}

func nameGate(name string) gate { return gateOf("name", NameKey(name), SlowName) }
func pinGate(id domain.StaffID) gate {
	return gateOf("PIN", fmt.Sprint(id), SlowPIN)
}
func secondGate(id domain.StaffID) gate {
	return gateOf("second", fmt.Sprint(id), SlowName)
}

// addressGate counts by address, in IPv6 by its network of 64 bits, which one
// customer of a provider usually has whole. Source: RFC 6177, sites get a /64 or more.
func addressGate(a netip.Addr) (gate, bool) {
	if !a.IsValid() {
		return gate{}, false
	}
	a = a.Unmap().WithZone("")
	text := a.String()
	if a.Is6() {
		text = netip.PrefixFrom(a, 64).Masked().String()
	}
	g := gateOf("address", text, SlowAddress)
	g.kept = true
	return g, true
}

// gates adds the gate of the request's address, which stands first.
func gates(ctx context.Context, others ...gate) []gate {
	if g, ok := addressGate(AddressOf(ctx)); ok {
		return append([]gate{g}, others...)
	}
	return others
}

// pass counts a try at each gate before it is known how it ends, so that many at
// once pass no more often than one after the other. It changes nothing and returns
// a LaterError when a gate is not open yet. slowed tells that the next try will
// be the first that waits.
func (w *Workshop) pass(ctx context.Context, gs []gate) (slowed bool, err error) {
	err = w.store.InTx(ctx, func(tx Tx) error {
		at := w.Now()
		slowed = false
		var next []Throttle
		for _, g := range gs {
			t, err := tx.Throttle(ctx, g.key)
			if err != nil {
				return err
			}
			if at.Before(t.Next) {
				return tooSoon(t.Next.Sub(at))
			}
			t = g.rule.tried(t, at)
			slowed = slowed || t.Failures == g.rule.Free
			next = append(next, t)
		}
		for _, t := range next {
			if err := tx.SaveThrottle(ctx, t); err != nil {
				return err
			}
		}
		return nil
	})
	return slowed, err
}

// tooSoon says how long to wait, in whole seconds.
func tooSoon(wait time.Duration) error {
	n := int((wait + time.Second - 1) / time.Second)
	text := fmt.Sprintf("%d seconds", n)
	switch {
	case n == 1:
		text = "a second"
	case n > 90:
		text = fmt.Sprintf("%d minutes", (n+59)/60)
	}
	return &domain.LaterError{Text: "that went wrong too often; wait " + text + " and try again", Wait: wait}
}

// passed takes the try back, within the transaction of the success.
func passed(ctx context.Context, tx Tx, at time.Time, gs []gate) error {
	for _, g := range gs {
		if !g.kept {
			if err := tx.DropThrottle(ctx, g.key); err != nil {
				return err
			}
			continue
		}
		t, err := tx.Throttle(ctx, g.key)
		if err != nil {
			return err
		}
		t.Failures, t.Next = max(t.Failures-1, 0), at
		if err := tx.SaveThrottle(ctx, t); err != nil {
			return err
		}
	}
	return tx.DropThrottlesBefore(ctx, at.Add(-2*SlowName.Forget))
}
