package main

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
)

// The tests named Torture kill programs, restart the database and fill disks while
// people write. Their short form runs with all tests; "make torture" runs the long
// one, whose figures stand in docs/reliability.md.
const (
	tortureRounds = "WINTERBENCH_TORTURE_ROUNDS" // kills on each engine
	asProgram     = "WINTERBENCH_TEST_AS_PROGRAM"
)

// TestMain lets the test's own file stand in for the program, so that there is
// something to kill.
func TestMain(m *testing.M) {
	if os.Getenv(asProgram) == "" {
		os.Exit(m.Run())
	}
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// rounds is how often the long form kills, 3 in the short one.
func rounds(t *testing.T) int {
	t.Helper()
	text := os.Getenv(tortureRounds)
	if text == "" {
		return 3
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("%s is %q, want a number of rounds", tortureRounds, text)
	}
	return n
}

// server is a running program that can be killed.
type server struct {
	cmd     *exec.Cmd
	address string
	log     *bytes.Buffer // what it said on standard error; read it when the program has ended
}

// startProgram starts serve in a process of its own and waits until it answers.
func startProgram(t *testing.T, database, photos string) *server {
	t.Helper()
	s := &server{cmd: exec.Command(os.Args[0], "serve", "--listen", "127.0.0.1:0", "--database", database, "--photos", photos), log: &bytes.Buffer{}}
	s.cmd.Env = append(os.Environ(), asProgram+"=1")
	s.cmd.Stderr = s.log
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, at, open := strings.Cut(lines.Text(), "is open at "); open {
			s.address = at
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return s
		}
	}
	_ = s.cmd.Wait()
	t.Fatalf("the program did not open the shop: %s", s.log)
	return nil
}

// kill ends the program as a power cut would: it cannot say or save anything.
func (s *server) kill() {
	_ = s.cmd.Process.Kill()
	_ = s.cmd.Wait() // tells that it was killed
}

// doors are the addresses that writers may knock at; "" while a server is down.
type doors []atomic.Pointer[string]

func (d doors) open(i int, address string) { d[i].Store(&address) }

// any returns the address of a server that should be up, "" when none is.
func (d doors) any() string {
	from := rand.IntN(len(d))
	for i := range d {
		if a := d[(from+i)%len(d)].Load(); a != nil && *a != "" {
			return *a
		}
	}
	return ""
}

// smallShop opens an invented shop in a fresh database and returns an owner's token.
func smallShop(t *testing.T, database, photos string) string {
	t.Helper()
	s, err := store.Open(t.Context(), database, nil, store.PhotosIn(photos))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	shop := workshop.Shop{
		Name: "The Cold Bench", Zone: "America/Winnipeg", Currency: cad, Rate: 9000, ValidDays: 14, QuarterUp: 15, SurveyFee: 3000,
		Guard: money.Guard{Percent: decimal.NewFromInt(10)}, Deposit: quote.DepositRule{},
		Hours: [7]workshop.Hours{{Open: "09:00", Close: "17:00"}}, Places: []string{"place 1"},
		Profile: money.Profile{Name: "none", Currency: "CAD", DepositTax: "on_application", Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument}},
	}
	work := workshop.New(s, domain.SystemClock{})
	id, err := work.SetUp(t.Context(), workshop.Founding{Shop: shop, Owner: "Tove", Password: "snow on the roof"})
	if err != nil {
		t.Fatal(err)
	}
	token, err := work.AddToken(t.Context(), domain.Actor{Staff: id, Name: "Tove", Roles: domain.Roles()}, workshop.TokenAsk{Name: "torture"})
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// tally counts requests and how they ended.
type tally struct {
	sent, unanswered, away, other atomic.Int64
	saved                         atomic.Int64
}

func (n *tally) String() string {
	failed := n.unanswered.Load() + n.away.Load() + n.other.Load()
	return fmt.Sprintf("%d requests, %d saved; %d without an answer, %d answered 503, %d otherwise refused: %.2f %% failed and were sent again",
		n.sent.Load(), n.saved.Load(), n.unanswered.Load(), n.away.Load(), n.other.Load(), 100*float64(failed)/float64(max(n.sent.Load(), 1)))
}

