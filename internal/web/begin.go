package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/intake"
	"tenths/internal/picture"
	"tenths/internal/shop"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// A book is begun for an engine that is chosen by looking: how its cylinders stand,
// how many there are, how many main journals its crankshaft has. It is drawn as it
// is chosen, and comes as a spreadsheet to be filled in, or as a book in the making
// at once.

// A pick is one thing that may be chosen.
type pick struct {
	Value, Words string
	Drawing      template.HTML
	On           bool
}

// Picks are what is chosen of one thing. Other is a number that is none of them.
type picks struct {
	Name, Legend string
	List         []pick
	Numbers      bool // they are numbers, and another may be typed
	Least, Most  int
	Other        string
	Was          int
}

type beginBody struct {
	Arrangements picks
	Numbers      []picks
	Units        []pick
	Engine       string
	Number       string
	Of           string // the engine that is shown
	Problem      string
	Small        template.HTML
	Drawing      engineDrawing
	Crank        template.HTML
	Lines, Parts int
	MayPrepare   bool
}

// kindsOfEngine are how cylinders may stand, each drawn.
var kindsOfEngine = sync.OnceValue(func() (all []pick) {
	for _, arrangement := range intake.Arrangements {
		e := intake.Engine{Arrangement: arrangement, Cylinders: intake.UsualCylinders(arrangement), Unit: quantity.Inch}
		e.Mains = e.UsualMains()
		_, b, err := begun(e)
		if err != nil {
			panic("BUG: an engine to choose: " + err.Error())
		}
		all = append(all, pick{Value: arrangement, Words: arrangement, Drawing: template.HTML(picture.Engine(b, nil, nil, true))})
	}
	return all
})

// begun is the book that is begun for an engine, if there is such an engine.
func begun(e intake.Engine) ([]byte, *book.Book, error) {
	own, err := intake.Skeleton(e)
	if err != nil {
		return nil, nil, err
	}
	b, err := book.Load("book.yaml", own)
	return own, b, err
}

// asked is a number that a form says: one that is typed where it is another than
// was shown, else one that is chosen; otherwise where it says none.
func asked(r *http.Request, name string, otherwise int) int {
	typed, chosen := value(r, name+"-other"), value(r, name)
	if typed != "" && (typed != value(r, name+"-was") || chosen == "") {
		chosen = typed
	}
	if n, err := strconv.Atoi(chosen); err == nil {
		return n
	}
	if chosen != "" {
		return -1 // which no engine has
	}
	return otherwise
}

// chosenEngine is the engine that a form says. Where it is of another kind than the
// one that was shown, or has other cylinders, what follows from that is as usual.
func chosenEngine(r *http.Request) (e intake.Engine, perRow int, of string) {
	e.Arrangement = value(r, "arrangement")
	if !slices.Contains(intake.Arrangements, e.Arrangement) {
		e.Arrangement = intake.Arrangements[0]
	}
	usual := intake.UsualCylinders(e.Arrangement)
	was := r.FormValue("of")
	kind := was == "" || len(was) > len(e.Arrangement) && was[:len(e.Arrangement)] == e.Arrangement
	perRow, e.Rows = usual, 1
	if kind {
		perRow = asked(r, "cylinders", usual)
		if e.Arrangement == "radial" {
			e.Rows = asked(r, "rows", 1)
		}
	}
	e.Cylinders = perRow * e.Rows
	if perRow < 0 || e.Rows < 0 {
		e.Cylinders = -1
	}
	of = fmt.Sprintf("%s %d %d", e.Arrangement, perRow, e.Rows)
	e.Mains = e.UsualMains()
	if was == "" || was == of {
		e.Mains = asked(r, "mains", e.Mains)
	}
	e.Unit = quantity.Inch
	if value(r, "unit") == quantity.Millimetre.String() {
		e.Unit = quantity.Millimetre
	}
	e.Title = intake.Title{Engine: value(r, "engine"), Number: value(r, "number")}
	return e, perRow, of
}

// numbers are numbers to choose from.
func numbers(name, legend string, now, least, most int, list ...int) picks {
	p := picks{Name: name, Legend: legend, Numbers: true, Least: least, Most: most, Was: now}
	slices.Sort(list)
	for _, n := range slices.Compact(list) {
		if n >= least && n <= most {
			p.List = append(p.List, pick{Value: strconv.Itoa(n), Words: strconv.Itoa(n), On: n == now})
		}
	}
	if now >= 0 && !slices.ContainsFunc(p.List, func(one pick) bool { return one.On }) {
		p.Other = strconv.Itoa(now)
	}
	return p
}

func (s *Server) getBegin(w http.ResponseWriter, r *http.Request) error {
	return s.beginPage(w, r, http.StatusOK, "")
}

