package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"winterbench/api"
	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/domain/workshop/demo"
	"winterbench/store"
	"winterbench/web"
)

type serveCommand struct {
	Listen   string   `help:"Address to listen on." default:"127.0.0.1:8080" env:"WINTERBENCH_LISTEN" placeholder:"HOST:PORT"`
	Database string   `help:"A file, or a postgres:// address. The demonstration uses a file of its own." env:"WINTERBENCH_DATABASE" placeholder:"FILE"`
	Photos   string   `help:"Folder for photos. Without it FILE-photos beside the database file, and for PostgreSQL a folder of the user. Servers that share one PostgreSQL database must share one folder." env:"WINTERBENCH_PHOTOS" placeholder:"FOLDER"`
	Origin   string   `help:"Scheme and host under which people reach the shop, for the code on claim tags." env:"WINTERBENCH_ORIGIN" placeholder:"URL"`
	Secure   bool     `help:"Send cookies over TLS only; for use behind a proxy that speaks TLS." env:"WINTERBENCH_SECURE"`
	TLSCert  string   `name:"tls-cert" help:"Certificate with its chain, PEM; the program then speaks TLS itself." env:"WINTERBENCH_TLS_CERT" placeholder:"FILE"`
	TLSKey   string   `name:"tls-key" help:"Key of the certificate, PEM." env:"WINTERBENCH_TLS_KEY" placeholder:"FILE"`
	Proxies  []string `name:"trusted-proxies" help:"Addresses or networks of proxies whose X-Forwarded-For and X-Forwarded-Proto are believed." env:"WINTERBENCH_TRUSTED_PROXIES" placeholder:"ADDRESS,..."`
	Demo     bool     `help:"Open an invented shop with three winters of history."`
	Seed     uint64   `help:"Seed of the invented shop." default:"1" hidden:""`
	Watch    string   `help:"Address for /alive, /ready and /metrics, which no customer should reach. Without it there are none." env:"WINTERBENCH_WATCH" placeholder:"HOST:PORT"`
	Log      string   `help:"How the log is written: text or json." enum:"text,json" default:"text" env:"WINTERBENCH_LOG"`
	Verbose  bool     `short:"v" help:"Log every request and what is done at the start."`
	copyFlags
	mailFlags

	ready func(address string) // told the address once requests are answered; for tests
	clock domain.Clock         // nil: the machine's
	watch *watch
}

// Help gives examples.
func (serveCommand) Help() string {
	return "Examples:\n  winterbench serve --demo\n  winterbench serve --database shop.db\n  winterbench serve --database postgres://bench@localhost/winterbench --listen 127.0.0.1:9000"
}

// dataFolder is where the program keeps its files unless told otherwise.
func dataFolder() string {
	if dir := os.Getenv("XDG_DATA_HOME"); dir != "" {
		return filepath.Join(dir, "winterbench")
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "winterbench-data"
	}
	return filepath.Join(home, ".local", "share", "winterbench")
}

func defaultDatabase() string { return filepath.Join(dataFolder(), "shop.db") }

// Run serves until ctx ends, then finishes the requests under way.
func (c *serveCommand) Run(ctx context.Context, t *terminal) error {
	level := slog.LevelWarn
	if c.Verbose {
		level = slog.LevelDebug
	}
	log := newLog(t.err, c.Log, level)
	slog.SetDefault(log)
	if c.clock == nil {
		c.clock = domain.SystemClock{}
	}
	s, err := store.Open(ctx, c.database(), log, store.PhotosIn(photosOf(c.Photos, c.database())))
	if err != nil {
		return err
	}
	defer s.Close()
	outlook := workshop.NewOutlook(s, c.clock)
	post, plan, err := c.mail(c.Origin)
	if err != nil {
		return err
	}
	work := workshop.New(s, c.clock, workshop.WithPictures(s.Pictures()), workshop.WithOutlook(outlook), workshop.WithMail(plan))
	if err := c.fill(ctx, s, work, t); err != nil {
		return err
	}
	c.watch = newWatch(s)
	chores, err := store.StartChores(ctx, s, c.database(), c.plan(), log, c.watch.made, mailRounds(work, s, post, plan))
	if err != nil {
		return err
	}
	defer chores.Stop(context.WithoutCancel(ctx))
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; choose another with --listen", c.Listen, err)
	}
	address := listener.Addr().String()
	secured, err := overTLS(listener, c.TLSCert, c.TLSKey)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	listener = secured
	handler, err := c.handler(s, work, outlook, c.scheme()+address, log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	watching, err := c.watch.serve(ctx, c.Watch, log)
	if err != nil {
		return errors.Join(fmt.Errorf("listen on %s: %w; choose another with --watch", c.Watch, err), listener.Close())
	}
	if err := c.greet(ctx, s, work, t, address); err != nil {
		return errors.Join(err, listener.Close())
	}
	if watching != "" {
		fmt.Fprintf(t.out, "Watch it at http://%s/ready and /metrics\n", watching)
	}
	return c.serve(ctx, listener, handler, log)
}