// saved is one job that the server has acknowledged, with its money.
type saved struct {
	customer, job, tag, number, receipt int64
	name                                string
}

// writer takes guitars in, bills their survey and takes the money, one after the
// other, and sends again under the same key what was not answered.
type writer struct {
	name  string
	doors doors
	token string
	count *tally
	http  *http.Client
	done  []saved
	wrong error
}

func (w *writer) work(ctx context.Context) {
	for i := 0; ctx.Err() == nil && w.wrong == nil; i++ {
		one, err := w.job(fmt.Sprintf("%s-%d", w.name, i))
		if err != nil {
			w.wrong = err
			return
		}
		w.done = append(w.done, one)
	}
}

func (w *writer) job(name string) (saved, error) {
	s := saved{name: name}
	var err error
	send := func(path string, body map[string]any, field string) int64 {
		if err != nil {
			return 0
		}
		var answer map[string]any
		if answer, err = w.post(path, name+path, body); err != nil {
			return 0
		}
		return whole(answer, field)
	}
	s.customer = send("/customers", map[string]any{"name": name, "phone": "555-0142"}, "id")
	guitar := send("/instruments", map[string]any{"owner": s.customer, "kind": "steel-string guitar", "maker": "Orrin", "serial": name}, "id")
	s.job = send("/jobs", map[string]any{"instrument": guitar, "complaint": "a crack", "case_opened": true, "survey_fee": "30.00"}, "id")
	path := fmt.Sprintf("/jobs/%d", s.job)
	s.tag = send(path+"/surveys", map[string]any{"moment": "before hold", "strings": "slack", "case_rh": "27 %", "findings": []any{
		map[string]any{"symptom": "crack length", "place": "treble lower bout", "measure": "60 mm", "grade": 2, "causes": []any{map[string]any{"what": "dryness", "sure": "likely"}}},
	}}, "tag")
	s.number = send(path+"/invoices", nil, "number")
	s.receipt = send(path+"/payments", map[string]any{"tender": "card", "amount": "30.00"}, "payment.receipt")
	return s, err
}

// whole reads a number out of an answer, 0 when there is none.
func whole(answer map[string]any, path string) int64 {
	var at any = answer
	for name := range strings.SplitSeq(path, ".") {
		m, _ := at.(map[string]any)
		at = m[name]
	}
	n, _ := at.(float64)
	return int64(n)
}

// post sends until it is answered: what was not answered may have been saved, so
// it is sent again under the same key.
func (w *writer) post(path, key string, body map[string]any) (map[string]any, error) {
	content, err := json.Marshal(body)
	if err != nil {
		return nil, err
	}
	if body == nil {
		content = []byte("{}")
	}
	giveUp := time.Now().Add(2 * time.Minute)
	for time.Now().Before(giveUp) {
		at := w.doors.any()
		if at == "" {
			time.Sleep(10 * time.Millisecond)
			continue
		}
		status, answer, err := w.once(at+"/api/v1"+path, key, content)
		w.count.sent.Add(1)
		switch {
		case err != nil:
			w.count.unanswered.Add(1)
		case status == http.StatusOK || status == http.StatusCreated:
			w.count.saved.Add(1)
			return answer, nil
		case status == http.StatusServiceUnavailable:
			w.count.away.Add(1)
		case status == http.StatusConflict && strings.Contains(fmt.Sprint(answer["detail"]), "somebody else is saving"):
			w.count.other.Add(1)
		default:
			return nil, fmt.Errorf("POST %s: status %d, %v", path, status, answer)
		}
		time.Sleep(time.Duration(10+rand.IntN(40)) * time.Millisecond)
	}
	return nil, fmt.Errorf("POST %s: no answer within two minutes", path)
}

func (w *writer) once(address, key string, content []byte) (int, map[string]any, error) {
	req, err := http.NewRequest(http.MethodPost, address, bytes.NewReader(content))
	if err != nil {
		return 0, nil, err
	}
	req.Header.Set("Authorization", "Bearer "+w.token)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Idempotency-Key", key)
	return answered(w.http.Do(req))
}

