package faults

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// rounds is how often something is tried: in the short form, and in the long one
// that TENTHS_TORTURE asks for.
func rounds(short, long int) int {
	if os.Getenv("TENTHS_TORTURE") != "" {
		return long
	}
	return short
}

// The test program runs itself as another program where a test needs one: what
// it is to do there stands under its name, with what it is given.
var children = map[string]func(ctx context.Context, args []string) error{
	"write": writeChild,
	"story": storyChild,
	"move":  moveChild,
}

const childVariable = "FAULTS_CHILD"

// atExit removes what tests have made for each other.
var atExit = func() {}

func TestMain(m *testing.M) {
	name := os.Getenv(childVariable)
	if name == "" {
		code := m.Run()
		atExit()
		os.Exit(code)
	}
	if err := children[name](context.Background(), os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, name+":", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// child returns the command that runs the test program as a child of that name.
func child(t testing.TB, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(t.Context(), os.Args[0], args...)
	cmd.Env = append(os.Environ(), childVariable+"="+name)
	cmd.Stderr = os.Stderr
	return cmd
}

// bookText is an invented engine with one camshaft.
const bookText = `format: book/1
engine: Small invented engine
manual: {title: Small manual, number: SM-1, revision: "1"}
unit: in
parts:
  cam:
    name: Camshaft
    features:
      front: {name: Front journal, kind: outside, directions: [0, 90]}
lines:
  journal: {name: Front journal diameter, size: cam.front, new: 1.4985..1.4990, service: 1.4970}
`

const password = "correct horse"

// by is the shop's one person, who may do everything that the tests do.
var by = shop.Who{Handle: "mp"}

// orders are the jobs that are written to: so many that one commit may have
// entries of many logs.
var orders = []string{"2026-014", "2026-015", "2026-016", "2026-017", "2026-018"}

func options(dir string) shop.Options {
	return shop.Options{Dir: dir, Device: "bench", Program: "tenths test"}
}

// makeShop makes a shop in a folder that is there, with its jobs; done is told
// of each entry as soon as it is acknowledged. A record that is there already
// must be empty.
func makeShop(ctx context.Context, dir string, done func(log, id string, seq int64)) (*shop.Shop, store.Store, error) {
	path := filepath.Join(dir, shop.Database)
	make := sqlite.Create
	if _, err := os.Stat(path); err == nil {
		make = sqlite.Open
	}
	st, err := make(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	first := shoplog.PersonAdded{Handle: by.Handle, Name: "M. Pohl", Role: shoplog.Manager, Since: "2026-01-01"}
	s, err := shop.Make(ctx, st, options(dir), "Corner Engine Shop", first, password)
	if err != nil {
		return nil, nil, errors.Join(err, st.Close())
	}
	entries, err := s.ShopEntries(ctx)
	if err != nil {
		return nil, nil, err
	}
	for i := range entries {
		done("shop", entries[i].ID, entries[i].Seq)
	}
	e, err := s.Adopt(ctx, by, "book.yaml", []byte(bookText))
	if err != nil {
		return nil, nil, err
	}
	for _, order := range orders {
		who := by
		who.ID = ledger.ID("open", order)
		opened, err := s.OpenJob(ctx, who, job.JobOpened{
			Order: order, Model: "Four", Serial: "1127", Reason: "overhaul", Customer: "a club", Authority: "14 CFR 43",
			Limits: job.ServiceLimits, Edition: e.Edition,
		})
		if err != nil {
			return nil, nil, err
		}
		done(order, who.ID, opened.From)
	}
	return s, st, nil
}

// openShop opens the shop in a folder.
func openShop(ctx context.Context, dir string) (*shop.Shop, func() error, error) {
	st, err := sqlite.Open(ctx, filepath.Join(dir, shop.Database))
	if err != nil {
		return nil, nil, err
	}
	s, err := shop.Open(ctx, st, options(dir))
	if err != nil {
		return nil, nil, errors.Join(err, st.Close())
	}
	return s, func() error { s.Close(); return st.Close() }, nil
}

// reading is the nth of a writer's readings: of each job, of one spot and the
// other in turn.
func reading(n int) *job.Take {
	r := &job.Take{}
	r.Spot, r.Value = fmt.Sprintf("cam.front.-.%d", n/len(orders)%2*90), fmt.Sprintf("1.%04d", 4970+n%20)
	return r
}

// write lets writers enter readings into the shop's jobs, so many each; as soon
// as one is acknowledged it is told.
func write(ctx context.Context, s *shop.Shop, tag string, writers, each int, done func(log, id string, seq int64)) error {
	var wait sync.WaitGroup
	errs := make([]error, writers)
	for w := range writers {
		wait.Go(func() {
			for n := 0; n < each && errs[w] == nil; n++ {
				order := orders[(w+n)%len(orders)]
				id := ledger.ID(tag, strconv.Itoa(w), strconv.Itoa(n))
				var d shop.Done
				if d, errs[w] = s.Enter(ctx, by, order, shop.Request{ID: id, Request: reading(n)}); errs[w] == nil {
					done(order, id, d.From)
				}
			}
		})
	}
	wait.Wait()
	return errors.Join(errs...)
}

// tell acknowledges an entry to whoever reads the standard output, in one call.
func tell(log, id string, seq int64) {
	_, _ = os.Stdout.WriteString(fmt.Sprintln(log, id, seq))
}

// writeChild opens the shop in a folder and writes to it, until it is killed or
// has written so much.
func writeChild(ctx context.Context, args []string) error {
	dir, tag := args[0], args[1]
	writers, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	each, err := strconv.Atoi(args[3])
	if err != nil {
		return err
	}
	s, end, err := openShop(ctx, dir)
	if err != nil {
		return err
	}
	return errors.Join(write(ctx, s, tag, writers, each, tell), end())
}

// An acked is an entry that was acknowledged.
type acked struct {
	log string // "shop", or a work order
	id  string
	seq int64
}

// readAcks reads what a child tells, up to its end. What it could not tell in
// whole was not told.
func readAcks(r io.Reader) (acks []acked, err error) {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			return acks, nil
		}
		if err != nil {
			return acks, err
		}
		a, err := parseAck(line)
		if err != nil {
			return acks, err
		}
		acks = append(acks, a)
	}
}

func parseAck(line string) (a acked, err error) {
	words := strings.Fields(line)
	if len(words) != 3 {
		return a, fmt.Errorf("a child tells %q", line)
	}
	a.log, a.id = words[0], words[1]
	a.seq, err = strconv.ParseInt(words[2], 10, 64)
	return a, err
}

// whole says what is wrong with a shop that was broken: it must be as it was
// written and sealed, with everything that was acknowledged where it was said to
// be, once, and be read as its entries fold.
func whole(ctx context.Context, s *shop.Shop, acks []acked) error {
	if _, err := s.Check(ctx); err != nil {
		return err
	}
	state, err := s.Record(ctx)
	if err != nil {
		return err
	}
	shops, err := s.ShopEntries(ctx)
	if err != nil {
		return err
	}
	ids := map[string][]string{}
	if ids["shop"], err = once(shops); err != nil {
		return err
	}
	for order, j := range state.Jobs {
		entries, err := s.Entries(ctx, order)
		if err != nil {
			return err
		}
		if ids[order], err = once(entries); err != nil {
			return fmt.Errorf("%s: %w", order, err)
		}
		if len(entries) == 0 {
			continue
		}
		seen, err := s.Job(ctx, order)
		if err != nil {
			return err
		}
		if fold := job.Fold("job/"+j.ID, entries).Snapshot(); !reflect.DeepEqual(fold, seen) {
			return fmt.Errorf("what %s folds to (-) is not what readers see (+):\n%s", order, cmp.Diff(fold, seen, cmp.Exporter(func(reflect.Type) bool { return true })))
		}
	}
	for _, a := range acks {
		if all := ids[a.log]; a.seq < 1 || a.seq > int64(len(all)) || all[a.seq-1] != a.id {
			return fmt.Errorf("entry %d of %s was acknowledged as %s, and of %d entries it is another or none", a.seq, a.log, a.id, len(all))
		}
	}
	return nil
}

// once returns the ids of entries, in order; none may be there twice.
func once[F any](entries []record.Entry[F]) ([]string, error) {
	ids := make([]string, len(entries))
	seen := make(map[string]bool, len(entries))
	for i := range entries {
		e := &entries[i]
		if seen[e.ID] || e.Seq != int64(i)+1 {
			return nil, fmt.Errorf("entry %d says that it is %d, and its id is %s", i+1, e.Seq, e.ID)
		}
		seen[e.ID], ids[i] = true, e.ID
	}
	return ids, nil
}

// goOn enters one more reading into each job, and seals it.
func goOn(ctx context.Context, s *shop.Shop, tag string) ([]acked, error) {
	var acks []acked
	err := write(ctx, s, tag, 1, len(orders), func(log, id string, seq int64) { acks = append(acks, acked{log, id, seq}) })
	for _, order := range orders {
		if err == nil {
			_, err = s.Seal(ctx, by, order)
		}
	}
	return acks, err
}
