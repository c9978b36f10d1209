package store

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/workshop"
)

// longestSearch is the longest text that is searched for, in letters; nothing
// that could be found is longer.
const longestSearch = 200

// Find answers the search field. Every word must match: a customer's name, email
// or the digits of the phone number; an instrument's maker, model or serial
// number; the tag of a job, written 1042, #1042 or tag 1042.
func (s *Store) Find(ctx context.Context, words string, limit int) (workshop.Found, error) {
	var found workshop.Found
	terms := searchTerms(words)
	if len(terms) == 0 || limit < 1 {
		return found, nil
	}
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		if found.Customers, err = findCustomers(db, terms, limit); err != nil {
			return err
		}
		if found.Instruments, err = findInstruments(db, terms, limit); err != nil {
			return err
		}
		if tag := searchTag(terms); tag > 0 {
			found.Jobs, err = listJobs(db, "tag = ?", []any{tag}, newestFirst, workshop.Page{Limit: limit})
		}
		return err
	})
	if err != nil {
		return workshop.Found{}, fmt.Errorf("search: %w", err)
	}
	return found, nil
}

// searchTerms splits a search into words in lower case. There are none in a
// text that no database could hold or that is longer than all there is to find.
func searchTerms(words string) []string {
	if !utf8.ValidString(words) || strings.ContainsRune(words, 0) || utf8.RuneCountInString(words) > longestSearch {
		return nil
	}
	return strings.Fields(fold(words))
}

// searchTag returns the claim tag that a search names, 0 for none.
func searchTag(terms []string) int {
	if len(terms) == 2 && terms[0] == "tag" {
		terms = terms[1:]
	}
	if len(terms) != 1 {
		return 0
	}
	tag, err := strconv.ParseInt(strings.TrimPrefix(terms[0], "#"), 10, 64)
	if err != nil || tag < 1 {
		return 0
	}
	return int(tag)
}

var likeEscape = strings.NewReplacer(`!`, `!!`, `%`, `!%`, `_`, `!_`)

// within is the pattern with which LIKE ... ESCAPE '!' finds a text as it is.
func within(text string) string { return "%" + likeEscape.Replace(text) + "%" }

// customerMatch writes as SQL on customers that every word is in the name, the
// email or the phone number, whose digits alone count.
func customerMatch(terms []string) (string, []any) {
	where, args := make([]string, len(terms)), []any{}
	for i, term := range terms {
		where[i] = `name_key LIKE ? ESCAPE '!' OR email_key LIKE ? ESCAPE '!'`
		args = append(args, within(term), within(term))
		if digits := phoneDigits(term); digits != "" {
			where[i] += ` OR phone_digits LIKE ? ESCAPE '!'`
			args = append(args, within(digits))
		}
	}
	return allOf(where), args
}

// phoneDigits returns the digits of a word that is written as a part of a phone
// number, "" for any other word.
func phoneDigits(term string) string {
	if strings.Trim(term, "0123456789+-/().") != "" {
		return ""
	}
	return customer.Digits(term)
}

// instrumentMatch writes as SQL on instruments that every word is in the maker,
// the model or the serial number.
func instrumentMatch(terms []string) (string, []any) {
	where, args := make([]string, len(terms)), make([]any, len(terms))
	for i, term := range terms {
		where[i], args[i] = `search_key LIKE ? ESCAPE '!'`, within(term)
	}
	return allOf(where), args
}

func allOf(conditions []string) string { return "(" + strings.Join(conditions, ") AND (") + ")" }

func findCustomers(db *gorm.DB, terms []string, limit int) ([]workshop.CustomerRow, error) {
	where, args := customerMatch(terms)
	var rows []struct {
		ID          int64
		Name        string
		Phone       string
		Email       string
		Instruments int
		OpenJobs    int
	}
	err := db.Raw(`SELECT c.id, c.name, c.phone, c.email,
		(SELECT count(*) FROM instruments i WHERE i.owner_id = c.id) AS instruments,
		(SELECT count(*) FROM jobs j WHERE j.customer_id = c.id AND j.collected_at IS NULL AND j.unclaimed_at IS NULL) AS open_jobs
		FROM (SELECT * FROM customers WHERE `+where+` ORDER BY name_key, id LIMIT ?) c ORDER BY c.name_key, c.id`,
		append(args, limit)...).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	out := make([]workshop.CustomerRow, len(rows))
	for i, r := range rows {
		out[i] = workshop.CustomerRow{
			ID: domain.CustomerID(r.ID), Name: r.Name, Phone: r.Phone, Email: r.Email, Instruments: r.Instruments, OpenJobs: r.OpenJobs,
		}
	}
	return out, nil
}

func findInstruments(db *gorm.DB, terms []string, limit int) ([]workshop.InstrumentRow, error) {
	where, args := instrumentMatch(terms)
	var rows []struct {
		ID      int64
		OwnerID int64
		Name    string
		Maker   string
		Model   string
		Kind    string
		Serial  string
		Jobs    int
	}
	err := db.Raw(`SELECT i.id, i.owner_id, c.name, i.maker, i.model, i.kind, i.serial,
		(SELECT count(*) FROM jobs j WHERE j.instrument_id = i.id) AS jobs
		FROM (SELECT * FROM instruments WHERE `+where+` ORDER BY id DESC LIMIT ?) i
		JOIN customers c ON c.id = i.owner_id ORDER BY i.id DESC`, append(args, limit)...).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	out := make([]workshop.InstrumentRow, len(rows))
	for i, r := range rows {
		out[i] = workshop.InstrumentRow{
			ID: domain.InstrumentID(r.ID), Owner: domain.CustomerID(r.OwnerID), Name: r.Name, Title: titleOf(r.Maker, r.Model, r.Kind),
			Serial: r.Serial, Jobs: r.Jobs,
		}
	}
	return out, nil
}
