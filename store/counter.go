package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// creditNoteRow is a row of credit_notes.
type creditNoteRow struct {
	ID        int64
	Number    int
	InvoiceID int64
	JobID     *int64
	IssuedOn  string
	Reason    string
	Totals    string
	Total     int64
	IssuedBy  string
	IssuedAt  moment
}

func (creditNoteRow) TableName() string { return "credit_notes" }
func (r *creditNoteRow) key() *int64    { return &r.ID }

// creditLineRow is a row of credit_note_lines.
type creditLineRow struct {
	ID           int64
	CreditNoteID int64
	Place        int
	Count        string
	Net          int64
}

func (creditLineRow) TableName() string { return "credit_note_lines" }

// AddCreditNote inserts a credit note with its lines and sets its identity.
func (t *tx) AddCreditNote(ctx context.Context, c *billing.CreditNote) error {
	totals, err := toJSON(c.Totals)
	if err != nil {
		return err
	}
	row := creditNoteRow{
		Number: c.Number, InvoiceID: int64(c.Invoice), JobID: idOrNull(c.Job), IssuedOn: string(c.Date), Reason: c.Reason,
		Totals: totals, Total: int64(c.Totals.Total), IssuedBy: c.IssuedBy, IssuedAt: at(c.IssuedAt),
	}
	db := t.db.WithContext(ctx)
	if err := addRow(db, &row); err != nil {
		return fmt.Errorf("credit note %d: %w", c.Number, err)
	}
	lines := make([]creditLineRow, len(c.Lines))
	for i, l := range c.Lines {
		lines[i] = creditLineRow{CreditNoteID: row.ID, Place: l.Place, Count: l.Count.String(), Net: int64(l.Net)}
	}
	if err := db.CreateInBatches(&lines, rowsAtOnce).Error; err != nil {
		return fmt.Errorf("add the lines of credit note %d: %w", c.Number, translate(err))
	}
	c.ID = domain.CreditNoteID(row.ID)
	return nil
}

// withCredits reads what came after an invoice: its credit notes, oldest first, and
// whether it was given up.
func withCredits(db *gorm.DB, v *billing.Invoice) error {
	var heads []creditNoteRow
	if err := db.Where("invoice_id = ?", v.ID).Order("id").Find(&heads).Error; err != nil {
		return fmt.Errorf("read the credit notes of invoice %d: %w", v.Number, translate(err))
	}
	for i := range heads {
		c, err := creditOf(db, &heads[i])
		if err != nil {
			return err
		}
		v.Credits = append(v.Credits, c)
	}
	var offs []writeOffRow
	if err := db.Where("invoice_id = ?", v.ID).Limit(1).Find(&offs).Error; err != nil {
		return fmt.Errorf("read what was given up of invoice %d: %w", v.Number, translate(err))
	}
	for i := range offs {
		v.WriteOff = offs[i].writeOff()
	}
	return nil
}

func creditOf(db *gorm.DB, r *creditNoteRow) (billing.CreditNote, error) {
	c := billing.CreditNote{
		ID: domain.CreditNoteID(r.ID), Number: r.Number, Invoice: domain.InvoiceID(r.InvoiceID), Job: orZero[domain.JobID](r.JobID),
		Date: domain.Date(r.IssuedOn), Reason: r.Reason, IssuedBy: r.IssuedBy, IssuedAt: r.IssuedAt.Time,
	}
	if err := fromJSON(r.Totals, &c.Totals); err != nil {
		return c, fmt.Errorf("read credit note %d: %w", r.Number, err)
	}
	var lines []creditLineRow
	if err := db.Where("credit_note_id = ?", r.ID).Order("place").Find(&lines).Error; err != nil {
		return c, fmt.Errorf("read the lines of credit note %d: %w", r.Number, translate(err))
	}
	for _, l := range lines {
		line := billing.CreditLine{Place: l.Place, Net: money.Amount(l.Net)}
		if err := readDigits(digits{&line.Count, l.Count}); err != nil {
			return c, fmt.Errorf("read the lines of credit note %d: %w", r.Number, err)
		}
		c.Lines = append(c.Lines, line)
	}
	return c, nil
}

// InvoiceOfCreditNote returns the invoice that a credit note takes back.
func (s *Store) InvoiceOfCreditNote(ctx context.Context, id domain.CreditNoteID) (*billing.Invoice, error) {
	var row creditNoteRow
	if err := takeRow(s.db.WithContext(ctx), &row, id, "credit note"); err != nil {
		return nil, err
	}
	return s.InvoiceByID(ctx, domain.InvoiceID(row.InvoiceID))
}

// writeOffRow is a row of write_offs.
type writeOffRow struct {
	ID        int64
	InvoiceID int64
	JobID     *int64
	Amount    int64
	Tax       int64
	Reason    string
	WrittenOn string
	WrittenAt moment
	WrittenBy string
}

