package table

import (
	"fmt"
	"strings"
	"time"
)

// A format is how a style shows a number, as far as it matters: what is shown
// of a number's digits, or that it is a date.
type format struct {
	fixed    bool // so many decimals are shown, no more and no fewer
	decimals int
	date     bool
	percent  bool
	before   string // words around the figure
	behind   string
	scaled   bool // in thousands, or with an exponent
	fraction bool
	struck   bool // struck out
}

// builtin are the formats that have a number and no text.
var builtin = map[int]string{
	1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?", 13: "# ??/??",
	14: "m/d/yyyy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm", 19: "h:mm:ss", 20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm",
	37: "#,##0", 38: "#,##0", 39: "#,##0.00", 40: "#,##0.00", 45: "mm:ss", 46: "h:mm:ss", 47: "mm:ss.0", 48: "##0.0E+0", 49: "@",
}

// formatOf reads the first section of a format's code: that of positive numbers.
func formatOf(code string) format {
	var f format
	if code == "" || strings.EqualFold(code, "general") || code == "@" {
		return f
	}
	figure, point, optional := false, false, false
	word := func(s string) {
		if figure {
			f.behind += s
		} else {
			f.before += s
		}
	}
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case ';':
			i = len(code)
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				end = len(code) - i - 1
			}
			word(code[i+1 : i+1+end])
			i += end + 1
		case '\\':
			if i+1 < len(code) {
				word(code[i+1 : i+2])
			}
			i++
		case '_', '*':
			i++ // room as wide as the next character, or filled with it
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return format{}
			}
			if in := code[i+1 : i+end]; in != "" && strings.Trim(in, "hmsHMS") == "" {
				f.date = true // elapsed time
			}
			i += end
		case '0', '#', '?':
			figure = true
			if point {
				f.decimals++
				optional = optional || c == '#'
			}
		case '.':
			point = true
		case ',':
			// Behind the figures it divides by a thousand, between them it groups.
			rest := strings.TrimLeft(code[i:], ",")
			if figure && (rest == "" || strings.IndexByte("0#?", rest[0]) < 0) {
				f.scaled = true
			}
		case 'E', 'e':
			f.scaled = f.scaled || figure
			f.date = f.date || !figure
		case '%':
			f.percent = true
		case '/':
			f.fraction = f.fraction || figure && !f.date
		case 'y', 'm', 'd', 'h', 's', 'Y', 'M', 'D', 'H', 'S':
			f.date = true
		case 'g', 'G':
			if strings.HasPrefix(strings.ToLower(code[i:]), "general") {
				return f // with words around it at most
			}
		case '@':
		default:
			word(string(c))
		}
	}
	f.fixed = figure && !optional && !f.scaled && !f.fraction && !f.date
	return f
}

const dateDoubt = "the cell is a date: a spreadsheet makes one of what looks like it, as of 1-2 or 1/4"

// show shows a number as the format does.
func (f format) show(value string, from1904 bool) Cell {
	d, ok := decimalOf(value)
	if !ok {
		return Cell{Text: value, Doubt: "the cell has a number that can't be read"}
	}
	exact := d.text()
	switch {
	case f.date:
		return Cell{Text: dateText(d, from1904), Doubt: dateDoubt}
	case f.percent:
		d.point += 2
		if !f.fixed {
			return Cell{Text: d.text() + " %", Digits: true}
		}
		return Cell{Text: d.round(f.decimals) + " %"}
	case !f.fixed:
		return Cell{Text: exact, Digits: true}
	}
	shown := d.round(f.decimals)
	c := Cell{Text: strings.TrimSpace(f.before + shown + f.behind)}
	if f.before != "" && strings.HasPrefix(shown, "-") {
		c.Text = strings.TrimSpace("-" + f.before + shown[1:] + f.behind)
	}
	if r, _ := decimalOf(shown); r.text() != exact {
		c.Doubt, c.Holds = fmt.Sprintf("the cell shows %s and holds %s", shown, exact), exact
	}
	return c
}

