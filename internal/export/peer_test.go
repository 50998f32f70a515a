package export_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/note"

	"tenths/internal/export"
	"tenths/internal/ledger"
)

// testdata/verify.mjs goes by docs/formats.md, and has nothing of this package.
// What the two find of good and bad files must be the same: where it is not, one
// of them is wrong, or the document leaves it open.

const (
	shopID  = "0198c2d4-5b60-7a11-8c3d-5a0000000001"
	jobLog  = "job/0198c2d4-5b60-7a11-8c3d-000000000014"
	another = "job/0198c2d4-5b60-7a11-8c3d-000000000015"
)

// A pair is a shop's key. These were made by [ledger.NewKey]; they stand here so
// that the files, and what fails of them, are the same each time.
type pair struct{ secret, public string }

var (
	shopKey  = pair{"PRIVATE+KEY+tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000001+5044c069+AdmK6iQw1QzgRGErNu9pIpNrN8l2Lk9YFSRvzFS8f/M9", "tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000001+5044c069+AS3+QvaXEemjjMV+vpokWcJ0j5mleF6pe9QbeB2IvHH3"}
	forgers  = pair{"PRIVATE+KEY+tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000001+e941d028+AWmtsttEqPZG/k+ch2OaJ7kYBoKparkhupJ8O1Q2KtVb", "tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000001+e941d028+AaL/t2Sjva/5DfQS1zXdAG0JIffFzA50spw+LMNVdFOG"} // by the name of the same shop
	otherKey = pair{"PRIVATE+KEY+tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000002+d6f01e39+AUh+7VRF5ICHUXhjQc4CmeaNYJ5vpd/sAWmtrkm3NpUN", "tenths.shop/0198c2d4-5b60-7a11-8c3d-5a0000000002+d6f01e39+AUyQUlLuKe3gDOMunCi9SY2LCkdsghfTu0gWnT4D3wF9"}
)

// exit statuses, as docs/formats.md has them
const (
	unaltered = 0
	altered   = 1
	notRecord = 2
	itself    = 3
	shorter   = 4
	either    = -1 // whatever the two agree on
	bad       = -2 // likewise, but not 0
)

var words = map[int]string{
	unaltered: "Unaltered since the seal of ", altered: "Altered", notRecord: "Not a record",
	itself: "Agrees with itself", shorter: "Shorter than sealed",
}

type variant struct {
	name      string
	file      []byte
	key, kept string
	want      int
}

// A paper is a record that can be altered before it is written.
type paper struct {
	export.Record
	names     []string // of the blobs
	shop, job [][]byte
}

