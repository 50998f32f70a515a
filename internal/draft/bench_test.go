package draft_test

import (
	"fmt"
	"strings"
	"testing"

	"tenths/internal/draft"
	"tenths/internal/intake"
)

// A draft opened anew: its table read, its book made and loaded.
func BenchmarkOpen(b *testing.B) {
	for _, n := range []int{30, 250, 2000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var csv strings.Builder
			csv.WriteString("Ref,Description,New (in),Wear limit\n")
			for i := range n {
				fmt.Fprintf(&csv, "%d,Main journal number %d dia,2.%d - 2.%d,2.%d\n", i, i, 2490+i%50, 2590+i%50, 2400+i%50)
			}
			dir := b.TempDir()
			name, err := draft.In(dir).Begin(intake.Title{Engine: "E"}, draft.Upload{Name: "t.csv", Data: []byte(csv.String()), Stamp: ro})
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if d, err := draft.In(dir).Open(name); err != nil || d.Wrong != nil {
					b.Fatal(err, d.Wrong)
				}
			}
		})
	}
}