// dateText is the day that a spreadsheet counts so.
func dateText(d decimal, from1904 bool) string {
	days := 0
	for i := range d.point {
		if days = days * 10; i < len(d.digits) {
			days += int(d.digits[i] - '0')
		}
		if days > 3_000_000 {
			return d.text()
		}
	}
	first := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if from1904 {
		first = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	if d.negative {
		return d.text()
	}
	return first.AddDate(0, 0, days).Format(time.DateOnly)
}

// A decimal is a number in decimal digits: 0.digits times ten to the point.
// A spreadsheet stores numbers in binary and writes them with up to 17 digits,
// of which 15 are what was typed.
type decimal struct {
	negative bool
	digits   string // without noughts at either end; empty is nought
	point    int
}

// decimalOf reads a number as a spreadsheet writes it, to 15 digits.
func decimalOf(text string) (d decimal, ok bool) {
	text = strings.TrimSpace(text)
	if len(text) > 400 {
		return d, false
	}
	text, exponent, hasExponent := strings.Cut(strings.ToLower(text), "e")
	power := 0
	if hasExponent {
		n := 0
		negative := strings.HasPrefix(exponent, "-")
		exponent = strings.TrimLeft(exponent, "+-")
		for i := range len(exponent) {
			if exponent[i] < '0' || exponent[i] > '9' || n > 400 {
				return d, false
			}
			n = n*10 + int(exponent[i]-'0')
		}
		if exponent == "" {
			return d, false
		}
		if power = n; negative {
			power = -n
		}
	}
	text, d.negative = strings.TrimPrefix(text, "-"), strings.HasPrefix(text, "-")
	whole, part, _ := strings.Cut(text, ".")
	if whole == "" && part == "" {
		return d, false
	}
	d.digits, d.point = whole+part, len(whole)+power
	for i := range len(d.digits) {
		if d.digits[i] < '0' || d.digits[i] > '9' {
			return d, false
		}
	}
	if d.trim(); d.point > 310 || d.point < -310 {
		return d, false
	}
	if len(d.digits) > 15 {
		d.cut(15)
	}
	return d, true
}

func (d *decimal) trim() {
	n := len(d.digits)
	d.digits = strings.TrimLeft(d.digits, "0")
	d.point -= n - len(d.digits)
	d.digits = strings.TrimRight(d.digits, "0")
	if d.digits == "" {
		d.point, d.negative = 0, false
	}
}

// cut rounds to the first n digits, a five up.
func (d *decimal) cut(n int) {
	if n >= len(d.digits) {
		return
	}
	if n < 0 {
		d.digits, d.point, d.negative = "", 0, false
		return
	}
	up := d.digits[n] >= '5'
	b := []byte(d.digits[:n])
	for i := n - 1; up && i >= 0; i-- {
		if b[i]++; b[i] <= '9' {
			up = false
		} else {
			b[i] = '0'
		}
	}
	d.digits = string(b)
	if up {
		d.digits, d.point = "1"+d.digits, d.point+1
	}
	d.trim()
}

// round writes the number with so many decimals.
func (d decimal) round(decimals int) string {
	d.cut(d.point + decimals)
	whole, part := d.parts()
	for len(part) < decimals {
		part += "0"
	}
	return d.written(whole, part)
}

// text writes the number with the decimals that it has.
func (d decimal) text() string { return d.written(d.parts()) }

func (d decimal) parts() (whole, part string) {
	switch {
	case d.point <= 0:
		return "0", strings.Repeat("0", -d.point) + d.digits
	case d.point >= len(d.digits):
		return d.digits + strings.Repeat("0", d.point-len(d.digits)), ""
	}
	return d.digits[:d.point], d.digits[d.point:]
}

func (d decimal) written(whole, part string) string {
	if d.digits == "" {
		whole, part = "0", strings.Repeat("0", len(part))
	}
	if part != "" {
		whole += "." + part
	}
	if d.negative {
		whole = "-" + whole
	}
	return whole
}
