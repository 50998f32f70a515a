// Package draft keeps books in the making: what people brought in to be read, and
// what they said of it, until a book is adopted.
//
// A draft is a folder of plain files, the ones that the command line has: each
// table as it was brought in, what was said of it (TABLE.mapping.yaml), the book
// that they come to (NAME.yaml) and what was settled of it (NAME.settled.yaml).
// What was settled of rows that are not in the book now is in NAME.aside.yaml;
// draft.yaml says which tables there are, in which order, and who brought them.
// Each file is written whole. The book is made of its tables anew whenever it is
// opened, so that it is never older than what was said of them; one that somebody
// edited by hand is taken as it stands. Nothing that was brought in is removed: a
// table that is left out, and a settlement that no longer has a cell, are kept.
//
// Drafts know nothing of shops: who may do what, and adopting, is for others.
package draft

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/internal/whole"
)

// Format is the format of draft.yaml.
const Format = "draft/1"

// Bounds on what is kept.
const (
	MaxTables = 40  // of one draft
	MaxDrafts = 500 // of one folder
)

// ErrNone says that there is no such draft, or table of it.
var ErrNone = errors.New("there is no such draft of a book")

// A Stamp says who did something, and on which day.
type Stamp struct {
	By   string `yaml:"by"`
	Date string `yaml:"date"`
}

// An About is what a draft says of itself.
type About struct {
	Format   string     `yaml:"format"`
	Engine   string     `yaml:"engine"`
	Manual   string     `yaml:"manual,omitempty"`
	Number   string     `yaml:"number,omitempty"`
	Revision string     `yaml:"revision,omitempty"`
	Date     string     `yaml:"date,omitempty"` // the manual's
	Begun    Stamp      `yaml:"begun"`
	Tables   []Entry    `yaml:"tables"`
	Adopted  []Adoption `yaml:"adopted,omitempty"`
	Made     []string   `yaml:"made,omitempty"` // SHA-256 of the book as its tables make it, and of the one before
}

// An Entry is a table that was brought in.
type Entry struct {
	File  string `yaml:"file"` // in the draft's folder
	Name  string `yaml:"name"` // as it was called where it came from
	Sheet string `yaml:"sheet,omitempty"`
	Stamp `yaml:",inline"`
	Out   bool `yaml:"out,omitempty"` // it is left out of the book
}

// An Adoption says as which edition the draft was adopted.
type Adoption struct {
	Edition string `yaml:"edition"`
	Stamp   `yaml:",inline"`
}

// Title is what the book says of itself.
func (a *About) Title() intake.Title {
	return intake.Title{Engine: a.Engine, Manual: a.Manual, Number: a.Number, Revision: a.Revision, Date: a.Date}
}

// A Listed is a draft in the list of all.
type Listed struct {
	Name string
	About
}

// A Draft is a book in the making, opened.
type Draft struct {
	Name string
	About
	Tables []*Table

	Book    []byte // its text; nil while none of its tables can be read
	Settled []byte // what was settled of it
	Edited  bool   // somebody edited the book by hand: its tables are not read anew

	aside  []Aside  // what was settled, and is not in the book now
	before standing // when it was opened to be changed

	Loaded *book.Book // with what was settled; nil where it can't be loaded
	Wrong  error      // why not
}

// A Table is one of a draft's tables, as it is understood.
type Table struct {
	Entry
	Mapping  intake.Mapping
	Sheet    table.Sheet
	Columns  []intake.Column
	Headings int // the line that they stand on; 0: none
	Faults   fault.List
	Read     *intake.Draft // nil where there are faults
	Whole    bool          // it is a book as a sheet, which the other tables are added to

	data []byte // of a whole one: its file, for what else it has
}

// Drafts are all of a folder. One at a time is opened or changed: what a table
// unpacks to is bounded, and so is what all of them do together.
type Drafts struct {
	dir string
	mu  sync.Mutex

	last *Draft // the one that was opened last, while its files are as mark says
	mark string
}

// maxKept is how many rows a draft may have that is kept opened.
const maxKept = 5000

// In returns the drafts in a folder, which need not be there yet.
func In(dir string) *Drafts { return &Drafts{dir: dir} }

var goodName = regexp.MustCompile(`^[a-z0-9]+(?:-[a-z0-9]+)*$`)

// List returns the drafts by name. What is none is passed over.
func (s *Drafts) List() ([]Listed, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.list()
}

func (s *Drafts) list() (all []Listed, err error) {
	entries, err := os.ReadDir(s.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if !e.IsDir() || !goodName.MatchString(e.Name()) {
			continue
		}
		about, err := s.about(e.Name())
		if errors.Is(err, ErrNone) {
			continue
		}
		if err != nil {
			return nil, err
		}
		all = append(all, Listed{e.Name(), about})
	}
	return all, nil
}

