package judge_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// A law that does not hold is told within seconds; a longer search for the
// least example is for who asks for it.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.shrinktime", "1s"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// loadBook reads a book as the command does.
func loadBook(t testing.TB, data []byte) *book.Book {
	t.Helper()
	b, err := book.Load("book.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// loadReadings reads readings as the command does.
func loadReadings(t testing.TB, b *book.Book, data []byte) *judge.Readings {
	t.Helper()
	f := reading.Load("readings.csv", data, b, b.Comma)
	if len(f.Faults) > 0 {
		t.Fatal(f.Faults)
	}
	return judge.File(b, f.Readings)
}

func testdata(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// show writes a verdict on one line: its grade, or what it would be so far
// ("~beyond"); what was found, in the line's unit; the allowance used, - for
// none; what the bands say is to be done, or a tier that is neither new nor
// service; the selected parts that suit; what is asked, how many spots are
// open, and why it is not graded.
func show(v *judge.Verdict) string {
	words := []string{v.Grade.String()}
	if v.Open() && v.Grade == judge.NoGrade {
		words[0] = "~" + v.SoFar.String()
	}
	words = append(words, found(v), "-")
	if v.HasAllowance {
		words[2] = fmt.Sprintf("%d%%", v.Allowance)
	}
	switch tiers := v.Limit.Tiers; {
	case v.Action() != "":
		words = append(words, "to "+v.Action())
	case v.SoFar == judge.Serviceable && v.Tier < len(tiers) && tiers[v.Tier].Name != "service" && tiers[v.Tier].Name != "new":
		words = append(words, "["+tiers[v.Tier].Name+"]")
	}
	if v.Wrong != "" {
		words = append(words, "wrong mates")
	}
	for _, i := range v.Picks {
		words = append(words, "pick "+v.Line.Choices[i].Text)
	}
	for _, a := range v.Asks {
		word := [...]string{
			judge.Settle: "settle", judge.Query: "query", judge.Hold: "hold", judge.Wide: "wide", judge.Undecided: "undecided",
			judge.Which: "which", judge.Mark: "mark", judge.OtherStep: "step", judge.Mixed: "mixed",
		}[a.Kind]
		if a.Text != "" {
			word += ":" + a.Text
		}
		words = append(words, word)
	}
	if v.Open() {
		words = append(words, fmt.Sprintf("open:%d", len(v.Missing)))
	}
	if v.Ungraded != "" {
		words = append(words, "("+v.Ungraded+")")
	}
	return strings.Join(words, " ")
}

// found writes the ends with the line's decimals, or more where they need them;
// ≈ before one that nine can't hold.
func found(v *judge.Verdict) string {
	switch {
	case v.Line.Judges == book.SameStep:
		return strings.Join(v.Steps, ",")
	case !v.Measured:
		return "unmeasured"
	case v.Line.Judges == book.YesNo:
		return "answered"
	}
	text := func(f quantity.Figure) string {
		letter := ""
		if v.Line.Judges == book.Fit {
			letter = [...]string{"T", "", "L"}[1+f.Sign()]
			if f.Sign() < 0 {
				f = f.Negative()
			}
		}
		digits, exact := f.Text(v.Line.Unit, max(v.Line.Decimals, f.Decimals(v.Line.Unit, 9)))
		if !exact {
			return "≈" + digits + letter
		}
		return digits + letter
	}
	if v.Ends.Low == v.Ends.High {
		return text(v.Ends.Low)
	}
	return text(v.Ends.Low) + ".." + text(v.Ends.High)
}

// shown judges every line and shows each verdict behind its id.
func shown(b *book.Book, given judge.Given, r *judge.Readings) []string {
	var all []string
	for _, v := range judge.Book(b, given, r.At) {
		all = append(all, v.Line.ID(v.At)+" "+show(&v))
	}
	return all
}

// lines splits text at line ends and makes every run of blanks one.
func lines(text string) []string {
	var all []string
	for line := range strings.Lines(text) {
		if fields := strings.Fields(line); len(fields) > 0 {
			all = append(all, strings.Join(fields, " "))
		}
	}
	return all
}
