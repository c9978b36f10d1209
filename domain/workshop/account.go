package workshop

import (
	"context"
	"net/netip"
	"time"

	"winterbench/domain"
)

// Accounts are the shop's settings of who may stay signed in and how.
type Accounts struct {
	IdleMinutes  int  `json:"idle_minutes"`  // without a request, until a stay ends; 0: the usual 240
	MostHours    int  `json:"most_hours"`    // from the sign-in, until a stay ends all the same; 0: the usual 12
	PINMinutes   int  `json:"pin_minutes"`   // as IdleMinutes, of a stay by PIN; 0: the usual 15
	OwnersSecond bool `json:"owners_second"` // who wears the owner's hat must set up the second step before anything else
}

// MostStay is the longest that a stay can be set to last, so that the session
// behind it may be kept as long.
const MostStay = 72 * time.Hour

// OrUsual puts the usual figures in place of zeros. Source: common practice, no
// source: a shop's day is shorter than 12 hours.
func (a Accounts) OrUsual() Accounts {
	if a.IdleMinutes == 0 {
		a.IdleMinutes = 240
	}
	if a.MostHours == 0 {
		a.MostHours = 12
	}
	if a.PINMinutes == 0 {
		a.PINMinutes = 15
	}
	return a
}

// Check returns an Invalid error that names each wrong field.
func (a Accounts) Check() error {
	f := domain.Fields{}
	between := func(name string, n, low, high int, unit string) {
		if n != 0 && (n < low || n > high) {
			f.Add(name, "must be from %d to %d %s", low, high, unit)
		}
	}
	between("idle_minutes", a.IdleMinutes, 5, 24*60, "minutes")
	between("most_hours", a.MostHours, 1, int(MostStay/time.Hour), "hours")
	between("pin_minutes", a.PINMinutes, 1, 120, "minutes")
	return f.Err()
}

// How somebody signed in.
type How string

// The ways. ByChange marks a line of the log that is no sign-in.
const (
	ByPassword How = "password"
	BySecond   How = "second step"
	ByRecovery How = "recovery code"
	ByPIN      How = "PIN"
	ByFirst    How = "first"
	ByChange   How = "change"
)

// Stay is one from a sign-in to its end.
type Stay struct {
	ID     int64
	Staff  domain.StaffID
	How    How
	Device int64  // the trusted device, 0 for any other
	Place  string // what kind of address it came from
	Began  time.Time
	Seen   time.Time // to about a minute
	Ended  time.Time // zero: nobody ended it; it may have run out
	Why    string    // it was ended
}

// Ends is when the stay runs out by itself, as the settings have it.
func (s *Stay) Ends(a Accounts) time.Time {
	a = a.OrUsual()
	idle := time.Duration(a.IdleMinutes) * time.Minute
	if s.How == ByPIN {
		idle = time.Duration(a.PINMinutes) * time.Minute
	}
	ends, most := s.Seen.Add(idle), s.Began.Add(time.Duration(a.MostHours)*time.Hour)
	if most.Before(ends) {
		return most
	}
	return ends
}

// Runs reports whether the stay lets somebody in at a moment.
func (s *Stay) Runs(a Accounts, at time.Time) bool { return s.Ended.IsZero() && at.Before(s.Ends(a)) }

// SignInNote is a line of the log of sign-ins and changed rights.
type SignInNote struct {
	ID      int64
	At      time.Time
	Staff   domain.StaffID // 0: the name belongs to nobody
	Name    string         // "" with Staff 0: what was typed is not kept, it may be a password
	How     How
	Outcome Outcome
	Place   string
	What    string // of a change, in words
	By      string // who did it, when it was not the person
}

// Outcome is how a try to sign in ended.
type Outcome string

// The outcomes.
const (
	CameIn  Outcome = "in"
	HalfWay Outcome = "half way" // the password was right, the second step is to come
	Refused Outcome = "refused"
	Slowed  Outcome = "slowed" // refused, and from now on each try waits
	WentOut Outcome = "out"
	Changed Outcome = "changed"
)

// SecondFactor is a person's secret of the second step. It is kept as it is, for
// codes are computed with it.
type SecondFactor struct {
	Staff     domain.StaffID
	Secret    string // base32
	Made      time.Time
	Confirmed time.Time // zero: it is not asked for yet
	LastStep  int64     // of the code used last
}

// Device is a device of the shop on which a PIN is enough for the bench.
type Device struct {
	ID      int64
	Name    string
	Hash    string // of the secret in its cookie, SHA-256 in hex
	By      string // who trusted it
	Since   time.Time
	Expires time.Time
	Used    time.Time // zero: never
	Revoked time.Time // zero: it is trusted
}

// Trusted reports whether the device is trusted at a moment.
func (d *Device) Trusted(at time.Time) bool { return d.Revoked.IsZero() && at.Before(d.Expires) }

