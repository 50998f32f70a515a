package web

import (
	"cmp"
	"context"
	"errors"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"
	"unicode"

	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

// Keys of a session.
const (
	sessionHandle = "handle"
	sessionSince  = "since" // when they signed in
)

// handle returns who is signed in; "" where nobody is.
func (s *Server) handle(r *http.Request) string {
	return s.options.Sessions.GetString(r.Context(), sessionHandle)
}

// who is who asks, for what they do.
func (s *Server) who(r *http.Request) shop.Who {
	return shop.Who{Handle: s.handle(r), Device: device(r)}
}

// device names what the request came from: the browser has no name of its own,
// and what it says of itself is too long to be kept.
func device(*http.Request) string { return "page" }

// signedIn lets only those through who are signed in and of the shop today.
func (s *Server) signedIn(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		state, err := s.Shop().Record(r.Context())
		if err != nil {
			return err
		}
		if _, err := state.In(s.handle(r), time.Now()); err != nil || s.past(r) {
			if r.Header.Get("Accept") == "application/json" {
				http.Error(w, "Sign in again: what you entered is kept here until then.", http.StatusUnauthorized)
				return nil
			}
			to := "/sign-in"
			if r.Method == http.MethodGet && r.URL.Path != "/" {
				to += "?to=" + url.QueryEscape(r.URL.RequestURI())
			}
			http.Redirect(w, r, to, http.StatusSeeOther)
			return nil
		}
		return h(w, r)
	}
}

// past tells whether a session began before its person changed their password.
func (s *Server) past(r *http.Request) bool {
	at, ok := s.changed.Load(s.handle(r))
	return ok && s.options.Sessions.GetInt64(r.Context(), sessionSince) < at.(int64)
}

// route is how the person likes spots to be ordered: by part or by gauge.
func (s *Server) route(r *http.Request) string {
	return cmp.Or(s.likes.of(s.handle(r)).Route, "part")
}

// signIn begins a session for a person.
func (s *Server) signIn(ctx context.Context, handle string) error {
	if err := s.options.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	if s.options.Sessions.GetString(ctx, sessionHandle) != handle {
		if err := s.options.Sessions.Clear(ctx); err != nil { // another's gauge and caller
			return err
		}
	}
	s.options.Sessions.Put(ctx, sessionHandle, handle)
	s.options.Sessions.Put(ctx, sessionSince, time.Now().UnixNano())
	return nil
}

// A signForm is what the sign-in page shows.
type signForm struct {
	To, Handle, Problem string
	People              []shoplog.Person
}

func (s *Server) getSignIn(w http.ResponseWriter, r *http.Request) error {
	return s.signInPage(w, r, http.StatusOK, signForm{To: r.FormValue("to")})
}

func (s *Server) signInPage(w http.ResponseWriter, r *http.Request, code int, form signForm) error {
	form.To = inside(form.To)
	return s.show(w, r, code, "sign-in", page{Title: "Sign in"}, form)
}

// inside returns an address of ours, else the floor's.
func inside(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.Contains(to, "\\") || strings.ContainsFunc(to, unicode.IsControl) {
		return "/"
	}
	return to
}

func (s *Server) postSignIn(w http.ResponseWriter, r *http.Request) error {
	form := signForm{To: r.FormValue("to"), Handle: strings.TrimSpace(r.FormValue("handle"))}
	err := s.checkPassword(r, form.Handle, r.FormValue("password"))
	var refusal *record.Refusal
	if errors.As(err, &refusal) && refusal.Code == tooOften {
		form.Problem = sentence(err.Error())
		w.Header().Set("Retry-After", "5")
		return s.signInPage(w, r, http.StatusTooManyRequests, form)
	}
	if errors.As(err, &refusal) {
		// Not which of the two is wrong.
		form.Problem = "The handle and the password do not go together. Give both again."
		return s.signInPage(w, r, http.StatusUnprocessableEntity, form)
	}
	if err != nil {
		return err
	}
	if err := s.signIn(r.Context(), form.Handle); err != nil {
		return err
	}
	http.Redirect(w, r, inside(form.To), http.StatusSeeOther)
	return nil
}

