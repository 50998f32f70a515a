package faults

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"tenths/internal/ledger"
	"tenths/internal/shop"
	"tenths/internal/store/sqlite"
)

// What of the writes that were not synced is on the disk when its power is cut.
type landing int

const (
	nothing    landing = iota
	everything         // as after a kill
	some               // whole writes, in any order
	torn               // the first ones, and of the next one the sectors before some place
	shredded           // sectors of any of them
	landings
)

func (l landing) String() string {
	return [...]string{"nothing", "everything", "some", "torn", "shredded"}[l]
}

// sector is what a disk writes whole or not at all, in bytes.
const sector = 512

// A cut is a moment when the power fails, and what lands of what was not synced.
type cut struct {
	moment int
	landing
	seed uint64
}

// The power is cut at any moment of a story: whatever landed of the writes that
// were not synced by then, what was acknowledged is there, and the shop goes on.
//
// The story runs once, traced: each write, truncation, sync, and each name that
// is given and taken, in the order of the calls. A sync that has returned keeps
// what had returned before it was called; of the rest anything may be lost, as
// landing says, and of the names in a folder all behind some place in their
// order, since file systems journal those in order.
func TestPowerCut(t *testing.T) {
	dir := t.TempDir()
	events, err := trace(child(t, "story", dir), dir)
	if err != nil {
		t.Fatal(err)
	}
	// What was synced when the program ended is what is there.
	for path, data := range landed(events, cut{moment: 1 << 60, landing: everything}) {
		if is, err := os.ReadFile(filepath.Join(dir, path)); err != nil || string(is) != string(data) {
			t.Fatalf("the trace has %d bytes for %s, and there are %d: %v", len(data), path, len(is), err)
		}
	}

	cutAll(t, events, cutsOf(events, rounds(150, 4000)), func(c cut) (int, error) { return afterCut(t.Context(), t.TempDir(), events, c) })
}

// The same while a store moves what waits to where it stays, for its number or
// before a commit of one log: each commit is there as a whole or not at all, and
// those that were acknowledged are.
func TestPowerCutWhileMoving(t *testing.T) {
	dir := t.TempDir()
	events, err := trace(child(t, "move", dir), dir)
	if err != nil {
		t.Fatal(err)
	}
	cutAll(t, events, cutsOf(events, rounds(100, 2000)), func(c cut) (int, error) { return movedAfterCut(t.Context(), t.TempDir(), events, c) })
}

// cutAll replays cuts, and says what is wrong after them.
func cutAll(t *testing.T, events []*event, cuts []cut, after func(cut) (acknowledged int, err error)) {
	t.Helper()
	var mu sync.Mutex
	count := map[string]int{}
	next := make(chan cut)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for c := range next {
				acks, err := after(c)
				mu.Lock()
				count[c.landing.String()]++
				if acks == 0 {
					count["before the first acknowledged"]++
				}
				mu.Unlock()
				if err != nil {
					t.Errorf("power cut at moment %d, with %s landed of what was not synced (seed %d), %d acknowledged: %v", c.moment, c.landing, c.seed, acks, err)
				}
			}
		})
	}
	for _, c := range cuts {
		if t.Failed() {
			break
		}
		next <- c
	}
	close(next)
	wait.Wait()
	kinds := map[string]int{}
	for _, e := range events {
		kinds[e.kind]++
	}
	t.Logf("%d entries acknowledged over %d writes and %d syncs; %d cuts replayed: %v", kinds["ack"], kinds["write"], kinds["sync"], len(cuts), count)
}

// cutsOf chooses moments: right after an entry is acknowledged, while something
// is synced, while the shop is made, and any.
func cutsOf(events []*event, n int) []cut {
	chance := rand.New(rand.NewPCG(1, uint64(n)))
	var acks, syncs []int
	for i, e := range events {
		switch e.kind {
		case "ack":
			acks = append(acks, i)
		case "sync":
			syncs = append(syncs, i)
		}
	}
	cuts := make([]cut, n)
	for i := range cuts {
		cuts[i] = cut{landing: landing(i / 8 % int(landings)), seed: chance.Uint64()}
		at := chance.IntN(len(events))
		switch i % 8 {
		case 0, 1, 2:
			at = acks[chance.IntN(len(acks))]
		case 3, 4:
			at = syncs[chance.IntN(len(syncs))]
		case 5:
			at = chance.IntN(acks[0])
		}
		cuts[i].moment = events[at].begin
	}
	return cuts
}

