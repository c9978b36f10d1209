package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// Founding is what an empty shop needs to open.
type Founding struct {
	Shop     Shop
	Owner    string // name of the first person, who wears every hat
	Password string
}

// Check returns an Invalid error that names each wrong field: shop.* of the
// settings, owner.* of the first person.
func (in *Founding) Check() error {
	f := domain.Fields{}
	f.AddErr("shop", in.Shop.Check())
	owner := in.person()
	f.AddErr("owner", owner.Check())
	f.AddErr("owner", CheckPassword(in.Owner, in.Password))
	return f.Err()
}

// person is the owner, still without a password.
func (in *Founding) person() Staff {
	return Staff{Name: in.Owner, Roles: domain.Roles(), Active: true}
}

// SetUp opens an empty shop: its settings, its first person and the built-in
// templates. It is a conflict once there is anybody.
func (w *Workshop) SetUp(ctx context.Context, in Founding) (domain.StaffID, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	owner := in.person()
	if err := owner.Check(); err != nil { // tidies the name
		return 0, err
	}
	owner.Password = HashPassword(in.Password)
	err := w.store.InTx(ctx, func(tx Tx) error {
		n, err := tx.StaffCount(ctx)
		if err != nil {
			return err
		}
		if n > 0 {
			return domain.Conflictf("this shop is set up already; sign in to change it")
		}
		s, o := in.Shop, owner
		o.Since = w.Now()
		if err := tx.AddStaff(ctx, &o); err != nil {
			return err
		}
		owner.ID = o.ID
		if err := tx.SaveShop(ctx, &s); err != nil {
			return err
		}
		if err := w.seed(ctx, tx); err != nil {
			return err
		}
		return seedParts(ctx, tx)
	})
	return owner.ID, err
}

// seedParts lists the parts that the built-in templates bill, still without a
// price: the shop gives them theirs before it quotes them.
func seedParts(ctx context.Context, tx Tx) error {
	all, err := templates.Builtin()
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, t := range all {
		for _, m := range t.Materials {
			if !m.Billed || seen[m.Part] {
				continue
			}
			seen[m.Part] = true
			p := stock.Part{Code: m.Part, Name: m.Name, Unit: m.Unit, Kind: money.LineKind(m.Kind)}
			if !slices.Contains(stock.Units(), p.Unit) {
				p.Unit = "each"
			}
			if err := tx.AddPart(ctx, &p); err != nil {
				return err
			}
		}
	}
	return nil
}

// SeedTemplates brings built-in templates that the shop has not got into its
// list: new ones, and newer revisions of those it never changed.
func (w *Workshop) SeedTemplates(ctx context.Context) error {
	return w.store.InTx(ctx, func(tx Tx) error { return w.seed(ctx, tx) })
}

func (w *Workshop) seed(ctx context.Context, tx Tx) error {
	all, err := templates.Builtin()
	if err != nil {
		return err
	}
	have, err := tx.Editions(ctx)
	if err != nil {
		return err
	}
	for _, t := range all {
		e, there := have[t.Code]
		if there && (!e.BuiltIn || e.Revision >= t.Revision) {
			continue
		}
		body, err := templates.Encode(t)
		if err != nil {
			return err
		}
		if err := tx.AddEdition(ctx, EditionNote{Code: t.Code, Number: e.Number + 1, Body: body, Origin: BuiltIn, At: w.Now()}); err != nil {
			return err
		}
	}
	return nil
}

// ChangeShop replaces the settings, with version as the caller saw it.
func (w *Workshop) ChangeShop(ctx context.Context, by domain.Actor, s Shop) error {
	_, err := w.do(ctx, by, ActChangeShop, func(tx Tx, at time.Time) (int64, error) {
		if err := s.Check(); err != nil {
			return 0, err
		}
		old, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		next := s
		next.Demo = old.Demo
		if next.Currency.Code != old.Currency.Code {
			return 0, domain.Conflictf("the currency is fixed once the shop is open; it is %s", old.Currency.Code)
		}
		if err := tx.SaveShop(ctx, &next); err != nil {
			return 0, err
		}
		return 0, note(ctx, tx, 0, by, at, "changed the shop's settings", "", "")
	})
	return w.changed(err)
}

// SignIn returns the person with this name and password. Whether the name or
// the password was wrong is not told.
func (w *Workshop) SignIn(ctx context.Context, name, password string) (*Staff, error) {
	var s *Staff
	err := w.store.InTx(ctx, func(tx Tx) (err error) {
		s, err = tx.StaffByName(ctx, NameKey(name))
		return err
	})
	if err != nil && domain.KindOf(err) != domain.NotFound {
		return nil, err
	}
	hash := nobody
	if err == nil && s.Active && s.Password != "" {
		hash = s.Password
	}
	if !SamePassword(hash, password) || hash == nobody {
		return nil, &domain.Error{Kind: domain.SignIn, Text: "name and password do not belong together"}
	}
	return s, nil
}