func answered(res *http.Response, err error) (int, map[string]any, error) {
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	var answer map[string]any
	if err := json.NewDecoder(res.Body).Decode(&answer); err != nil && res.StatusCode < 500 {
		return 0, nil, err // cut off in the middle
	}
	return res.StatusCode, answer, nil
}

// crew are writers at work.
type crew struct {
	writers []*writer
	count   tally
	wg      sync.WaitGroup
	stop    context.CancelFunc
}

func hire(t *testing.T, n int, d doors, token string) *crew {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	c := &crew{stop: stop}
	for i := range n {
		w := &writer{name: fmt.Sprintf("w%d", i), doors: d, token: token, count: &c.count, http: &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{}}}
		c.writers = append(c.writers, w)
		c.wg.Go(func() { w.work(ctx) })
	}
	t.Cleanup(stop)
	return c
}

// home lets each writer end the job it is at.
func (c *crew) home(t *testing.T) []saved {
	t.Helper()
	c.stop()
	c.wg.Wait()
	var all []saved
	for _, w := range c.writers {
		if w.wrong != nil {
			t.Errorf("%s: %v", w.name, w.wrong)
		}
		all = append(all, w.done...)
	}
	return all
}

// proved compares what was acknowledged with what is in the database.
func proved(t *testing.T, database, photos string, all []saved) {
	t.Helper()
	if len(all) == 0 {
		t.Fatal("nothing was saved")
	}
	s, err := store.Open(t.Context(), database, nil, store.PhotosIn(photos))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	tags, numbers, receipts := map[int64]string{}, map[int64]string{}, map[int64]string{}
	for _, one := range all {
		c, err := s.CustomerByID(t.Context(), domain.CustomerID(one.customer))
		if err != nil || c.Name != one.name {
			t.Errorf("customer %d of %s: %v, %v", one.customer, one.name, c, err)
		}
		once(t, "tag", tags, one.tag, one.name)
		once(t, "invoice", numbers, one.number, one.name)
		once(t, "receipt", receipts, one.receipt, one.name)
	}
	rows := rowsOf(t, database)
	for table, n := range rows {
		if n != len(all) {
			t.Errorf("%s has %d rows, and %d were acknowledged", table, n, len(all))
		}
	}
	gapless(t, "tag", tags)
	gapless(t, "invoice", numbers)
	gapless(t, "receipt", receipts)
	audited(t, database)
}

// audited wants the shop's own proof of its books.
func audited(t *testing.T, database string) {
	t.Helper()
	if code, out, errs := commanded(t, "", "audit", "--database", database); code != 0 {
		t.Errorf("audit: status %d, %s%s", code, out, errs)
	}
}

func once(t *testing.T, what string, seen map[int64]string, n int64, name string) {
	t.Helper()
	if other, there := seen[n]; there {
		t.Errorf("%s %d was given to %s and to %s", what, n, other, name)
	}
	seen[n] = name
}

// gapless wants the numbers 1, 2, 3 and so on.
func gapless(t *testing.T, what string, seen map[int64]string) {
	t.Helper()
	for n := int64(1); n <= int64(len(seen)); n++ {
		if _, there := seen[n]; !there {
			t.Errorf("%s %d is missing", what, n)
		}
	}
}

// rowsOf counts what each job of a writer makes one of.
func rowsOf(t *testing.T, database string) map[string]int {
	t.Helper()
	db := opened(t, database)
	out := map[string]int{}
	for _, table := range []string{"customers", "instruments", "jobs", "surveys", "invoices", "payments"} {
		var n int
		if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM "+table).Scan(&n); err != nil {
			t.Fatal(err)
		}
		out[table] = n
	}
	return out
}

// opened is the database beneath the program.
func opened(t *testing.T, database string) *sql.DB {
	t.Helper()
	driver := "sqlite"
	if strings.Contains(database, "://") {
		driver = "pgx"
	}
	db, err := sql.Open(driver, database)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}
