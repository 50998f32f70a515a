package check_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
)

// large makes a book of that many lines out of plots, with a fault planted in
// every tenth of them.
func large(lines int) string {
	var features, all strings.Builder
	keys := regexp.MustCompile(`(?m)^( +)([a-z-]+): \{`)
	refs := regexp.MustCompile(`\bp\.([a-z]+)`)
	n := 0
	for seed := uint64(1); n < lines; seed++ {
		p := newPlot(seed)
		if seed%10 == 0 {
			for range 20 {
				if _, ok := p.plant(); ok {
					break
				}
			}
		}
		if over := n + len(p.rows) - lines; over > 0 {
			p.rows = p.rows[:len(p.rows)-over]
		}
		n += len(p.rows)
		text := p.text()
		suffix := ""
		for k := seed; k > 0; k /= 26 {
			suffix += string('a' + byte(k%26))
		}
		text = keys.ReplaceAllString(text, "${1}${2}"+suffix+": {")
		text = refs.ReplaceAllString(text, "p.${1}"+suffix)
		text = strings.ReplaceAll(strings.ReplaceAll(text, "name: \"", "name: \""+suffix+" "), "ref: ", "ref: "+suffix)
		_, text, _ = strings.Cut(text, "features:\n")
		f, l, _ := strings.Cut(text, "lines:\n")
		features.WriteString(f)
		all.WriteString(l)
	}
	return "format: book/1\nengine: Large\nunit: in\nparts:\n  p:\n    features:\n" + features.String() + "lines:\n" + all.String()
}

func BenchmarkBook(b *testing.B) {
	for _, lines := range []int{100, 2000} {
		text := []byte(large(lines))
		whole, err := book.Load("large", text)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("check/lines=%d", lines), func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				n = len(check.Book(whole))
			}
			b.ReportMetric(float64(n), "findings")
		})
		b.Run(fmt.Sprintf("links/lines=%d", lines), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				check.Links(whole)
			}
		})
		b.Run(fmt.Sprintf("load-and-check/lines=%d", lines), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				whole, err := book.Load("large", text)
				if err != nil {
					b.Fatal(err)
				}
				check.Book(whole)
			}
		})
	}
}
