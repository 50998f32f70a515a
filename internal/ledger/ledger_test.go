package ledger

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"
)

func entry() Entry {
	at := At(time.Date(2026, 11, 25, 14, 3, 9, 120_999_999, time.UTC))
	return Entry{
		V: 1, Log: "job/0198", Seq: 3, Shop: 2, ID: "0198c2d4-5b60-7a11-8c3d-000000000001", Made: at, Recorded: at,
		By: "kd", Device: "tablet 2", Kind: "note-written", Fact: json.RawMessage(`{"text":"µ < \"2.2490\" & \\ \n\u2028 Ø"}`),
	}
}

func TestEntryIsOneLine(t *testing.T) {
	line, err := Encode(entry())
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"v":1,"log":"job/0198","seq":3,"shop":2,"id":"0198c2d4-5b60-7a11-8c3d-000000000001",` +
		`"made":"2026-11-25T14:03:09.120Z","recorded":"2026-11-25T14:03:09.120Z","by":"kd","device":"tablet 2","kind":"note-written",` +
		`"fact":{"text":"µ < \"2.2490\" & \\ \n\u2028 Ø"}}`
	if string(line) != want {
		t.Fatalf("got  %s\nwant %s", line, want)
	}
	if general, err := Marshal(entry()); err != nil || !bytes.Equal(general, line) {
		t.Errorf("Marshal writes %s, %v", general, err)
	}
	again, err := Decode(line)
	if err != nil {
		t.Fatal(err)
	}
	if twice, _ := Encode(again); !bytes.Equal(twice, line) {
		t.Errorf("read and written again it is %s", twice)
	}
}

// What could be read in two ways is refused. RFC 8259, 4: the behaviour of
// readers that meet doubled names is unpredictable.
func TestDecodeRefuses(t *testing.T) {
	good, err := Encode(entry())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, new string }{
		{"a space", `"seq":3`, `"seq": 3`},
		{"a doubled key", `"seq":3,`, `"seq":3,"seq":3,`},
		{"a doubled key in the fact", `{"text"`, `{"text":"a","text"`},
		{"a key in other letters", `"seq"`, `"Seq"`},
		{"an unknown field", `"seq":3,`, `"seq":3,"more":1,`},
		{"a field left out", `"shop":2,`, ``},
		{"fields in another order", `"seq":3,"shop":2`, `"shop":2,"seq":3`},
		{"an exponent", `"seq":3`, `"seq":3e0`},
		{"a point", `"seq":3`, `"seq":3.0`},
		{"a leading nought", `"seq":3`, `"seq":03`},
		{"a minus nought", `"shop":2`, `"shop":-0`},
		{"a number beyond 64 bits", `"seq":3`, `"seq":9223372036854775808`},
		{"null", `"by":"kd"`, `"by":null`},
		{"null for the fact", `{"text":"µ < \"2.2490\" & \\ \n\u2028 Ø"}`, `null`},
		{"a fact that is no object", `{"text":"µ < \"2.2490\" & \\ \n\u2028 Ø"}`, `[]`},
		{"an escape that is not needed", `"kd"`, `"\u006bd"`},
		{"an escape in large digits", `\u2028`, `\u202A`},
		{"a line feed as \\u000a", `\n`, `\u000a`},
		{"a separator as itself", `\u2028`, "\u2028"},
		{"half a surrogate pair", `"kd"`, `"\ud800"`},
		{"a control character", `"kd"`, "\"k\x01d\""},
		{"bytes that are not UTF-8", `"kd"`, "\"k\xffd\""},
		{"an escaped solidus", `job/0198`, `job\/0198`},
		{"a time without milliseconds", `09.120Z","recorded`, `09Z","recorded`},
		{"a time with more digits", `09.120Z","recorded`, `09.1200Z","recorded`},
		{"a time in another zone", `09.120Z","recorded`, `09.120+00:00","recorded`},
		{"no such day", `"made":"2026-11-25`, `"made":"2026-02-30`},
		{"seq 0", `"seq":3`, `"seq":0`},
		{"seq below nought", `"seq":3`, `"seq":-3`},
		{"version 0", `"v":1`, `"v":0`},
		{"something behind", `Ø"}}`, `Ø"}} `},
		{"nothing", string(good), ``},
		{"deep lists", `{"text"`, `{"a":` + strings.Repeat("[", 9) + strings.Repeat("]", 9) + `,"text"`},
		{"very deep lists", `{"text"`, `{"a":` + strings.Repeat("[", 30_000) + strings.Repeat("]", 30_000) + `,"text"`},
		{"10 MB", `Ø`, strings.Repeat("x", 10<<20)},
	} {
		bad := strings.Replace(string(good), c.old, c.new, 1)
		if bad == string(good) {
			t.Fatalf("%s: nothing was changed", c.name)
		}
		if _, err := Decode([]byte(bad)); err == nil {
			t.Errorf("%s was taken", c.name)
		}
	}
	if _, err := Encode(Entry{Fact: json.RawMessage(`{"a":"` + strings.Repeat("x", MaxLine) + `"}`)}); err == nil {
		t.Error("an entry of more than 64 KB was written")
	}
}

// Whatever is accepted is written again to the same bytes.
func FuzzDecode(f *testing.F) {
	line, err := Encode(entry())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(line)
	f.Add([]byte(strings.Replace(string(line), "tablet 2", `the \"µ\" gauge`, 1)))
	f.Add([]byte(strings.Replace(string(line), "note-written", "of-later", 1)))
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := Decode(data)
		if err != nil {
			return
		}
		if read, err := Read(data); err != nil || !reflect.DeepEqual(read, e) {
			t.Errorf("%q is read as %+v, %v, and decoded as %+v", data, read, err, e)
		}
		again, err := Encode(e)
		if err != nil || !bytes.Equal(again, data) {
			t.Errorf("%q is written again as %q, %v", data, again, err)
		}
		if general, err := Marshal(e); err != nil || !bytes.Equal(general, data) {
			t.Errorf("%q is written in general as %q, %v", data, general, err)
		}
	})
}

func leaves(t testing.TB, hexes ...string) [][]byte {
	all := make([][]byte, len(hexes))
	for i, h := range hexes {
		b, err := hex.DecodeString(h)
		if err != nil {
			t.Fatal(err)
		}
		all[i] = b
	}
	return all
}

// Source: the test vectors of the Certificate Transparency project for RFC 6962
// trees, from memory: eight leaves and the root after each. They were made with
// python3's hashlib once more: testdata/roots.py.
func TestRoots(t *testing.T) {
	inputs := leaves(t, "", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
	roots := []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
	var tree Tree
	for i, want := range roots {
		root := tree.Root()
		if got := hex.EncodeToString(root[:]); got != want {
			t.Errorf("root of %d: %s, want %s", i, got, want)
		}
		if i < len(inputs) {
			tree.Add(HashLine(inputs[i]))
		}
	}
}

// A tree that grows has at every size the root that a tree of all lines has.
// Oracle: golang.org/x/mod/sumdb/tlog, which stores every hash.
func TestTreeAgainstStoredHashes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var stored []tlog.Hash
		read := tlog.HashReaderFunc(func(at []int64) ([]tlog.Hash, error) {
			all := make([]tlog.Hash, len(at))
			for i, n := range at {
				all[i] = stored[n]
			}
			return all, nil
		})
		var tree, other Tree
		for i := range int64(rapid.IntRange(0, 70).Draw(t, "size")) {
			line := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "line")
			more, err := tlog.StoredHashes(i, line, read)
			if err != nil {
				t.Fatal(err)
			}
			stored = append(stored, more...)
			if i == 5 {
				other = tree.Clone()
			}
			tree.Add(HashLine(line))
			want, err := tlog.TreeHash(i+1, read)
			if err != nil {
				t.Fatal(err)
			}
			if got := tree.Root(); got != want || tree.Size() != i+1 {
				t.Fatalf("root of %d: %v, want %v", i+1, got, want)
			}
		}
		if other.Size() == 5 {
			want, _ := tlog.TreeHash(5, read)
			if other.Root() != want {
				t.Error("a clone went along")
			}
		}
	})
}

