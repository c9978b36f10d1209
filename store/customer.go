package store

import (
	"context"
	"fmt"
	"strings"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// customerRow is a row of customers.
type customerRow struct {
	ID          int64
	Name        string
	NameKey     string
	Phone       string
	PhoneDigits string
	Email       string
	EmailKey    string
	Address     string
	Contact     string
	Note        string
	Exempt      *string
	Electronic  *string
	CreatedAt   moment
	Version     int
}

func (customerRow) TableName() string { return "customers" }
func (r *customerRow) key() *int64    { return &r.ID }

func rowOfCustomer(c *customer.Customer) (customerRow, error) {
	row := customerRow{
		ID: int64(c.ID), Name: c.Name, NameKey: fold(c.Name), Phone: c.Phone, PhoneDigits: customer.Digits(c.Phone),
		Email: c.Email, EmailKey: fold(c.Email), Address: c.Address, Contact: string(c.Contact), Note: c.Note,
		CreatedAt: at(c.Since), Version: c.Version,
	}
	if c.Exempt != nil {
		text, err := toJSON(c.Exempt)
		if err != nil {
			return row, err
		}
		row.Exempt = &text
	}
	if c.Electronic != nil {
		text, err := toJSON(c.Electronic)
		if err != nil {
			return row, err
		}
		row.Electronic = &text
	}
	return row, nil
}

func (r *customerRow) customer() (*customer.Customer, error) {
	c := &customer.Customer{
		ID: domain.CustomerID(r.ID), Name: r.Name, Phone: r.Phone, Email: r.Email, Address: r.Address,
		Contact: customer.Contact(r.Contact), Note: r.Note, Since: r.CreatedAt.Time, Version: r.Version,
	}
	if r.Exempt != nil {
		c.Exempt = &money.Exemption{}
		if err := fromJSON(*r.Exempt, c.Exempt); err != nil {
			return c, err
		}
	}
	if r.Electronic != nil {
		c.Electronic = &customer.Electronic{}
		return c, fromJSON(*r.Electronic, c.Electronic)
	}
	return c, nil
}

// CustomerByID reads one customer.
func (s *Store) CustomerByID(ctx context.Context, id domain.CustomerID) (*customer.Customer, error) {
	return readCustomer(s.db.WithContext(ctx), id)
}

// Customer reads one customer and locks the row.
func (t *tx) Customer(ctx context.Context, id domain.CustomerID) (*customer.Customer, error) {
	return readCustomer(locked(t.db.WithContext(ctx)), id)
}

func readCustomer(db *gorm.DB, id domain.CustomerID) (*customer.Customer, error) {
	var row customerRow
	if err := takeRow(db, &row, id, "customer"); err != nil {
		return nil, err
	}
	return row.customer()
}

// AddCustomer inserts a customer and sets the identity.
func (t *tx) AddCustomer(ctx context.Context, c *customer.Customer) error {
	row, err := rowOfCustomer(c)
	if err != nil {
		return err
	}
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	c.ID, c.Version = domain.CustomerID(row.ID), row.Version
	return nil
}

// SaveCustomer writes a customer unless somebody saved it since it was read.
func (t *tx) SaveCustomer(ctx context.Context, c *customer.Customer) error {
	row, err := rowOfCustomer(c)
	if err != nil {
		return err
	}
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, c.Version, c.Name); err != nil {
		return err
	}
	c.Version = row.Version
	return nil
}

// Customers reads one page of the customers in whose name, email or phone
// number every word is, by name, and how many there are in all. No words are
// all customers.
func (s *Store) Customers(ctx context.Context, words string, p workshop.Page) ([]workshop.CustomerRow, int, error) {
	where, args := "1 = 1", []any{}
	if strings.TrimSpace(words) != "" {
		terms := searchTerms(words)
		if len(terms) == 0 {
			return nil, 0, nil
		}
		where, args = customerMatch(terms)
	}
	var rows []workshop.CustomerRow
	var total int
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		if err := db.Raw("SELECT count(*) FROM customers WHERE "+where, args...).Scan(&total).Error; err != nil {
			return err
		}
		rows, err = listCustomers(db, where, args, p)
		return err
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list customers: %w", err)
	}
	return rows, total, nil
}

// customerListRow is a customer in a list.
type customerListRow struct {
	ID          int64
	Name        string
	Phone       string
	Email       string
	Instruments int
	OpenJobs    int
}

func (r *customerListRow) row() workshop.CustomerRow {
	return workshop.CustomerRow{
		ID: domain.CustomerID(r.ID), Name: r.Name, Phone: r.Phone, Email: r.Email, Instruments: r.Instruments, OpenJobs: r.OpenJobs,
	}
}

// listCustomers reads a page of customers by name. where names columns of customers.
func listCustomers(db *gorm.DB, where string, args []any, p workshop.Page) ([]workshop.CustomerRow, error) {
	var rows []customerListRow
	err := db.Raw(`SELECT c.id, c.name, c.phone, c.email,
		(SELECT count(*) FROM instruments i WHERE i.owner_id = c.id) AS instruments,
		(SELECT count(*) FROM jobs j WHERE j.customer_id = c.id AND j.collected_at IS NULL AND j.unclaimed_at IS NULL) AS open_jobs
		FROM (SELECT * FROM customers WHERE `+where+` ORDER BY name_key, id LIMIT ? OFFSET ?) c ORDER BY c.name_key, c.id`,
		withPage(args, p)...).Scan(&rows).Error
	return each(rows, (*customerListRow).row), err
}
