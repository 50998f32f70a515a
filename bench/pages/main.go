// Pages measures the pages as benches use them: a server as its own process,
// fifty benches that keep one reading a second on ten jobs, sign-ins meanwhile;
// then what the pages weigh and how long the table of limits takes.
//
//	pages TENTHS [SECONDS]
//
// TENTHS is the built command. Every reading is a durable commit.
package main

import (
	"bufio"
	"compress/gzip"
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
		return errors.New("usage: pages TENTHS [SECONDS]")
	}
	seconds := 60
	if len(args) > 1 {
		var err error
		if seconds, err = strconv.Atoi(args[1]); err != nil {
			return err
		}
	}
	dir, err := os.MkdirTemp("", "pages-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	base, cmd, first, err := serve(ctx, args[0], filepath.Join(dir, "shop"))
	if err != nil {
		return err
	}
	defer func() { _ = cmd.Process.Signal(os.Interrupt); _ = cmd.Wait() }()

	boss, err := newClient(base)
	if err != nil {
		return err
	}
	if err := boss.post("/first", url.Values{
		"title": {"Bench"}, "name": {"M. Pohl"}, "handle": {"mp"}, "password": {password}, "again": {password}, "demo": {"yes"},
	}); err != nil {
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
	fmt.Printf("%-46s %8.0f ms\n", "start to first byte, a new shop", first.Seconds()*1000)
	b, err := book.Load("demo", demo.Book)
	if err != nil {
		return err
	}
	times, signed, err := boss.load(base, b, seconds)
	if err != nil {
		return err
	}
	slices.Sort(times)
	at := func(share float64) float64 { return times[int(share*float64(len(times)-1))].Seconds() * 1000 }
	fmt.Printf("%-46s %8d in %d s, %d sign-ins, no error\n", "readings kept by 50 benches on ten jobs", len(times), seconds, signed)
	fmt.Printf("%-46s %8.1f ms\n%-46s %8.1f ms\n%-46s %8.1f ms\n", "reading to answer, p50", at(0.5), "p99", at(0.99), "longest", at(1))
	if rss, err := memory(cmd.Process.Pid); err == nil {
		fmt.Printf("%-46s %8.0f MB, at most %.0f MB\n", "memory of the server", rss["VmRSS"], rss["VmHWM"])
	}
	var took []time.Duration
	for range 15 {
		begin := time.Now()
		if _, err := boss.get("/orders/DEMO-1/limits"); err != nil {
			return err
		}
		took = append(took, time.Since(begin))
	}
	slices.Sort(took)
	fmt.Printf("%-46s %8.1f ms\n", "table of limits, 773 lines, median", took[len(took)/2].Seconds()*1000)
	return boss.weigh()
}

// serve starts the server and waits for its first answer.
func serve(ctx context.Context, tenths, dir string) (string, *exec.Cmd, time.Duration, error) {
	cmd := exec.CommandContext(ctx, tenths, "serve", "--shop", dir, "--listen", "127.0.0.1:0")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return "", nil, 0, err
	}
	begin := time.Now()
	if err := cmd.Start(); err != nil {
		return "", nil, 0, err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return "", nil, 0, err
	}
	base := strings.TrimSuffix(strings.TrimSpace(line), "/")
	r, err := http.Get(base + "/healthz")
	if err != nil {
		return "", nil, 0, err
	}
	return base, cmd, time.Since(begin), r.Body.Close()
}

type client struct {
	http.Client
	base string
}

func newClient(base string) (*client, error) {
	jar, err := cookiejar.New(nil)
	return &client{http.Client{Jar: jar, Timeout: time.Minute}, base}, err
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

// weigh prints what a browser with nothing kept fetches for the bench,
// compressed.
func (c *client) weigh() error {
	sum, fonts := 0, 0
	for _, path := range []string{
		"/orders/DEMO-1/bench?spot=crank.main-1.front.0", "/static/tokens.css", "/static/base.css", "/static/theme.js", "/static/bench.js",
		"/static/icon.svg", "/static/fonts/text.woff2", "/static/fonts/figures.woff2",
	} {
		r, err := http.NewRequest(http.MethodGet, c.base+path, nil)
		if err != nil {
			return err
		}
		r.Header.Set("Accept-Encoding", "gzip")
		answer, err := c.Do(r)
		if err != nil {
			return err
		}
		data, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		if err != nil {
			return err
		}
		if answer.Header.Get("Content-Encoding") == "gzip" {
			if _, err := gzip.NewReader(strings.NewReader(string(data))); err != nil {
				return err
			}
		}
		if strings.HasSuffix(path, ".woff2") {
			fonts += len(data)
		}
		sum += len(data)
	}
	fmt.Printf("%-46s %8.0f KB, %.0f KB with its fonts\n", "the bench, nothing kept, compressed", float64(sum-fonts)/1000, float64(sum)/1000)
	return nil
}
