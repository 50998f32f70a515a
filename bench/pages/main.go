// Pages measures the pages as benches use them, in parts:
//
//	load     the server under fifty benches that keep one reading a second on
//	         ten jobs, with sign-ins meanwhile; its memory; the table of limits
//	start    how soon a shop that is there answers, with a hundred jobs too
//	browser  a real browser on a machine that is four times slower: what a key
//	         costs at the bench, how soon it takes keys, what pages weigh, and
//	         the way from nothing to a first verdict at the speed of a hand
//
// Usage:
//
//	pages TENTHS [SECONDS [PART…]]
//
// TENTHS is the built command, SECONDS how long the load lasts. The server is a
// process of its own, and every reading a durable commit.
package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"tenths/internal/book"
	"tenths/internal/demo"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "pages:", err)
		os.Exit(2)
	}
}

const (
	benches  = 50
	jobs     = 10
	password = "correct horse"
)

func run(args []string) error {
	if len(args) < 1 {
		return errors.New("usage: pages TENTHS [SECONDS [PART…]]")
	}
	seconds := 60
	if len(args) > 1 {
		var err error
		if seconds, err = strconv.Atoi(args[1]); err != nil {
			return err
		}
	}
	parts := []string{"load", "start", "browser"}
	if len(args) > 2 {
		parts = args[2:]
	}
	dir, err := os.MkdirTemp("", "pages-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	for _, part := range parts {
		do, ok := map[string]func(ctx context.Context, tenths, dir string) error{
			"load":    func(ctx context.Context, tenths, dir string) error { return load(ctx, tenths, dir, seconds) },
			"start":   start,
			"browser": inBrowser,
		}[part]
		if !ok {
			return fmt.Errorf("there is no part %q", part)
		}
		if err := do(ctx, args[0], filepath.Join(dir, part)); err != nil {
			return fmt.Errorf("%s: %w", part, err)
		}
	}
	return nil
}

// load prints how quick the server is under fifty benches, and how large.
func load(ctx context.Context, tenths, dir string, seconds int) error {
	s, err := serve(ctx, tenths, dir, "/healthz")
	if err != nil {
		return err
	}
	defer s.stop()
	fmt.Printf("%-46s %8.0f ms\n", "start to first byte, a new shop", s.first.Seconds()*1000)
	boss, err := s.make()
	if err != nil {
		return err
	}
	edition, err := boss.edition()
	if err != nil {
		return err
	}
	for i := range jobs {
		if err := boss.post("/orders", url.Values{
			"order": {strconv.Itoa(i)}, "model": {"Four"}, "serial": {"1127"}, "reason": {"overhaul"}, "customer": {"a club"},
			"authority": {"14 CFR 43"}, "limits": {"service"}, "edition": {edition},
		}); err != nil {
			return err
		}
	}
	b, err := book.Load("demo", demo.Book)
	if err != nil {
		return err
	}
	times, signed, err := boss.load(s.base, b, seconds)
	if err != nil {
		return err
	}
	slices.Sort(times)
	at := func(share float64) float64 { return times[int(share*float64(len(times)-1))].Seconds() * 1000 }
	fmt.Printf("%-46s %8d in %d s, %d sign-ins, no error\n", "readings kept by 50 benches on ten jobs", len(times), seconds, signed)
	fmt.Printf("%-46s %8.1f ms\n%-46s %8.1f ms\n%-46s %8.1f ms\n", "reading to answer, p50", at(0.5), "p99", at(0.99), "longest", at(1))
	if rss, err := memory(s.run.Process.Pid); err == nil {
		fmt.Printf("%-46s %8.0f MB, at most %.0f MB\n", "memory of the server", rss["VmRSS"], rss["VmHWM"])
	}
	var took []time.Duration
	for range 31 {
		begin := time.Now()
		if _, err := boss.get("/orders/DEMO-1/limits"); err != nil {
			return err
		}
		took = append(took, time.Since(begin))
	}
	slices.Sort(took)
	fmt.Printf("%-46s %8.1f ms\n", "table of limits, 773 lines, median", took[len(took)/2].Seconds()*1000)
	return nil
}

