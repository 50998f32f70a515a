package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"os"
	"sync"
	"time"

	"tenths/internal/record"
	"tenths/internal/whole"
)

// A preference is how a person likes the pages. Nothing of it is of the record,
// and none of it is missed when it is lost.
type preference struct {
	Route string `json:"route,omitempty"` // part or gauge
	Theme string `json:"theme,omitempty"` // day or night
	Lines string `json:"lines,omitempty"` // of the table of limits: book, else problems first
}

// good drops what this version does not know.
func (p preference) good() preference {
	known := func(word string, words ...string) string {
		for _, w := range words {
			if w == word {
				return w
			}
		}
		return ""
	}
	return preference{Route: known(p.Route, "part", "gauge"), Theme: known(p.Theme, "day", "night"), Lines: known(p.Lines, "book")}
}

// maxPreferences bounds their file: a thousand people have less.
const maxPreferences = 1 << 20

// preferencesSchema says what the file is.
const preferencesSchema = "tenths/preferences/1"

type preferencesFile struct {
	Schema string                `json:"schema"`
	People map[string]preference `json:"people"` // by handle
}

// preferences are everybody's. They are kept in a file of their own, beside the
// record and not in it, which is written anew whenever one changes.
type preferences struct {
	path string // "": they last as long as the server
	log  *slog.Logger

	mu     sync.Mutex
	people map[string]preference
}

// loadPreferences reads the file. One that is damaged is put aside and told:
// what people like is no reason not to work.
func loadPreferences(path string, log *slog.Logger) *preferences {
	p := &preferences{path: path, log: log, people: map[string]preference{}}
	if path == "" {
		return p
	}
	file, err := readPreferences(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		aside := path + ".damaged-" + time.Now().UTC().Format("20060102T150405.000")
		moved := os.Rename(path, aside)
		log.Error("the preferences can't be read; everybody begins anew with their route and theme", "file", path, "error", err, "put aside as", aside)
		if moved != nil {
			log.Error("the damaged preferences can't be put aside, and are not written over", "error", moved)
			p.path = ""
		}
	default:
		for handle, one := range file.People {
			p.people[handle] = one.good()
		}
	}
	return p
}

func readPreferences(path string) (*preferencesFile, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxPreferences+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxPreferences {
		return nil, fmt.Errorf("it is larger than %d bytes", maxPreferences)
	}
	var file preferencesFile
	if err := json.Unmarshal(text, &file); err != nil {
		return nil, err
	}
	if file.Schema != preferencesSchema {
		return nil, fmt.Errorf("its schema is %q, not %q", file.Schema, preferencesSchema)
	}
	return &file, nil
}

// of is what a person likes.
func (p *preferences) of(handle string) preference {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.people[handle]
}

// change changes what a person likes. Where that can't be written it is told,
// and lasts as long as the server.
func (p *preferences) change(handle string, to func(*preference)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	before := p.people[handle]
	after := before
	to(&after)
	if after = after.good(); after == before || handle == "" {
		return
	}
	p.people[handle] = after
	if p.path == "" {
		return
	}
	if err := p.write(); err != nil {
		p.log.Error("the preferences can't be kept; they last until the server ends", "error", err)
	}
}

// write puts the file in place whole, or not at all.
func (p *preferences) write() error {
	text, err := json.MarshalIndent(preferencesFile{preferencesSchema, p.people}, "", "\t")
	if err != nil {
		return err
	}
	return whole.Write(p.path, append(text, '\n'))
}

// postPreferences keeps what a person likes: a form, or the script.
func (s *Server) postPreferences(w http.ResponseWriter, r *http.Request) error {
	theme := value(r, "theme")
	if theme != "day" && theme != "night" {
		return record.Refuse("theme", "choose day or night", "there is no theme %q", theme)
	}
	s.likes.change(s.handle(r), func(p *preference) { p.Theme = theme })
	if r.Header.Get("Accept") == "application/json" {
		return writeJSON(w, struct{}{})
	}
	http.Redirect(w, r, inside(r.FormValue("back")), http.StatusSeeOther)
	return nil
}
