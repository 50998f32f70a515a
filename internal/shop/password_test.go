package shop_test

import (
	"bytes"
	"encoding/base64"
	"errors"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/crypto/argon2"

	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// phc is a hash as the PHC string format has it, with the parameters that OWASP
// recommends for Argon2id: 19 MiB, two passes, one lane; 128 bits of salt and
// 256 of hash.
var phc = regexp.MustCompile(`^\$argon2id\$v=19\$m=19456,t=2,p=1\$([A-Za-z0-9+/]{22})\$([A-Za-z0-9+/]{43})$`)

func TestPasswords(t *testing.T) {
	p := onDisk(t)
	s := p.made(t)
	st := p.open(t)
	must(s.State(t.Context(), by(manager), &shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}))(t)
	wantRefused(t, s.CheckPassword(t.Context(), "new", password), "password") // has none yet
	wantRefused(t, s.CheckPassword(t.Context(), "nobody", password), "person")
	wantRefused(t, s.SetPassword(t.Context(), by(manager), "nobody", password), "person")
	for _, bad := range []string{"", "7 chars", "ééééééé", strings.Repeat("x", 1001), "\xff\xff\xff\xff\xff\xff\xff\xff"} {
		wantRefused(t, s.SetPassword(t.Context(), by(manager), mechanic, bad), "new-password")
	}

	// A manager sets one, and its owner another.
	const first, own = "the first one", "häuser und räder"
	set := func(by shop.Who, handle, password string) string {
		t.Helper()
		if err := s.SetPassword(t.Context(), by, handle, password); err != nil {
			t.Fatal(err)
		}
		return must(st.Secret(t.Context(), handle))(t)
	}
	one := set(by(manager), mechanic, first)
	if err := s.CheckPassword(t.Context(), mechanic, first); err != nil {
		t.Error(err)
	}
	two := set(by(mechanic), mechanic, own)
	if err := s.CheckPassword(t.Context(), mechanic, own); err != nil {
		t.Error(err)
	}
	for _, wrong := range []string{first, "", own + " ", strings.ToUpper(own), own[:len(own)-1], password} {
		wantRefused(t, s.CheckPassword(t.Context(), mechanic, wrong), "password")
	}
	wantRefused(t, s.SetPassword(t.Context(), by(mechanic), inspector, own), "right")

	// What is kept is a hash by a salt of its own.
	three := set(by(manager), inspector, own)
	salts := map[string]bool{}
	for hash, password := range map[string]string{one: first, two: own, three: own} {
		parts := phc.FindStringSubmatch(hash)
		if parts == nil {
			t.Fatalf("%q is not in the form", hash)
		}
		salt := must(base64.RawStdEncoding.Strict().DecodeString(parts[1]))(t)
		key := must(base64.RawStdEncoding.Strict().DecodeString(parts[2]))(t)
		if !bytes.Equal(key, argon2.IDKey([]byte(password), salt, 2, 19*1024, 1, 32)) {
			t.Errorf("%q is not of %q", hash, password)
		}
		salts[parts[1]] = true
	}
	if len(salts) != 3 {
		t.Errorf("%d salts for 3 passwords", len(salts))
	}

	// Nothing of it leaves with a record.
	var out bytes.Buffer
	must(s.Export(t.Context(), by(mechanic), order, &out))(t)
	for _, secret := range []string{"argon2", phc.FindStringSubmatch(two)[2], own} {
		if strings.Contains(out.String(), secret) {
			t.Errorf("%q is in the export", secret)
		}
	}

	// Who has left has no password, and one that was damaged is told.
	gone := shoplog.PersonChanged{PersonAdded: people()[0], Why: "left"}
	gone.Until = "2026-11-24"
	must(s.State(t.Context(), by(manager), &gone))(t)
	wantRefused(t, s.CheckPassword(t.Context(), inspector, own), "person")
	wantRefused(t, s.SetPassword(t.Context(), by(inspector), inspector, own), "person")
	for _, bad := range []string{"", "$argon2id$v=19$m=8,t=1,p=1$AAAA$AAAA", two[:len(two)-1], strings.Replace(two, "argon2id", "argon2i", 1), "plain"} {
		if err := st.PutSecret(t.Context(), mechanic, bad); err != nil {
			t.Fatal(err)
		}
		if err := s.CheckPassword(t.Context(), mechanic, own); !errors.As(err, new(*store.DamageError)) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	set(by(manager), mechanic, own)
	if err := s.CheckPassword(t.Context(), mechanic, own); err != nil {
		t.Error(err)
	}
	whole(t, s)
}