// newLog writes lines of text, or of JSON for programs that gather logs.
func newLog(to io.Writer, form string, level slog.Level) *slog.Logger {
	o := &slog.HandlerOptions{Level: level}
	if form == "json" {
		return slog.New(slog.NewJSONHandler(to, o))
	}
	return slog.New(slog.NewTextHandler(to, o))
}

// database is the file or address that was named; the demonstration has a file
// of its own, so that it never stands in a real shop.
func (c *serveCommand) database() string {
	switch {
	case c.Database != "":
		return c.Database
	case c.Demo:
		return filepath.Join(dataFolder(), "demo.db")
	}
	return defaultDatabase()
}

// fill brings the templates up to date, and the invented shop into an empty
// database.
func (c *serveCommand) fill(ctx context.Context, s *store.Store, work *workshop.Workshop, t *terminal) error {
	shop, err := s.ShopSettings(ctx)
	if err == nil {
		if c.Demo && !shop.Demo {
			return domain.Conflictf("this database holds a real shop; the demonstration needs one of its own")
		}
		return work.SeedTemplates(ctx)
	}
	if domain.KindOf(err) != domain.NotFound || !c.Demo {
		return ignoreMissing(err)
	}
	began := time.Now()
	fmt.Fprintln(t.out, "Making three winters of an invented shop ...")
	season, err := demo.Season(c.Seed, c.clock.Now())
	if err != nil {
		return fmt.Errorf("make the demonstration: %w", err)
	}
	for i, p := range demo.SignIns() {
		for k := range season.Staff {
			if season.Staff[k].Name == p.Name {
				season.Staff[k].Password = workshop.HashPassword(demo.SignIns()[i].Password)
			}
		}
	}
	if err := s.Load(ctx, season); err != nil {
		return fmt.Errorf("load the demonstration: %w", err)
	}
	fmt.Fprintf(t.out, "%d jobs in %.1f s.\n", len(season.Jobs), time.Since(began).Seconds())
	return nil
}

func ignoreMissing(err error) error {
	if domain.KindOf(err) == domain.NotFound {
		return nil
	}
	return err
}

// handler puts pages, API and safety around them together.
func (c *serveCommand) handler(s *store.Store, work *workshop.Workshop, outlook *workshop.Outlook, origin string, log *slog.Logger) (http.Handler, error) {
	gin.SetMode(gin.ReleaseMode)
	engine := gin.New()
	engine.ContextWithFallback = true
	engine.HandleMethodNotAllowed = true
	if err := engine.SetTrustedProxies(nil); err != nil {
		return nil, err
	}
	engine.Use(c.watch.timed, recovered(log), logged(log), limited)
	sessions := scs.New()
	sessions.Store = s.Sessions()
	sessions.HashTokenInStore = true
	sessions.Lifetime = workshop.MostStay // the stay in it ends before, as the owner set it
	sessions.Cookie.Name, sessions.Cookie.Secure, sessions.Cookie.SameSite = "winterbench", c.overTLS(), http.SameSiteLaxMode
	sessions.Cookie.Persist = false // a browser that is closed forgets it
	sessions.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		if r.Context().Err() != nil { // who asked went away
			return
		}
		log.Error("the session could not be read or kept", "error", err)
		w.Header().Set("Retry-After", "2")
		http.Error(w, "The database cannot be reached at the moment. Send the same again in a moment: what was saved already is not saved twice.", http.StatusServiceUnavailable)
	}
	if c.overTLS() {
		sessions.Cookie.Name = "__Host-winterbench"
	}
	if c.Origin != "" {
		origin = strings.TrimRight(c.Origin, "/")
	}
	pages, err := web.New(web.Config{
		Work: work, Read: s, Outlook: outlook, Sessions: sessions, Version: version, Origin: origin, SignIns: c.signIns(), Note: c.signInNote(),
	})
	if err != nil {
		return nil, err
	}
	api.New(api.Config{Work: work, Read: s, Outlook: outlook, Version: version}).Register(engine)
	pages.Register(engine)
	smaller, err := compressed(sessions.LoadAndSave(engine))
	if err != nil {
		return nil, err
	}
	guard := http.NewCrossOriginProtection()
	if c.Origin != "" { // a proxy may have put another host into the request
		if err := guard.AddTrustedOrigin(origin); err != nil {
			return nil, domain.Invalidf("--origin must be a scheme and a host, such as https://shop.example, not %q", c.Origin)
		}
	}
	trusted, err := readProxies(c.Proxies)
	if err != nil {
		return nil, err
	}
	return trusted.known(newPace(c.clock).paced(guard.Handler(smaller))), nil
}

