package book

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseSerial(t *testing.T) {
	for _, c := range []struct {
		text, same string // another way to write it
		why        string // it is none
	}{
		{"1127", "01127", ""},
		{"L-1234-A", "l1234a", ""},
		{"L-0150", "L 150", ""},
		{"A.1/2_b", "a-1-2-B", ""},
		{"Č-7", "č7", ""},
		{"999999999999999999", "000999999999999999999", ""},
		{"A", "a", ""}, // it may be; a range has a number
		{"1000000000000000000", "", "more than 18 digits"},
		{"", "", "empty"},
		{"-5", "", "nothing before"},
		{"A--5", "", "between its marks"},
		{"5-", "", "ends with nothing"},
		{"5#", "", "character"},
		{"5\n", "", "character"},
		{"+5", "", "character"},
		{"٣", "", "character"}, // a digit elsewhere
		{"\xff", "", "character"},
	} {
		s, err := ParseSerial(c.text)
		if (err == nil) != (c.why == "") || err != nil && !strings.Contains(err.Error(), c.why) {
			t.Errorf("%q: %v, want %q", c.text, err, c.why)
		}
		if err != nil {
			continue
		}
		same, err := ParseSerial(c.same)
		if err != nil || !alike(s, same) || !(&Span{like: s, at: -1}).fits(same) {
			t.Errorf("%q is not %q: %v", c.text, c.same, err)
		}
		if s.String() != c.text {
			t.Errorf("%q is shown as %q", c.text, s)
		}
	}
}

func TestSpan(t *testing.T) {
	for _, c := range []struct{ text, shown, why, do string }{
		{"1001..1999", "1001..1999", "", ""},
		{" 1001 .. 1999 ", "1001..1999", "", ""},
		{"..1000", "..1000", "", ""},
		{"2000..", "2000..", "", ""},
		{"4000", "4000", "", ""},
		{"A-101..A-250", "A-101..A-250", "", ""},
		{"A-101..a250", "A-101..a250", "", ""},
		{"L-1234-A", "L-1234-A", "", ""},
		{"L-1001-51A..L-1999-51A", "L-1001-51A..L-1999-51A", "", ""},
		{"L-1001-51A", "L-1001-51A", "", ""},
		{"..L-1000-A", "..L-1000-A", "", ""},
		{"A-101..250", "", "differ in more than a number", "alike: A-101..A-250"},
		{"A-101..B-250", "", "differ in more than a number", "alike"},
		{"A-101..A-250-B", "", "differ in more than a number", "alike"},
		{"1-101..2-250", "", "differ in more than one number", "a range for each"},
		{"L-1001-51A..", "", "which of its numbers counts", "write both ends"},
		{"A..B", "", "differ in more than a number", "alike"},
		{"A..", "", "no number", "A-101..A-250"},
		{"A", "", "no number", "A-101..A-250"},
		{"250..101", "", "is not a range", "1001..1999"},
		{"0..5", "", "is not a range", "1001..1999"},
		{"0", "", "is not a range", "1001..1999"},
		{"..", "", "is not a range", "1001..1999"},
		{"", "", "is not a range", "1001..1999"},
		{"1..2..3", "", "nothing before or between", "1001..1999"},
		{"5#..7", "", "character", "1001..1999"},
	} {
		s, why, do := span(c.text)
		if (why == "") != (c.why == "") || !strings.Contains(why, c.why) || !strings.Contains(do, c.do) {
			t.Errorf("%q: %q; %q, want %q; %q", c.text, why, do, c.why, c.do)
		}
		if why == "" && s.String() != c.shown {
			t.Errorf("%q is shown as %q", c.text, s)
		}
	}
}

func spans(t testing.TB, list string) []Span {
	t.Helper()
	var all []Span
	for _, text := range strings.Fields(list) {
		s, why, _ := span(text)
		if why != "" {
			t.Fatalf("%s %s", text, why)
		}
		all = append(all, s)
	}
	return all
}

func TestInSpans(t *testing.T) {
	for _, c := range []struct{ serial, spans, want string }{
		{"1001", "1001..1999", "in"},
		{"1999", "1001..1999", "in"},
		{"01500", "1001..1999", "in"},
		{"1000", "1001..1999", "out"},
		{"2000", "1001..1999 2000..", "in"},
		{"1000", "..1000", "in"},
		{"4000", "2001..2999 4000", "in"},
		{"0", "..1000", "unsure"},
		{"A-000", "A-101..A-250", "unsure"},
		// Numbers are compared as numbers, not as text.
		{"A-99", "A-101..A-250", "out"},
		{"A-1010", "A-101..A-250", "out"},
		{"a 101", "A-101..A-250", "in"},
		{"A-0250", "A-101..A-250", "in"},
		// Another series is out.
		{"B-150", "A-101..A-250", "out"},
		{"L-1500-B", "L-1001-A..L-1999-A", "out"},
		{"L-1500-AB", "L-1001-A..L-1999-A", "out"},
		{"L-1500-52A", "L-1001-51A..L-1999-51A", "out"},
		{"L-1500-51A", "L-1001-51A..L-1999-51A", "in"},
		// What may be the same written short is not known.
		{"1500", "L-1001-A..L-1999-A", "unsure"},
		{"L-1500", "L-1001-A..L-1999-A", "unsure"},
		{"L-1500-A", "1001..1999", "unsure"},
		{"L-1500-1", "L-1001..L-1999", "unsure"},
		{"1500-L", "L-1001..L-1999", "unsure"},
		// A range of the same form tells.
		{"L-1500-A", "1001..1999 L-1001-A..L-1999-A", "in"},
		{"L-2500-A", "1001..1999 L-1001-A..L-1999-A", "out"},
		{"1500", "2000.. L-1001-A..", "out"},
	} {
		serial, err := ParseSerial(c.serial)
		if err != nil {
			t.Fatal(err)
		}
		in, sure := In(serial, spans(t, c.spans))
		got := map[[2]bool]string{{true, true}: "in", {false, true}: "out", {false, false}: "unsure"}[[2]bool{in, sure}]
		if got != c.want {
			t.Errorf("%s in %s: %s, want %s", c.serial, c.spans, got, c.want)
		}
	}
}