func (s *Server) postSignOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.options.Sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// slowness slows guessing of passwords, by who is guessed at and from where: a
// person who mistypes waits seconds, and nobody else waits with them.
type slowness struct {
	mu    sync.Mutex
	tries map[string]try
}

type try struct {
	wrong int
	until time.Time
}

// free is how many wrong passwords cost nothing.
const free = 3

func place(handle string, r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	return handle + "\x00" + host
}

// tooOften is the code of who must wait before the next password.
const tooOften = "too-often"

// checkPassword checks a person's password, after a wait where it was wrong too
// often.
func (s *Server) checkPassword(r *http.Request, handle, password string) error {
	return s.guarded(r, handle, func() error { return s.Shop().CheckPassword(r.Context(), handle, password) })
}

// guarded does what checks a password. Each try counts as wrong until it was
// right, so that many at once are no way round the wait.
func (s *Server) guarded(r *http.Request, handle string, do func() error) error {
	if wait := s.slow.try(handle, r); wait > 0 {
		return record.Refuse(tooOften, "", "too many wrong passwords: try again in %s", max(wait, time.Second).Round(time.Second))
	}
	err := do()
	var refusal *record.Refusal
	if !errors.As(err, &refusal) || refusal.Code != "password" && refusal.Code != "person" {
		s.slow.good(handle, r)
	}
	return err
}

// try notes a try, or says how long to wait before the next.
func (s *slowness) try(handle string, r *http.Request) time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	if wait := time.Until(s.tries[place(handle, r)].until); wait > 0 {
		return wait
	}
	if len(s.tries) > 10_000 { // of made-up handles
		clear(s.tries)
	}
	t := s.tries[place(handle, r)]
	if t.wrong++; t.wrong > free {
		t.until = time.Now().Add(min(time.Minute, time.Second<<min(6, t.wrong-free-1)))
	}
	s.tries[place(handle, r)] = t
	return 0
}

func (s *slowness) good(handle string, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.tries, place(handle, r))
}

// A firstForm is what the first page shows.
type firstForm struct {
	Title, Handle, Name, Certificate, Number string
	Demo                                     bool
	Problem                                  string
}

func (s *Server) getFirst(w http.ResponseWriter, r *http.Request) error {
	if s.Shop() != nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return s.show(w, r, http.StatusOK, "first", page{Title: "A new shop"}, firstForm{})
}

func (s *Server) postFirst(w http.ResponseWriter, r *http.Request) error {
	if s.Shop() != nil {
		return record.Refuse("shop", "sign in", "there is a shop already")
	}
	f := firstForm{
		Title: value(r, "title"), Handle: value(r, "handle"), Name: value(r, "name"),
		Certificate: value(r, "certificate"), Number: value(r, "number"), Demo: r.FormValue("demo") != "",
	}
	fail := func(err error) error {
		_, f.Problem = said(err)
		return s.show(w, r, http.StatusUnprocessableEntity, "first", page{Title: "A new shop"}, f)
	}
	if r.FormValue("password") != r.FormValue("again") {
		return fail(errors.New("the two passwords are not the same: give both again"))
	}
	first := shoplog.PersonAdded{
		Handle: f.Handle, Name: f.Name, Role: shoplog.Manager, Certificate: f.Certificate, Number: f.Number,
		Since: time.Now().Format(time.DateOnly),
	}
	made, err := s.options.Make(r.Context(), f.Title, first, r.FormValue("password"))
	if err != nil {
		return fail(err)
	}
	s.shop.Store(made)
	if f.Demo {
		if err := s.options.Demo(r.Context(), made, shop.Who{Handle: f.Handle, Device: device(r)}); err != nil {
			return err
		}
	}
	if err := s.signIn(r.Context(), f.Handle); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// value is what stands in a field of a form, without the blanks around it.
func value(r *http.Request, name string) string { return strings.TrimSpace(r.FormValue(name)) }