// overTLS reports whether every request is known to come over TLS.
func (c *serveCommand) overTLS() bool {
	return c.Secure || c.TLSCert != "" || strings.HasPrefix(c.Origin, "https://")
}

// scheme is how the program itself is spoken to.
func (c *serveCommand) scheme() string {
	if c.TLSCert != "" {
		return "https://"
	}
	return "http://"
}

func (c *serveCommand) signIns() []string {
	if !c.Demo {
		return nil
	}
	var names []string
	for _, p := range demo.SignIns() {
		names = append(names, p.Name)
	}
	return names
}

func (c *serveCommand) signInNote() string {
	if !c.Demo {
		return ""
	}
	return "This is an invented shop. Its names and passwords stand in the terminal that started it."
}

// greet prints where the shop is, for an empty shop the code that opens it, and
// for the demonstration who may enter.
func (c *serveCommand) greet(ctx context.Context, s *store.Store, work *workshop.Workshop, t *terminal, address string) error {
	fmt.Fprintf(t.out, "\nWinterbench is open at %s%s\n", c.scheme(), address)
	if !isLoopback(address) && !c.overTLS() && len(c.Proxies) == 0 {
		fmt.Fprintln(t.out, "Others on the network can reach it, and passwords go to it unencrypted. Give it --tls-cert and --tls-key, or a proxy that speaks TLS.")
	}
	if _, err := s.ShopSettings(ctx); domain.KindOf(err) == domain.NotFound {
		code, err := work.NewFirstCode(ctx)
		if err != nil {
			return err
		}
		fmt.Fprintln(t.out, "The shop is empty: open that address for the first settings.")
		fmt.Fprintf(t.out, "They ask for this code, which works once: %s\n", code)
	} else if err != nil {
		return err
	}
	if c.Demo {
		fmt.Fprintln(t.out, "\nAn invented shop. Sign in as:")
		for _, p := range demo.SignIns() {
			fmt.Fprintf(t.out, "  %-22s %-28s %s\n", p.Name, p.Password, roleText(p.Roles))
		}
	}
	fmt.Fprintln(t.out, "\nStop it with Ctrl-C.")
	return nil
}

// serve answers requests until ctx ends, then lets those under way finish.
func (c *serveCommand) serve(ctx context.Context, l net.Listener, h http.Handler, log *slog.Logger) error {
	srv := &http.Server{
		Handler: patient(h), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 60 * time.Second,
		WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(l) }()
	if c.ready != nil {
		c.ready(l.Addr().String())
	}
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	c.watch.stopping.Store(true)
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 15*time.Second)
	defer cancel()
	if err := srv.Shutdown(stop); err != nil {
		return fmt.Errorf("stop serving: %w", err)
	}
	return nil
}

// copyFlags say where the daily copies go.
type copyFlags struct {
	Copies     string `help:"Folder for a copy of the shop each day. Without it none is made. Several servers share one folder." env:"WINTERBENCH_COPIES" placeholder:"FOLDER"`
	CopiesAt   string `help:"When the day's copy is made, in the shop's own time; at the start when that was missed." default:"03:30" env:"WINTERBENCH_COPIES_AT" placeholder:"HH:MM"`
	CopiesKeep int    `help:"Days for which copies stay; the first of each month stays for a year." default:"14" env:"WINTERBENCH_COPIES_KEEP" placeholder:"DAYS"`
}

func (f copyFlags) plan() store.CopyPlan {
	return store.CopyPlan{Folder: f.Copies, At: f.CopiesAt, Keep: f.CopiesKeep}
}
