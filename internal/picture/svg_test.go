package picture

import (
	"encoding/xml"
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestPen(t *testing.T) {
	var p pen
	p.open("svg", class("ruler col"), num("height", 26), attr{})
	p.el("line", pc("x1", 38), pc("x2", 100./3), num("y1", -0.004))
	p.text(`a<b & "c"`, str("aria-label", `5" <rod>`))
	p.el("path", trail(new(path).to('M', 0, 1.005).to('l', 6, -11.125).to('z')))
	p.at("at low", 12.345, 7)
	p.shut("svg")
	p.shut("svg")
	want := `<svg class="ruler col" height="26"><line x1="38%" x2="33.33%" y1="0"/>` +
		`<text aria-label="5&#34; &lt;rod&gt;">a&lt;b &amp; &#34;c&#34;</text>` +
		`<path d="M0 1l6 -11.13z"/>` +
		`<svg class="at low" x="12.35%" y="7" overflow="visible" width="1" height="1"></svg></svg>`
	if got := p.svg(); got != SVG(want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// A number that is none must not reach a page, where it would hide a mark.
func TestNoNumber(t *testing.T) {
	for _, n := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v was written", n)
				}
			}()
			number(nil, n)
		}()
	}
}

// Whatever the words are, an XML reader finds them again, as words and as an
// attribute; what XML cannot hold is U+FFFD.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"", "0.0010T", `</text><script>"x"&amp;`, "\x00\x1f\xff", "\u00e9\u6c34\U0001f527\ufffe\uffff\ufffd", "'\t"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, words string) {
		var p pen
		p.text(words, str("title", words))
		want := ""
		for _, r := range words { // bytes that are no UTF-8 are U+FFFD here
			if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
				r = utf8.RuneError
			}
			want += string(r)
		}
		// A reader makes every line end one sign.
		want = strings.ReplaceAll(strings.ReplaceAll(want, "\r\n", "\n"), "\r", "\n")
		var got struct {
			Title string `xml:"title,attr"`
			Words string `xml:",chardata"`
		}
		if err := xml.Unmarshal([]byte(p.svg()), &got); err != nil {
			t.Fatalf("%q: %v", p.svg(), err)
		}
		if got.Words != want || got.Title != want {
			t.Errorf("%q came back as %q and %q, want %q", words, got.Words, got.Title, want)
		}
	})
}