// afterCut lays out what is on the disk after a cut and looks at it.
func afterCut(ctx context.Context, dir string, events []*event, c cut) (acknowledged int, err error) {
	defer os.RemoveAll(dir)
	var acks []acked
	var sealed int64
	for _, e := range events {
		if e.kind != "ack" || e.begin > c.moment {
			continue
		}
		for line := range strings.Lines(string(e.data)) {
			a, err := parseAck(line)
			switch {
			case err != nil:
				return 0, err
			case a.log == beside:
				sealed = a.seq
			default:
				acks = append(acks, a)
			}
		}
	}
	if err := layOut(dir, events, c); err != nil {
		return len(acks), err
	}
	s, end, err := openShop(ctx, dir)
	if err != nil {
		if len(acks) > 0 {
			return len(acks), err
		}
		// There is no shop yet, and nobody was told of one: it can be made.
		made, st, err := makeShop(ctx, dir, func(log, id string, seq int64) { acks = append(acks, acked{log, id, seq}) })
		if err != nil {
			return 0, fmt.Errorf("made once more: %w", err)
		}
		err = whole(ctx, made, acks)
		made.Close()
		return 0, errors.Join(err, st.Close())
	}
	if err := whole(ctx, s, acks); err != nil {
		return len(acks), err
	}
	if sealed > 0 {
		note, err := os.ReadFile(filepath.Join(dir, shop.SealsDir, "shop.seal"))
		if err != nil {
			return len(acks), err
		}
		if seal, err := ledger.ReadSeal(string(note)); err != nil || seal.Size < sealed {
			return len(acks), fmt.Errorf("the seal of %d entries of the shop's log is lost: there is %q (%v)", sealed, note, err)
		}
	}
	if len(acks) >= 2+len(orders) { // the jobs are there
		more, err := goOn(ctx, s, "behind the cut")
		if err != nil {
			return len(acks), err
		}
		if err := whole(ctx, s, append(acks, more...)); err != nil {
			return len(acks), err
		}
	}
	return len(acks), end()
}

// layOut writes what is on the disk after a cut into a folder.
func layOut(dir string, events []*event, c cut) error {
	files := landed(events, c)
	for path, data := range files {
		name := filepath.Join(dir, path)
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			return err
		}
		if err := os.WriteFile(name, data, 0o600); err != nil {
			return err
		}
	}
	if _, open := files[shop.Database+"-wal"]; !open || c.seed%2 != 0 {
		return nil
	}
	rubbish := make([]byte, 32<<10) // the journal's index is never synced: anything may be in it
	for i := range rubbish {
		rubbish[i] = byte(c.seed >> (i % 8))
	}
	return os.WriteFile(filepath.Join(dir, shop.Database+"-shm"), rubbish, 0o600)
}

// movedAfterCut looks at what a cut has left of commits that were moved.
func movedAfterCut(ctx context.Context, dir string, events []*event, c cut) (acknowledged int, err error) {
	defer os.RemoveAll(dir)
	for _, e := range events {
		if e.kind == "ack" && e.begin <= c.moment {
			acknowledged += strings.Count(string(e.data), "\n")
		}
	}
	if err := layOut(dir, events, c); err != nil {
		return acknowledged, err
	}
	st, err := sqlite.Open(ctx, filepath.Join(dir, shop.Database))
	if err != nil {
		if acknowledged == 0 { // it may not be made yet
			return 0, nil
		}
		return acknowledged, err
	}
	commits, err := moved(ctx, st)
	if err == nil && commits < acknowledged {
		err = fmt.Errorf("%d commits were acknowledged, and %d are there", acknowledged, commits)
	}
	if err == nil {
		err = move(ctx, st, commits, commits+12, func(int) {})
	}
	if err == nil {
		var now int
		if now, err = moved(ctx, st); err == nil && now != commits+12 {
			err = fmt.Errorf("%d commits are there, behind which 12 were made: there are %d", commits, now)
		}
	}
	return acknowledged, errors.Join(err, st.Close())
}