func (writeOffRow) TableName() string { return "write_offs" }
func (r *writeOffRow) key() *int64    { return &r.ID }

func (r *writeOffRow) writeOff() *billing.WriteOff {
	return &billing.WriteOff{
		ID: r.ID, Invoice: domain.InvoiceID(r.InvoiceID), Job: orZero[domain.JobID](r.JobID), Amount: money.Amount(r.Amount), Tax: money.Amount(r.Tax),
		Reason: r.Reason, Date: domain.Date(r.WrittenOn), At: r.WrittenAt.Time, By: r.WrittenBy,
	}
}

// AddWriteOff inserts a debt that was given up and sets its identity.
func (t *tx) AddWriteOff(ctx context.Context, o *billing.WriteOff) error {
	row := writeOffRow{
		InvoiceID: int64(o.Invoice), JobID: idOrNull(o.Job), Amount: int64(o.Amount), Tax: int64(o.Tax), Reason: o.Reason,
		WrittenOn: string(o.Date), WrittenAt: at(o.At), WrittenBy: o.By,
	}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return fmt.Errorf("give up what is owed: %w", err)
	}
	o.ID = row.ID
	return nil
}

// creditMoveRow is a row of store_credit_moves.
type creditMoveRow struct {
	ID         int64
	CustomerID int64
	Place      int
	Amount     int64
	Balance    int64
	PaymentID  *int64
	Tender     string
	PaidTo     string
	MovedAt    moment
	MovedBy    string
}

func (creditMoveRow) TableName() string { return "store_credit_moves" }
func (r *creditMoveRow) key() *int64    { return &r.ID }

// StoreCredit reads what the shop keeps for a customer and locks it: whoever wants to
// change it too waits for the end of the transaction.
func (t *tx) StoreCredit(ctx context.Context, id domain.CustomerID) (workshop.CreditMove, error) {
	if _, err := t.Customer(ctx, id); err != nil {
		return workshop.CreditMove{}, err
	}
	var rows []creditMoveRow
	err := t.db.WithContext(ctx).Where("customer_id = ?", id).Order("place DESC").Limit(1).Find(&rows).Error
	if err != nil {
		return workshop.CreditMove{}, fmt.Errorf("read the store credit of customer %d: %w", id, translate(err))
	}
	if len(rows) == 0 {
		return workshop.CreditMove{Customer: id}, nil
	}
	return rows[0].move(), nil
}

func (r *creditMoveRow) move() workshop.CreditMove {
	return workshop.CreditMove{
		ID: r.ID, Customer: domain.CustomerID(r.CustomerID), Place: r.Place, Amount: money.Amount(r.Amount), Balance: money.Amount(r.Balance),
		Payment: orZero[domain.PaymentID](r.PaymentID), Tender: billing.Tender(r.Tender), To: r.PaidTo, At: r.MovedAt.Time, By: r.MovedBy,
	}
}

// AddCreditMove inserts the next move of a customer's store credit and sets its
// identity. The database refuses one that does not go on from the move before it or ends below 0.
func (t *tx) AddCreditMove(ctx context.Context, m *workshop.CreditMove) error {
	row := creditMoveRow{
		CustomerID: int64(m.Customer), Place: m.Place, Amount: int64(m.Amount), Balance: int64(m.Balance), PaymentID: idOrNull(m.Payment),
		Tender: string(m.Tender), PaidTo: m.To, MovedAt: at(m.At), MovedBy: m.By,
	}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	m.ID = row.ID
	return nil
}

// StoreCreditOf reads the moves of a customer's store credit, newest first; its
// balance is that of the first.
func (s *Store) StoreCreditOf(ctx context.Context, id domain.CustomerID) ([]workshop.CreditMove, error) {
	var rows []creditMoveRow
	if err := s.db.WithContext(ctx).Where("customer_id = ?", id).Order("place DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the store credit of customer %d: %w", id, translate(err))
	}
	return each(rows, (*creditMoveRow).move), nil
}

// tipMoveRow is a row of tip_moves.
type tipMoveRow struct {
	ID        int64
	Place     int
	Amount    int64
	Balance   int64
	PaymentID *int64
	Tender    string
	PaidTo    string
	MovedAt   moment
	MovedBy   string
}

func (tipMoveRow) TableName() string { return "tip_moves" }
func (r *tipMoveRow) key() *int64    { return &r.ID }

func (r *tipMoveRow) move() workshop.TipMove {
	return workshop.TipMove{
		ID: r.ID, Place: r.Place, Amount: money.Amount(r.Amount), Balance: money.Amount(r.Balance), Payment: orZero[domain.PaymentID](r.PaymentID),
		Tender: billing.Tender(r.Tender), To: r.PaidTo, At: r.MovedAt.Time, By: r.MovedBy,
	}
}