// SignInByToken returns the person that an API token signs in.
func (w *Workshop) SignInByToken(ctx context.Context, token string) (*Staff, error) {
	var s *Staff
	err := w.store.InTx(ctx, func(tx Tx) error {
		t, err := tx.TokenByHash(ctx, HashToken(token))
		if err != nil {
			return err
		}
		if !t.Revoked.IsZero() {
			return domain.NotFoundf("the token was revoked")
		}
		if s, err = tx.Staff(ctx, t.Staff); err != nil {
			return err
		}
		if at := w.Now(); at.Sub(t.Used) > time.Minute {
			t.Used = at
			return tx.SaveToken(ctx, t)
		}
		return nil
	})
	if err != nil && domain.KindOf(err) == domain.Internal {
		return nil, err
	}
	if err != nil || !s.Active {
		return nil, &domain.Error{Kind: domain.SignIn, Text: "this token signs nobody in"}
	}
	return s, nil
}

// AddStaff adds a person.
func (w *Workshop) AddStaff(ctx context.Context, by domain.Actor, s Staff, password string) (domain.StaffID, error) {
	id, err := w.do(ctx, by, ActStaff, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		f.AddErr("", s.Check())
		f.AddErr("", CheckPassword(s.Name, password))
		if err := flat(f).Err(); err != nil {
			return 0, err
		}
		if _, err := tx.StaffByName(ctx, NameKey(s.Name)); err == nil {
			return 0, &domain.Error{Kind: domain.Conflict, Text: "somebody has this name already", Fields: domain.Fields{"name": "somebody has this name already"}}
		} else if domain.KindOf(err) != domain.NotFound {
			return 0, err
		}
		n := s
		n.Password, n.Active, n.Since = HashPassword(password), true, at
		if err := tx.AddStaff(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "added "+n.Name+" to the staff", "", "")
	})
	return domain.StaffID(id), w.changed(err)
}

// flat takes the leading dot off field names that were added under "".
func flat(f domain.Fields) domain.Fields {
	out := domain.Fields{}
	for name, text := range f {
		for len(name) > 0 && name[0] == '.' {
			name = name[1:]
		}
		out[name] = text
	}
	return out
}

// ChangeStaff changes a person's name, hats, working time, skill and whether
// they may sign in; a password that is not empty replaces theirs. The last active
// owner stays one.
func (w *Workshop) ChangeStaff(ctx context.Context, by domain.Actor, s Staff, password string, others []Staff) error {
	_, err := w.do(ctx, by, ActStaff, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		f.AddErr("", s.Check())
		if password != "" {
			f.AddErr("", CheckPassword(s.Name, password))
		}
		if err := flat(f).Err(); err != nil {
			return 0, err
		}
		old, err := tx.Staff(ctx, s.ID)
		if err != nil {
			return 0, err
		}
		stays := s.Active && s.Actor().Wears(domain.Owner)
		for _, o := range others {
			stays = stays || (o.ID != s.ID && o.Active && o.Actor().Wears(domain.Owner))
		}
		if !stays {
			return 0, domain.Conflictf("somebody must stay who can sign in as owner")
		}
		n := *old
		n.Name, n.Roles, n.Active, n.Version = s.Name, s.Roles, s.Active, s.Version
		n.Hours, n.Away, n.Skill = s.Hours, s.Away, s.Skill
		if password != "" {
			n.Password = HashPassword(password)
		}
		if err := tx.SaveStaff(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "changed "+n.Name+" on the staff", "", "")
	})
	return w.changed(err)
}

// AddToken makes an API token for by and returns it; it cannot be shown again,
// so it is no use case to carry an idempotency key.
func (w *Workshop) AddToken(ctx context.Context, by domain.Actor, name string) (string, error) {
	token, hash := NewToken()
	_, err := w.do(ctx, by, ActToken, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		name := domain.Line(f, "name", name, 60, true)
		if err := f.Err(); err != nil {
			return 0, err
		}
		t := Token{Staff: by.Staff, Name: name, Hash: hash, Created: at}
		err := tx.AddToken(ctx, &t)
		return t.ID, err
	})
	return token, err
}

// RevokeToken ends a token of by.
func (w *Workshop) RevokeToken(ctx context.Context, by domain.Actor, id int64) error {
	_, err := w.do(ctx, by, ActToken, func(tx Tx, at time.Time) (int64, error) {
		t, err := tx.Token(ctx, id)
		if err != nil {
			return 0, err
		}
		if t.Staff != by.Staff && !by.Wears(domain.Owner) {
			return 0, domain.Deniedf("only its owner may revoke a token")
		}
		t.Revoked = at
		return id, tx.SaveToken(ctx, t)
	})
	return err
}