// landed returns the files that are on the disk after a cut, by their names.
func landed(events []*event, c cut) map[string][]byte {
	n, _ := slices.BinarySearchFunc(events, c.moment+1, func(e *event, moment int) int { return e.begin - moment })
	d := disk{cut: c, events: events[:n], chance: rand.New(rand.NewPCG(c.seed, 2)), synced: map[*file]int{}}
	for _, e := range d.events {
		if e.kind == "sync" && e.end <= c.moment {
			d.synced[e.file] = max(d.synced[e.file], e.begin)
		}
	}
	names := d.names()
	content := d.content()
	files := map[string][]byte{}
	for _, path := range slices.Sorted(maps.Keys(names)) {
		f := names[path]
		if f.dir || filepath.Dir(path) != "." && names[filepath.Dir(path)] == nil {
			continue
		}
		files[path] = nil
		if is := content[f]; is != nil {
			is.land(c.landing, d.chance)
			files[path] = is.data
		}
	}
	return files
}

// A disk is what is known of one after a cut.
type disk struct {
	cut
	events []*event // up to the cut
	chance *rand.Rand
	synced map[*file]int // the moment up to which all that had returned is kept
}

// kept tells whether what an event did was synced with the file or the folder.
func (d *disk) kept(e *event, f *file) bool { return e.end != 0 && e.end <= d.synced[f] }

// names returns the names that files have: in each folder those that were
// synced, and the first of the others.
func (d *disk) names() map[string]*file {
	top := &file{}
	folders := map[string]*file{}
	events := map[string][]*event{}
	for _, e := range d.events {
		switch e.kind {
		case "sync":
			if e.file.dir && e.file.first == "" {
				top = e.file
			}
		case "create", "mkdir", "unlink", "rename", "link":
			if e.kind == "mkdir" {
				folders[e.path] = e.file
			}
			events[filepath.Dir(e.path)] = append(events[filepath.Dir(e.path)], e)
		}
	}
	folders["."] = top
	names := map[string]*file{}
	for _, folder := range slices.Sorted(maps.Keys(events)) {
		all := events[folder]
		n := 0
		for i, e := range all {
			if d.kept(e, folders[folder]) {
				n = i + 1
			}
		}
		switch d.landing {
		case nothing:
		case everything:
			n = len(all)
		default:
			n += d.chance.IntN(len(all) - n + 1)
		}
		for _, e := range all[:n] {
			switch e.kind {
			case "create", "mkdir":
				names[e.path] = e.file
			case "unlink":
				delete(names, e.path)
			case "rename":
				names[e.to] = names[e.path]
				delete(names, e.path)
			case "link":
				names[e.to] = names[e.path]
			}
		}
	}
	return names
}

// content returns what was synced of each file, and what was not.
func (d *disk) content() map[*file]*contents {
	all := map[*file]*contents{}
	for _, e := range d.events {
		if e.kind != "write" && e.kind != "truncate" {
			continue
		}
		if all[e.file] == nil {
			all[e.file] = &contents{}
		}
		if d.kept(e, e.file) {
			all[e.file].apply(e)
		} else {
			all[e.file].pending = append(all[e.file].pending, e)
		}
	}
	return all
}

// contents are what is in a file, and what may be.
type contents struct {
	data    []byte
	pending []*event // nothing any more once it has landed
}

func (c *contents) apply(e *event) {
	if e.kind == "truncate" {
		c.data = append(c.data, make([]byte, max(0, int(e.off)-len(c.data)))...)[:e.off]
		return
	}
	c.write(e.off, e.data)
}

// write writes at a place; what is between the end and it is nought.
func (c *contents) write(off int64, data []byte) {
	end := int(off) + len(data)
	c.data = append(c.data, make([]byte, max(0, end-len(c.data)))...)
	copy(c.data[off:end], data)
}

// land lets some of what is pending land.
func (c *contents) land(l landing, chance *rand.Rand) {
	first := len(c.pending)
	if l == torn {
		first = chance.IntN(len(c.pending) + 1)
	}
	for i, e := range c.pending {
		switch {
		case l == nothing:
		case l == everything, l == torn && i < first:
			c.apply(e)
		case l == torn && i == first && e.kind == "write":
			end := (e.off + chance.Int64N(int64(len(e.data))+1)) / sector * sector
			c.write(e.off, e.data[:max(0, end-e.off)])
		case l == shredded && e.kind == "write":
			for at := e.off; at < e.off+int64(len(e.data)); {
				end := min(at/sector*sector+sector, e.off+int64(len(e.data)))
				if chance.IntN(2) == 0 {
					c.write(at, e.data[at-e.off:end-e.off])
				}
				at = end
			}
		case l == some || l == shredded:
			if chance.IntN(2) == 0 {
				c.apply(e)
			}
		}
	}
	c.pending = nil
}