// A number with the same letters around it is where the number alone is; the
// other form never is.
func TestLettersAroundChangeNothing(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		number := rapid.IntRange(1, 40)
		from, to, n := number.Draw(r, "from"), number.Draw(r, "to"), number.Draw(r, "n")
		if from > to {
			from, to = to, from
		}
		around := rapid.SampledFrom([][2]string{{"A-", ""}, {"", "-B"}, {"L-", "-A"}, {"TS 360 ", " K"}}).Draw(r, "around")
		write := func(n int, around [2]string) string {
			return around[0] + strings.Repeat("0", n%3) + decimal(n) + around[1]
		}
		is := func(s Span, n string) (bool, bool) {
			serial, err := ParseSerial(n)
			if err != nil {
				r.Fatal(err)
			}
			return In(serial, []Span{s})
		}
		made := func(around [2]string) Span {
			s, why, _ := span(write(from, around) + ".." + write(to, around))
			if why != "" {
				r.Fatal(why)
			}
			return s
		}
		plain, lettered := made([2]string{}), made(around)
		if in, sure := is(plain, write(n, [2]string{})); in != (from <= n && n <= to) || !sure {
			r.Fatalf("%d in %d..%d: %v", n, from, to, in)
		}
		if in, sure := is(lettered, write(n, around)); in != (from <= n && n <= to) || !sure {
			r.Fatalf("%s in %s: %v, %v", write(n, around), lettered, in, sure)
		}
		if in, sure := is(lettered, write(n, [2]string{})); in || sure {
			r.Fatalf("%d in %s: %v, %v", n, lettered, in, sure)
		}
		if in, sure := is(lettered, write(n, [2]string{"Z-", ""})); in || !sure {
			r.Fatalf("another series in %s: %v, %v", lettered, in, sure)
		}
		one, two := made(around), made(around)
		if !one.Meets(two) || !two.Meets(one) || plain.Meets(lettered) || lettered.Meets(plain) {
			r.Fatal("what meets")
		}
	})
}

func decimal(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return decimal(n/10) + decimal(n%10)
}

func TestMeets(t *testing.T) {
	for _, c := range []struct {
		spans string
		want  bool
	}{
		{"1..5 5..9", true},
		{"1..5 6..9", false},
		{"..5 5..", true},
		{"..5 6..", false},
		{"A-1..A-5 A-5", true},
		{"A-1..A-5 B-1..B-5", false},
		{"L-1-1..L-9-1 L-1-2..L-9-2", false},
		{"L-1-1..L-9-1 L-1-1..L-1-9", true},
		{"L-2-1..L-9-1 L-1-1..L-1-9", false},
		{"1.. 9..", true},
	} {
		s := spans(t, c.spans)
		if s[0].Meets(s[1]) != c.want || s[1].Meets(s[0]) != c.want {
			t.Errorf("%s: not %v", c.spans, c.want)
		}
	}
}

func FuzzSerial(f *testing.F) {
	for _, text := range []string{"1001..1999", "A-101..A-250", "L-1234-51A", "..5", "9..", "A--1", "٣"} {
		f.Add(text, "L-1500-A")
	}
	f.Fuzz(func(t *testing.T, text, number string) {
		s, why, do := span(text)
		if (why == "") != (do == "") {
			t.Errorf("%q; %q", why, do)
		}
		if why != "" {
			return
		}
		// Both ends are in, and what is shown is read as the same range.
		for _, end := range []string{s.From, s.To} {
			if end == "" {
				continue
			}
			n, err := ParseSerial(end)
			if err != nil {
				t.Fatal(err)
			}
			if in, sure := In(n, []Span{s}); !in || !sure {
				t.Errorf("%s is not in %s", end, s)
			}
		}
		again, why, _ := span(s.String())
		if why != "" || !again.Meets(s) {
			t.Errorf("%s %s", s, why)
		}
		if n, err := ParseSerial(number); err == nil {
			if in, sure := In(n, []Span{s}); in && !sure {
				t.Errorf("%s is in %s, and not surely", number, s)
			}
		}
	})
}
