package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain/workshop"
	"winterbench/domain/workshop/demo"
	"winterbench/store"
	"winterbench/store/storetest"
)

// started runs serve until the test ends and returns its address and what it
// printed.
func started(t *testing.T, c *serveCommand) (string, *bytes.Buffer) {
	t.Helper()
	return startedLogged(t, c, io.Discard)
}

// startedLogged writes the log where it is told.
func startedLogged(t *testing.T, c *serveCommand, log io.Writer) (string, *bytes.Buffer) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	address, ended := make(chan string, 1), make(chan error, 1)
	c.Listen, c.ready = "127.0.0.1:0", func(a string) { address <- a }
	if c.Photos == "" {
		c.Photos = filepath.Join(t.TempDir(), "photos")
	}
	out := &bytes.Buffer{}
	go func() { ended <- c.Run(ctx, &terminal{out: out, err: log}) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("stop: %v", err)
		}
	})
	select {
	case a := <-address:
		return "http://" + a, out
	case err := <-ended:
		ended <- nil
		t.Fatalf("serve: %v", err)
	case <-time.After(5 * time.Minute): // the race detector makes loading the demonstration slow
		t.Fatal("serve does not answer within five minutes")
	}
	return "", nil
}

// get returns status, body and final address of a page.
func get(t *testing.T, c *http.Client, address string) (int, string, *url.URL) {
	t.Helper()
	res, err := c.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(body), res.Request.URL
}

func client(t *testing.T) *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{Jar: jar, Timeout: 30 * time.Second}
}

func TestServeOpensAnEmptyShop(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			at, out := started(t, &serveCommand{Database: storetest.Database(t, engine)})
			status, page, url := get(t, client(t), at+"/")
			if status != http.StatusOK || url.Path != "/first" || !strings.Contains(page, "</html>") {
				t.Errorf("status %d at %s, want the first settings", status, url)
			}
			if !strings.Contains(out.String(), "The shop is empty") {
				t.Errorf("printed %q, want that the shop is empty", out)
			}
			if status, _, _ := get(t, client(t), at+"/api/v1/jobs"); status != http.StatusUnauthorized {
				t.Errorf("the API answers nobody with %d, want 401", status)
			}
			res, err := client(t).Get(at + "/sign-in")
			if err != nil {
				t.Fatal(err)
			}
			res.Body.Close()
			if csp := res.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'self'") {
				t.Errorf("content security policy %q", csp)
			}
			req, _ := http.NewRequest(http.MethodPost, at+"/sign-in", strings.NewReader("name=a&password=b"))
			req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			req.Header.Set("Origin", "https://elsewhere.example")
			res, err = client(t).Do(req)
			if err != nil {
				t.Fatal(err)
			}
			res.Body.Close()
			if res.StatusCode != http.StatusForbidden {
				t.Errorf("a form of another site gets %d, want 403", res.StatusCode)
			}
		})
	}
}

// demoShop starts the invented shop and signs somebody in who wears the hat.
func demoShop(t *testing.T, engine, hat string) (string, *http.Client) {
	t.Helper()
	return demoShopOn(t, storetest.Database(t, engine), hat)
}

func demoShopOn(t *testing.T, database, hat string) (string, *http.Client) {
	t.Helper()
	return demoShopWith(t, database, filepath.Join(t.TempDir(), "photos"), hat)
}

// demoShopWith keeps the photos in that folder.
func demoShopWith(t *testing.T, database, photos, hat string) (string, *http.Client) {
	t.Helper()
	s, err := store.Open(t.Context(), database, nil, store.PhotosIn(photos))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Load(t.Context(), invented(t)); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	at, out := started(t, &serveCommand{Demo: true, Seed: 1, Database: database, Photos: photos})
	return at, signedIn(t, at, out.String(), hat)
}