// start prints how soon a shop answers that is there: with the invented engine
// alone, and with a hundred jobs that are measured like it.
func start(ctx context.Context, tenths, dir string) error {
	s, err := serve(ctx, tenths, dir, "/healthz")
	if err != nil {
		return err
	}
	boss, err := s.make()
	s.stop()
	if err != nil {
		return err
	}
	if err := again(ctx, tenths, dir, "an existing shop", boss); err != nil {
		return err
	}
	readings := filepath.Join(dir, "readings.csv")
	if err := os.WriteFile(readings, demo.Readings, 0o666); err != nil {
		return err
	}
	for i := range 99 {
		order := strconv.Itoa(i)
		for _, args := range [][]string{
			{"open", order, "--model", "Four", "--serial", "1127", "--reason", "overhaul", "--customer", "a club", "--authority", "14 CFR 43"},
			{"import", order, readings, "--register", "--skip-faults"},
		} {
			out, err := exec.CommandContext(ctx, tenths, append([]string{"job", "--shop", dir, "--by", "mp"}, args...)...).CombinedOutput()
			var exit *exec.ExitError
			if errors.As(err, &exit) && args[0] == "import" && exit.ExitCode() == 2 { // the rest is entered
				err = nil
			}
			if err != nil {
				return fmt.Errorf("%v: %w\n%s", args, err, out)
			}
		}
	}
	return again(ctx, tenths, dir, "a hundred jobs", boss)
}

// again starts a shop's server several times. Who was signed in still is: their
// floor is asked for too.
func again(ctx context.Context, tenths, dir, name string, boss *client) error {
	var first, floor, mb []float64
	for range 7 {
		s, err := serve(ctx, tenths, dir, "/sign-in")
		if err != nil {
			return err
		}
		first = append(first, s.first.Seconds()*1000)
		begin := time.Now()
		boss.move(s.base)
		_, err = boss.get("/")
		floor = append(floor, time.Since(begin).Seconds()*1000)
		if rss, wrong := memory(s.run.Process.Pid); wrong == nil {
			mb = append(mb, rss["VmHWM"])
		}
		s.stop()
		if err != nil {
			return err
		}
	}
	slices.Sort(first)
	slices.Sort(floor)
	fmt.Printf("%-46s %8.0f ms, longest %.0f of %d\n", "start to first byte, "+name+", median", share(first, 0.5), share(first, 1), len(first))
	fmt.Printf("%-46s %8.0f ms, longest %.0f; %.0f MB at most\n", "  and then the floor, median", share(floor, 0.5), share(floor, 1), slices.Max(append(mb, 0)))
	return nil
}

// inBrowser prints what a person has of it.
func inBrowser(ctx context.Context, tenths, dir string) error {
	one, end, err := browser(ctx)
	if err != nil {
		return err
	}
	defer end()
	s, err := serve(ctx, tenths, filepath.Join(dir, "new"), "/healthz")
	if err != nil {
		return err
	}
	err = firstVerdict(one, s.base, dir)
	s.stop()
	if err != nil {
		return err
	}
	if s, err = serve(ctx, tenths, filepath.Join(dir, "demo"), "/healthz"); err != nil {
		return err
	}
	defer s.stop()
	boss, err := s.make()
	if err != nil {
		return err
	}
	for _, do := range []func(context.Context, string) error{boss.typing, boss.own, boss.opening, boss.weigh} {
		if err := do(one, "DEMO-1"); err != nil {
			return err
		}
	}
	return nil
}

// A served is a server that runs.
type served struct {
	base  string
	run   *exec.Cmd
	first time.Duration // from its start to its first answer
}

func (s *served) stop() { _ = s.run.Process.Signal(os.Interrupt); _ = s.run.Wait() }

// make makes the shop, with its first person and the invented engine.
func (s *served) make() (*client, error) {
	boss, err := newClient(s.base)
	if err != nil {
		return nil, err
	}
	return boss, boss.post("/first", url.Values{
		"title": {"Bench"}, "name": {"M. Pohl"}, "handle": {"mp"}, "password": {password}, "again": {password}, "demo": {"yes"},
	})
}

// serve starts the server and waits for its first answer.
func serve(ctx context.Context, tenths, dir, path string) (*served, error) {
	cmd := exec.CommandContext(ctx, tenths, "serve", "--shop", dir, "--listen", "127.0.0.1:0")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	begin := time.Now()
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return nil, err
	}
	s := &served{base: strings.TrimSuffix(strings.TrimSpace(line), "/"), run: cmd}
	r, err := http.Get(s.base + path)
	if err != nil {
		return nil, err
	}
	s.first = time.Since(begin)
	return s, r.Body.Close()
}

