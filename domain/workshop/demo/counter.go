package demo

import (
	"context"

	"winterbench/domain"
	"winterbench/domain/customer"
)

// AccountTerms has none to give: everybody in the history pays at the counter.
func (b *book) AccountTerms(context.Context, domain.CustomerID) (*customer.Account, error) {
	return nil, nil
}
