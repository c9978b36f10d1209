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
// templates. It is a conflict once there is anybody. It asks for no code: what a
// stranger can reach goes by [Workshop.SetUpByCode].
func (w *Workshop) SetUp(ctx context.Context, in Founding) (domain.StaffID, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	return w.setUp(ctx, in, func(Tx) error { return nil })
}

// setUp opens an empty shop unless allowed returns an error.
func (w *Workshop) setUp(ctx context.Context, in Founding, allowed func(Tx) error) (domain.StaffID, error) {
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
		if err := allowed(tx); err != nil {
			return err
		}
		s, o := in.Shop, owner
		o.Since = w.Now()
		if err := tx.AddStaff(ctx, &o); err != nil {
			return err
		}
		owner.ID = o.ID
		if err := changedRights(ctx, tx, o.Since, domain.Actor{Name: o.Name}, &o, "opened the shop, with every hat"); err != nil {
			return err
		}
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

// seedParts lists the parts that the built-in templates bill or use up, still without
// a price: the shop gives those it bills theirs before it quotes them. Of supplies
// no stock is kept until some are received or counted; from then on they are reserved.
func seedParts(ctx context.Context, tx Tx) error {
	all, err := templates.Builtin()
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, t := range all {
		for _, m := range t.Materials {
			if m.Part == "" || seen[m.Part] {
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
		next.Demo, next.Accounts = old.Demo, old.Accounts
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
		if err := changedRights(ctx, tx, at, by, &n, "added with the hats "+rolesWords(n.Roles)); err != nil {
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
		if err := afterChange(ctx, tx, at, by, old, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "changed "+n.Name+" on the staff", "", "")
	})
	return w.changed(err)
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

// NotePart adds a part to the list (ID 0) or saves a changed one. With a markup the
// price follows the cost. Whether stock is kept of it is for the shelf to say.
func (w *Workshop) NotePart(ctx context.Context, by domain.Actor, p stock.Part) (domain.PartID, error) {
	id, err := w.do(ctx, by, ActPart, func(tx Tx, at time.Time) (int64, error) {
		n := p
		n.Kept = false
		if err := n.Check(); err != nil {
			return 0, err
		}
		n.Follow()
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
		old, err := tx.Part(ctx, n.ID)
		if err != nil {
			return 0, err
		}
		if old.Kept && old.Unit != n.Unit {
			return 0, unitKept(old)
		}
		n.Kept = old.Kept
		return int64(n.ID), tx.SavePart(ctx, &n)
	})
	return domain.PartID(id), err
}

func unitKept(p *stock.Part) error {
	text := "stays " + p.Unit + ": the shelf is counted in it; add another part for another unit"
	return &domain.Error{Kind: domain.Conflict, Text: "the unit of " + p.Name + " " + text, Fields: domain.Fields{"unit": text}}
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
	if err := tx.AddEdition(ctx, e); domain.KindOf(err) == domain.Conflict { // another program added this number first
		return 0, domain.Conflictf("the template %s was changed meanwhile; look at it again", n.Code)
	} else if err != nil {
		return 0, err
	}
	return int64(e.Number), note(ctx, tx, 0, by, at, change.What, change.Before, change.After)
}
