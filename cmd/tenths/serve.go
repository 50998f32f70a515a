package main

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/alexedwards/scs/sqlite3store"
	"github.com/alexedwards/scs/v2"
	"github.com/spf13/cobra"

	"tenths/internal/demo"
	"tenths/internal/draft"
	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store/sqlite"
	"tenths/internal/web"
)

// defaultListen is where the pages are, where nothing else is said.
const defaultListen = "127.0.0.1:8117"

// sessionsFile is where who is signed in is kept: apart from the record, which
// a lost session is no loss to.
const sessionsFile = "sessions.db"

// draftsFolder is where books in the making are kept, until they are adopted.
const draftsFolder = "drafts"

// preferencesFile is where it is kept how people like the pages: their route,
// their theme.
const preferencesFile = "preferences.json"

func serveCommand() *cobra.Command {
	a := &at{}
	var listen string
	c := &cobra.Command{
		Use: "serve", Short: "Serve the pages to this machine's browser",
		Long: `Serve the pages of the shop to the browser of this machine, and print their address.
Where there is no shop yet, the first page makes one. End it with Ctrl-C; what was
kept is on disk.

Only this machine can reach the pages: other addresses are refused.`,
		Example: "  tenths serve",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return a.serve(c, listen)
		},
	}
	a.flags(c)
	c.Flags().StringVar(&listen, "listen", defaultListen, "the `ADDRESS` to listen on, of this machine only")
	return c
}

// loopback refuses to listen where other machines could ask.
func loopback(listen string) error {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return fmt.Errorf("--listen %s: write an address and a port, as 127.0.0.1:8117", listen)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return fmt.Errorf("--listen %s: other machines could reach the pages there, and nothing they send would be encrypted; use 127.0.0.1", listen)
	}
	return nil
}

func (a *at) serve(c *cobra.Command, listen string) error {
	if err := loopback(listen); err != nil {
		return err
	}
	// It runs for weeks beside other things on a small machine.
	debug.SetGCPercent(50)
	debug.SetMemoryLimit(64 << 20)
	ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := os.MkdirAll(a.dir, 0o777); err != nil {
		return err
	}
	var st *sqlite.Store
	var s *shop.Shop
	var err error
	path := filepath.Join(a.dir, shop.Database)
	if _, missing := os.Stat(path); missing == nil {
		if st, err = sqlite.Open(ctx, path); err != nil {
			return err
		}
		if s, err = shop.Open(ctx, st, a.options()); err != nil {
			return errors.Join(err, st.Close())
		}
	}
	sessions, end, err := a.sessions(ctx)
	if err != nil {
		return err
	}
	defer end()
	server, err := web.New(web.Options{
		Shop: s, Sessions: sessions, Log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil)),
		Make: func(ctx context.Context, name string, first shoplog.PersonAdded, password string) (*shop.Shop, error) {
			made, err := sqlite.Create(ctx, path)
			if err != nil {
				return nil, err
			}
			opened, err := shop.Make(ctx, made, a.options(), name, first, password)
			if err != nil {
				return nil, errors.Join(err, made.Close(), os.Remove(path))
			}
			st = made
			return opened, nil
		},
		Drafts: draft.In(filepath.Join(a.dir, draftsFolder)),
		Demo:   addDemo, Preferences: filepath.Join(a.dir, preferencesFile),
	})
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", listen)
	if errors.Is(err, syscall.EADDRINUSE) {
		err = fmt.Errorf("something listens on %s already, perhaps this shop's own server: open it, or name another address with --listen", listen)
	}
	if err != nil {
		return err
	}
	h := httpServer(server.Handler())
	fmt.Fprintf(c.OutOrStdout(), "http://%s/\n", listener.Addr())
	failed := make(chan error, 1)
	go func() { failed <- h.Serve(listener) }()
	select {
	case err = <-failed:
	case <-ctx.Done():
		// Who is in the middle of something is answered first.
		bye, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
		defer cancel()
		err = h.Shutdown(bye)
	}
	if now := server.Shop(); now != nil {
		now.Close()
		err = errors.Join(err, st.Close())
	}
	return err
}

// httpServer bounds how long a request may take to come and to be answered, and
// how large its head may be; of its body package web knows.
func httpServer(h http.Handler) *http.Server {
	return &http.Server{
		Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
	}
}

