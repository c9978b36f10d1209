package main

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// pdfText reads a PDF's text with a program we did not write.
func pdfText(t *testing.T, pdf string) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdftotext is missing; make test installs it")
		}
		t.Skip("left out: pdftotext is missing; make test installs it")
	}
	cmd := exec.Command(tool, "-layout", "-", "-")
	cmd.Stdin = strings.NewReader(pdf)
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Run(); err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return out.String()
}

var tags = regexp.MustCompile(`<[^>]*>`)

// pageText is what a person reads of a page.
func pageText(page string) string { return html.UnescapeString(tags.ReplaceAllString(page, " ")) }

// figure reports whether an amount stands in a text as a whole number, not as a
// part of a longer one.
func figure(text, amount string) bool {
	return regexp.MustCompile(`(^|[^0-9.])` + regexp.QuoteMeta(amount) + `($|[^0-9])`).MatchString(text)
}

func withToken(t *testing.T, address, token string) string {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+token)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%s answers %d, %v: %s", address, res.StatusCode, err, body)
	}
	return string(body)
}

// totals lists every amount of a document's totals.
func totals(t money.Totals, c money.Currency) map[string]string {
	out := map[string]string{"net": c.Text(t.Net), "total": c.Text(t.Total)}
	for i, l := range t.Lines {
		if l.Gross == 0 {
			continue // free work is said in words
		}
		out[fmt.Sprintf("line %d", i+1)] = c.Text(l.Net)
	}
	for _, x := range t.Taxes {
		out["tax "+x.Name] = c.Text(x.Amount)
	}
	return out
}

// The page, the JSON and the paper of one quote and one invoice show the same
// figures. The amounts looked for are those that the database keeps.
func TestPageJSONAndPaperAgree(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database := storetest.Database(t, engine)
			at, c := demoShopOn(t, database, "owner")
			s, err := store.Open(t.Context(), database, nil)
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			token := tokenFor(t, s, domain.Owner)
			rows, _, err := s.Jobs(t.Context(), workshop.JobFilter{Stages: []job.Stage{job.Collected}}, workshop.Page{Limit: 40})
			if err != nil {
				t.Fatal(err)
			}
			compared := 0
			for _, row := range rows {
				inv, err := s.InvoiceOfJob(t.Context(), row.ID)
				if err != nil || len(inv.Lines) < 3 || inv.Quote == 0 {
					continue
				}
				q, err := s.QuoteByID(t.Context(), inv.Quote)
				if err != nil {
					t.Fatal(err)
				}
				agree(t, c, at, token, fmt.Sprintf("/invoices/%d", inv.ID), totals(inv.Totals, inv.Currency))
				agree(t, c, at, token, fmt.Sprintf("/quotes/%d", q.ID), totals(q.Totals, q.Currency))
				if compared++; compared == 3 {
					break
				}
			}
			if compared == 0 {
				t.Fatal("the invented shop has no invoice with three lines")
			}
		})
	}
}

func agree(t *testing.T, c *http.Client, at, token, path string, want map[string]string) {
	t.Helper()
	status, page, _ := get(t, c, at+path)
	if status != http.StatusOK {
		t.Fatalf("%s answers %d", path, status)
	}
	_, pdf, _ := get(t, c, at+path+"/paper.pdf")
	texts := map[string]string{"page": pageText(page), "JSON": withToken(t, at+"/api/v1"+path, token), "paper": pdfText(t, pdf)}
	for where, text := range texts {
		for what, amount := range want {
			if !figure(text, amount) {
				t.Errorf("%s: the %s does not show %s, %s", path, where, what, amount)
			}
		}
	}
}

// tokenFor makes an API token for somebody who wears a hat.
func tokenFor(t *testing.T, s *store.Store, hat domain.Role) string {
	t.Helper()
	people, err := s.StaffList(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range people {
		if p.Actor().Wears(hat) {
			token, err := workshop.New(s, domain.SystemClock{}).AddToken(t.Context(), p.Actor(), workshop.TokenAsk{Name: "test"})
			if err != nil {
				t.Fatal(err)
			}
			return token
		}
	}
	t.Fatalf("nobody wears the hat %s", hat)
	return ""
}
