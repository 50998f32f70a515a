package export

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tenths/internal/ledger"
)

// A Finding is what holding a record against its seals comes to.
type Finding uint8

// The findings, from the best.
const (
	Unaltered Finding = iota // since the last seal that is signed by the key
	Itself                   // it agrees with itself, and no key was given: anybody could have made it
	Shorter                  // entries are gone that were sealed
	Altered                  // something is not what was sealed, or was not written by tenths
)

// An Outcome is a finding with its reasons.
type Outcome struct {
	Finding
	Seal    *ledger.Seal // the last seal of the job's log that holds
	After   int64        // entries of the job behind it
	Fingers string       // fingerprint of the key that the seals are signed by
	Order   string       // the work-order number, as the record says
	Engine  string
	Reasons []string // what is wrong, first what tells most
}

// Verify holds a record against the seals in it and against one that its reader
// has kept; key is the public half of the shop's key as its reader knows it.
// Either may be empty.
func Verify(r *Record, key, kept string) (Outcome, error) {
	v := &verifier{record: r, key: key}
	o := &v.outcome
	if key = strings.TrimSpace(key); key == "" {
		v.key = r.Key
	} else if err := ledger.CheckKey(key); err != nil {
		return *o, fmt.Errorf("of the key that was given: %w", err)
	}
	o.Fingers = ledger.Fingerprint(v.key)
	if key != "" && key != r.Key {
		v.altered("the key in the file is not the one that was given, but %s", ledger.Fingerprint(r.Key))
	}
	seals, err := v.seals(kept)
	if err != nil {
		return *o, err
	}
	for name, data := range r.Blobs {
		if blobName(data) != name {
			v.altered("the blob %.16s is not what was put: its SHA-256 is another", name)
		}
	}
	shop := v.log("shop", r.Shop, seals)
	name := v.job(seals)
	for _, s := range seals {
		if s.Log != "shop" && s.Log != name {
			v.altered("a seal is of the log %s, and the entries are of %s", s.Log, name)
		}
	}
	jobs := v.log(name, r.Job, seals)
	v.entries(shop, jobs, strings.TrimPrefix(name, "job/"))
	if !r.Whole && len(o.Reasons) == 0 {
		v.shorter("the file is cut short: its end is missing")
	}
	if o.Finding <= Itself && o.Seal == nil {
		v.o(Itself)
	}
	if key == "" && kept == "" {
		v.o(Itself)
	}
	return *o, nil
}

type verifier struct {
	record  *Record
	key     string
	outcome Outcome
}

// o notes a finding; the worst stays.
func (v *verifier) o(f Finding) { v.outcome.Finding = max(v.outcome.Finding, f) }

func (v *verifier) altered(format string, args ...any) {
	v.o(Altered)
	v.outcome.Reasons = append(v.outcome.Reasons, fmt.Sprintf(format, args...))
}

func (v *verifier) shorter(format string, args ...any) {
	v.o(Shorter)
	v.outcome.Reasons = append(v.outcome.Reasons, fmt.Sprintf(format, args...))
}

// job is the name of the job's log: the first entry says it, and where there is
// none, a seal.
func (v *verifier) job(seals []ledger.Seal) string {
	if len(v.record.Job) > 0 {
		e, err := ledger.Read(v.record.Job[0].Text)
		if err == nil && len(e.Log) > len("job/") && strings.HasPrefix(e.Log, "job/") {
			return e.Log
		}
	}
	for _, s := range seals {
		if strings.HasPrefix(s.Log, "job/") {
			return s.Log
		}
	}
	return "job/?"
}

// seals opens all seals, in order of size; the one that the reader kept must be
// a seal of this record.
func (v *verifier) seals(kept string) ([]ledger.Seal, error) {
	var all []ledger.Seal
	for i, note := range v.record.Seals {
		s, err := ledger.OpenSeal(note, v.key)
		switch {
		case err == ledger.ErrSignature:
			v.altered("seal %d of the file, with %d entries, is not signed by the key %s", i+1, s.Size, v.outcome.Fingers)
		case err != nil:
			v.altered("seal %d of the file: %v", i+1, err)
		default:
			all = append(all, s)
		}
	}
	if kept != "" {
		s, err := ledger.OpenSeal(kept, v.key)
		if err == ledger.ErrSignature {
			v.altered("the seal that was given is not signed by the key %s", v.outcome.Fingers)
			return all, nil
		}
		if err != nil {
			return nil, fmt.Errorf("the seal that was given: %w", err)
		}
		all = append(all, s)
	}
	slices.SortStableFunc(all, func(a, b ledger.Seal) int { return int(a.Size - b.Size) })
	return all, nil
}

