package draft

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/internal/whole"
)

// An Upload is a table that somebody brings in.
type Upload struct {
	Name string // as it is called where it comes from
	Data []byte
	Stamp
}

// A RefusedError says why a change was not made, and what to do.
type RefusedError struct{ What, Do string }

func (e *RefusedError) Error() string { return e.What + ": " + e.Do }

// A WholeError says what is wrong with a book as a sheet.
type WholeError struct{ Faults fault.List }

func (e *WholeError) Error() string { return e.Faults.Error() }

// Begin begins a draft with a table, and returns its name. A file that can't be
// read is told by a fault list, a book as a sheet that has faults by a
// [WholeError], and nothing is kept of either. Such a book says itself what it is
// of, where the title does not.
func (s *Drafts) Begin(title intake.Title, up Upload) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	entry, sheet, err := entryOf(up, 1, "")
	if err != nil {
		return "", err
	}
	if intake.IsBookSheet(sheet) {
		read, faults := intake.ReadWhole(sheet, up.Data, intake.Mapping{})
		if len(faults) > 0 {
			return "", &WholeError{faults}
		}
		title = filledIn(title, read.Whole.Title())
	}
	if err := goodTitle(title); err != nil {
		return "", err
	}
	all, err := s.list()
	if err != nil {
		return "", err
	}
	if len(all) >= MaxDrafts {
		return "", &RefusedError{fmt.Sprintf("there are %d drafts of books", len(all)), "move some out of the folder " + s.dir}
	}
	if err := os.MkdirAll(s.dir, 0o777); err != nil {
		return "", err
	}
	name, err := s.free(Slug(title.Engine, "book"))
	if err != nil {
		return "", err
	}
	d := &Draft{Name: name, About: About{Begun: up.Stamp}}
	d.setTitle(title)
	if err := s.bringIn(d, entry, up.Data, intake.Mapping{}); err != nil {
		return "", err
	}
	return name, nil
}

// filledIn is a title with what it does not say as another says it.
func filledIn(t, by intake.Title) intake.Title {
	return intake.Title{
		Engine: cmp.Or(t.Engine, by.Engine), Manual: cmp.Or(t.Manual, by.Manual), Number: cmp.Or(t.Number, by.Number),
		Revision: cmp.Or(t.Revision, by.Revision), Date: cmp.Or(t.Date, by.Date),
	}
}

// free makes a folder of a name that is not taken.
func (s *Drafts) free(stem string) (string, error) {
	for n := 1; ; n++ {
		name := stem
		if n > 1 {
			name = fmt.Sprintf("%s-%d", stem, n)
		}
		err := os.Mkdir(filepath.Join(s.dir, name), 0o777)
		if !errors.Is(err, fs.ErrExist) {
			return name, err
		}
	}
}

// Slug is a text as the name of a file: small letters, digits and dashes.
func Slug(text, otherwise string) string {
	const most = 40
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	name := strings.Join(words, "-")
	if len(name) > most {
		name = strings.Trim(name[:most], "-")
	}
	if name == "" {
		return otherwise
	}
	return name
}