// TipsBefore reads the move of tips before a place, which was taken from their series
// and is thus locked. Before the first there is an empty one.
func (t *tx) TipsBefore(ctx context.Context, place int) (workshop.TipMove, error) {
	var row tipMoveRow
	err := t.db.WithContext(ctx).Take(&row, "place = ?", place-1).Error
	if errors.Is(err, gorm.ErrRecordNotFound) && place == 1 {
		return workshop.TipMove{}, nil
	}
	if err != nil {
		return workshop.TipMove{}, fmt.Errorf("read the tips before move %d: %w", place, translate(err))
	}
	return row.move(), nil
}

// AddTipMove inserts the next move of tips and sets its identity.
func (t *tx) AddTipMove(ctx context.Context, m *workshop.TipMove) error {
	row := tipMoveRow{
		Place: m.Place, Amount: int64(m.Amount), Balance: int64(m.Balance), PaymentID: idOrNull(m.Payment), Tender: string(m.Tender), PaidTo: m.To,
		MovedAt: at(m.At), MovedBy: m.By,
	}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	m.ID = row.ID
	return nil
}

// Tips reads one page of the moves of tips, newest first, and how many there are. What
// is held is the balance of the first.
func (s *Store) Tips(ctx context.Context, p workshop.Page) ([]workshop.TipMove, int, error) {
	var rows []tipMoveRow
	var total int64
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		if err := db.Model(&tipMoveRow{}).Count(&total).Error; err != nil {
			return err
		}
		return db.Order("place DESC").Limit(min(max(p.Limit, 1), mostRows)).Offset(p.Offset).Find(&rows).Error
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list tips: %w", err)
	}
	return each(rows, (*tipMoveRow).move), int(total), nil
}

// accountTermsRow are the columns of customers that hold an account's terms.
type accountTermsRow struct {
	ID           int64
	AccountDays  *int
	AccountLimit *int64
}

func (accountTermsRow) TableName() string { return "customers" }

func accountTerms(db *gorm.DB, id domain.CustomerID) (*customer.Account, error) {
	var row accountTermsRow
	if err := takeRow(db, &row, id, "customer"); err != nil {
		return nil, err
	}
	if row.AccountDays == nil || row.AccountLimit == nil {
		return nil, nil
	}
	return &customer.Account{Days: *row.AccountDays, Limit: money.Amount(*row.AccountLimit)}, nil
}

// AccountTerms reads the terms on which a customer pays later, nil for none.
func (t *tx) AccountTerms(ctx context.Context, id domain.CustomerID) (*customer.Account, error) {
	return accountTerms(t.db.WithContext(ctx), id)
}

// AccountOf reads the terms on which a customer pays later, nil for none.
func (s *Store) AccountOf(ctx context.Context, id domain.CustomerID) (*customer.Account, error) {
	return accountTerms(s.db.WithContext(ctx), id)
}

// SaveAccountTerms writes the terms of a customer who was read and thus locked; nil
// ends the account.
func (t *tx) SaveAccountTerms(ctx context.Context, id domain.CustomerID, a *customer.Account) error {
	values := map[string]any{"account_days": nil, "account_limit": nil}
	if a != nil {
		values = map[string]any{"account_days": a.Days, "account_limit": int64(a.Limit)}
	}
	res := t.db.WithContext(ctx).Model(&accountTermsRow{}).Where("id = ?", id).Updates(values)
	if res.Error != nil {
		return fmt.Errorf("save the account of customer %d: %w", id, translate(res.Error))
	}
	if res.RowsAffected == 0 {
		return domain.NotFoundf("there is no customer %d", id)
	}
	return nil
}

// UnsettledOf lists the invoices of a customer, or that the customer pays for another,
// on which anything is owed either way, oldest first.
func (s *Store) UnsettledOf(ctx context.Context, id domain.CustomerID) ([]domain.InvoiceID, error) {
	var ids []domain.InvoiceID
	err := s.db.WithContext(ctx).Raw(`SELECT v.id FROM invoices v WHERE (v.customer_id = ? OR v.payer_id = ?) AND (v.payer_id IS NOT NULL OR v.total
		<> `+paidOnInvoice+`
		+ (SELECT CAST(coalesce(sum(n.total), 0) AS BIGINT) FROM credit_notes n WHERE n.invoice_id = v.id)
		+ coalesce((SELECT o.amount FROM write_offs o WHERE o.invoice_id = v.id), 0))
		ORDER BY v.number`, id, id).Scan(&ids).Error
	if err != nil {
		return nil, fmt.Errorf("list what customer %d owes: %w", id, translate(err))
	}
	return ids, nil
}