// log checks a log's lines, and holds its root against each seal of it as it
// grows.
func (v *verifier) log(name string, lines []Line, seals []ledger.Seal) []ledger.Entry {
	var mine []ledger.Seal
	for _, s := range seals {
		if s.Log == name {
			mine = append(mine, s)
		}
	}
	what := "the job's log"
	if name == "shop" {
		what = "the shop's log"
	}
	chain := ledger.Chain{Log: name}
	var good *ledger.Seal
	var entries []ledger.Entry
	unmended, at, broken := "", int64(0), false
	hold := func() (ok bool) {
		for len(mine) > 0 && mine[0].Size == chain.Tree.Size() {
			s := mine[0]
			mine = mine[1:]
			if s.Root == chain.Tree.Root() {
				good = &s
				continue
			}
			since := "since it began"
			if good != nil {
				since = fmt.Sprintf("since its seal of %s with %d entries, which holds,", good.At, good.Size)
			}
			v.altered("%s was changed %s and before its seal of %s with %d entries, which does not hold%s", what, since, s.At, s.Size, unmended)
			return false
		}
		return true
	}
	if broken = !hold(); broken {
		return entries
	}
	for i, l := range lines {
		if unmended == "" && ledger.HashLine(l.Text) != l.Hash {
			at = int64(i) + 1
			unmended = fmt.Sprintf(": entry %d is not what its hash was made of", at)
		}
		e, err := chain.Add(l.Text)
		if err != nil {
			upTo := ""
			if good != nil {
				upTo = fmt.Sprintf("; up to entry %d it is as sealed at %s", good.Size, good.At)
			}
			v.altered("entry %d of %s is not as tenths writes entries: %v%s", i+1, what, err, upTo)
			broken = true
			break
		}
		entries = append(entries, e)
		if broken = !hold(); broken {
			break
		}
	}
	switch {
	case broken || unmended == "":
	case good != nil && at <= good.Size:
		v.altered("the hash beside entry %d of %s was changed; the entry itself is as sealed", at, what)
	default:
		v.altered("%s was changed behind its last seal%s", what, unmended)
	}
	if !broken && len(mine) > 0 {
		s := mine[len(mine)-1]
		v.shorter("%s is shorter than sealed: it has %d entries, and by its seal of %s it had %d", what, chain.Tree.Size(), s.At, s.Size)
	}
	if name != "shop" {
		v.outcome.Seal = good
		if good != nil {
			v.outcome.After = int64(len(lines)) - good.Size
		}
	}
	return entries
}

// entries looks at what the entries say of the rest of the file: each knew no
// more of the shop's log than there is, every edition is there, and the shop's
// log repeats no seal of more of the job's than there is. What it does not know,
// by version or kind, says nothing of that.
func (v *verifier) entries(shop, jobs []ledger.Entry, id string) {
	for i := range jobs {
		e := &jobs[i]
		if e.Shop > int64(len(v.record.Shop)) {
			v.shorter("entry %d of the job's log knew %d entries of the shop's log, and there are %d", e.Seq, e.Shop, len(v.record.Shop))
			break
		}
	}
	if len(jobs) > 0 {
		v.outcome.Order = field(&jobs[0], "order")
		v.outcome.Engine = strings.TrimSpace(field(&jobs[0], "model") + " " + field(&jobs[0], "serial"))
	}
	for i := range jobs {
		e := &jobs[i]
		if e.V != 1 || e.Kind != "job-opened" && e.Kind != "edition-changed" {
			continue
		}
		edition := field(e, "edition")
		if _, ok := v.record.Blobs[edition]; !ok && edition != "" {
			v.altered("entry %d names the edition %.16s of a book, and the file does not hold it; it holds %s", e.Seq, edition,
				strings.Join(slices.Sorted(maps.Keys(v.record.Blobs)), ", "))
		}
	}
	for i := range shop {
		e := &shop[i]
		if e.V != 1 || e.Kind != "job-sealed" || field(e, "job") != id {
			continue
		}
		var size int64
		if json.Unmarshal(fields(e)["size"], &size) == nil && size > int64(len(v.record.Job)) {
			v.shorter("by entry %d of the shop's log the job's was sealed with %d entries, and there are %d", e.Seq, size, len(v.record.Job))
		}
	}
}

// fields are those of an entry's fact, by their names as they are spelt: a struct
// would take other letters too.
func fields(e *ledger.Entry) map[string]json.RawMessage {
	var all map[string]json.RawMessage
	if json.Unmarshal(e.Fact, &all) != nil {
		return nil
	}
	return all
}

// field is a text of an entry's fact, "" where there is none.
func field(e *ledger.Entry, name string) string {
	var text string
	if json.Unmarshal(fields(e)[name], &text) != nil {
		return ""
	}
	return text
}