// invented is the shop that all tests load and none changes; it is made once.
// That serve makes it by itself is what TestDemoKeepsOutOfARealShop tests.
func invented(t *testing.T) *workshop.Season {
	t.Helper()
	if testing.Short() {
		t.Skip("plays three winters: run without -short")
	}
	s, err := inventedOnce()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

var inventedOnce = sync.OnceValues(func() (*workshop.Season, error) {
	s, err := demo.Season(1, time.Now())
	if err != nil {
		return nil, err
	}
	for _, p := range demo.SignIns() {
		for k := range s.Staff {
			if s.Staff[k].Name == p.Name {
				s.Staff[k].Password = workshop.HashPassword(p.Password)
			}
		}
	}
	return s, nil
})

// signedIn signs in somebody of the invented shop, as its terminal says, who
// wears the hat.
func signedIn(t *testing.T, at, out, hat string) *http.Client {
	t.Helper()
	line := regexp.MustCompile(`(?m)^  (\S.*?) {2,}(\S.*?) {2,}.*` + hat + `.*$`).FindStringSubmatch(out)
	if line == nil {
		t.Fatalf("no %s among the sign-ins:\n%s", hat, out)
	}
	c := client(t)
	res, err := c.PostForm(at+"/sign-in", url.Values{"name": {line[1]}, "password": {line[2]}})
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.Request.URL.Path == "/sign-in" {
		t.Fatalf("%s cannot sign in: %d", line[1], res.StatusCode)
	}
	return c
}

// Every page of the invented shop that is reached by links from the doors
// answers, none of it with an error.
func TestEveryLinkOfTheDemoAnswers(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			at, c := demoShop(t, engine, "owner")
			href := regexp.MustCompile(`href="(/[^"#]*)"`)
			ids := regexp.MustCompile(`\d+`)
			seen, kinds := map[string]bool{}, map[string]int{}
			queue := []string{"/counter", "/bench", "/owner", "/cabinet", "/customers", "/arrive", "/invoices", "/templates", "/search?q=an", "/api/v1/"}
			for len(queue) > 0 && len(seen) < 250 {
				path := strings.ReplaceAll(queue[0], "&amp;", "&")
				queue = queue[1:]
				kind := ids.ReplaceAllString(strings.SplitN(path, "?", 2)[0], "N")
				if seen[path] || kinds[kind] >= 3 || strings.HasPrefix(path, "/static/") {
					continue
				}
				seen[path] = true
				kinds[kind]++
				status, body, _ := get(t, c, at+path)
				if status >= 400 {
					t.Errorf("%s answers %d", path, status)
				}
				for _, m := range href.FindAllStringSubmatch(body, -1) {
					queue = append(queue, m[1])
				}
			}
			if len(kinds) < 20 {
				t.Errorf("only %d kinds of pages were reached: %v", len(kinds), kinds)
			}
		})
	}
}

func TestDemoKeepsOutOfARealShop(t *testing.T) {
	if testing.Short() {
		t.Skip("plays three winters: run without -short")
	}
	at := filepath.Join(t.TempDir(), "shop.db")
	ctx, stop := context.WithCancel(context.Background())
	c := &serveCommand{Demo: true, Seed: 1, Listen: "127.0.0.1:0", Database: at, ready: func(string) { stop() }}
	if err := c.Run(ctx, &terminal{out: io.Discard, err: io.Discard}); err != nil {
		t.Fatal(err)
	}
	// The same file again opens the same invented shop.
	ctx, stop = context.WithCancel(context.Background())
	out := &bytes.Buffer{}
	c = &serveCommand{Demo: true, Seed: 1, Listen: "127.0.0.1:0", Database: at, ready: func(string) { stop() }}
	if err := c.Run(ctx, &terminal{out: out, err: io.Discard}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "Making three winters") {
		t.Error("the second start made the shop again")
	}
}

// TestBrowserWalk takes a cracked guitar from the counter to the paid invoice in
// a real browser, see browser/walk.mjs.
func TestBrowserWalk(t *testing.T) {
	node, err := exec.LookPath("node")
	_, errModules := os.Stat("../../browser/node_modules/playwright-core")
	if err != nil || errModules != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("the browser walk needs Node.js and the packages of browser/; make test installs them")
		}
		t.Skip("left out: the browser walk needs Node.js and the packages of browser/; make test installs them")
	}
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			at, said := started(t, &serveCommand{Database: storetest.Database(t, engine)})
			ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
			defer cancel()
			walk := exec.CommandContext(ctx, node, "walk.mjs")
			walk.Dir = "../../browser"
			walk.Env = append(os.Environ(), "WINTERBENCH_ADDRESS="+at, "WINTERBENCH_CODE="+firstCode(t, said.String()))
			out, err := walk.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			t.Logf("%s", out)
		})
	}
}

// firstCode is the code that the program printed on an empty database.
func firstCode(t *testing.T, said string) string {
	t.Helper()
	code := regexp.MustCompile(`works once: ([A-Z2-7-]{14})`).FindStringSubmatch(said)
	if code == nil {
		t.Fatalf("no code was printed:\n%s", said)
	}
	return code[1]
}