// entryOf looks whether a table can be read, and names its file.
func entryOf(up Upload, n int, sheet string) (Entry, table.Sheet, error) {
	s, faults := table.Read(up.Name, sheet, up.Data)
	if len(faults) > 0 {
		return Entry{}, s, faults
	}
	ext := ".csv"
	if bytes.HasPrefix(up.Data, []byte("PK")) {
		ext = ".xlsx"
	}
	base := filepath.Base(strings.ReplaceAll(up.Name, `\`, "/"))
	e := Entry{File: fmt.Sprintf("%02d-%s%s", n, Slug(strings.TrimSuffix(base, filepath.Ext(base)), "table"), ext), Name: base, Stamp: up.Stamp}
	if len(s.Sheets) > 1 {
		e.Sheet = s.Name
	}
	return e, s, nil
}

// bringIn keeps a table's file under a draft, and what is said of it already.
func (s *Drafts) bringIn(d *Draft, e Entry, data []byte, said intake.Mapping) error {
	if err := s.write(d.Name, e.File, data); err != nil {
		return err
	}
	t := &Table{Entry: e, Mapping: said}
	t.take(data)
	d.Tables = append(d.Tables, t)
	// A table is in the draft also where no book comes of it: its page says why.
	if err := s.writeAbout(d); err != nil {
		return err
	}
	if err := s.writeChanged(d.Name, mappingName(t.File), t.Mapping.Text()); err != nil || d.make() != nil {
		return err
	}
	return s.save(d)
}

// Add brings one more table into a draft. What was said of the table before it
// is said of this one, as far as it has the same columns. A book as a sheet takes
// the place of the one that the draft was begun with, filled in further.
func (s *Drafts) Add(name string, up Upload) error {
	return s.change(name, func(d *Draft) error { return s.add(d, up, "") })
}

// AddSheet takes another sheet of a workbook that is in the draft as one more
// table.
func (s *Drafts) AddSheet(name string, n int, sheet string, by Stamp) error {
	return s.change(name, func(d *Draft) error {
		t, err := d.table(n)
		if err != nil {
			return err
		}
		data, err := readFile(s.path(name, t.File), table.MaxSize)
		if err != nil {
			return err
		}
		if t.Whole {
			return errAllSheets
		}
		return s.add(d, Upload{t.Name, data, by}, sheet)
	})
}

func (s *Drafts) add(d *Draft, up Upload, sheet string) error {
	if len(d.Tables) >= MaxTables {
		return &RefusedError{fmt.Sprintf("the draft has %d tables", len(d.Tables)), "begin another draft"}
	}
	if err := d.notEdited(); err != nil {
		return err
	}
	e, sh, err := entryOf(up, len(d.Tables)+1, sheet)
	if err != nil {
		return err
	}
	said := intake.Mapping{}
	if intake.IsBookSheet(sh) {
		if said, err = d.makeWay(sh, up.Data); err != nil {
			return err
		}
		return s.bringIn(d, e, up.Data, said)
	}
	for _, t := range slices.Backward(d.Tables) {
		if !t.Whole {
			said = t.Mapping.For(sh)
			break
		}
	}
	return s.bringIn(d, e, up.Data, said)
}

var errAllSheets = &RefusedError{"a book as a sheet is all of its sheets together", "leave them as they are"}

// makeWay leaves the draft's whole book out for another, which is the same, filled
// in further or changed, and returns what was said of it. A book can't be added to
// what the draft has otherwise.
func (d *Draft) makeWay(sh table.Sheet, data []byte) (said intake.Mapping, err error) {
	read, faults := intake.ReadWhole(sh, data, intake.Mapping{})
	if len(faults) > 0 {
		return said, &WholeError{faults}
	}
	was, others := d.whole()
	switch {
	case was == nil && others > 0:
		return said, &RefusedError{"this is a whole book as a sheet, and the draft has been begun with a table", "begin a book of its own with the sheet, and bring the tables in there"}
	case was != nil && was.Read != nil && !d.isOf(read.Whole, was.Read.Whole) && (others > 0 || read.Whole.Edition != intake.Edition(d.Book)):
		return said, &RefusedError{"this sheet was not written from the book that the draft has, so it can't take its place", "begin a book of its own with it"}
	}
	if was != nil {
		was.Out = true
		said.Answers, said.Holds = was.Mapping.Answers, was.Mapping.Holds
	}
	d.setTitle(filledIn(d.Title(), read.Whole.Title()))
	return said, nil
}

// isOf tells whether a sheet was written from the same book as another, or from
// what the other came to.
func (d *Draft) isOf(f, was *intake.Filled) bool {
	return f.Edition == was.Edition || f.Edition == intake.Edition(was.Text) || f.Edition == intake.Edition(was.Titled(d.Title()))
}

// Sheet is the book that the draft was begun with as its sheet makes it, without
// what other tables add and what was settled: for a sheet that is filled in
// further. It is nil where there is none.
func (d *Draft) Sheet() []byte {
	was, _ := d.whole()
	if was == nil || was.Read == nil {
		return nil
	}
	return was.Read.Whole.Titled(d.Title())
}

// whole is the whole book among a draft's tables, nil where it has none or none
// that is not left out, and how many others are not left out.
func (d *Draft) whole() (whole *Table, others int) {
	for _, t := range d.Tables {
		switch {
		case t.Out:
		case t.Whole:
			whole = t
		default:
			others++
		}
	}
	return whole, others
}

// change opens a draft and changes it, alone.
func (s *Drafts) change(name string, f func(*Draft) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, err := s.about(name); err != nil {
		return err
	}
	// A command may settle in the same folder.
	return whole.Alone(s.path(name, book.SettledName(name+".yaml")), func() error {
		d, err := s.open(name)
		if err != nil {
			return err
		}
		d.before = d.standing(d.Loaded)
		return f(d)
	})
}

// changeTable changes a table of a draft whose book is made of its tables.
func (s *Drafts) changeTable(name string, n int, f func(*Draft, *Table) error) error {
	return s.change(name, func(d *Draft) error {
		t, err := d.table(n)
		if err != nil {
			return err
		}
		if err := d.notEdited(); err != nil {
			return err
		}
		return f(d, t)
	})
}

func (d *Draft) table(n int) (*Table, error) {
	if n < 0 || n >= len(d.Tables) {
		return nil, ErrNone
	}
	return d.Tables[n], nil
}

func (d *Draft) notEdited() error {
	if !d.Edited {
		return nil
	}
	return &RefusedError{d.File() + " was edited outside of these pages, so its tables are not read anew", "go on with what is held and found in it, or begin another draft"}
}

// Say changes what is said of a table. It is refused where the book that the
// tables then come to could not be loaded.
func (s *Drafts) Say(name string, n int, said intake.Mapping) error {
	return s.changeTable(name, n, func(d *Draft, t *Table) error {
		said.Format = intake.MappingFormat
		if err := said.Check(); err != nil {
			return &RefusedError{"what is said of the table can't be kept", err.Error()}
		}
		d.Tables[n] = t.As(said)
		return s.save(d)
	})
}

// TakeSheet takes another sheet of a table's workbook in its place.
func (s *Drafts) TakeSheet(name string, n int, sheet string) error {
	return s.changeTable(name, n, func(d *Draft, t *Table) error {
		if t.Whole {
			return errAllSheets
		}
		data, err := readFile(s.path(name, t.File), table.MaxSize)
		if err != nil {
			return err
		}
		sh, faults := table.Read(t.Name, sheet, data)
		if len(faults) > 0 {
			return faults
		}
		t.Sheet, t.Entry.Sheet, t.Mapping = sh, sh.Name, t.Mapping.For(sh)
		t.understand()
		return s.save(d)
	})
}

// LeaveOut leaves a table out of the book, or takes it in again. Its file stays.
// Of whole books one is in at a time.
func (s *Drafts) LeaveOut(name string, n int, out bool) error {
	return s.changeTable(name, n, func(d *Draft, t *Table) error {
		if was, _ := d.whole(); t.Whole && !out && was != nil {
			was.Out = true
		}
		t.Out = out
		return s.save(d)
	})
}

// Call changes what the book says of itself.
func (s *Drafts) Call(name string, title intake.Title) error {
	return s.change(name, func(d *Draft) error {
		if err := goodTitle(title); err != nil {
			return err
		}
		if title == d.Title() {
			return nil
		}
		if err := d.notEdited(); err != nil {
			return err
		}
		d.setTitle(title)
		return s.save(d)
	})
}

func (d *Draft) setTitle(t intake.Title) {
	d.Engine, d.Manual, d.Number, d.Revision, d.Date = t.Engine, t.Manual, t.Number, t.Revision, t.Date
}

const maxTitle = 200 // bytes of each of its texts

func goodTitle(t intake.Title) error {
	if strings.TrimSpace(t.Engine) == "" {
		return &RefusedError{"the book does not say which engine it is of", "give the engine's model"}
	}
	for _, text := range []string{t.Engine, t.Manual, t.Number, t.Revision, t.Date} {
		if len(text) > maxTitle {
			return &RefusedError{"what the book says of itself is too long", fmt.Sprintf("say it in %d letters", maxTitle)}
		}
	}
	return nil
}

// Adopted notes that the draft was adopted as an edition.
func (s *Drafts) Adopted(name, edition string, by Stamp) error {
	return s.change(name, func(d *Draft) error {
		if !slices.ContainsFunc(d.About.Adopted, func(a Adoption) bool { return a.Edition == edition }) {
			d.About.Adopted = append(d.About.Adopted, Adoption{edition, by})
		}
		return s.writeAbout(d)
	})
}

// save makes the book anew and writes what has changed: first what says which
// book is ours, then what was said of the tables, then the book.
func (s *Drafts) save(d *Draft) error {
	if err := d.make(); err != nil {
		if list := new(fault.List); errors.As(err, list) {
			return err
		}
		if count := new(intake.CountError); errors.As(err, &count) {
			return &RefusedError{count.What(), count.Do()}
		}
		return &RefusedError{err.Error(), "bring in a smaller table, or leave one out"}
	}
	settled, aside, err := d.resettle(d.before)
	if err != nil {
		return err
	}
	if now := sum(d.Book); d.Book != nil && !slices.Contains(d.Made, now) {
		d.Made = append([]string{now}, d.Made[:min(1, len(d.Made))]...)
	}
	// What is put aside stands there before it goes, and what comes back goes from
	// there once it stands.
	fresh := slices.DeleteFunc(slices.Clone(aside), func(a Aside) bool { return !a.fresh })
	if len(fresh) > 0 {
		if err := s.writeAside(d.Name, slices.Concat(d.aside, fresh)); err != nil {
			return err
		}
	}
	if err := s.writeAbout(d); err != nil {
		return err
	}
	for _, t := range d.Tables {
		if err := s.writeChanged(d.Name, mappingName(t.File), t.Mapping.Text()); err != nil {
			return err
		}
	}
	if len(settled) > 0 {
		if err := s.writeChanged(d.Name, book.SettledName(d.File()), settled); err != nil {
			return err
		}
	}
	if err := s.writeAside(d.Name, aside); err != nil {
		return err
	}
	d.Settled, d.aside = settled, aside
	if d.Book != nil {
		if err := s.writeChanged(d.Name, d.File(), d.Book); err != nil {
			return err
		}
	}
	d.load()
	return nil
}

// writeChanged writes a file that does not say so yet.
func (s *Drafts) writeChanged(name, file string, data []byte) error {
	if was, err := os.ReadFile(s.path(name, file)); err == nil && bytes.Equal(was, data) {
		return nil
	}
	return s.write(name, file, data)
}

// writeAbout writes draft.yaml.
func (s *Drafts) writeAbout(d *Draft) error {
	d.Format = Format
	d.About.Tables = nil
	for _, t := range d.Tables {
		d.About.Tables = append(d.About.Tables, t.Entry)
	}
	var b bytes.Buffer
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	if err := errors.Join(enc.Encode(d.About), enc.Close()); err != nil {
		return err
	}
	return s.writeChanged(d.Name, "draft.yaml", b.Bytes())
}

// Answer settles cells that wait for a person, also ones that somebody settled
// otherwise before.
func (s *Drafts) Answer(name string, sayings ...book.Saying) error {
	return s.change(name, func(d *Draft) error {
		if d.Loaded == nil {
			return &RefusedError{"the draft has no lines yet", "say first what its columns hold"}
		}
		return s.answer(d, sayings)
	})
}

func (s *Drafts) answer(d *Draft, sayings []book.Saying) error {
	text, _, err := book.Answer(d.File(), d.Book, d.Settled, sayings, true)
	if err != nil {
		return err
	}
	return s.writeChanged(d.Name, book.SettledName(d.File()), text)
}

// Correct lets cells say something else than what was read, though they can be
// read: each is held as what was brought in has it, with what speaks against it,
// and settled as the person says. A cell that waits already is only settled. Where
// that is taken back, both readings are there to choose from.
func (s *Drafts) Correct(name, against string, sayings ...book.Saying) error {
	return s.change(name, func(d *Draft) error {
		if d.Loaded == nil {
			return &RefusedError{"the draft has no lines yet", "say first what its columns hold"}
		}
		waits := map[[2]string]bool{}
		for _, w := range d.Loaded.Doubts() {
			waits[[2]string{w.Line.Key, w.Cell}] = true
		}
		all := slices.Clone(sayings)
		held := false
		for _, say := range sayings {
			l, ok := d.Loaded.Line(say.Line)
			if !ok {
				return &RefusedError{"the book has no line " + say.Line, "look at its findings again"}
			}
			if _, known := settledCell(l, say.Cell); known || waits[[2]string{say.Line, say.Cell}] {
				continue
			}
			t, r, ok := d.Row(say.Line)
			if d.Edited || !ok {
				return &RefusedError{"the line is not one of the tables'", "write what it says into " + d.File()}
			}
			text := map[string]string{book.HoldNew: l.Says.New, book.HoldService: l.Says.Service}[say.Cell]
			t.Mapping.Holds = append(slices.Clone(t.Mapping.Holds), intake.Doubted{Row: r.FileLine, Cell: say.Cell, Text: text, May: []string{say.Says, cmp.Or(text, "blank")}, Why: against})
			held = true
			if say.Cell != book.HoldNew || l.Says.Service == "" || slices.ContainsFunc(sayings, func(o book.Saying) bool { return o.Line == say.Line && o.Cell == book.HoldService }) {
				continue
			}
			// What waits with it says what it said.
			with := say
			with.Cell, with.Says = book.HoldService, l.Says.Service
			all = append(all, with)
		}
		if held {
			for i, t := range d.Tables {
				d.Tables[i] = t.As(t.Mapping)
			}
			if err := d.make(); err != nil {
				return err
			}
		}
		// Nothing is written before all of it can be.
		text, _, err := book.Answer(d.File(), d.Book, d.Settled, all, true)
		if err != nil {
			return err
		}
		if held {
			d.Settled = text
			return s.save(d)
		}
		return s.writeChanged(name, book.SettledName(d.File()), text)
	})
}

func settledCell(l *book.Line, cell string) (book.SettledHold, bool) {
	n := slices.IndexFunc(l.Settled, func(h book.SettledHold) bool { return h.Cell == cell })
	if n < 0 {
		return book.SettledHold{}, false
	}
	return l.Settled[n], true
}

// Strike takes back what was settled, linked or let stand; it stays on record.
func (s *Drafts) Strike(name string, strikes ...book.Striking) error {
	return s.change(name, func(d *Draft) error {
		text, _, err := book.Strike(d.File(), d.Book, d.Settled, strikes...)
		if err != nil {
			return err
		}
		return s.writeChanged(name, book.SettledName(d.File()), text)
	})
}

// Confirm links clearances to the sizes that they are worked out from.
func (s *Drafts) Confirm(name string, links ...book.Linking) error {
	return s.change(name, func(d *Draft) error {
		if d.Loaded == nil {
			return &RefusedError{"the draft has no lines yet", "say first what its columns hold"}
		}
		text, _, err := book.Confirm(d.File(), d.Book, d.Settled, links, true)
		if err != nil {
			return err
		}
		return s.writeChanged(name, book.SettledName(d.File()), text)
	})
}

// Acknowledge says why findings may stand.
func (s *Drafts) Acknowledge(name string, all ...book.Acknowledged) error {
	return s.change(name, func(d *Draft) error {
		if d.Loaded == nil {
			return &RefusedError{"the draft has no lines yet", "say first what its columns hold"}
		}
		text, err := book.Acknowledge(book.SettledName(d.File()), d.Settled, all...)
		if err != nil {
			return err
		}
		return s.writeChanged(name, book.SettledName(d.File()), text)
	})
}
