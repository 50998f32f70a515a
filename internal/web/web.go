// Package web is the pages: the floor, an engine, the bench, the table of
// limits, the log, books and how they are made of tables, and people. It knows who is signed in and what they
// ask for; what may be entered is for package shop, and how things stand for
// package judge. It holds no state of a job beside the one that shop gives out.
//
// Every form works without script. No page asks anything of another machine.
package web

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/klauspost/compress/gzhttp"

	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/table"
)

//go:embed pages static
var files embed.FS

// Options are what a server is made with.
type Options struct {
	Shop     *shop.Shop // nil: there is none yet, and the first page makes it
	Make     func(ctx context.Context, name string, first shoplog.PersonAdded, password string) (*shop.Shop, error)
	Demo     func(ctx context.Context, s *shop.Shop, by shop.Who) error // adds the invented engine
	Sessions *scs.SessionManager
	Log      *slog.Logger

	// Drafts are the books in the making.
	Drafts *draft.Drafts

	// Preferences is the file of how people like the pages; "": that lasts as
	// long as the server.
	Preferences string
}

// A Server serves the pages of one shop.
type Server struct {
	options Options
	shop    atomic.Pointer[shop.Shop]
	pages   *template.Template
	slow    slowness
	judged  judgedCache
	likes   *preferences
	changed sync.Map // by handle, when they changed their password, while this runs
}

// New returns a server.
func New(o Options) (*Server, error) {
	s := &Server{options: o, likes: loadPreferences(o.Preferences, o.Log)}
	s.shop.Store(o.Shop)
	s.slow.tries = map[string]try{}
	s.judged.jobs = map[string]*cached{}
	var err error
	s.pages, err = template.New("").Funcs(functions).ParseFS(files, "pages/*.html")
	return s, err
}

// Shop returns the shop, nil where there is none yet.
func (s *Server) Shop() *shop.Shop { return s.shop.Load() }

// handler answers a request; an error that it returns becomes a page.
type handler func(w http.ResponseWriter, r *http.Request) error

// Bounds of a request's body, in bytes.
const (
	maxBody = 1 << 20
	maxBook = 16 << 20

	maxTable = table.MaxSize + maxBody // with the form around it
	maxWaste = 1 << 30                 // of what is too large: read to its end, so that its sender hears why
)

// Handler returns everything that the server answers.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	open := func(pattern string, h handler) { mux.Handle(pattern, s.answer(parsed(h))) }
	signed := func(pattern string, h handler) { mux.Handle(pattern, s.answer(s.signedIn(parsed(h)))) }

	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		fmt.Fprintln(w, "good")
	})
	static, err := fs.Sub(files, "static")
	if err != nil {
		panic("BUG: " + err.Error())
	}
	mux.Handle("GET /static/", http.StripPrefix("/static/", forLong(http.FileServerFS(static))))
	open("GET /first", s.getFirst)
	open("POST /first", s.postFirst)
	open("GET /sign-in", s.getSignIn)
	open("POST /sign-in", s.postSignIn)
	open("POST /sign-out", s.postSignOut)
	signed("GET /{$}", s.getFloor)
	signed("GET /people", s.getPeople)
	signed("POST /people", s.postPerson)
	signed("POST /people/password", s.postPassword)
	signed("POST /preferences", s.postPreferences)
	signed("GET /books", s.getBooks)
	signed("POST /books", s.postBook)
	signed("GET /books/begin", s.getBegin)
	signed("GET /books/begin/sheet", s.getBeginSheet)
	signed("POST /books/begin", s.postBegin)
	signed("GET /books/{edition}", s.getBook)
	signed("POST /drafts", s.postDraft)
	signed("GET /drafts/{draft}", s.getDraft)
	signed("POST /drafts/{draft}/tables", s.postTable)
	signed("GET /drafts/{draft}/sheet", s.getDraftSheet)
	signed("GET /drafts/{draft}/columns", s.getColumns)
	signed("POST /drafts/{draft}/columns", s.postColumns)
	signed("GET /drafts/{draft}/rows", s.getRows)
	signed("POST /drafts/{draft}/kinds", s.postKind)
	signed("POST /drafts/{draft}/counts", s.postCounts)
	signed("POST /drafts/{draft}/measured", s.postMeasured)
	signed("GET /drafts/{draft}/holds", s.getHolds)
	signed("POST /drafts/{draft}/holds", s.postHold)
	signed("GET /drafts/{draft}/enter", s.getEnter)
	signed("POST /drafts/{draft}/enter", s.postEnter)
	signed("GET /drafts/{draft}/fits", s.getFits)
	signed("POST /drafts/{draft}/fits", s.postFit)
	signed("GET /drafts/{draft}/findings", s.getFindings)
	signed("POST /drafts/{draft}/findings", s.postFinding)
	signed("POST /drafts/{draft}/strikes", s.postTakeBack)
	signed("GET /drafts/{draft}/adopt", s.getAdopt)
	signed("POST /drafts/{draft}/adopt", s.postAdopt)
	signed("GET /orders/new", s.getNewJob)
	signed("POST /orders", s.postJob)
	signed("GET /orders/{order}", s.getEngine)
	signed("GET /orders/{order}/bench", s.getBench)
	signed("GET /orders/{order}/bench/spot", s.getSpot)
	signed("POST /orders/{order}/readings", s.postReading)
	signed("POST /orders/{order}/strikes", s.postStrike)
	signed("POST /orders/{order}/skips", s.postSkip)
	signed("POST /orders/{order}/conditions", s.postCondition)
	signed("POST /orders/{order}/notes", s.postNote)
	signed("GET /orders/{order}/limits", s.getLimits)
	signed("GET /orders/{order}/log", s.getLog)
	signed("GET /orders/{order}/sign", s.getSign)
	signed("POST /orders/{order}/sign", s.postSign)
	signed("GET /orders/{order}/items", s.getItems)
	signed("POST /orders/{order}/items", s.postItem)
	signed("POST /orders/{order}/fitted", s.postFitted)
	open("/", func(http.ResponseWriter, *http.Request) error { return errNoPage })

	var h http.Handler = mux
	h = s.options.Sessions.LoadAndSave(h)
	h = http.NewCrossOriginProtection().Handler(h)
	h = bounded(h)
	h = safe(h)
	h = gzhttp.GzipHandler(h)
	return s.logged(h)
}