// sessions keeps who is signed in, in a file of its own: two hours without a
// request end a session, and twelve hours any.
func (a *at) sessions(ctx context.Context) (*scs.SessionManager, func(), error) {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(filepath.Join(a.dir, sessionsFile))+"?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=synchronous(NORMAL)")
	if err != nil {
		return nil, nil, err
	}
	if _, err := db.ExecContext(ctx, `CREATE TABLE IF NOT EXISTS sessions (token TEXT PRIMARY KEY, data BLOB NOT NULL, expiry REAL NOT NULL);
		CREATE INDEX IF NOT EXISTS sessions_expiry ON sessions (expiry)`); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("the file of sessions: %w", err), db.Close())
	}
	keep := sqlite3store.NewWithCleanupInterval(db, 10*time.Minute)
	m := scs.New()
	m.Store = keep
	m.Lifetime, m.IdleTimeout = 12*time.Hour, 2*time.Hour
	m.Cookie.Name, m.Cookie.SameSite, m.Cookie.HttpOnly = "tenths", http.SameSiteStrictMode, true
	m.HashTokenInStore = true
	return m, func() { keep.StopCleanup(); db.Close() }, nil
}

// demoOrder is the work order of the invented engine.
const demoOrder = "DEMO-1"

// An inventedEngine is an engine that the demo's shop has on its floor.
type inventedEngine struct {
	opened         job.JobOpened
	book, readings []byte
	comma          bool     // its readings are written 2,2490
	given          []string // conditions
	reworked       []rework
}

// A rework is an item that came back before its readings were taken.
type rework struct {
	item  job.ItemRegistered
	sites []string
	what  string
}

// addDemo opens a job on the invented engine, in the middle of its overhaul.
func addDemo(ctx context.Context, s *shop.Shop, by shop.Who) error {
	return addInvented(ctx, s, by, inventedEngine{
		job.JobOpened{Order: demoOrder, Model: "Invented four", Serial: "1127", SinceNew: "1873.4"},
		demo.Book, demo.Readings, false, demoGiven.given, nil,
	})
}

func addInvented(ctx context.Context, s *shop.Shop, by shop.Who, e inventedEngine) error {
	edition, err := s.Adopt(ctx, by, "book.yaml", e.book)
	if err != nil {
		return err
	}
	open := e.opened
	open.Reason, open.Customer, open.Authority = "overhaul: time", "nobody: invented to try tenths on", "none: an invented engine"
	open.Edition, open.Limits = edition.Edition, job.ServiceLimits
	if _, err := s.OpenJob(ctx, by, open); err != nil {
		return err
	}
	var all []shop.Request
	for _, g := range e.given {
		name, word, _ := strings.Cut(g, "=")
		all = append(all, shop.Request{Request: &job.StateCondition{ConditionStated: job.ConditionStated{Name: name, Word: word}}})
	}
	if _, err := s.Enter(ctx, by, open.Order, all...); err != nil {
		return err
	}
	found, behind := e.readings, []byte(nil)
	if len(e.reworked) > 0 {
		found, behind = e.stages()
	}
	in := shop.Import{Name: "readings.csv", Data: found, Comma: e.comma, Register: true, SkipFaults: true}
	if _, err = s.ImportReadings(ctx, by, open.Order, in); err != nil || behind == nil {
		return err
	}
	all = nil
	for _, r := range e.reworked {
		all = append(all, shop.Request{Request: &job.RegisterItem{ItemRegistered: r.item}},
			shop.Request{Request: &job.ReturnFromRework{Item: r.item.Item, Sites: r.sites, What: r.what}})
	}
	if _, err := s.Enter(ctx, by, open.Order, all...); err != nil {
		return err
	}
	in.Data = behind
	_, err = s.ImportReadings(ctx, by, open.Order, in)
	return err
}

// stages parts the readings of before a rework from those behind it, each with
// the head of the file.
func (e *inventedEngine) stages() (found, behind []byte) {
	head, rows, _ := bytes.Cut(e.readings, []byte("\n"))
	found, behind = append(slices.Clone(head), '\n'), append(slices.Clone(head), '\n')
	for row := range bytes.Lines(rows) {
		if bytes.Contains(row, []byte("rework 1")) || bytes.Contains(row, []byte("assembled")) {
			behind = append(behind, row...)
		} else {
			found = append(found, row...)
		}
	}
	return found, behind
}