func TestSeals(t *testing.T) {
	secret, public, err := NewKey("0198")
	if err != nil {
		t.Fatal(err)
	}
	_, other, _ := NewKey("0198")
	var tree Tree
	tree.Add(HashLine([]byte("a")))
	seal := Seal{Shop: "0198", Log: "job/77", Size: 1, Root: tree.Root(), At: At(time.UnixMilli(1_795_000_000_123))}
	text, err := seal.Sign(secret)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := OpenSeal(text, public); err != nil || got != seal {
		t.Errorf("got %+v, %v", got, err)
	}
	if _, err := OpenSeal(text, other); err != ErrSignature {
		t.Errorf("by another key: %v", err)
	}
	if _, err := (Seal{Shop: "0199"}).Sign(secret); err == nil {
		t.Error("a key signed for another shop")
	}
	for i := range text {
		for _, to := range []byte{'0', '\n', text[i] ^ 1} {
			bad := text[:i] + string(rune(to)) + text[i+1:]
			if got, err := OpenSeal(bad, public); bad != text && err == nil {
				t.Errorf("byte %d is %q: taken as %+v", i, to, got)
			}
		}
		if _, err := OpenSeal(text[:i], public); err == nil {
			t.Errorf("cut to %d bytes it was taken", i)
		}
	}
	for _, bad := range []string{"", "secret", secret[:20]} {
		if _, err := seal.Sign(bad); err == nil {
			t.Errorf("the key %q signs", bad)
		}
	}
	if _, err := OpenSeal(text, "key"); err == nil || err == ErrSignature {
		t.Errorf("a key that is none: %v", err)
	}
}

