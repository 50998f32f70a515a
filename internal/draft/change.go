package draft

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
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

// Begin begins a draft with a table, and returns its name. A file that can't be
// read is told by a fault list, and nothing is kept of it.
func (s *Drafts) Begin(title intake.Title, up Upload) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := goodTitle(title); err != nil {
		return "", err
	}
	entry, err := entryOf(up, 1, "")
	if err != nil {
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
	name, err := s.free(slug(title.Engine, "book"))
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

// slug is a text as the name of a file: small letters, digits and dashes.
func slug(text, otherwise string) string {
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
func entryOf(up Upload, n int, sheet string) (Entry, error) {
	s, faults := table.Read(up.Name, sheet, up.Data)
	if len(faults) > 0 {
		return Entry{}, faults
	}
	ext := ".csv"
	if bytes.HasPrefix(up.Data, []byte("PK")) {
		ext = ".xlsx"
	}
	base := filepath.Base(strings.ReplaceAll(up.Name, `\`, "/"))
	e := Entry{File: fmt.Sprintf("%02d-%s%s", n, slug(strings.TrimSuffix(base, filepath.Ext(base)), "table"), ext), Name: base, Stamp: up.Stamp}
	if len(s.Sheets) > 1 {
		e.Sheet = s.Name
	}
	return e, nil
}

// bringIn keeps a table's file under a draft, and what is said of it already.
func (s *Drafts) bringIn(d *Draft, e Entry, data []byte, said intake.Mapping) error {
	if err := s.write(d.Name, e.File, data); err != nil {
		return err
	}
	t := &Table{Entry: e, Mapping: said}
	t.Sheet, t.Faults = table.Read(e.Name, e.Sheet, data)
	t.understand()
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
// is said of this one, as far as it has the same columns.
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
	e, err := entryOf(up, len(d.Tables)+1, sheet)
	if err != nil {
		return err
	}
	sh, faults := table.Read(e.Name, e.Sheet, up.Data)
	if len(faults) > 0 {
		return faults
	}
	said := intake.Mapping{}
	if n := len(d.Tables); n > 0 {
		said = d.Tables[n-1].Mapping.For(sh)
	}
	return s.bringIn(d, e, up.Data, said)
}

// change opens a draft and changes it, alone.
func (s *Drafts) change(name string, f func(*Draft) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	d, err := s.open(name)
	if err != nil {
		return err
	}
	return f(d)
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
	return s.change(name, func(d *Draft) error {
		t, err := d.table(n)
		if err != nil {
			return err
		}
		if err := d.notEdited(); err != nil {
			return err
		}
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
	return s.change(name, func(d *Draft) error {
		t, err := d.table(n)
		if err != nil {
			return err
		}
		if err := d.notEdited(); err != nil {
			return err
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
func (s *Drafts) LeaveOut(name string, n int, out bool) error {
	return s.change(name, func(d *Draft) error {
		t, err := d.table(n)
		if err != nil {
			return err
		}
		if err := d.notEdited(); err != nil {
			return err
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
		return err
	}
	aside, settled, err := d.stillSettled()
	if err != nil {
		return err
	}
	if now := sum(d.Book); d.Book != nil && !slices.Contains(d.Made, now) {
		d.Made = append([]string{now}, d.Made[:min(1, len(d.Made))]...)
	}
	if err := s.writeAbout(d); err != nil {
		return err
	}
	for _, t := range d.Tables {
		if err := s.writeChanged(d.Name, mappingName(t.File), t.Mapping.Text()); err != nil {
			return err
		}
	}
	if aside {
		if err := s.putAside(d); err != nil {
			return err
		}
		if err := s.write(d.Name, book.SettledName(d.File()), settled); err != nil {
			return err
		}
		d.Settled = settled
	}
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

// putAside keeps what was settled before some of it lost its cell.
func (s *Drafts) putAside(d *Draft) error {
	for n := 1; ; n++ {
		file := fmt.Sprintf("%s.settled.until-%d.yaml", d.Name, n)
		if _, err := os.Stat(s.path(d.Name, file)); errors.Is(err, fs.ErrNotExist) {
			return s.write(d.Name, file, d.Settled)
		}
	}
}

// stillSettled is what was settled, without what has no line or no cell any more
// since the tables are read otherwise; aside tells that there is such.
func (d *Draft) stillSettled() (aside bool, settled []byte, err error) {
	if d.Book == nil || len(bytes.TrimSpace(d.Settled)) == 0 {
		return false, d.Settled, nil
	}
	if _, err := book.Load(d.File(), d.Text()); err == nil {
		return false, d.Settled, nil
	}
	plain, err := book.Load(d.File(), d.Book)
	if err != nil {
		return false, nil, err
	}
	settled, err = keepSettled(d.Settled, func(line, cell string) bool {
		l, ok := plain.Line(line)
		if !ok || cell == "" {
			return ok
		}
		return slices.ContainsFunc(l.Holds, func(h book.Hold) bool { return h.Cell == cell })
	})
	return true, settled, err
}

// keepSettled drops from the text of what was settled the holds of which keep
// says no, and the links of lines of which it says no. All else stays.
func keepSettled(data []byte, keep func(line, cell string) bool) ([]byte, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, err
	}
	if len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
		return data, nil
	}
	top := doc.Content[0]
	for i := 0; i+1 < len(top.Content); i += 2 {
		lines := top.Content[i+1]
		of := top.Content[i].Value
		if of != "holds" && of != "links" || lines.Kind != yaml.MappingNode {
			continue
		}
		filter(lines, func(line string, cells *yaml.Node) bool {
			if of == "links" || cells.Kind != yaml.MappingNode {
				return keep(line, "")
			}
			filter(cells, func(cell string, _ *yaml.Node) bool { return keep(line, cell) })
			return len(cells.Content) > 0
		})
	}
	filter(top, func(_ string, n *yaml.Node) bool { return n.Kind != yaml.MappingNode || len(n.Content) > 0 })
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	if err := errors.Join(enc.Encode(&doc), enc.Close()); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// filter drops keys of a mapping.
func filter(n *yaml.Node, keep func(key string, value *yaml.Node) bool) {
	var left []*yaml.Node
	for i := 0; i+1 < len(n.Content); i += 2 {
		if keep(n.Content[i].Value, n.Content[i+1]) {
			left = append(left, n.Content[i], n.Content[i+1])
		}
	}
	n.Content = left
}

// Settle changes what was settled: f is given the text of the file as it is. It
// is refused where the book would not load with what f returns.
func (s *Drafts) Settle(name string, f func(d *Draft) ([]byte, error)) error {
	return s.change(name, func(d *Draft) error {
		if d.Book == nil {
			return &RefusedError{"the draft has no lines yet", "say first what its columns hold"}
		}
		settled, err := f(d)
		if err != nil {
			return err
		}
		if _, err := book.Load(d.File(), book.Join(d.Book, settled)); err != nil {
			return err
		}
		return s.writeChanged(name, book.SettledName(d.File()), settled)
	})
}
