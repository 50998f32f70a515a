package judge_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// bigBook writes a book of so many lines over as many positions of one part:
// bores and shafts in two planes and two directions, each with its size, and
// with its form or its fit in turn.
func bigBook(lines, positions int) []byte {
	var features, list strings.Builder
	for i := 0; i < lines/2; i++ {
		kind, new, service := "outside", "1.9990..2.0000", "1.9980"
		if i%2 == 1 {
			kind, new, service = "inside", "2.0010..2.0020", "2.0030"
		}
		fmt.Fprintf(&features, "      f%d: {name: Feature %[1]d, kind: %s, planes: {front: 0.25, rear: 1.75}, directions: [0, 90]}\n", i, kind)
		fmt.Fprintf(&list, "  size%d: {ref: %[1]d, page: 2-11, name: Size %[1]d, size: p.f%[1]d, new: %s, service: %s}\n", i, new, service)
		second := [...]string{
			"out-of-round: p.f#, new: ..0.0005, service: 0.0010",
			"fit: p.f# - p.f@, new: 0.0010L..0.0030L, service: 0.0050L",
			"taper: p.f#, service: 0.0010",
			"taper-rate: p.f#, service: 0.0008",
		}[i%4]
		second = strings.NewReplacer("#", strconv.Itoa(i), "@", strconv.Itoa(i-1)).Replace(second)
		fmt.Fprintf(&list, "  other%d: {ref: %[1]d, page: 2-11, name: Other %[1]d, %s}\n", i, second)
	}
	return fmt.Appendf(nil, "format: book/1\nengine: Made for measuring\nunit: in\nparts:\n  p:\n    positions: %d\n    features:\n%slines:\n%s", positions, features.String(), list.String())
}

// someReadings reads so many of a book's spots, from the first on: near new, the
// odd one worn.
func someReadings(b *book.Book, n int) []reading.Reading {
	all := make([]reading.Reading, min(n, len(b.Spots)))
	for i := range all {
		tenths := 19_993 + i*7%8
		if b.FeatureAt(book.SpotID(i)).Class == book.Inside {
			tenths = 20_011 + i*7%8
		}
		all[i] = reading.Reading{Spot: book.SpotID(i), Value: quantity.TenthsOfNanometre(int64(tenths) * tenth).Figure()}
	}
	return all
}

// The time for a reading must not grow with how many there are, nor with the
// length of the book.
func BenchmarkScale(b *testing.B) {
	for _, lines := range []int{250, 2000} {
		for _, n := range []int{1_000, 10_000, 100_000} {
			b.Run(fmt.Sprintf("lines=%d/readings=%d", lines, n), func(b *testing.B) {
				engine := loadBook(b, bigBook(lines, (n+2*lines-1)/(2*lines)))
				all := someReadings(engine, n)
				if len(all) != n {
					b.Fatalf("%d readings", len(all))
				}
				b.ResetTimer()
				for range b.N {
					if v := judge.Book(engine, judge.Given{}, judge.File(engine, all).At); v[0].Grade == judge.NoGrade {
						b.Fatal("the first line has no grade")
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/reading")
			})
		}
	}
}

func BenchmarkLoadBook(b *testing.B) {
	for _, lines := range []int{250, 2000} {
		b.Run(fmt.Sprint(lines), func(b *testing.B) {
			text := bigBook(lines, 4)
			b.SetBytes(int64(len(text)))
			b.ResetTimer()
			for range b.N {
				loadBook(b, text)
			}
		})
	}
}

// What one reading touches is judged again while a person types.
func BenchmarkTouched(b *testing.B) {
	for _, lines := range []int{250, 2000} {
		b.Run(fmt.Sprint(lines), func(b *testing.B) {
			engine := loadBook(b, bigBook(lines, 4))
			here := judge.File(engine, someReadings(engine, len(engine.Spots))).At
			b.ResetTimer()
			for i := range b.N {
				if len(judge.Touched(engine, book.SpotID(i%len(engine.Spots)), here)) < 2 {
					b.Fatal("the spot touches too little")
				}
			}
		})
	}
}