func (s *Drafts) path(name, file string) string { return filepath.Join(s.dir, name, file) }

// about reads draft.yaml.
func (s *Drafts) about(name string) (a About, err error) {
	if !goodName.MatchString(name) {
		return a, ErrNone
	}
	const most = 1 << 20
	data, err := readFile(s.path(name, "draft.yaml"), most)
	if errors.Is(err, fs.ErrNotExist) {
		return a, ErrNone
	}
	if err != nil {
		return a, err
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	dec.KnownFields(true)
	if err := dec.Decode(&a); err != nil || a.Format != Format {
		return a, fmt.Errorf("%s: not a draft's file: it does not read as %s", s.path(name, "draft.yaml"), Format)
	}
	for i := range a.Tables {
		if t := &a.Tables[i]; t.File != filepath.Base(t.File) || strings.HasPrefix(t.File, ".") {
			return a, fmt.Errorf("%s: %q is no file of the draft's folder", s.path(name, "draft.yaml"), t.File)
		}
	}
	return a, nil
}

// readFile reads a file that may be so large.
func readFile(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > most {
		return nil, fmt.Errorf("%s is larger than %d bytes", path, most)
	}
	data := make([]byte, info.Size())
	n, err := f.ReadAt(data, 0)
	if n == len(data) {
		err = nil
	}
	return data, err
}

// optional reads a file that need not be there.
func optional(path string) ([]byte, error) {
	data, err := readFile(path, book.MaxSize)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return data, err
}

// Open opens a draft and reads its tables. What it returns is not to be changed:
// others may be given the same.
func (s *Drafts) Open(name string) (*Draft, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	mark := s.marks(name)
	if mark != "" && mark == s.mark && s.last.Name == name {
		return s.last, nil
	}
	s.last, s.mark = nil, ""
	d, err := s.open(name)
	if err != nil {
		return nil, err
	}
	if rows, _, _ := d.Count(); rows <= maxKept {
		s.last, s.mark = d, mark
	}
	return d, nil
}

// marks says which files a draft has, how large and from when: each is written
// anew whenever it changes. "" where that can't be told.
func (s *Drafts) marks(name string) string {
	if !goodName.MatchString(name) {
		return ""
	}
	entries, err := os.ReadDir(filepath.Join(s.dir, name))
	if err != nil {
		return ""
	}
	var b strings.Builder
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") { // what is being written, or locked
			continue
		}
		info, err := e.Info()
		if err != nil {
			return ""
		}
		fmt.Fprintf(&b, "%s %d %d\n", e.Name(), info.Size(), info.ModTime().UnixNano())
	}
	return b.String()
}

func (s *Drafts) open(name string) (*Draft, error) {
	about, err := s.about(name)
	if err != nil {
		return nil, err
	}
	d := &Draft{Name: name, About: about}
	for _, e := range about.Tables {
		t, err := s.table(name, e)
		if err != nil {
			return nil, err
		}
		d.Tables = append(d.Tables, t)
	}
	if d.Settled, err = optional(s.path(name, book.SettledName(d.File()))); err != nil {
		return nil, err
	}
	if d.aside, err = s.readAside(name); err != nil {
		return nil, err
	}
	kept, err := optional(s.path(name, d.File()))
	if err != nil {
		return nil, err
	}
	d.Edited = len(kept) > 0 && !slices.Contains(about.Made, sum(kept))
	if err := d.make(); err != nil {
		d.Wrong = err
	}
	if d.Edited {
		d.Book = kept
	}
	d.load()
	return d, nil
}

// File is the name of the book's file.
func (d *Draft) File() string { return d.Name + ".yaml" }

func sum(text []byte) string {
	h := sha256.Sum256(text)
	return hex.EncodeToString(h[:])
}

func mappingName(file string) string {
	return strings.TrimSuffix(file, filepath.Ext(file)) + ".mapping.yaml"
}

// table reads a table and what was said of it.
func (s *Drafts) table(name string, e Entry) (*Table, error) {
	t := &Table{Entry: e}
	said, err := optional(s.path(name, mappingName(e.File)))
	if err != nil {
		return nil, err
	}
	if said != nil {
		if t.Mapping, err = intake.ParseMapping(said); err != nil {
			return nil, fmt.Errorf("%s: %w", s.path(name, mappingName(e.File)), err)
		}
	}
	data, err := readFile(s.path(name, e.File), table.MaxSize)
	if err != nil {
		return nil, err
	}
	t.take(data)
	return t, nil
}