func line(t *testing.T, log string, seq, shop int64, kind, fact string) []byte {
	t.Helper()
	at := ledger.At(time.Date(2026, 11, 25, 14, 3, int(seq), 120e6, time.UTC))
	l, err := ledger.Encode(ledger.Entry{
		V: 1, Log: log, Seq: seq, Shop: shop, ID: ledger.ID(log, strconv.FormatInt(seq, 10)), Made: at, Recorded: at,
		By: "kd", Device: "tablet 2", Kind: kind, Fact: json.RawMessage(fact),
	})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func (p *paper) blob(data string) (name string) {
	sum := sha256.Sum256([]byte(data))
	name = hex.EncodeToString(sum[:])
	p.names = append(p.names, name)
	p.Blobs[name] = []byte(data)
	return name
}

// good is a job of six entries in a shop of five, sealed after three and six.
func good(t *testing.T) *paper {
	p := &paper{Record: export.Record{Blobs: map[string][]byte{}}}
	old, next := p.blob("revision: 13\n"), p.blob("revision: 14\n")
	id := strings.TrimPrefix(jobLog, "job/")
	for i, e := range [][2]string{
		{"shop-made", `{"name":"Corner Engine Shop"}`},
		{"edition-adopted", `{"edition":"` + old + `"}`},
		{"job-numbered", `{"job":"` + id + `","order":"2026-014"}`},
		{"job-sealed", `{"job":"` + id + `","size":3}`},
		{"edition-adopted", `{"edition":"` + next + `"}`},
	} {
		p.shop = append(p.shop, line(t, "shop", int64(i)+1, int64(i), e[0], e[1]))
	}
	for i, e := range [][2]string{
		{"job-opened", `{"order":"2026-014","model":"Four","serial":"1127","edition":"` + old + `"}`},
		{"item-registered", `{"item":"crankshaft","list":[1,[2,{"three":-3}],true]}`},
		{"reading-taken", `{"spot":"pin-1.diameter.-.0","value":"2.2490 in","note":"µ < \"2.2490\" & \\ \n\u2028 Ø"}`},
		{"edition-changed", `{"edition":"` + next + `"}`},
		{"note-written", `{"text":"a burr"}`},
		{"note-written", `{"text":"no burr"}`},
	} {
		p.job = append(p.job, line(t, jobLog, int64(i)+1, int64(3+i/3), e[0], e[1]))
	}
	p.seal(t, shopKey, 3, 6)
	return p
}

// one writes a seal over the first entries, as many as it says or as there are.
func one(t *testing.T, k pair, log string, size int, lines [][]byte) string {
	t.Helper()
	var tree ledger.Tree
	for _, l := range lines[:min(size, len(lines))] {
		tree.Add(ledger.HashLine(l))
	}
	shop := strings.TrimPrefix(strings.Split(k.public, "+")[0], "tenths.shop/")
	at := ledger.At(time.Date(2026, 11, 25, 15, size, 0, 0, time.UTC))
	s, err := ledger.Seal{Shop: shop, Log: log, Size: int64(size), Root: tree.Root(), At: at}.Sign(k.secret)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// seal puts new seals by that key into the record: of the job's log with those
// sizes, and one of the shop's.
func (p *paper) seal(t *testing.T, k pair, sizes ...int) {
	t.Helper()
	p.Key, p.Seals = k.public, nil
	for _, n := range sizes {
		p.Seals = append(p.Seals, one(t, k, jobLog, n, p.job))
	}
	p.Seals = append(p.Seals, one(t, k, "shop", len(p.shop), p.shop))
}

func (p *paper) write(t *testing.T) []byte {
	t.Helper()
	p.Shop, p.Job = export.Of(p.shop), export.Of(p.job)
	var b bytes.Buffer
	if err := export.Write(&b, &p.Record, p.names); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// swap replaces what must be there.
func swap(t *testing.T, in []byte, old, by string) []byte {
	t.Helper()
	if !bytes.Contains(in, []byte(old)) {
		t.Fatalf("%q is not in %s", old, in)
	}
	return bytes.Replace(in, []byte(old), []byte(by), 1)
}

// ended writes lines with an end that counts them.
func ended(lines [][]byte) []byte {
	lines = append(slices.Clone(lines), []byte("end "+strconv.Itoa(len(lines))))
	return append(bytes.Join(lines, []byte("\n")), '\n')
}

func corpus(t *testing.T) []variant {
	var all []variant
	add := func(name string, file []byte, key, kept string, want int) {
		all = append(all, variant{name, file, key, kept, want})
	}
	sound := good(t).write(t)
	kept := one(t, shopKey, jobLog, 2, good(t).job)

	add("good", sound, "", "", itself)
	add("good, with the key", sound, shopKey.public, "", unaltered)
	add("good, with a seal", sound, "", kept, unaltered)
	add("good, with both", sound, shopKey.public, kept, unaltered)
	add("good, with another key", sound, forgers.public, "", altered)
	add("good, with another shop's key", sound, otherKey.public, "", altered)
	add("good, with a seal by another key", sound, "", one(t, forgers, jobLog, 2, good(t).job), altered)
	add("good, with a seal of another job", sound, "", one(t, shopKey, another, 2, good(t).job), altered)
	add("good, with a seal of another root", sound, "", one(t, shopKey, jobLog, 2, good(t).job[1:]), altered)
	add("good, with a seal of more", sound, "", one(t, shopKey, jobLog, 7, good(t).job), shorter)
	add("good, with a seal of the shop", sound, "", one(t, shopKey, "shop", 2, good(t).shop), unaltered)
	secret, public, err := ledger.NewKey("0198c2d4-5b60-7a11-8c3d-5a0000000003")
	if err != nil {
		t.Fatal(err)
	}
	fresh := good(t)
	fresh.seal(t, pair{secret, public}, 6)
	add("a new key", fresh.write(t), public, "", unaltered)

	// Bytes, ends and lines of the file.
	chance := rand.New(rand.NewPCG(8032, 6962))
	for range 40 {
		at := chance.IntN(len(sound))
		b := slices.Clone(sound)
		b[at] ^= byte(1 + chance.IntN(255))
		add(fmt.Sprintf("byte %d is %#x", at, b[at]), b, shopKey.public, "", bad)
	}
	lines := bytes.Split(bytes.TrimSuffix(sound, []byte("\n")), []byte("\n"))
	cut := 0
	for i, l := range lines {
		cut += len(l) + 1
		if i < len(lines)-1 {
			add(fmt.Sprintf("cut after line %d", i+1), sound[:cut], shopKey.public, "", bad)
		}
		if i > 0 && i < len(lines)-1 {
			rest := slices.Delete(slices.Clone(lines[:len(lines)-1]), i, i+1)
			add(fmt.Sprintf("line %d gone", i+1), ended(rest), shopKey.public, "", either)
			twice := slices.Insert(slices.Clone(lines[:len(lines)-1]), i, l)
			add(fmt.Sprintf("line %d twice", i+1), ended(twice), shopKey.public, "", either)
		}
		if i > 0 {
			changed := slices.Clone(lines)
			changed[i-1], changed[i] = changed[i], changed[i-1]
			add(fmt.Sprintf("lines %d and %d change places", i, i+1), append(bytes.Join(changed, []byte("\n")), '\n'), shopKey.public, "", either)
		}
	}
	for range 8 {
		at := chance.IntN(len(sound))
		add(fmt.Sprintf("cut at %d", at), sound[:at], shopKey.public, "", bad)
	}
	for _, c := range []struct {
		name, old, by string
		want          int
	}{
		{"another header", "record/1", "record/2", notRecord},
		{"a line of another kind", "\nblob ", "\nnote a\nblob ", notRecord},
		{"an empty line", "\nblob ", "\n\nblob ", notRecord},
		{"a wrong end", "\nend ", "\nend 1", notRecord},
		{"an end with a nought", "\nend ", "\nend 0", notRecord},
		{"base64 without padding", "Cg==\n", "Cg\n", notRecord},
		{"base64 with stray bits", "Cg==\n", "Ch==\n", notRecord},
		{"a hash of 30 bytes", "\njob ", "\njob " + base64.StdEncoding.EncodeToString(make([]byte, 30)) + " ", notRecord},
		{"a changed entry beside the old hash", `"tablet 2"`, `"tablet 3"`, altered},
		{"a carriage return behind an entry", "}}\n", "}}\r\n", altered},
	} {
		add(c.name, swap(t, slices.Clone(sound), c.old, c.by), shopKey.public, "", c.want)
	}
	add("a line behind the end", append(slices.Clone(sound), "end 17\n"...), shopKey.public, "", notRecord)
	add("carriage returns", bytes.ReplaceAll(sound, []byte("\n"), []byte("\r\n")), shopKey.public, "", notRecord)

	// Things changed, with every hash mended and with the forger's own seals too.
	for _, c := range []struct {
		name   string
		change func(p *paper)
		old    int // under the shop's seals, for who has the shop's key
		new    int // under the forger's own seals, for who has no key
	}{
		{"an entry of the job's changed", func(p *paper) { p.job[1] = swap(t, p.job[1], "tablet 2", "tablet 3") }, altered, itself},
		{"an entry of the shop's changed", func(p *paper) { p.shop[1] = swap(t, p.shop[1], "tablet 2", "tablet 3") }, altered, itself},
		{"the job's last entry gone", func(p *paper) { p.job = p.job[:5] }, shorter, itself},
		{"as much gone as the shop repeats", func(p *paper) { p.job = p.job[:2] }, shorter, shorter},
		{"the shop's last entry gone", func(p *paper) { p.shop = p.shop[:4] }, shorter, itself},
		{"less of the shop's log than was known", func(p *paper) { p.shop = p.shop[:3] }, shorter, shorter},
		{"the shop's log gone", func(p *paper) { p.shop = nil }, shorter, shorter},
		{"an entry more", func(p *paper) { p.job = append(p.job, line(t, jobLog, 7, 4, "note-written", `{"text":"a"}`)) }, unaltered, itself},
		{"an entry of the shop's more", func(p *paper) { p.shop = append(p.shop, line(t, "shop", 6, 5, "policy-set", `{}`)) }, unaltered, itself},
		{"an entry more, of a kind to come", func(p *paper) { p.job = append(p.job, line(t, jobLog, 7, 4, "engine-sold", `{"to":["a"]}`)) }, unaltered, itself},
		{"an entry between gone", func(p *paper) { p.job = slices.Delete(p.job, 2, 3) }, altered, altered},
		{"an entry twice", func(p *paper) { p.job = slices.Insert(p.job, 2, p.job[2]) }, altered, altered},
		{"two entries change places", func(p *paper) { p.job[3], p.job[4] = p.job[4], p.job[3] }, altered, altered},
		{"an entry of another job", func(p *paper) { p.job[3] = line(t, another, 4, 4, "note-written", `{}`) }, altered, altered},
		{"an entry of the shop's among the job's", func(p *paper) { p.job[3] = line(t, "shop", 4, 4, "note-written", `{}`) }, altered, altered},
		{"an entry that knew less", func(p *paper) { p.job[4] = line(t, jobLog, 5, 3, "note-written", `{}`) }, altered, altered},
		{"an entry that knew too much", func(p *paper) { p.job[5] = line(t, jobLog, 6, 6, "note-written", `{}`) }, altered, shorter},
		{"an edition that is not there", func(p *paper) {
			p.job = append(p.job, line(t, jobLog, 7, 4, "edition-changed", `{"edition":"`+strings.Repeat("0", 64)+`"}`))
		}, altered, altered},
		{"a seal repeated that is not there", func(p *paper) {
			p.shop = append(p.shop, line(t, "shop", 6, 5, "job-sealed", `{"job":"`+strings.TrimPrefix(jobLog, "job/")+`","size":7}`))
		}, shorter, shorter},
		{"another job's seal repeated", func(p *paper) {
			p.shop = append(p.shop, line(t, "shop", 6, 5, "job-sealed", `{"job":"`+strings.TrimPrefix(another, "job/")+`","size":7}`))
		}, unaltered, itself},
		{"a blob changed", func(p *paper) { p.Blobs[p.names[0]] = []byte("revision: 15\n") }, altered, altered},
		{"a blob changed under its new name", func(p *paper) {
			p.names = p.names[1:]
			p.blob("revision: 15\n")
		}, altered, altered},
		{"a blob changed with all that names it", func(p *paper) {
			was, is := p.names[0], p.blob("revision: 15\n")
			p.names = p.names[1:]
			p.job[0], p.shop[1] = swap(t, p.job[0], was, is), swap(t, p.shop[1], was, is)
		}, altered, itself},
		{"a blob more", func(p *paper) { p.blob("") }, unaltered, itself},
		{"a blob gone", func(p *paper) { p.names = p.names[:1] }, altered, altered},
	} {
		p := good(t)
		c.change(p)
		add(c.name, p.write(t), shopKey.public, "", c.old)
		p.seal(t, forgers, len(p.job))
		add(c.name+", under other seals", p.write(t), "", "", c.new)
		p.Seals = p.Seals[:1]
		add(c.name+", under another seal, for who kept one", p.write(t), "", kept, altered)
	}

	p := good(t)
	p.Key = forgers.public
	add("the key replaced", p.write(t), shopKey.public, "", altered)
	add("the key replaced, for who has none", p.write(t), "", "", altered)
	p.Seals = nil
	add("the key replaced, and no seals", p.write(t), shopKey.public, "", altered)
	add("the key replaced, and no seals, for who has none", p.write(t), "", "", itself)
	add("the key replaced, and no seals, for who kept one", p.write(t), "", kept, altered)

	// Entries written in another way, under seals that hold.
	fact := `"fact":{"spot"`
	for _, c := range []struct {
		old, by string
		want    int
	}{
		{`"tablet 2"`, `"tablet 3"`, unaltered},
		{`"v":1`, `"v": 1`, altered},
		{`{"v":1`, ` {"v":1`, altered},
		{`"}}`, `"}} `, altered},
		{`"v":1`, `"v":1,"v":1`, altered},
		{`"kind"`, `"kind":"a","kind"`, altered},
		{`"kind"`, `"Kind"`, altered},
		{`"kind"`, `"more":1,"kind"`, altered},
		{`"by":"kd",`, ``, altered},
		{`"by":"kd","device":"tablet 2"`, `"device":"tablet 2","by":"kd"`, altered},
		{`"by":"kd"`, `"by":1`, altered},
		{`"by":"kd"`, `"by":""`, unaltered},
		{`"v":1`, `"v":2`, unaltered},
		{`"v":1`, `"v":0`, altered},
		{`"v":1`, `"v":"1"`, altered},
		{`"v":1`, `"v":1.0`, altered},
		{`"v":1`, `"v":true`, altered},
		{`"reading-taken"`, `"kind to come"`, unaltered},
		{`.120Z`, `.12Z`, altered},
		{`.120Z`, `.120+00:00`, altered},
		{`T14`, `T24`, altered},
		{`2026-11-25`, `2026-11-31`, altered},
		{`2026-11-25`, `2026-02-29`, altered},
		{`2026-11-25`, `0000-02-29`, unaltered},
		{`2026-11-25`, `9999-12-31`, unaltered},
		{`2026-11-25`, `+012026-11-25`, altered},
		{`tablet`, `t\u0061blet`, altered},
		{`tablet`, `t\/blet`, altered},
		{`tablet`, `t\u000ablet`, altered},
		{`tablet`, `t\n\t\"\\blet`, unaltered},
		{`tablet`, `t\u001fblet`, unaltered},
		{`tablet`, `t\u001Fblet`, altered},
		{`tablet`, "t\x1fblet", altered},
		{`tablet`, "t\x7fblet", unaltered},
		{`tablet`, `t\u2029blet`, unaltered},
		{`tablet`, "t\u2029blet", altered},
		{`tablet`, "t\u2027\ufffd\U0001f600blet", unaltered},
		{`tablet`, `t\ud83d\ude00blet`, altered},
		{`tablet`, `t\ud83dblet`, altered},
		{`tablet`, "t\xed\xa0\xbdblet", altered},
		{`tablet`, "t\xffblet", altered},
		{fact, `"fact":{"n":0,"spot"`, unaltered},
		{fact, `"fact":{"n":-0,"spot"`, altered},
		{fact, `"fact":{"n":-5,"spot"`, unaltered},
		{fact, `"fact":{"n":05,"spot"`, altered},
		{fact, `"fact":{"n":1e3,"spot"`, altered},
		{fact, `"fact":{"n":1.5,"spot"`, altered},
		{fact, `"fact":{"n":999999999999999999,"spot"`, unaltered},
		{fact, `"fact":{"n":1000000000000000000,"spot"`, altered},
		{fact, `"fact":{"n":null,"spot"`, altered},
		{fact, `"fact":{"n":false,"spot"`, unaltered},
		{fact, `"fact":{"n":1,"n":1,"spot"`, altered},
		{fact, `"fact":{"n":[1,],"spot"`, altered},
		{fact, `"fact":{"n":` + strings.Repeat("[", 6) + "1" + strings.Repeat("]", 6) + `,"spot"`, unaltered},
		{fact, `"fact":{"n":` + strings.Repeat("[", 7) + "1" + strings.Repeat("]", 7) + `,"spot"`, altered},
		{`"fact":{`, `"fact":[{`, altered},
		{`tablet`, strings.Repeat("t", 65_000), unaltered},
		{`tablet`, strings.Repeat("t", 66_000), altered},
	} {
		p := good(t)
		p.job[2] = swap(t, p.job[2], c.old, c.by)
		p.Seals = []string{one(t, shopKey, jobLog, 6, p.job)}
		add(fmt.Sprintf("%.40s written %.60q", c.old, c.by), p.write(t), shopKey.public, "", c.want)
	}

	// Seals.
	for _, c := range []struct {
		name string
		take []int
		want int
	}{
		{"all", []int{0, 1, 2}, unaltered},
		{"in another order", []int{2, 1, 0}, unaltered},
		{"one twice", []int{0, 1, 1, 2}, unaltered},
		{"the first gone", []int{1, 2}, unaltered},
		{"the last of the job's gone", []int{0, 2}, unaltered},
		{"the shop's gone", []int{0, 1}, unaltered},
		{"only the shop's", []int{2}, itself},
		{"none", nil, itself},
	} {
		p := good(t)
		var left []string
		for _, i := range c.take {
			left = append(left, p.Seals[i])
		}
		p.Seals = left
		add("seals, "+c.name, p.write(t), shopKey.public, "", c.want)
		p.job[4] = swap(t, p.job[4], "a burr", "a dent")
		add("seals, "+c.name+", and entry 5 changed", p.write(t), shopKey.public, "", either)
	}
	last := good(t).Seals[1]
	text, _, _ := strings.Cut(last, "\n\n")
	text += "\n"
	sign := strings.Index(last, "— ") + len("— tenths.shop/") + len(shopID) + 1
	for _, c := range []struct {
		name, seal string
		want       int
	}{
		{"of another root", strings.Replace(last, "\n6\n", "\n5\n", 1), altered},
		{"of nothing", one(t, shopKey, jobLog, 0, nil), unaltered},
		{"of more", one(t, shopKey, jobLog, 7, good(t).job), shorter},
		{"of another job", one(t, shopKey, another, 6, good(t).job), altered},
		{"by another key", one(t, forgers, jobLog, 6, good(t).job), altered},
		{"by another shop", one(t, otherKey, jobLog, 6, good(t).job), altered},
		{"of another shop, by this one's key", hand(t, strings.Replace(text, shopID, "another", 1)), altered},
		{"that does not say when", hand(t, strings.SplitAfter(text, "=\n")[0]), altered},
		{"to the second", hand(t, strings.Replace(text, ".000Z", "Z", 1)), altered},
		{"of 31 June", hand(t, strings.Replace(text, "-11-25", "-06-31", 1)), altered},
		{"with a noughted size", hand(t, strings.Replace(text, "\n6\n", "\n06\n", 1)), altered},
		{"with a root of 35 bytes", hand(t, strings.Replace(text, "\n6\n", "\n6\nAAAA", 1)), altered},
		{"with a stray bit behind its signature", stray(last), altered},
		{"with a longer root", hand(t, strings.Replace(text, "=\n", "=====\n", 1)), altered},
		{"signed by hand", hand(t, text), unaltered},
		{"that is none", "a seal", altered},
		{"that is empty", "", altered},
		{"without its line feed", strings.TrimSuffix(last, "\n"), altered},
		{"with a line feed more", last + "\n", altered},
		{"with carriage returns", strings.ReplaceAll(last, "\n", "\r\n"), altered},
		{"with a hyphen", strings.Replace(last, "—", "-", 1), altered},
		{"with a line more", strings.Replace(last, "\n\n", "\nmore\n\n", 1), altered},
		{"with a + at its size", strings.Replace(last, "\n6\n", "\n+6\n", 1), altered},
		{"without its padding", strings.TrimSuffix(last, "=\n") + "\n", altered},
		{"with another key's hash", last[:sign] + "AAAA" + last[sign+4:], altered},
		{"with another signature", last[:sign+20] + "AAAA" + last[sign+24:], altered},
		{"with s and the order more", order(t, last, sign), altered},
		{"with another's signature behind", last + strings.SplitAfter(one(t, forgers, jobLog, 6, good(t).job), "\n\n")[1], unaltered},
		{"with another's signature before", strings.Replace(last, "\n\n", "\n\n"+strings.SplitAfter(one(t, otherKey, jobLog, 6, good(t).job), "\n\n")[1], 1), unaltered},
	} {
		p := good(t)
		p.Seals[1] = c.seal
		add("a seal "+c.name, p.write(t), shopKey.public, "", c.want)
	}

	// A seal kept from before: what came since is nothing, what was before is all.
	rewritten := good(t)
	rewritten.job[1] = swap(t, rewritten.job[1], "tablet 2", "tablet 3")
	rewritten.seal(t, shopKey, 6)
	add("written anew by the shop itself", rewritten.write(t), shopKey.public, "", unaltered)
	add("written anew, for who kept a seal of before", rewritten.write(t), "", kept, altered)
	later := good(t)
	later.job[2] = swap(t, later.job[2], "tablet 2", "tablet 3")
	later.seal(t, shopKey, 6)
	add("written anew behind the kept seal", later.write(t), "", kept, unaltered)
	short := good(t)
	short.shop[3] = line(t, "shop", 4, 3, "policy-set", `{}`)
	short.job = short.job[:1]
	short.seal(t, shopKey, 1)
	add("cut by the shop itself", short.write(t), shopKey.public, "", unaltered)
	add("cut by the shop, for who kept a seal", short.write(t), "", kept, shorter)
	return append(all, more(t)...)
}

// more are files with what only other programs write, and entries that say
// something of the rest of the file.
func more(t *testing.T) []variant {
	var all []variant
	sound := good(t).write(t)
	for _, c := range []struct {
		name, old, by string
		want          int
	}{
		{"the key cut", "IvHH3\n", "IvHH\n", notRecord},
		{"the key by another name", "key tenths.shop/0198", "key tenths.shop/0199", notRecord},
		{"the key's hash in capitals", "+5044c069+", "+5044C069+", notRecord},
		{"the key of another kind", shopKey.public, rekey(shopKey.public, "tenths.shop/"+shopID, 2), notRecord},
		{"the key of something else", shopKey.public, rekey(shopKey.public, shopID, 1), notRecord},
		{"a blank behind the key", "IvHH3\n", "IvHH3 \n", notRecord},
		{"no key", "\nkey ", "\nseal ", notRecord},
		{"a seal without its quotes", "seal \"", "seal ", altered},
		{"a seal that is a number", "seal \"", "seal 1\"", altered},
		{"a seal with a control character", "\\nsealed", "\x01sealed", altered},
		{"a seal that is not UTF-8", "\\nsealed", "\xff\\nsealed", altered},
		{"a seal with another escape", "\\nsealed", "\\u000asealed", unaltered},
		{"a carriage return behind a blob", "Cg==\n", "Cg==\r\n", notRecord},
		{"a carriage return before a hash", "\njob ", "\njob \r", notRecord},
	} {
		all = append(all, variant{c.name, swap(t, slices.Clone(sound), c.old, c.by), shopKey.public, "", c.want})
	}
	lines := bytes.SplitAfter(sound, []byte("\n"))
	all = append(all,
		variant{"cut behind the key", bytes.Join(lines[:2], nil), shopKey.public, "", shorter},
		variant{"cut before the key", lines[0], shopKey.public, "", notRecord},
		variant{"empty", nil, shopKey.public, "", notRecord},
		variant{"good, with a key that is none", sound, "a key", "", notRecord},
		variant{"good, with a seal that is none", sound, "", "a seal", notRecord})

	id := strings.TrimPrefix(jobLog, "job/")
	nowhere := strings.Repeat("0", 64)
	for _, c := range []struct {
		name   string
		change func(p *paper)
		want   int
	}{
		{"an id in capitals", func(p *paper) { p.job[5] = swap(t, p.job[5], `"id":"`, `"id":"A`) }, altered},
		{"an id that is short", func(p *paper) {
			i := bytes.Index(p.job[5], []byte(`"id":"`)) + len(`"id":"`)
			p.job[5] = slices.Delete(p.job[5], i, i+1)
		}, altered},
		{"no id", func(p *paper) { p.shop[4] = swap(t, p.shop[4], `"id":"`+ledger.ID("shop", "5"), `"id":"`) }, altered},
		{"a field behind the fact", func(p *paper) { p.job[5] = swap(t, p.job[5], `"}}`, `"},"more":1}`) }, altered},
		{"an object behind the fact", func(p *paper) { p.job[5] = swap(t, p.job[5], `"}}`, `"},"more":{}}`) }, altered},
		{"empty lists nine deep", func(p *paper) {
			p.job[5] = swap(t, p.job[5], `"fact":{`, `"fact":{"n":`+strings.Repeat("[", 7)+strings.Repeat("]", 7)+",")
		}, altered},
		{"empty lists eight deep", func(p *paper) {
			p.job[5] = swap(t, p.job[5], `"fact":{`, `"fact":{"n":`+strings.Repeat("[", 6)+strings.Repeat("]", 6)+",")
		}, unaltered},
		{"the log of no job", func(p *paper) {
			for i := range p.job {
				p.job[i] = swap(t, p.job[i], `"log":"job/`, `"log":"jobs/`)
			}
		}, altered},
		{"an edition in other letters", func(p *paper) {
			p.job[3] = swap(t, p.job[3], `"edition"`, `"Edition":"`+nowhere+`","edition"`)
		}, unaltered},
		{"an edition that is not there, in other letters one that is", func(p *paper) {
			p.job[3] = line(t, jobLog, 4, 4, "edition-changed", `{"edition":"`+nowhere+`","Edition":"`+p.names[0]+`"}`)
		}, altered},
		{"an edition that is not there, beside a model that is no text", func(p *paper) {
			p.job[3] = line(t, jobLog, 4, 4, "edition-changed", `{"edition":"`+nowhere+`","model":4}`)
		}, altered},
		{"an edition that is no text", func(p *paper) { p.job[3] = line(t, jobLog, 4, 4, "edition-changed", `{"edition":4}`) }, unaltered},
		{"an edition that is empty", func(p *paper) { p.job[3] = line(t, jobLog, 4, 4, "edition-changed", `{"edition":""}`) }, unaltered},
		{"an edition by a version to come", func(p *paper) {
			p.job[3] = swap(t, line(t, jobLog, 4, 4, "edition-changed", `{"edition":"`+nowhere+`"}`), `"v":1`, `"v":2`)
		}, unaltered},
		{"an edition in the shop's log", func(p *paper) { p.shop[4] = line(t, "shop", 5, 4, "edition-changed", `{"edition":"`+nowhere+`"}`) }, unaltered},
		{"a seal repeated in other letters", func(p *paper) { p.shop[4] = line(t, "shop", 5, 4, "job-sealed", `{"Job":"`+id+`","Size":7}`) }, unaltered},
		{"a seal repeated, and smaller in other letters", func(p *paper) {
			p.shop[4] = line(t, "shop", 5, 4, "job-sealed", `{"job":"`+id+`","size":7,"Size":1,"Job":5}`)
		}, shorter},
		{"a seal repeated with a size that is text", func(p *paper) {
			p.shop[4] = line(t, "shop", 5, 4, "job-sealed", `{"job":"`+id+`","size":"7"}`)
		}, unaltered},
		{"a seal repeated by a version to come", func(p *paper) {
			p.shop[4] = swap(t, line(t, "shop", 5, 4, "job-sealed", `{"job":"`+id+`","size":7}`), `"v":1`, `"v":2`)
		}, unaltered},
		{"a seal repeated, and a first fact with a model that is no text", func(p *paper) {
			p.job[0] = line(t, jobLog, 1, 3, "job-opened", `{"model":4}`)
			p.shop[4] = line(t, "shop", 5, 4, "job-sealed", `{"job":"`+id+`","size":7}`)
		}, shorter},
	} {
		p := good(t)
		c.change(p)
		p.seal(t, shopKey, 6)
		all = append(all, variant{c.name, p.write(t), shopKey.public, "", c.want})
	}

	// A byte that is not UTF-8 is not the character that decoders put for it.
	p := good(t)
	p.job[5] = swap(t, p.job[5], "no burr", "no \ufffd")
	p.seal(t, shopKey, 6)
	all = append(all, variant{"not UTF-8 for U+FFFD", swap(t, p.write(t), "no \ufffd", "no \xff"), shopKey.public, "", altered})

	// Two things at once, of which the worse is told; and nothing of a job.
	p = good(t)
	p.names = p.names[:1]
	p.Seals[1] = one(t, shopKey, jobLog, 7, p.job)
	all = append(all, variant{"shorter than sealed, and without an edition", p.write(t), shopKey.public, "", altered})
	p = good(t)
	text := strings.SplitAfter(p.Seals[1], "=\n")[0] + "sealed 2026-11-25T15:06:00.000Z\n"
	p.Seals[1] = hand(t, strings.Replace(text, "\n6\n", "\n1000000000000000000\n", 1))
	all = append(all, variant{"a seal of 19 digits", p.write(t), shopKey.public, "", altered})
	p = good(t)
	p.job = nil
	p.seal(t, shopKey, 0)
	all = append(all, variant{"sealed with nothing, where the shop's log repeats three", p.write(t), shopKey.public, "", shorter})
	p.Seals = nil
	all = append(all, variant{"nothing of a job", p.write(t), shopKey.public, "", itself})
	return all
}

// hand signs what no seal says.
func hand(t *testing.T, text string) string {
	t.Helper()
	signer, err := note.NewSigner(shopKey.secret)
	if err != nil {
		t.Fatal(err)
	}
	signed, err := note.Sign(&note.Note{Text: text}, signer)
	if err != nil {
		t.Fatal(err)
	}
	return string(signed)
}

// rekey is a key by that name and with that byte before it, in good form.
func rekey(public, name string, kind byte) string {
	raw, _ := base64.StdEncoding.DecodeString(strings.SplitN(public, "+", 3)[2])
	raw[0] = kind
	sum := sha256.Sum256(append([]byte(name+"\n"), raw...))
	return name + "+" + hex.EncodeToString(sum[:4]) + "+" + base64.StdEncoding.EncodeToString(raw)
}

// stray is the seal with a bit set that its base64 has no meaning for.
func stray(seal string) string {
	const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
	at := len(seal) - len("?=\n")
	return seal[:at] + letters[strings.IndexByte(letters, seal[at])+1:][:1] + seal[at+1:]
}

// order is the seal with Ed25519's order added to the s of its signature: a
// verifier that reduces s takes it.
func order(t *testing.T, seal string, sign int) string {
	t.Helper()
	raw, err := base64.StdEncoding.DecodeString(strings.TrimSuffix(seal[sign:], "\n"))
	if err != nil {
		t.Fatal(err)
	}
	l, err := hex.DecodeString("edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010")
	if err != nil {
		t.Fatal(err)
	}
	carry, s := 0, raw[4+32:]
	for i := range s {
		carry += int(s[i]) + int(l[i])
		s[i], carry = byte(carry), carry>>8
	}
	return seal[:sign] + base64.StdEncoding.EncodeToString(raw) + "\n"
}

// ours is the exit status by this package, with what it says.
func ours(t *testing.T, v variant) (int, string) {
	t.Helper()
	r, err := export.Read(bytes.NewReader(v.file))
	if form := (*export.FormError)(nil); errors.As(err, &form) {
		return notRecord, form.Error()
	}
	if err != nil {
		t.Fatalf("%s: %v", v.name, err)
	}
	o, err := export.Verify(r, v.key, v.kept)
	if err != nil {
		return notRecord, err.Error()
	}
	status := map[export.Finding]int{export.Unaltered: unaltered, export.Itself: itself, export.Shorter: shorter, export.Altered: altered}
	return status[o.Finding], strings.Join(o.Reasons, "; ")
}

// driver runs the verifier once for each line it reads, as if it were started
// for each: starting Node takes longer than verifying.
const driver = `import { readFileSync } from "node:fs";
const [verifier, ...lines] = readFileSync(0, "utf8").trimEnd().split("\n");
for (const [i, line] of lines.entries()) {
  process.argv = [process.argv[0], verifier, ...line.split("\t")];
  process.exitCode = undefined;
  await import(verifier + "?" + i);
  console.log("exit", process.exitCode);
}
process.exitCode = 0;
`

// theirs are what the verifier in JavaScript says, and its exit statuses.
func theirs(node string, args [][]string) (said []string, status []int, err error) {
	verifier, err := filepath.Abs(filepath.Join("testdata", "verify.mjs"))
	if err != nil {
		return nil, nil, err
	}
	var in, wrong bytes.Buffer
	fmt.Fprintln(&in, (&url.URL{Scheme: "file", Path: filepath.ToSlash(verifier)}).String())
	for _, a := range args {
		fmt.Fprintln(&in, strings.Join(a, "\t"))
	}
	c := exec.Command(node, "--input-type=module", "--eval", driver)
	c.Stdin, c.Stderr = &in, &wrong
	out, err := c.Output()
	words := ""
	for l := range strings.Lines(string(out)) {
		code, ok := strings.CutPrefix(l, "exit ")
		if !ok {
			words += l
			continue
		}
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil {
			return nil, nil, err
		}
		said, status, words = append(said, words), append(status, n), ""
	}
	if err != nil || len(said) != len(args) {
		return nil, nil, fmt.Errorf("the verifier ended after %d of %d files (%v): %s", len(said), len(args), err, wrong.String())
	}
	return said, status, nil
}

func TestPeerFindsTheSame(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatal("node is missing: install it (apt-get install nodejs), since this test holds the program against a verifier in JavaScript")
	}
	all := corpus(t)
	if len(all) < 250 {
		t.Fatalf("only %d files", len(all))
	}
	dir := t.TempDir()
	args := make([][]string, len(all))
	for i, v := range all {
		file := filepath.Join(dir, fmt.Sprintf("%03d.tenths", i))
		args[i] = []string{file, v.key}
		files := [][2]string{{file, string(v.file)}}
		if v.kept != "" {
			args[i] = append(args[i], file+".seal")
			files = append(files, [2]string{file + ".seal", v.kept})
		}
		for _, f := range files {
			if err := os.WriteFile(f[0], []byte(f[1]), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}

	// Four processes, each with every fourth file.
	said, status := make([]string, len(all)), make([]int, len(all))
	var group sync.WaitGroup
	wrong := make([]error, 4)
	for p := range wrong {
		group.Go(func() {
			var mine [][]string
			for i := p; i < len(all); i += len(wrong) {
				mine = append(mine, args[i])
			}
			s, n, err := theirs(node, mine)
			wrong[p] = err
			for i := range s {
				said[p+i*len(wrong)], status[p+i*len(wrong)] = s[i], n[i]
			}
		})
	}
	group.Wait()
	if err := errors.Join(wrong...); err != nil {
		t.Fatal(err)
	}

	seen := map[int]int{}
	for i, v := range all {
		here, why := ours(t, v)
		seen[here]++
		if here != status[i] {
			t.Errorf("%s: here %d (%s), in JavaScript %d (%s)", v.name, here, why, status[i], strings.TrimSpace(said[i]))
		}
		if v.want >= 0 && here != v.want || v.want == bad && here == unaltered {
			t.Errorf("%s: found %d, want %d: %s", v.name, here, v.want, why)
		}
		if !strings.HasPrefix(said[i], words[status[i]]) || strings.Count(said[i], "\n") != 1 {
			t.Errorf("%s: it says %q, and its exit status is %d", v.name, said[i], status[i])
		}
	}
	for status, words := range words {
		if seen[status] < 5 {
			t.Errorf("%d files of which is found: %s", seen[status], words)
		}
	}
}