func (s *Server) beginPage(w http.ResponseWriter, r *http.Request, code int, problem string) error {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	e, perRow, of := chosenEngine(r)
	body := beginBody{Engine: e.Title.Engine, Number: e.Title.Number, Of: of, Problem: problem}
	body.MayPrepare = s.options.Drafts != nil && shop.MayPrepare(state, s.handle(r), time.Now()) == nil
	body.Arrangements = picks{Name: "arrangement", Legend: "How do its cylinders stand?", List: slices.Clone(kindsOfEngine())}
	for i := range body.Arrangements.List {
		body.Arrangements.List[i].On = body.Arrangements.List[i].Value == e.Arrangement
	}
	mains := []int{2, e.UsualMains()}
	switch e.Arrangement {
	case "opposed":
		body.Numbers = append(body.Numbers, numbers("cylinders", "How many cylinders?", perRow, 2, 36, 2, 4, 6, 8))
		mains = append(mains, e.Cylinders/2+2, e.Cylinders+1)
	case "in-line":
		body.Numbers = append(body.Numbers, numbers("cylinders", "How many cylinders?", perRow, 2, 36, 2, 3, 4, 5, 6, 8))
		mains = append(mains, e.Cylinders/2+1)
	default:
		body.Numbers = append(body.Numbers, numbers("cylinders", "How many cylinders in a row?", perRow, 3, 36, 3, 5, 7, 9), numbers("rows", "In how many rows?", e.Rows, 1, 12, 1, 2, 4))
		mains = append(mains, e.Rows+2)
	}
	body.Numbers = append(body.Numbers, numbers("mains", "How many main journals has its crankshaft?", e.Mains, 1, 20, mains...))
	for _, u := range []quantity.Unit{quantity.Inch, quantity.Millimetre} {
		body.Units = append(body.Units, pick{Value: u.String(), Words: unitWords[u.String()], On: e.Unit == u})
	}
	if _, b, err := begun(e); err != nil {
		body.Problem = sentence(err.Error())
	} else {
		least := picture.EngineLeast(b)
		body.Small = template.HTML(picture.Engine(b, nil, nil, true))
		body.Drawing = engineDrawing{Lying: template.HTML(picture.Engine(b, nil, nil, false)), Upright: template.HTML(picture.EngineUpright(b, nil, nil)), Least: leastClass(least)}
		body.Crank = template.HTML(picture.Crank(b, nil, nil, nil))
		body.Lines, body.Parts = len(b.Lines), len(b.Parts)
	}
	return s.show(w, r, code, "begin", page{Title: "Begin a book", Here: "books"}, body)
}

// sheetOf is a book as a spreadsheet.
func sheetOf(own []byte) ([]byte, error) {
	sheets, err := intake.BookSheets(own)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = table.WriteXLSX(&b, sheets...)
	return b.Bytes(), err
}

// sendSheet sends a spreadsheet that a browser keeps.
func sendSheet(w http.ResponseWriter, name string, own []byte) error {
	data, err := sheetOf(own)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name+".xlsx"))
	_, err = w.Write(data)
	return err
}

// getBeginSheet is the spreadsheet of the book that is begun.
func (s *Server) getBeginSheet(w http.ResponseWriter, r *http.Request) error {
	e, _, _ := chosenEngine(r)
	own, _, err := begun(e)
	if err != nil {
		return s.beginPage(w, r, http.StatusUnprocessableEntity, "")
	}
	return sendSheet(w, draft.Slug(e.Title.Engine, "book"), own)
}

// postBegin begins the book in the making, without a spreadsheet of the person's.
func (s *Server) postBegin(w http.ResponseWriter, r *http.Request) error {
	by, err := s.stamp(r)
	if err != nil {
		return err
	}
	e, _, _ := chosenEngine(r)
	own, _, err := begun(e)
	if err != nil {
		return s.beginPage(w, r, http.StatusUnprocessableEntity, "")
	}
	data, err := sheetOf(own)
	if err != nil {
		return err
	}
	made, err := s.options.Drafts.Begin(e.Title, draft.Upload{Name: draft.Slug(e.Title.Engine, "book") + ".xlsx", Data: data, Stamp: by})
	if err != nil {
		words, ok := refusedWords(err)
		if !ok {
			return err
		}
		return s.beginPage(w, r, http.StatusUnprocessableEntity, words[0])
	}
	http.Redirect(w, r, draftPath(made), http.StatusSeeOther)
	return nil
}

// getDraftSheet is the sheet of a book in the making that was begun with one, as it
// is now, to be filled in further. What was settled stays with the draft.
func (s *Server) getDraftSheet(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	own := d.Sheet()
	if own == nil {
		return draft.ErrNone
	}
	return sendSheet(w, d.Name, own)
}