// take reads a table's file.
func (t *Table) take(data []byte) {
	t.Sheet, t.Faults = table.Read(t.Name, t.Entry.Sheet, data)
	if t.Whole = intake.IsBookSheet(t.Sheet); t.Whole {
		t.data = data
	}
	t.understand()
}

// understand reads the table anew by its mapping.
func (t *Table) understand() {
	if len(t.Sheet.Rows) == 0 {
		return
	}
	if t.Whole {
		if t.Read, t.Faults = intake.ReadWhole(t.Sheet, t.data, t.Mapping); t.Read != nil {
			t.Columns = t.Read.Columns
		}
		return
	}
	t.Columns, t.Headings, t.Faults = intake.Look(t.Sheet, t.Mapping)
	t.Read = nil
	if len(t.Faults) == 0 {
		t.Read, t.Faults = intake.Read(t.Sheet, t.Mapping)
	}
}

// As is the table as it would be understood by another mapping.
func (t *Table) As(m intake.Mapping) *Table {
	other := *t
	other.Mapping = m
	other.understand()
	return &other
}

// make makes the book of those tables that can be read: of the one that is a whole
// book first, if there is one.
func (d *Draft) make() error {
	d.Book = nil
	tables := slices.Clone(d.Tables)
	slices.SortStableFunc(tables, func(a, b *Table) int {
		switch {
		case a.Whole == b.Whole:
			return 0
		case a.Whole:
			return -1
		}
		return +1
	})
	for _, t := range tables {
		if t.Read == nil || t.Out || t.Read.NeedsUnit() {
			continue
		}
		text, _, err := t.Read.Make(d.File(), d.Book, d.Title())
		if err != nil {
			d.Book = nil
			return err
		}
		d.Book = text
	}
	return nil
}

// load loads the book with what was settled of it.
func (d *Draft) load() {
	if d.Book == nil {
		return
	}
	loaded, err := book.Load(d.File(), d.Text())
	if err != nil {
		d.Loaded, d.Wrong = nil, err
		return
	}
	d.Loaded, d.Wrong = loaded, nil
}

// Aside is what was settled of lines that are not in the book now, or that do not
// say any more what was settled of them.
func (d *Draft) Aside() []Aside { return d.aside }

// Text is what an edition of the draft would be.
func (d *Draft) Text() []byte { return book.Join(d.Book, d.Settled) }

// Held tells whether a line waits for a person.
func Held(l *book.Line) bool { return len(l.Holds) > 0 || l.Contradiction != "" }

// HeldRow tells whether any of a row's lines waits for a person.
func (d *Draft) HeldRow(r *intake.Row) bool {
	if d.Loaded == nil {
		return r.Held()
	}
	return slices.ContainsFunc(r.Lines, func(key string) bool {
		l, ok := d.Loaded.Line(key)
		return ok && Held(l) && !l.Unfilled()
	})
}

// OpenRow tells whether nobody has entered any limits of a row's line yet.
func (d *Draft) OpenRow(r *intake.Row) bool {
	return d.Loaded != nil && slices.ContainsFunc(r.Lines, func(key string) bool {
		l, ok := d.Loaded.Line(key)
		return ok && l.Unfilled()
	})
}

// Count returns how many rows the draft's tables have, how many of them are held,
// all of a table of which nothing says the unit, and how many have no limits yet.
func (d *Draft) Count() (rows, held, open int) {
	for _, t := range d.Tables {
		if t.Read == nil || t.Out {
			continue
		}
		for i := range t.Read.Rows {
			rows++
			switch {
			case d.OpenRow(&t.Read.Rows[i]):
				open++
			case t.Read.NeedsUnit() || d.HeldRow(&t.Read.Rows[i]):
				held++
			}
		}
	}
	return rows, held, open
}

// Row returns the row that a line was made of, and its table.
func (d *Draft) Row(key string) (*Table, *intake.Row, bool) {
	for _, t := range d.Tables {
		if t.Read == nil || t.Out || t.Read.NeedsUnit() {
			continue
		}
		for i := range t.Read.Rows {
			if slices.Contains(t.Read.Rows[i].Lines, key) {
				return t, &t.Read.Rows[i], true
			}
		}
	}
	return nil, nil, false
}

// Printed is a row as it stands in the table.
func (t *Table) Printed(line int) *table.SheetRow {
	n, ok := slices.BinarySearchFunc(t.Sheet.Rows, line, func(r table.SheetRow, line int) int { return r.Line - line })
	if !ok {
		return &table.SheetRow{Line: line}
	}
	return &t.Sheet.Rows[n]
}

// whole writes a file of the draft.
func (s *Drafts) write(name, file string, data []byte) error {
	return whole.Write(s.path(name, file), data)
}