// bounded bounds what a request may send, and keeps other names than this
// machine's own out: a page elsewhere could give its name this address.
func bounded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		if ip := net.ParseIP(strings.Trim(host, "[]")); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			http.Error(w, "This is not the address of tenths. Use the one that it printed.", http.StatusMisdirectedRequest)
			return
		}
		most := int64(maxBody)
		switch {
		case r.URL.Path == "/books":
			most = maxBook
		case r.URL.Path == "/drafts" || strings.HasPrefix(r.URL.Path, "/drafts/") && strings.HasSuffix(r.URL.Path, "/tables"):
			most = maxTable
		}
		if r.ContentLength > most {
			// A browser that is answered before it has sent everything shows no
			// answer.
			_, _ = io.Copy(io.Discard, io.LimitReader(r.Body, maxWaste))
			r.Body = tooLarge{most}
		} else {
			r.Body = http.MaxBytesReader(w, r.Body, most)
		}
		next.ServeHTTP(w, r)
	})
}

// tooLarge is the body of a request that was larger than it may be.
type tooLarge struct{ most int64 }

func (t tooLarge) Read([]byte) (int, error) { return 0, &http.MaxBytesError{Limit: t.most} }
func (tooLarge) Close() error               { return nil }

// safe says what a page may do: nothing but what comes from here.
func safe(next http.Handler) http.Handler {
	const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// forLong lets what is part of the program be kept by the browser for a while.
func forLong(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasSuffix(r.URL.Path, "/") {
			http.NotFound(w, r) // no lists of files
			return
		}
		w.Header().Set("Cache-Control", "private, max-age=3600")
		next.ServeHTTP(w, r)
	})
}

// status remembers what was answered.
type status struct {
	http.ResponseWriter
	code int
}

func (s *status) WriteHeader(code int) {
	s.code = code
	s.ResponseWriter.WriteHeader(code)
}

// Unwrap lets http.ResponseController through.
func (s *status) Unwrap() http.ResponseWriter { return s.ResponseWriter }

// patternKey is what the pattern of a request's address is handed up by.
type patternKey struct{}

// parse reads the form of a request whole.
func parse(r *http.Request) error {
	if r.Method != http.MethodPost {
		return nil
	}
	err := r.ParseForm()
	if err == nil && strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") {
		err = r.ParseMultipartForm(maxBody)
	}
	if large := new(http.MaxBytesError); err != nil && !errors.As(err, &large) {
		return record.Refuse("form", "send it again", "the form can't be read: %v", err)
	}
	return err
}