func FuzzReadSeal(f *testing.F) {
	f.Add("tenths.shop/0198/job/77\n1\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\nsealed 2026-11-25T14:03:09.120Z\n\n— tenths.shop/0198 AAAA\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ReadSeal(text)
		if err != nil {
			return
		}
		body, _, _ := strings.Cut(text, "\n\n")
		if s.text() != body+"\n" {
			t.Errorf("%q is read as %q", text, s.text())
		}
	})
}

func TestChain(t *testing.T) {
	line := func(seq, shop int64, log string) []byte {
		e := entry()
		e.Seq, e.Shop, e.Log = seq, shop, log
		l, err := Encode(e)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	for _, c := range []struct {
		name string
		next []byte
		want string
	}{
		{"the next", line(2, 2, "job/a"), ""},
		{"a gap", line(3, 2, "job/a"), "entry 3"},
		{"the same", line(1, 2, "job/a"), "entry 1"},
		{"another log", line(2, 2, "job/b"), `the log "job/b"`},
		{"knew less", line(2, 1, "job/a"), "knew 1"},
		{"not an entry", []byte("{}"), "byte"},
	} {
		chain := Chain{Log: "job/a"}
		if _, err := chain.Add(line(1, 2, "job/a")); err != nil {
			t.Fatal(err)
		}
		_, err := chain.Add(c.next)
		if got := ""; err != nil {
			if got = err.Error(); c.want == "" || !strings.Contains(got, c.want) {
				t.Errorf("%s: %q, want %q", c.name, got, c.want)
			}
		} else if c.want != "" {
			t.Errorf("%s was taken", c.name)
		}
	}
}

// RFC 9562, 5.8: version 8 and the variant in their places.
func TestID(t *testing.T) {
	a, b := ID("tenths row", "x", "y"), ID("tenths row", "xy", "")
	if a == b || a != ID("tenths row", "x", "y") {
		t.Errorf("%s and %s", a, b)
	}
	if a[14] != '8' || !strings.ContainsRune("89ab", rune(a[19])) {
		t.Errorf("%s is not of version 8", a)
	}
}