type client struct {
	http.Client
	base string
}

func newClient(base string) (*client, error) {
	jar, err := cookiejar.New(nil)
	return &client{http.Client{Jar: jar, Timeout: time.Minute}, base}, err
}

// move goes to another address of this machine: cookies do not know ports.
func (c *client) move(base string) {
	c.base = base
	c.CloseIdleConnections()
}

func (c *client) get(path string) (string, error) {
	r, err := c.Get(c.base + path)
	if err != nil {
		return "", err
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if r.StatusCode != http.StatusOK {
		err = fmt.Errorf("GET %s: %s", path, r.Status)
	}
	return string(text), err
}

func (c *client) post(path string, form url.Values) error {
	r, err := c.PostForm(c.base+path, form)
	if err != nil {
		return err
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if r.StatusCode != http.StatusOK {
		err = fmt.Errorf("POST %s: %s\n%s", path, r.Status, text)
	}
	return err
}

// edition finds the one book's.
func (c *client) edition() (string, error) {
	page, err := c.get("/books")
	if err != nil {
		return "", err
	}
	_, rest, ok := strings.Cut(page, `href="/books/`)
	if !ok {
		return "", errors.New("no book is adopted")
	}
	edition, _, _ := strings.Cut(rest, `"`)
	return edition, nil
}

// load lets the benches keep readings, and people sign in every two seconds.
func (c *client) load(base string, b *book.Book, seconds int) (times []time.Duration, signed int, err error) {
	var mu sync.Mutex
	var wait sync.WaitGroup
	var errs []error
	fail := func(err error) {
		mu.Lock()
		defer mu.Unlock()
		errs = append(errs, err)
	}
	end := time.Now().Add(time.Duration(seconds) * time.Second)
	for n := range benches {
		bench, err := newClient(base)
		if err != nil {
			return nil, 0, err
		}
		if err := bench.post("/sign-in", url.Values{"handle": {"mp"}, "password": {password}}); err != nil {
			return nil, 0, err
		}
		wait.Go(func() {
			time.Sleep(time.Duration(rand.IntN(1000)) * time.Millisecond)
			for i := 0; time.Now().Before(end); i++ {
				spot := b.Spots[(n*7+i)%80].String()
				begin := time.Now()
				took, err := bench.keep(strconv.Itoa(n%jobs), spot)
				if err != nil {
					fail(err)
					return
				}
				mu.Lock()
				times = append(times, took)
				mu.Unlock()
				time.Sleep(time.Until(begin.Add(time.Second)))
			}
		})
	}
	wait.Go(func() {
		for time.Now().Before(end) {
			one, err := newClient(base)
			if err == nil {
				err = one.post("/sign-in", url.Values{"handle": {"mp"}, "password": {password}})
			}
			if err != nil {
				fail(err)
				return
			}
			signed++
			time.Sleep(2 * time.Second)
		}
	})
	wait.Wait()
	return times, signed, errors.Join(errs...)
}

// keep posts one reading as the bench's script does, and then asks for the
// bench anew, as it does too; the time is that of the answer.
func (c *client) keep(order, spot string) (time.Duration, error) {
	form := url.Values{"id": {uuid.NewString()}, "spot": {spot}, "value": {"2.31" + fmt.Sprintf("%02d", rand.IntN(40))}}
	r, err := http.NewRequest(http.MethodPost, c.base+"/orders/"+order+"/readings", strings.NewReader(form.Encode()))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	begin := time.Now()
	answer, err := c.Do(r)
	if err != nil {
		return 0, err
	}
	text, err := io.ReadAll(answer.Body)
	answer.Body.Close()
	took := time.Since(begin)
	if err != nil || answer.StatusCode != http.StatusOK && answer.StatusCode != http.StatusUnprocessableEntity {
		return 0, fmt.Errorf("%s: %s %s %w", spot, answer.Status, text, err)
	}
	_, err = c.get("/orders/" + order + "/bench/spot?spot=" + spot)
	return took, err
}

// memory reads what the kernel says of a process, in MB.
func memory(pid int) (map[string]float64, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return nil, err
	}
	all := map[string]float64{}
	for line := range strings.Lines(string(text)) {
		name, rest, _ := strings.Cut(line, ":")
		if kb, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 64); err == nil {
			all[name] = kb / 1024
		}
	}
	return all, nil
}