// NoteCustomer adds a customer (ID 0) or saves a changed one.
func (w *Workshop) NoteCustomer(ctx context.Context, by domain.Actor, c customer.Customer) (domain.CustomerID, error) {
	id, err := w.do(ctx, by, ActCustomer, func(tx Tx, at time.Time) (int64, error) {
		n := c
		if err := n.Check(); err != nil {
			return 0, err
		}
		if n.ID == 0 {
			n.Since = at
			err := tx.AddCustomer(ctx, &n)
			return int64(n.ID), err
		}
		old, err := tx.Customer(ctx, n.ID)
		if err != nil {
			return 0, err
		}
		n.Since = old.Since
		return int64(n.ID), tx.SaveCustomer(ctx, &n)
	})
	return domain.CustomerID(id), err
}

// NoteInstrument adds an instrument (ID 0) or saves a changed one.
func (w *Workshop) NoteInstrument(ctx context.Context, by domain.Actor, in customer.Instrument) (domain.InstrumentID, error) {
	id, err := w.do(ctx, by, ActInstrument, func(tx Tx, at time.Time) (int64, error) {
		n := in
		if err := n.Check(); err != nil {
			return 0, err
		}
		if _, err := tx.Customer(ctx, n.Owner); err != nil {
			return 0, err
		}
		if n.ID == 0 {
			n.Since = at
			err := tx.AddInstrument(ctx, &n)
			return int64(n.ID), err
		}
		old, err := tx.Instrument(ctx, n.ID)
		if err != nil {
			return 0, err
		}
		n.Since = old.Since
		if err := tx.SaveInstrument(ctx, &n); err != nil || n.Owner == old.Owner {
			return int64(n.ID), err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, n.Title()+" has another owner", fmt.Sprint(old.Owner), fmt.Sprint(n.Owner))
	})
	return domain.InstrumentID(id), err
}

// NotePart adds a part to the list (ID 0) or saves a changed one.
func (w *Workshop) NotePart(ctx context.Context, by domain.Actor, p stock.Part) (domain.PartID, error) {
	id, err := w.do(ctx, by, ActPart, func(tx Tx, at time.Time) (int64, error) {
		n := p
		if err := n.Check(); err != nil {
			return 0, err
		}
		all, err := tx.Parts(ctx)
		if err != nil {
			return 0, err
		}
		for _, o := range all {
			if o.Code == n.Code && o.ID != n.ID {
				text := "is taken by " + o.Name
				return 0, &domain.Error{Kind: domain.Conflict, Text: "the code " + text, Fields: domain.Fields{"code": text}}
			}
		}
		if n.ID == 0 {
			err := tx.AddPart(ctx, &n)
			return int64(n.ID), err
		}
		if _, err := tx.Part(ctx, n.ID); err != nil {
			return 0, err
		}
		return int64(n.ID), tx.SavePart(ctx, &n)
	})
	return domain.PartID(id), err
}

// Origins of a template edition.
const (
	BuiltIn  = "built-in"
	ShopsOwn = "shop"
)

// NoteTemplate keeps a new edition of a task template, from then on used for
// new quotes; running jobs keep theirs. The code must fit in with the others.
func (w *Workshop) NoteTemplate(ctx context.Context, by domain.Actor, t templates.Template, seen int) (int, error) {
	number, err := w.do(ctx, by, ActTemplate, func(tx Tx, at time.Time) (int64, error) {
		if err := t.Validate(); err != nil {
			return 0, err
		}
		have, err := tx.Editions(ctx)
		if err != nil {
			return 0, err
		}
		if have[t.Code].Number != seen {
			return 0, seenOther(t.Code, have[t.Code].Number, seen)
		}
		n := t
		n.LearnedUntil = "" // minutes that were typed are an opinion; the work is evidence again
		if old := have[t.Code].Template; t.SameMinutes(old) {
			n.LearnedUntil = old.LearnedUntil
		}
		return keepEdition(ctx, tx, by, at, have, n, editionChange{What: "changed the template " + t.Code + " " + t.Name})
	})
	return int(number), err
}

// seenOther is the conflict of who changes a template that was changed meanwhile.
func seenOther(code string, newest, seen int) error {
	return domain.Conflictf("%s was changed meanwhile: there is edition %d, you saw %d", code, newest, seen)
}

// editionChange is what the diary says of a new edition.
type editionChange struct{ What, Before, After string }

// keepEdition adds a new edition of a template to those there are and returns its
// number.
func keepEdition(ctx context.Context, tx Tx, by domain.Actor, at time.Time, have map[string]quote.Edition, t templates.Template, change editionChange) (int64, error) {
	old, n := have[t.Code], t
	n.Revision = max(old.Revision+1, t.Revision)
	set := []templates.Template{n}
	for code, e := range have {
		if code != n.Code {
			set = append(set, e.Template)
		}
	}
	if err := templates.CheckSet(set); err != nil {
		return 0, err
	}
	body, err := templates.Encode(n)
	if err != nil {
		return 0, err
	}
	e := EditionNote{Code: n.Code, Number: old.Number + 1, Body: body, Origin: ShopsOwn, At: at, By: by.Name}
	if err := tx.AddEdition(ctx, e); err != nil {
		return 0, err
	}
	return int64(e.Number), note(ctx, tx, 0, by, at, change.What, change.Before, change.After)
}