// parsed reads the form of a request before it is answered: what is too large is
// told before anything is done with a part of it, and nothing is read of who is
// not signed in.
func parsed(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if err := parse(r); err != nil {
			return err
		}
		return h(w, r)
	}
}

// logged notes each request, without what people wrote: the pattern of its
// address, how it was answered, how long it took.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begin := time.Now()
		to := &status{w, http.StatusOK}
		pattern := ""
		next.ServeHTTP(to, r.WithContext(context.WithValue(r.Context(), patternKey{}, &pattern)))
		s.options.Log.Info("request", "pattern", pattern, "status", to.code, "ms", float64(time.Since(begin).Microseconds())/1000)
	})
}

var errNoPage = errors.New("there is no such page")

// answer makes a page of an error: in words, with what to do.
func (s *Server) answer(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.Shop() == nil && !strings.HasPrefix(r.URL.Path, "/first") {
			http.Redirect(w, r, "/first", http.StatusSeeOther)
			return
		}
		if note, ok := r.Context().Value(patternKey{}).(*string); ok {
			*note = r.Pattern
		}
		err := h(w, r)
		if err == nil {
			return
		}
		code, words := said(err)
		if code == http.StatusInternalServerError {
			s.options.Log.Error("request", "pattern", r.Pattern, "error", err)
		}
		if r.Header.Get("Accept") == "application/json" {
			w.Header().Set("Content-Type", "text/plain; charset=utf-8")
			w.WriteHeader(code)
			fmt.Fprint(w, words)
			return
		}
		if wrong := s.show(w, r, code, "error", page{Title: "Not done"}, words); wrong != nil {
			http.Error(w, words, code)
		}
	})
}

// said puts an error into a status and words.
func said(err error) (int, string) {
	var refusal *record.Refusal
	var faults fault.List
	var large *http.MaxBytesError
	var draftRefusal *draft.RefusedError
	switch {
	case errors.Is(err, errNoPage):
		return http.StatusNotFound, "There is no such page."
	case errors.Is(err, draft.ErrNone):
		return http.StatusNotFound, "There is no such draft of a book."
	case errors.As(err, &draftRefusal):
		return http.StatusUnprocessableEntity, sentence(err.Error())
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, "That is too large to be taken."
	case errors.As(err, &refusal) && refusal.Code == "order":
		return http.StatusNotFound, sentence(err.Error())
	case errors.As(err, &faults):
		return http.StatusUnprocessableEntity, spoken(faults)
	case errors.As(err, &refusal):
		return http.StatusUnprocessableEntity, sentence(err.Error())
	}
	return http.StatusInternalServerError, sentence(err.Error())
}

// refused is the status of a refusal on its form's page.
func refused(r *record.Refusal) int {
	if r.Code == tooOften {
		return http.StatusTooManyRequests
	}
	return http.StatusUnprocessableEntity
}

// sentence begins with a capital and ends with a point.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	r := []rune(text)
	text = strings.ToUpper(string(r[:1])) + string(r[1:])
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return text
}

// A page is what every page has.
type page struct {
	Title  string
	Shop   string
	Person *shoplog.Person // who is signed in
	Order  string          // of the job that the page is about
	About  string          // of it: engine and book
	Here   string          // of the places in the head, where this is
	Theme  string          // that the person chose
	At     string          // the page's own address, to come back to
	Bench  bool            // the page fills the screen and has the bench's script
	Body   any
}

// show renders a page: whole, or not at all.
func (s *Server) show(w http.ResponseWriter, r *http.Request, code int, name string, p page, body any) error {
	p.Body = body
	if sh := s.Shop(); sh != nil {
		state, err := sh.Record(r.Context())
		if err != nil {
			return err
		}
		p.Shop = state.Name
		if who, ok := state.People[s.handle(r)]; ok {
			p.Person = &who
			p.Theme = s.likes.of(who.Handle).Theme
			if r.Method == http.MethodGet {
				p.At = r.URL.RequestURI()
			}
		}
	}
	return s.render(w, code, name, p)
}

// texts are what pages are rendered into: the larger ones are most of a megabyte,
// and one after the other would be as much to clear away.
var texts = sync.Pool{New: func() any { return new(bytes.Buffer) }}

// render writes a template's text once it is whole.
func (s *Server) render(w http.ResponseWriter, code int, name string, data any) error {
	b := texts.Get().(*bytes.Buffer)
	defer texts.Put(b)
	b.Reset()
	if err := s.pages.ExecuteTemplate(b, name, data); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(code)
	if _, err := b.WriteTo(w); err != nil {
		return nil // who asked is gone
	}
	return nil
}
