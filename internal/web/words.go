package web

import (
	"cmp"
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"net/url"
	"slices"
	"strings"

	"tenths/internal/fault"
	"tenths/internal/judge"
	"tenths/internal/ledger"
	"tenths/internal/shoplog"
)

var functions = template.FuncMap{
	"plural":  plural,
	"order":   orderPath,
	"when":    func(t ledger.Time) string { return ago(t.Time()) },
	"word":    gradeWord,
	"short":   func(text string) string { return text[:min(16, len(text))] },
	"figure":  figure,
	"words":   func(all ...string) []string { return all },
	"strikes": func() []string { return strikeReasons },
	"reasons": func() string { // for the script
		text, err := json.Marshal(map[string][]string{"strike": strikeReasons, "skip": skipReasons})
		if err != nil {
			panic("BUG: " + err.Error())
		}
		return string(text)
	},
	"add":    func(a, b int) int { return a + b },
	"sub":    func(a, b int) int { return a - b },
	"look":   func(row sideRow) besideRow { return besideRow{Row: row} },
	"cellof": func(path, key, cell string) cellOf { return cellOf{path, key + " " + cell, cell} },
	"side":   besideOf,
	"share":  func(part, of int) string { return fmt.Sprintf("%.1f%%", 100*float64(part)/float64(max(1, of))) },
	"lines":  func(text string) []string { return strings.Split(text, "\n") },
}

// figure sets a figure or a limit so that it breaks between its two ends, and
// before the length that a rate is over, and nowhere else.
func figure(text string) template.HTML {
	text, over, rate := strings.Cut(template.HTMLEscapeString(text), " per ")
	text = unbroken.Replace(text)
	if !rate {
		return template.HTML(text)
	}
	return template.HTML(text + ` <span class="per">per ` + over + `</span>`)
}

var unbroken = strings.NewReplacer("..", "..<wbr>", "max ", "max&nbsp;", "min ", "min&nbsp;", "over ", "over&nbsp;", "under ", "under&nbsp;", " mm", "&nbsp;mm", " in", "&nbsp;in")

func plural(n int, thing string) string {
	switch {
	case n == 1:
		return "1 " + thing
	case strings.HasSuffix(thing, "y"):
		return fmt.Sprintf("%d %sies", n, strings.TrimSuffix(thing, "y"))
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// orderPath is the address of a job.
func orderPath(order string) string { return "/orders/" + url.PathEscape(order) }

// gradeWord is the one word for how a verdict stands.
func gradeWord(v *judge.Verdict) string {
	switch {
	case v.Ungraded != "":
		return "reference"
	case v.Grade != judge.NoGrade:
		return v.Grade.String()
	case v.Open() && !v.IsHeld():
		return "open"
	}
	return "held"
}

// rest is what is said of a verdict beside the word that stands there already.
func rest(standing, word string) string {
	if standing == "not graded: "+word {
		return ""
	}
	return strings.TrimLeft(strings.TrimPrefix(standing, word), ",: ")
}

// spoken are faults as a person is told them who typed the text: without where it
// stands in a file, and without the code.
func spoken(faults fault.List) string {
	var told []string
	for _, f := range faults {
		text := f.What
		if f.Text != "" {
			text = "“" + fault.Cut(f.Text) + "” " + text
		}
		switch {
		case f.Do == "":
		case strings.HasSuffix(text, "?"):
			text += " " + strings.ToUpper(f.Do[:1]) + f.Do[1:]
		default:
			text += ": " + f.Do
		}
		told = append(told, sentence(text))
	}
	return strings.Join(told, " ")
}

// editions returns the shop's, by engine.
func editions(state *shoplog.State) []shoplog.EditionAdopted {
	return slices.SortedFunc(maps.Values(state.Editions), func(a, b shoplog.EditionAdopted) int {
		return cmp.Or(strings.Compare(a.Engine, b.Engine), strings.Compare(a.Edition, b.Edition))
	})
}