// AccountQueries are the reads behind sign-ins.
type AccountQueries interface {
	StayByID(ctx context.Context, id int64) (*Stay, error)
	// StaysOf reads the stays of a person that nobody ended, newest first, and
	// which began after a moment.
	StaysOf(ctx context.Context, id domain.StaffID, after time.Time) ([]Stay, error)
	// SignIns reads the log, newest first; of one person, or of all with id 0.
	SignIns(ctx context.Context, id domain.StaffID, p Page) ([]SignInNote, int, error)
	// SecondFactorOf reads a person's second step and how many recovery codes are left.
	SecondFactorOf(ctx context.Context, id domain.StaffID) (*SecondFactor, int, error)
	// WithPIN lists who has a PIN.
	WithPIN(ctx context.Context) ([]domain.StaffID, error)
	Devices(ctx context.Context) ([]Device, error) // newest first, also the revoked
	DeviceByHash(ctx context.Context, hash string) (*Device, error)
}

// AccountTx writes sign-ins inside one transaction.
type AccountTx interface {
	// Throttle reads the state of a key and locks it; one that is not kept is zero.
	Throttle(ctx context.Context, key string) (Throttle, error)
	SaveThrottle(ctx context.Context, t Throttle) error
	DropThrottle(ctx context.Context, key string) error
	DropThrottlesBefore(ctx context.Context, at time.Time) error // those not touched since

	AddStay(ctx context.Context, s *Stay) error
	SeeStay(ctx context.Context, id int64, at time.Time) error
	EndStay(ctx context.Context, id int64, at time.Time, why string) error
	// EndStays ends all of a person's stays but one, which may be 0.
	EndStays(ctx context.Context, id domain.StaffID, but int64, at time.Time, why string) error
	EndStaysOn(ctx context.Context, device int64, at time.Time, why string) error

	NoteSignIn(ctx context.Context, n *SignInNote) error

	SecondFactor(ctx context.Context, id domain.StaffID) (*SecondFactor, error) // locked
	SaveSecondFactor(ctx context.Context, s *SecondFactor) error                // adds or replaces
	DropSecondFactor(ctx context.Context, id domain.StaffID) error              // with its recovery codes
	SetRecoveryCodes(ctx context.Context, id domain.StaffID, hashes []string) error
	// UseRecoveryCode marks a code as used and reports whether it was there unused.
	UseRecoveryCode(ctx context.Context, id domain.StaffID, hash string, at time.Time) (bool, error)

	PIN(ctx context.Context, id domain.StaffID) (string, error) // the hash
	SavePIN(ctx context.Context, id domain.StaffID, hash string, at time.Time) error
	DropPIN(ctx context.Context, id domain.StaffID) error

	Device(ctx context.Context, id int64) (*Device, error)
	AddDevice(ctx context.Context, d *Device) error
	SaveDevice(ctx context.Context, d *Device) error // times only

	AddFirstCode(ctx context.Context, hash string, at time.Time) error
	// UseFirstCode marks a code as used and reports whether it was there unused.
	UseFirstCode(ctx context.Context, hash string, at time.Time) (bool, error)
}

type (
	addressInContext struct{}
	stayInContext    struct{}
)

// WithAddress puts the address that a request came from into the context: tries
// to sign in are counted by it.
func WithAddress(ctx context.Context, a netip.Addr) context.Context {
	return context.WithValue(ctx, addressInContext{}, a)
}

// AddressOf is the address that a request came from, not valid when unknown.
func AddressOf(ctx context.Context) netip.Addr {
	a, _ := ctx.Value(addressInContext{}).(netip.Addr)
	return a
}

// WithStay puts the stay of who acts into the context: what signs a person out
// everywhere leaves this one.
func WithStay(ctx context.Context, id int64) context.Context {
	return context.WithValue(ctx, stayInContext{}, id)
}

func stayOf(ctx context.Context) int64 {
	id, _ := ctx.Value(stayInContext{}).(int64)
	return id
}

// placeOf says what kind of address a request came from. The address itself is
// not kept: it would tell more of people than the log needs.
func placeOf(ctx context.Context) string {
	a := AddressOf(ctx).Unmap()
	switch {
	case !a.IsValid():
		return "the terminal"
	case a.IsLoopback():
		return "this machine"
	case a.IsPrivate(), a.IsLinkLocalUnicast():
		return "a private network"
	}
	return "the internet"
}

// noted writes a line into the log of sign-ins.
func noted(ctx context.Context, tx Tx, at time.Time, s *Staff, how How, out Outcome) error {
	n := SignInNote{At: at, How: how, Outcome: out, Place: placeOf(ctx)}
	if s != nil {
		n.Staff, n.Name = s.ID, s.Name
	}
	return tx.NoteSignIn(ctx, &n)
}

// changedRights writes what was changed of a person's rights into the log.
func changedRights(ctx context.Context, tx Tx, at time.Time, by domain.Actor, s *Staff, what string) error {
	n := SignInNote{At: at, Staff: s.ID, Name: s.Name, How: ByChange, Outcome: Changed, Place: placeOf(ctx), What: what}
	if by.Name != s.Name {
		n.By = by.Name
	}
	return tx.NoteSignIn(ctx, &n)
}
