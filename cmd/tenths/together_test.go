package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"tenths/internal/book"
)

// People settle, link, acknowledge and import into one book, each with a program of
// their own and all at once: what every one of them did is there.
func TestTogether(t *testing.T) {
	bin, dir := filepath.Join(buildTenths(t), "tenths"), t.TempDir()
	const many = 8
	write := func(name string, data []byte) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	b.WriteString("format: book/1\nengine: E\nunit: in\nparts:\n")
	for n := range many {
		fmt.Fprintf(&b, "  part%d: {features: {bore: {kind: inside}, shaft: {kind: outside}, gap: {kind: clearance}, own: {kind: clearance}, pin: {kind: outside}}}\n", n)
	}
	b.WriteString("lines:\n")
	for n := range many {
		fmt.Fprintf(&b, "  bore-p%d: {name: Bore %[1]d, size: part%[1]d.bore, new: 2.4010..2.4015}\n", n)
		fmt.Fprintf(&b, "  shaft-p%d: {name: Shaft %[1]d, size: part%[1]d.shaft, new: 2.3988..2.3990}\n", n)
		fmt.Fprintf(&b, "  link-p%d: {name: Clearance to link %[1]d, size: part%[1]d.gap, new: 0.0020..0.0027}\n", n)
		fmt.Fprintf(&b, "  fit-p%d: {name: Clearance %[1]d, fit: part%[1]d.bore - part%[1]d.shaft, new: 0.0020..0.0030}\n", n)
		fmt.Fprintf(&b, "  pin-p%d: {name: Pin %[1]d, size: part%[1]d.pin, new: 1.9980..1.9990, hold: {service: {text: \"1,9965\", may: [1.9965], why: a comma}}}\n", n)
	}
	write("book.yaml", b.Bytes())

	var all sync.WaitGroup
	run := func(want int, args ...string) {
		all.Go(func() {
			c := exec.Command(bin, args...)
			c.Dir = dir
			out, err := c.CombinedOutput()
			if c.ProcessState == nil || c.ProcessState.ExitCode() != want {
				t.Errorf("tenths %q: %v, want status %d\n%s", args, err, want, out)
			}
		})
	}
	for n := range many {
		by := fmt.Sprintf("Fitter %d", n)
		all.Go(func() {
			// What of the others waits still is not known: 0 or 3.
			c := exec.Command(bin, "book", "settle", "book.yaml", fmt.Sprintf("pin-p%d", n), "--choose", "1", "--why", "the drawing", "--by", by)
			c.Dir = dir
			if out, err := c.CombinedOutput(); c.ProcessState == nil || c.ProcessState.ExitCode()%3 != 0 {
				t.Errorf("%s settles: %v\n%s", by, err, out)
			}
		})
		run(0, "book", "links", "book.yaml", "--confirm", fmt.Sprintf("link-p%d=bore-p%[1]d,shaft-p%[1]d", n), "--by", by)
		run(0, "book", "acknowledge", "book.yaml", "fit-sum", fmt.Sprintf("fit-p%d", n), "--reason", "selection", "--by", by)
		table := fmt.Sprintf("table-%d.csv", n)
		write(table, fmt.Appendf(nil, "Name,New (in),Service limit (in)\nTappet %d diameter,0.7172-0.7177,0.7160\n", n))
		run(0, "book", "import", table, "--into", "book.yaml")
	}
	all.Wait()

	own, err := os.ReadFile(filepath.Join(dir, "book.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	settled, err := os.ReadFile(filepath.Join(dir, "book.settled.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := book.Load("book.yaml", book.Join(own, settled))
	if err != nil {
		t.Fatal(err)
	}
	var cells, links, added int
	for _, l := range got.Lines {
		cells += len(l.Settled)
		if l.Link != nil {
			links++
		}
	}
	added = len(got.Lines) - 5*many
	if cells != many || links != many || len(got.Acknowledged) != many || added != many {
		t.Errorf("%d cells settled, %d fits linked, %d findings acknowledged, %d lines added: want %d of each", cells, links, len(got.Acknowledged), added, many)
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left are %q, %v", left, err)
	}
}
