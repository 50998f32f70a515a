package picture

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// An SVG is one svg element as text, ready to be put into a page: whatever it
// was given as words is escaped.
//
// It has classes and presentation attributes only, so that a strict content
// policy holds, and no ids, so that many stand on one page.
type SVG string

// A pen writes SVG. Names of elements and attributes are the program's own and
// go in as they are; values and text are escaped. Its zero value is ready.
//
//	var p pen
//	p.open("svg", class("ruler col"), str("role", "img"), pc("width", 100), num("height", 26))
//	p.el("rect", class("new"), pc("x", 38), num("y", 13), pc("width", 24), num("height", 6))
//	p.text("2.1230", class("lim"), pc("x", 38), num("y", 36), str("text-anchor", "end"))
//	p.el("path", class("mark"), trail(new(path).to('M', 0, 1).to('l', 6, -11).to('h', -12).to('z')))
//	p.shut("svg")
//	return p.svg()
type pen struct{ out []byte }

// svg returns what was written.
func (p *pen) svg() SVG { return SVG(p.out) }

// el writes an element that has nothing in it.
func (p *pen) el(name string, attrs ...attr) {
	p.begin(name, attrs)
	p.out = append(p.out, "/>"...)
}

// open begins an element; shut ends it.
func (p *pen) open(name string, attrs ...attr) {
	p.begin(name, attrs)
	p.out = append(p.out, '>')
}

func (p *pen) shut(name string) {
	p.out = append(p.out, "</"...)
	p.out = append(p.out, name...)
	p.out = append(p.out, '>')
}

// text writes a text element.
func (p *pen) text(words string, attrs ...attr) { p.words("text", words, attrs...) }

// words writes an element that has only words in it: a text, a title.
func (p *pen) words(name, words string, attrs ...attr) {
	p.open(name, attrs...)
	p.out = escape(p.out, words)
	p.shut(name)
}

// at begins a place: x in per cent of the width, y in pixels, and what is drawn
// in it in pixels from there. So a drawing stretches and its marks do not. It
// ends with shut("svg").
func (p *pen) at(classes string, x, y float64) {
	p.open("svg", class(classes), pc("x", x), num("y", y), str("overflow", "visible"), num("width", 1), num("height", 1))
}

func (p *pen) begin(name string, attrs []attr) {
	p.out = append(p.out, '<')
	p.out = append(p.out, name...)
	for i := range attrs {
		a := &attrs[i]
		if a.name == "" {
			continue
		}
		p.out = append(p.out, ' ')
		p.out = append(p.out, a.name...)
		p.out = append(p.out, `="`...)
		switch a.sort {
		case wordsAttr:
			p.out = escape(p.out, a.words)
		case numberAttr:
			p.out = number(p.out, a.number)
		case perCentAttr:
			p.out = append(number(p.out, a.number), '%')
		}
		p.out = append(p.out, '"')
	}
}

// An attr is one attribute of an element; its zero value is none, so that one
// may be left out.
type attr struct {
	name   string
	sort   uint8
	words  string
	number float64
}

// What an attribute's value is.
const (
	wordsAttr = iota
	numberAttr
	perCentAttr
)

// str is an attribute that is words, num one that is a number, pc one that is
// per cent.
func str(name, value string) attr { return attr{name: name, words: value} }

func num(name string, value float64) attr { return attr{name: name, sort: numberAttr, number: value} }

func pc(name string, value float64) attr { return attr{name: name, sort: perCentAttr, number: value} }

// class is the class attribute: names with blanks between.
func class(names string) attr { return str("class", names) }

// A path is the d of a path: commands, each with its numbers.
type path struct{ d []byte }

// to adds a command. It returns the path, so that one is written in a row.
func (d *path) to(command byte, numbers ...float64) *path {
	d.d = append(d.d, command)
	for i, n := range numbers {
		if i > 0 {
			d.d = append(d.d, ' ')
		}
		d.d = number(d.d, n)
	}
	return d
}

// trail is the attribute that a path is drawn by.
func trail(d *path) attr { return str("d", string(d.d)) }

// number writes a number with at most two decimals: a hundredth of a pixel is
// more than a screen or a sheet can show.
func number(out []byte, n float64) []byte {
	if math.IsNaN(n) || math.IsInf(n, 0) {
		panic("BUG: a drawing at no number")
	}
	n = math.Round(n * 100)
	if math.Abs(n) > 1<<53 {
		return strconv.AppendFloat(out, n/100, 'f', -1, 64)
	}
	whole := int64(n)
	if whole < 0 {
		out, whole = append(out, '-'), -whole
	}
	out = strconv.AppendInt(out, whole/100, 10)
	if part := whole % 100; part > 0 {
		out = append(out, '.', byte('0'+part/10))
		if part%10 > 0 {
			out = append(out, byte('0'+part%10))
		}
	}
	return out
}

// escape adds words so that they are read as words, in an element or between
// double quotes. What XML cannot hold becomes U+FFFD.
func escape(out []byte, words string) []byte {
	if !strings.ContainsFunc(words, special) {
		return append(out, words...)
	}
	for _, r := range words {
		switch {
		case r == '&':
			out = append(out, "&amp;"...)
		case r == '<':
			out = append(out, "&lt;"...)
		case r == '>':
			out = append(out, "&gt;"...)
		case r == '"':
			out = append(out, "&#34;"...)
		case special(r):
			out = append(out, "\uFFFD"...)
		default:
			out = utf8.AppendRune(out, r)
		}
	}
	return out
}

// special tells whether a character cannot stand as it is. The characters of
// XML: W3C, Extensible Markup Language (XML) 1.0, fifth edition, 2.2; U+FFFD
// also stands for bytes that are no UTF-8.
func special(r rune) bool {
	switch r {
	case '&', '<', '>', '"', utf8.RuneError, 0xFFFE, 0xFFFF:
		return true
	case '\t', '\n', '\r':
		return false
	}
	return r < ' '
}
