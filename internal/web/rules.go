package web

import (
	"encoding/json"
	"fmt"
	"html/template"
	"strings"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/metrology/quantity"
)

// A moving is a line whose mark follows the figure that is typed: where it
// would stand if that were kept. The script adds and compares whole counts of
// 0.1 nm and words nothing.
type moving struct {
	Line  string       `json:"line"`
	Rule  picture.Rule `json:"rule"`
	Times int64        `json:"times"`          // how often the size counts in the sum
	Low   int64        `json:"low"`            // tightest sum of the other terms
	High  int64        `json:"high"`           // loosest
	Have  []int64      `json:"have,omitempty"` // the other readings of the size
	Ready bool         `json:"ready"`          // the other terms are known
}

// rulesAt are the size and the fits that a spot is part of, for the script.
func rulesAt(j *job.Judged, id book.SpotID) string {
	words := judge.Words{Book: j.Book}
	all := []moving{}
	first := true
	for _, ref := range touches(j.Book, id) {
		for i := range j.Verdicts {
			v := &j.Verdicts[i]
			if v.Line != ref.Line || v.At != ref.At {
				continue
			}
			kind := picture.OfColumn
			if first && v.Line.Judges == book.Size {
				kind = picture.OfScale
			}
			first = false
			if m, ok := movingOf(j, words, v, id, kind); ok {
				all = append(all, m)
			}
		}
	}
	text, err := json.Marshal(all)
	if err != nil {
		panic("BUG: " + err.Error())
	}
	return string(text)
}

func movingOf(j *job.Judged, words judge.Words, v *judge.Verdict, id book.SpotID, kind picture.RulerKind) (m moving, ok bool) {
	l := v.Line
	if l.Judges != book.Size && l.Judges != book.Fit || l.IsMean() || l.Unit.Kind() != quantity.LengthKind || len(v.Limit.Tiers) == 0 {
		return m, false
	}
	m = moving{Line: l.ID(v.At), Rule: picture.RuleOf(words, v, kind), Ready: true}
	here := j.Book.SiteAt(id)
	inst := &l.Instances[v.At]
	for n, t := range l.Terms {
		site := inst.Sites[n]
		if site.Index == here.Index {
			m.Times = int64(t.Times)
			for _, spot := range site.Spots {
				if spot == id {
					continue
				}
				for _, r := range j.Readings.At(spot) {
					size, isLength := r.Value.Length()
					if !r.Exact() || !isLength {
						return m, false
					}
					m.Have = append(m.Have, size.TenthsOfNanometre())
				}
			}
			continue
		}
		least, most, known := span(j, site)
		m.Ready = m.Ready && known
		if t.Times < 0 {
			least, most = most, least
		}
		m.Low += int64(t.Times) * least
		m.High += int64(t.Times) * most
	}
	return m, m.Times != 0
}

// span is the smallest and the largest reading at a site.
func span(j *job.Judged, site *book.Site) (least, most int64, known bool) {
	for _, spot := range site.Spots {
		for _, r := range j.Readings.At(spot) {
			size, ok := r.Value.Length()
			if !ok || !r.Exact() {
				return 0, 0, false
			}
			n := size.TenthsOfNanometre()
			if !known || n < least {
				least = n
			}
			if !known || n > most {
				most = n
			}
			known = true
		}
	}
	return least, most, known
}

// routeLine draws the route as the ruler that it is: a graduation a spot, thick
// where it is done, blue where the hand is.
func routeLine(r route) template.HTML {
	n := len(r.Stops)
	if n == 0 {
		return ""
	}
	x := func(i int) string { return fmt.Sprintf("%.2f%%", 100*float64(i)/float64(n)) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg role="img" aria-label="Spot %d of %d on this route"><line class="base" x1="0" x2="100%%" y1="1" y2="1"/>`, r.At+1, n)
	for i := 0; i < n; {
		k := i
		for k < n && r.Stops[k].Done == r.Stops[i].Done {
			k++
		}
		if r.Stops[i].Done {
			fmt.Fprintf(&b, `<line class="done" x1="%s" x2="%s" y1="3" y2="3"/>`, x(i), x(k))
		}
		i = k
	}
	// A name has room where the one before it ends, on the narrowest line that has
	// names at all: 560 px, and a letter is 7.
	free := 0.0
	for i, s := range r.Stops {
		at := 100 * float64(i) / float64(n)
		switch {
		case s.First && at >= free && at < 74:
			name := brief(s.Group)
			free = at + 100*float64(7*len([]rune(name))+16)/560
			class := ""
			if r.At >= 0 && r.Stops[r.At].Group == s.Group {
				class = "nowt"
			}
			fmt.Fprintf(&b, `<line class="maj" x1="%[1]s" x2="%[1]s" y1="0" y2="20"/><text class="%[2]s" x="%[1]s" dx="6" y="40">%[3]s</text>`, x(i), class, template.HTMLEscapeString(name))
		case s.First:
			fmt.Fprintf(&b, `<line class="maj" x1="%[1]s" x2="%[1]s" y1="0" y2="20"/>`, x(i))
		case n <= 120:
			fmt.Fprintf(&b, `<line x1="%[1]s" x2="%[1]s" y1="0" y2="9"/>`, x(i))
		}
	}
	if r.At >= 0 {
		fmt.Fprintf(&b, `<svg class="at" x="%s" y="0" overflow="visible" width="1" height="1"><path class="now" d="M0 3l9 16h-18z"/></svg>`, x(r.At))
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// brief is a group's name as far as the route has room for.
func brief(name string) string {
	name = strings.TrimLeft(name, "0123456789 ")
	const most = 16
	if r := []rune(name); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return name
}
